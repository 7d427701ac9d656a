//! The rules of the deck check. Each has a name, a help page, a bad deck and the message that it gives
//! (`tests/decks/bad/`).

mod concepts;
mod drums;
mod heard;
mod kinds;
mod needless_thin;
mod needs;
mod reading;
mod titles;
mod too_fast;

pub use concepts::CONCEPT;
pub use drums::DRUMS;
pub use heard::HEARD;
pub use kinds::NO_QUESTION;
pub use needless_thin::NEEDLESS_THIN;
pub use needs::NEEDS;
pub use reading::*;
pub use titles::SAME_TITLE;
pub use too_fast::TOO_FAST;

use super::check::{CheckContext, Finding};
use super::diagnostic::Severity;
use crate::hands::{Handed, Level, Player};

/// The player for whom the rules on hands work out tempos.
const PRACTISED: Player = Player {
    level: Level::Practised,
    handed: Handed::Right,
};

/// This many findings of a rule tell what was probably meant: to look for it takes time, and more are not drawn at once.
const GUESSES: usize = 40;

/// One rule of the check.
#[derive(Debug)]
pub struct Rule {
    /// Short name: letters and hyphens.
    pub name: &'static str,
    /// Mistake or warning.
    pub severity: Severity,
    /// What is wrong, in a few words.
    pub title: &'static str,
    /// The help page: why it matters and how to mend it.
    pub page: &'static str,
    /// Finds what breaks the rule among decks that were read. `None` where reading itself finds it.
    pub(super) check: Option<fn(&CheckContext) -> Vec<Finding>>,
}

/// Every rule there is.
pub fn all() -> Vec<&'static Rule> {
    let mut rules = reading::READING.to_vec();
    rules.extend([
        &DRUMS,
        &TOO_FAST,
        &NEEDLESS_THIN,
        &HEARD,
        &NEEDS,
        &NO_QUESTION,
        &CONCEPT,
        &SAME_TITLE,
    ]);
    rules
}

/// The rule of a name.
pub fn named(name: &str) -> Option<&'static Rule> {
    all().into_iter().find(|r| r.name == name)
}
