//! A row that is written onto an empty grid, until it is finished.

use super::Session;
use super::stage::{Asking, Notice, Stage};
use crate::question::{Form, REST};

impl Asking {
    fn is_written(&self) -> bool {
        matches!(self.question.form, Form::Written { .. })
    }

    /// Puts a key where the cursor is, and goes on.
    pub(super) fn put(&mut self, key: char) {
        self.set(key);
        self.cursor = (self.cursor + 1).min(self.question.form.length());
    }

    fn set(&mut self, key: char) {
        let keys = self.typed.chars().enumerate();
        let cursor = self.cursor;
        self.typed = keys
            .map(|(i, k)| if i == cursor { key } else { k })
            .collect();
    }
}

impl Session {
    /// Takes back the last key; in a written row the one before the cursor becomes a rest; of taps all of them.
    pub(super) fn erase(&mut self) {
        let Stage::Asking(asking) = &mut self.stage else {
            return;
        };
        if matches!(asking.question.form, Form::Taps { .. }) {
            asking.typed.clear();
        } else if !asking.is_written() {
            asking.typed.pop();
        } else if asking.cursor > 0 {
            asking.cursor -= 1;
            asking.set(REST);
        }
    }

    /// Goes this many places on in a written row, as far as it reaches.
    pub(super) fn move_by(&mut self, places: isize) {
        if let Stage::Asking(asking) = &mut self.stage
            && asking.is_written()
        {
            let last = asking.question.form.length() - 1;
            asking.cursor = asking.cursor.saturating_add_signed(places).min(last);
        }
    }

    /// A written row is finished. One without a stroke is none.
    pub(super) fn written(&mut self) {
        let Stage::Asking(asking) = &self.stage else {
            return;
        };
        if !asking.is_written() {
            return;
        }
        if asking.typed.chars().all(|key| key == REST) {
            self.notice = Some(Notice::NothingWritten);
            return;
        }
        if let Some(answer) = asking.question.form.answer(&asking.typed) {
            self.answered(answer);
        }
    }
}
