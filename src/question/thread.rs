//! The three threads of the course, what opens it, and the order in which its cards are learned.

use super::hand::HAND;
use super::side::SIDE;
use super::strokes::STROKES;
use crate::deck::{Card, States};
use crate::memory::Candidate;
use serde::Serialize;
use std::collections::{HashMap, HashSet};

/// What a card mostly teaches. Each thread of the course moves at its own pace.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Thread {
    /// Hearing the side.
    Side,
    /// Strokes and hands.
    Strokes,
    /// Variations and phrases.
    Variations,
}

/// The thread of each shipped deck.
pub(super) const THREADS: &[(&str, Thread)] = &[
    ("clave", Thread::Side),
    ("parts", Thread::Side),
    ("with-the-band", Thread::Side),
    ("six-eight", Thread::Side),
    ("rumba", Thread::Side),
    ("strokes", Thread::Strokes),
    ("tumbao", Thread::Strokes),
    ("by-ear", Thread::Strokes),
    ("hands", Thread::Strokes),
    ("variations", Thread::Variations),
    ("low-drum-three", Thread::Variations),
    ("low-drum-two", Thread::Variations),
    ("variations-two-bars", Thread::Variations),
    ("phrases", Thread::Variations),
    ("styles", Thread::Variations),
];

/// The deck of a card.
pub(super) fn deck(card: &str) -> &str {
    card.split('/').next().unwrap_or_default()
}

/// The place of each card in the order of learning: first the opening; then in each thread the decks as they are listed, but
/// the second half of a deck takes turns with the first half of the next, so that no deck waits for the end of another.
/// The threads stand one behind the other.
pub(super) fn order(candidates: &[Candidate], threads: &[Thread]) -> HashMap<String, usize> {
    let mut decks: Vec<(Thread, &str, Vec<&str>)> = Vec::new();
    let mut seen = HashSet::new();
    for (c, thread) in candidates.iter().zip(threads) {
        if !seen.insert(c.card.as_str()) || OPENING.contains(&c.card.as_str()) {
            continue;
        }
        let same = |d: &&mut (Thread, &str, Vec<&str>)| (d.0, d.1) == (*thread, deck(&c.card));
        match decks.iter_mut().find(same) {
            Some((.., cards)) => cards.push(&c.card),
            None => decks.push((*thread, deck(&c.card), vec![&c.card])),
        }
    }
    let mut rows: Vec<(Thread, f64, usize, &str)> = Vec::new();
    for (nth, (thread, _, cards)) in decks.iter().enumerate() {
        let before = decks[..nth].iter().filter(|d| d.0 == *thread).count() as f64;
        for (i, card) in cards.iter().enumerate() {
            let at = before / 2.0 + i as f64 / cards.len() as f64;
            rows.push((*thread, at, nth, card));
        }
    }
    rows.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2)));
    // What opens the course keeps its place, whether all of it is there or not.
    let opening = OPENING.iter().copied().zip(0..);
    let opening = opening.filter(|(id, _)| candidates.iter().any(|c| c.card == *id));
    let rest = rows.into_iter().map(|row| row.3).zip(OPENING.len()..);
    let all = opening.chain(rest);
    all.map(|(id, place)| (id.to_string(), place)).collect()
}

/// The cards with which the course opens, in this order: the clave, two kinds of stroke, the tumbao that they make, one
/// slow variation on it. Then the threads take turns.
pub(super) const OPENING: &[&str] = &[
    "clave/son-2-3",
    "strokes/slap",
    "strokes/heel-tip",
    "tumbao/one-bar",
    "variations/corner-open",
    "clave/son-3-2",
];

impl Thread {
    /// All of them, in the order in which they are named.
    pub const ALL: [Thread; 3] = [Thread::Side, Thread::Strokes, Thread::Variations];

    /// Its name as players read it.
    pub const fn spoken(self) -> &'static str {
        match self {
            Thread::Side => "Side",
            Thread::Strokes => "Strokes",
            Thread::Variations => "Variations",
        }
    }

    /// The thread of a card: that of its deck, for a shipped one. For a deck of the player's own its music decides: no
    /// drums, the side; drums that state a side or have a place in a phrase, variations; else strokes and hands.
    pub fn of(card: &Card) -> Thread {
        let listed = THREADS.iter().find(|(id, _)| *id == deck(&card.id));
        match (listed, &card.score.drums) {
            (Some((_, thread)), _) => *thread,
            (None, None) => Thread::Side,
            (None, Some(_)) if card.states != States::Neither || card.place.is_some() => {
                Thread::Variations
            }
            (None, Some(_)) => Thread::Strokes,
        }
    }

    /// Is a kind of question what the thread is about? All are where cards are of several sorts.
    pub(super) fn asks(self, kind: &str) -> bool {
        match self {
            Thread::Side => kind == SIDE.name,
            Thread::Strokes => [STROKES.name, HAND.name].contains(&kind),
            Thread::Variations => true,
        }
    }

    pub(super) fn index(self) -> usize {
        self as usize
    }
}
