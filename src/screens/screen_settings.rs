//! What the player has set of the screen itself: colours, motion, mouse, and the letters that are not answers.

use super::theme::{Depth, Theme};
use serde::{Deserialize, Serialize};

/// What the player has set of the screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct ScreenSettings {
    /// Colours, as far as the terminal has them.
    pub colours: bool,
    /// Does the playhead move?
    pub motion: bool,
    /// Clicks and the wheel. Without it the terminal selects text as usual.
    pub mouse: bool,
    /// The letters that do something besides answering.
    pub keys: ExtraKeys,
}

impl Default for ScreenSettings {
    fn default() -> ScreenSettings {
        ScreenSettings {
            colours: true,
            motion: true,
            mouse: true,
            keys: ExtraKeys::default(),
        }
    }
}

impl ScreenSettings {
    /// The same with nothing that moves, where that is wanted.
    pub fn stilled(self, still: bool) -> ScreenSettings {
        let motion = self.motion && !still;
        ScreenSettings { motion, ..self }
    }

    /// The theme on a terminal of this depth.
    pub fn theme(&self, depth: Depth) -> Theme {
        Theme::new(if self.colours { depth } else { Depth::None })
    }
}

/// The letters that do something besides answering in the drill.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct ExtraKeys {
    /// For what the player does not know.
    pub unknown: char,
    /// For a new card that the player knows already.
    pub ask_me: char,
    /// Takes back an answer that was a slip.
    pub take_back: char,
}

impl Default for ExtraKeys {
    fn default() -> ExtraKeys {
        ExtraKeys::USUAL
    }
}

impl ExtraKeys {
    /// Those that a new player starts with.
    pub const USUAL: ExtraKeys = ExtraKeys {
        unknown: 'x',
        ask_me: 'i',
        take_back: 'u',
    };
    /// Letters that are not an answer to any question, and so free for these keys.
    pub const FREE: &str = "ikquvwxz";

    /// The same with this letter for the first (0), second or third of them; `None` where it is an answer somewhere or
    /// taken by another of them.
    pub fn with(self, nth: usize, letter: char) -> Option<ExtraKeys> {
        let letter = letter.to_ascii_lowercase();
        let mut all = [self.unknown, self.ask_me, self.take_back];
        let taken = all.iter().zip(0..).any(|(k, n)| *k == letter && n != nth);
        *all.get_mut(nth)? = letter;
        let [unknown, ask_me, take_back] = all;
        (Self::FREE.contains(letter) && !taken).then_some(ExtraKeys {
            unknown,
            ask_me,
            take_back,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deck;
    use crate::question::{self, Setup};
    use crate::session::Profile;

    #[test]
    fn a_key_is_set_where_it_is_free() {
        let keys = ExtraKeys::default();
        assert_eq!(keys.with(0, 'Q').map(|k| k.unknown), Some('q'));
        // `i` is taken, `h` is the heel, and there are three of them.
        assert_eq!(keys.with(0, 'i'), None);
        assert_eq!(keys.with(1, 'i'), Some(keys));
        assert_eq!(keys.with(2, 'h'), None);
        assert_eq!(keys.with(3, 'q'), None);
    }

    #[test]
    fn no_shipped_question_is_answered_with_a_letter_that_may_be_set() {
        let decks = deck::shipped();
        for item in question::items(&decks) {
            let card = question::card(&decks, &item.key.card).unwrap();
            let setup = Setup {
                tempo: card.tempo.0,
                player: Profile::default().player(),
                as_written: false,
                weighed: false,
                unseen: false,
            };
            let Some(asked) = question::ask(card, &item.key, 1, &setup) else {
                continue;
            };
            for choice in asked.form.choices() {
                assert!(
                    !ExtraKeys::FREE.contains(choice.key),
                    "{}: {}",
                    item.key,
                    choice.key
                );
            }
        }
    }
}
