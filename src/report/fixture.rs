//! Reports for tests.

use super::{Diary, Input, Practice, Report, report};
use crate::memory::{Candidate, Memory};
use crate::rhythm::Grid;
use crate::store::{Fact, Item, Reply, Words};

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

/// A right answer so many seconds after 2026-06-01 00:00 UTC that took so many seconds.
pub(crate) fn answer(at: i64, seconds: f64) -> Fact {
    Fact {
        id: 1,
        at: (1_780_272_000 + at) * 1000,
        utc_offset: 0,
        item: 0,
        concepts: 0,
        reply: 0,
        bpm: 120.0,
        grid: Grid::Eighths,
        correct: 1.0,
        guess: 0.5,
        seconds,
        limit: 4.0,
        replays: 0,
        slowed: false,
        in_time: true,
        forecast: None,
    }
}

/// A reply of a question with these choices, keyed from `a` on: which was given, and which was right.
pub(crate) fn reply(choices: &[&str], given: usize, right: usize) -> Reply {
    let key = |n: usize| char::from(b'a' + n as u8);
    let labels = choices.iter().enumerate();
    Reply {
        answer: key(given).to_string(),
        keys: vec![key(right).to_string()],
        choices: labels
            .map(|(n, label)| (key(n), label.to_string()))
            .collect(),
    }
}

/// The question of a kind about the `n`th card, by eye.
pub(crate) fn item(n: usize, kind: &str) -> Item {
    Item {
        card: format!("festival/{n}"),
        kind: kind.into(),
        sense: "read".into(),
    }
}

/// The question about the side of the `n`th card, as it is on a deck.
pub(crate) fn candidate(n: usize, concepts: &[String]) -> Candidate {
    let Item { card, kind, .. } = item(n, "side");
    Candidate {
        item: item(n, "side").to_string(),
        card,
        kind,
        concepts: concepts.to_vec(),
        order: n,
        needs: Vec::new(),
    }
}
