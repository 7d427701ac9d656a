//! The settings page: what the player plays and where they stand, the look of the screen, the keys.

use super::help;
use super::page::{Keys, ListRow, Page, PageList, Paragraph};
use super::screen_settings::{ExtraKeys, ScreenSettings};
use crate::hands::Level;
use crate::question::Stands;
use crate::session::Profile;
use crossterm::event::{KeyCode, KeyEvent};

/// The page with what is set on it.
#[derive(Clone, Debug, Default)]
pub struct SettingsPage {
    /// What the player said about themselves.
    pub profile: Profile,
    /// What they have set of the screen.
    pub screen: ScreenSettings,
    chosen: usize,
    /// The next letter is to become the chosen key.
    waiting: bool,
    /// Something that the player should know, until the next key.
    pub notice: Option<String>,
}

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SettingsAction {
    /// Nothing but what the page did by itself.
    Nothing,
    /// Something was changed: keep it.
    Keep,
    /// Keys and words.
    Help,
    /// Leave the page.
    Leave,
}

/// What each key does, for the help page.
pub const HELP: &[(&str, &str)] = &[
    (
        "up, down",
        "the previous line, the next; the wheel does too",
    ),
    (
        "right, Enter",
        "the next value; for a key, then press the new letter",
    ),
    ("left", "the previous value"),
    ("Esc", "back; your changes are kept"),
];

/// What can be set, in the order of the page.
const ROWS: [&str; 11] = [
    "You",
    "You play",
    "Stronger hand",
    "Hands",
    "Minutes a day",
    "Colours",
    "Playhead moves",
    "Mouse",
    "Key for: don't know",
    "Key for: I know this, ask me",
    "Key for: take back a slip",
];
/// The first of the rows about the screen, and of those that are keys.
const SCREEN: usize = 5;
const KEYS: usize = 8;

/// The next of a list after `now`, or the one before, round and round.
fn next<T: Copy + PartialEq>(all: &[T], now: T, forward: bool) -> T {
    let at = all.iter().position(|t| *t == now).unwrap_or(0);
    let by = if forward { 1 } else { all.len() - 1 };
    all[(at + by) % all.len()]
}

impl SettingsPage {
    /// The page at its first row.
    pub fn new(profile: Profile, screen: ScreenSettings) -> SettingsPage {
        SettingsPage {
            profile,
            screen,
            ..SettingsPage::default()
        }
    }

    /// What stands in a row.
    fn value(&self, row: usize) -> String {
        let yes = |yes: bool| if yes { "yes" } else { "no" }.to_string();
        let (profile, screen) = (&self.profile, &self.screen);
        match row {
            0 => profile.stands.spoken().into(),
            1 => profile.drums().into(),
            2 => profile.hand().into(),
            3 => profile.level.name().into(),
            4 => profile.minutes.to_string(),
            5 => yes(screen.colours),
            6 => yes(screen.motion),
            7 => yes(screen.mouse),
            8 => screen.keys.unknown.into(),
            9 => screen.keys.ask_me.into(),
            _ => screen.keys.take_back.into(),
        }
    }

    fn change(&mut self, forward: bool) {
        let (profile, screen) = (&mut self.profile, &mut self.screen);
        match self.chosen {
            0 => profile.stands = next(&Stands::ALL, profile.stands, forward),
            1 => profile.two_drums ^= true,
            2 => profile.left_handed ^= true,
            3 => profile.level = next(&Level::ALL, profile.level, forward),
            4 => {
                let minutes = profile.minutes + if forward { 1.0 } else { -1.0 };
                profile.minutes = minutes.max(1.0);
                *profile = profile.sane();
            }
            5 => screen.colours ^= true,
            6 => screen.motion ^= true,
            _ => screen.mouse ^= true,
        }
    }

    /// A click on a row: the first chooses it, the second changes it.
    pub fn click(&mut self, row: usize) -> SettingsAction {
        if row == self.chosen {
            return self.key(KeyCode::Enter.into());
        }
        (self.chosen, self.waiting) = (row, false);
        SettingsAction::Nothing
    }

