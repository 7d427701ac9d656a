//! Reports for tests.

use super::{Diary, Input, Practice, Report, report};
use crate::memory::Memory;
use crate::store::Words;

/// The report of a player who has answered nothing, at `now` (seconds since 1970 UTC).
pub(crate) fn empty(now: f64) -> Report {
    let (words, memory) = (Words::default(), Memory::new());
    let input = Input {
        words: &words,
        recent: &[],
        memory: &memory,
        items: &[],
        now,
        practice: Practice::default(),
    };
    report(&input, &Diary::default())
}
