//! First answers about cards that had not been shown in full.

use super::{IntroductionRow, ItemKey, OutcomeRow, ReviewRow, Words};
use crate::memory::UnseenAnswer;
use std::collections::HashMap;

/// The first answer to an item.
#[derive(Clone, Debug, PartialEq)]
pub struct FirstAnswer {
    /// What was asked.
    pub item: ItemKey,
    /// Milliseconds since 1970 UTC.
    pub at: i64,
    /// What came of it.
    pub reply: UnseenAnswer,
}

/// The first answer to each item, the first one first.
#[derive(Clone, Debug, Default)]
pub struct FirstAnswers {
    all: Vec<FirstAnswer>,
    /// By index into [`Words::items`]: answered.
    known: Vec<bool>,
}

impl FirstAnswers {
    /// Looks at a review of the log; they come in the order of time.
    pub fn observe(&mut self, words: &Words, fact: &OutcomeRow) {
        self.known.resize(words.items.len(), false);
        if !std::mem::replace(&mut self.known[fact.item], true) {
            self.all.push(FirstAnswer {
                item: words.items[fact.item].clone(),
                at: fact.at,
                reply: UnseenAnswer::new(fact.correct, fact.guess, fact.seconds, fact.limit),
            });
        }
    }

    /// Looks at a review that was added since.
    pub fn add(&mut self, row: &ReviewRow) {
        let item = row.item_key();
        if self.all.iter().all(|first| first.item != item) {
            self.all.push(FirstAnswer {
                item,
                at: row.at,
                reply: UnseenAnswer::new(row.correct, row.guess, row.seconds, row.limit),
            });
        }
    }

    /// Those to items whose cards had not been shown in full before.
    pub fn unseen(&self, meetings: &[IntroductionRow]) -> Vec<&FirstAnswer> {
        let mut met: HashMap<&str, i64> = HashMap::new();
        for meeting in meetings {
            let at = met.entry(&meeting.card).or_insert(meeting.at);
            *at = meeting.at.min(*at);
        }
        let unseen = |first: &&FirstAnswer| {
            met.get(first.item.card.as_str())
                .is_none_or(|at| *at > first.at)
        };
        self.all.iter().filter(unseen).collect()
    }
}