    /// Takes a key.
    pub fn key(&mut self, key: KeyEvent) -> SettingsAction {
        self.notice = None;
        if std::mem::take(&mut self.waiting)
            && let KeyCode::Char(letter) = key.code
        {
            return self.set_key(letter);
        }
        match key.code {
            KeyCode::Up | KeyCode::BackTab => self.chosen = self.chosen.saturating_sub(1),
            KeyCode::Down | KeyCode::Tab => self.chosen = (self.chosen + 1).min(ROWS.len() - 1),
            KeyCode::Enter | KeyCode::Right if self.chosen >= KEYS => {
                self.waiting = true;
                self.notice = Some(format!("Press the new letter: one of {}.", ExtraKeys::FREE));
            }
            KeyCode::Enter | KeyCode::Right | KeyCode::Char(' ') => {
                self.change(true);
                return SettingsAction::Keep;
            }
            KeyCode::Left if self.chosen < KEYS => {
                self.change(false);
                return SettingsAction::Keep;
            }
            KeyCode::Char('?') => return SettingsAction::Help,
            KeyCode::Esc => return SettingsAction::Leave,
            other => self.notice = Some(help::not_a_key(other)),
        }
        SettingsAction::Nothing
    }

    fn set_key(&mut self, letter: char) -> SettingsAction {
        match self.screen.keys.with(self.chosen - KEYS, letter) {
            Some(keys) => {
                self.screen.keys = keys;
                SettingsAction::Keep
            }
            None => {
                self.notice = Some(format!(
                    "{letter} is an answer, or another of these keys; these are free: {}.",
                    ExtraKeys::FREE
                ));
                SettingsAction::Nothing
            }
        }
    }

    /// The page. Rows and list rows are the same, so that a click finds its row.
    pub fn page(&self) -> Page<'static> {
        let rows = ROWS.iter().enumerate().map(|(row, name)| ListRow {
            text: format!("{name:<32}{}", self.value(row)),
            ..ListRow::default()
        });
        let about = match self.chosen {
            0 => "From the next drill on you are asked before you are taught, unless you are new.",
            3 => "It decides what is comfortable at a tempo and which sticking is right.",
            1..SCREEN => "It applies from the next drill on; none of your answers are lost.",
            5 => "As far as the terminal has them; nothing depends on colour alone.",
            7 => "With the mouse on, hold the shift key to select text.",
            _ => "",
        };
        Page {
            place: "settings".into(),
            list: Some(PageList {
                rows: rows.collect(),
                chosen: self.chosen,
            }),
            body: vec![Paragraph::quiet(about)],
            notice: self.notice.clone(),
            keys: Keys::of_list(Some("change")),
            ..Page::default()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn press(page: &mut SettingsPage, keys: &[KeyCode]) -> SettingsAction {
        let mut last = SettingsAction::Nothing;
        for key in keys {
            last = page.key((*key).into());
        }
        last
    }

    #[test]
    fn each_row_but_the_keys_changes_and_comes_back() {
        for (row, name) in ROWS.iter().enumerate().take(KEYS) {
            let mut page = SettingsPage {
                chosen: row,
                ..SettingsPage::default()
            };
            let before = page.value(row);
            assert_eq!(press(&mut page, &[KeyCode::Right]), SettingsAction::Keep);
            assert_ne!(page.value(row), before, "{name}");
            assert_eq!(press(&mut page, &[KeyCode::Left]), SettingsAction::Keep);
            assert_eq!(page.value(row), before, "{name}");
        }
    }

    #[test]
    fn a_key_is_set_by_pressing_it_and_an_answer_is_refused() {
        let mut page = SettingsPage {
            chosen: KEYS,
            ..SettingsPage::default()
        };
        assert_eq!(
            press(&mut page, &[KeyCode::Enter, KeyCode::Char('q')]),
            SettingsAction::Keep
        );
        assert_eq!(page.screen.keys.unknown, 'q');
        press(&mut page, &[KeyCode::Enter, KeyCode::Char('o')]);
        assert_eq!(page.screen.keys.unknown, 'q');
        assert!(
            page.notice
                .as_ref()
                .is_some_and(|n| n.starts_with("o is an answer"))
        );
        // Esc while it waits leaves the key as it is.
        assert_eq!(
            press(&mut page, &[KeyCode::Enter, KeyCode::Esc]),
            SettingsAction::Leave
        );
        assert_eq!(page.screen.keys.unknown, 'q');
    }

    #[test]
    fn a_click_chooses_a_row_and_a_second_one_changes_it() {
        let mut page = SettingsPage::default();
        assert_eq!(page.click(4), SettingsAction::Nothing);
        assert_eq!(page.click(4), SettingsAction::Keep);
        assert_eq!(page.profile.minutes, Profile::default().minutes + 1.0);
        assert_eq!(
            page.page().list.map(|l| (l.rows.len(), l.chosen)),
            Some((ROWS.len(), 4))
        );
    }
}
