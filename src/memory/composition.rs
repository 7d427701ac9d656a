//! What an evening is made up of, besides what is worth most.

use crate::time::Seconds;
use serde::Serialize;
use std::collections::HashSet;

use super::candidate::Candidate;
use super::fold::Memory;

/// An item is held when it would be recalled with this chance a night after its last answer (chosen).
const LEVEL: f64 = 0.8;
/// Answers that an item of the lesson has at least before it counts as held: two evenings with one each (chosen).
const ANSWERS: u32 = 2;
/// Items of a card that are held at least, where it has so many (chosen).
const ITEMS: usize = 2;

/// The place of a candidate in the evening.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PlanRole {
    /// The thread that its card belongs to, from 0. Each thread brings new cards in its own order.
    pub thread: usize,
    /// Does its card belong to the lesson, which leads the plan?
    pub lesson: bool,
    /// Is it asked by ear?
    pub by_ear: bool,
    /// Does it ask what its thread is about?
    pub main: bool,
}

/// What an evening is made up of. The empty one, [`Composition::default`], leaves a plan to what is worth most.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Composition {
    /// One for each candidate, in their order; empty where nothing is composed.
    pub roles: Vec<PlanRole>,
    /// Cards that count as met, whether something of them was asked or not; `None` for those of which something was.
    pub met: Option<HashSet<String>>,
    /// Cards of each thread that were met today already; what is missing is 0.
    pub new_today: Vec<usize>,
    /// The first places in the order of learning, this many of them, come before anything else that is new, whatever
    /// its thread.
    pub opening: usize,
    /// Is anything asked by ear? Then half of the questions are, as far as there are enough.
    pub ears: bool,
}

impl Composition {
    /// Is there anything to compose?
    pub(super) fn is_empty(&self) -> bool {
        self.roles.is_empty()
    }

    /// The role of a candidate.
    pub(super) fn role(&self, candidate: usize) -> PlanRole {
        self.roles.get(candidate).copied().unwrap_or_default()
    }

    /// Notes that a card was met in the meantime.
    pub(super) fn meet(&mut self, candidates: &[Candidate], candidate: usize) {
        let card = &candidates[candidate].card;
        let (thread, lesson) = (self.role(candidate).thread, self.role(candidate).lesson);
        if let Some(met) = &mut self.met
            && met.insert(card.clone())
            && !lesson
        {
            if self.new_today.len() <= thread {
                self.new_today.resize(thread + 1, 0);
            }
            self.new_today[thread] += 1;
        }
    }

    /// A new day: nothing was met on it.
    pub(super) fn next_day(&mut self) {
        self.new_today.clear();
    }
}

/// How well a card of the lesson is held.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Hold {
    /// Is it held? At least two of its items (all, where it has fewer) were answered at least twice each, and each item that
    /// was asked was recalled the last time (a row that is partly right was not) and would be a night later, both with a
    /// chance of 0.8 or more. That takes two evenings as a rule. What is held comes first again when it fades.
    pub held: bool,
    /// The least of those chances, 0 to 1; `None` where nothing was asked yet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chance: Option<f64>,
    /// Answers to all of its items.
    pub answers: u32,
}

/// How well a card is held, by its items.
pub fn hold<'a>(memory: &Memory, items: impl IntoIterator<Item = &'a str>) -> Hold {
    let (mut all, mut firm, mut weak) = (0, 0, 0);
    let mut hold = Hold {
        held: false,
        chance: None,
        answers: 0,
    };
    for item in items {
        all += 1;
        let Some(last) = memory.last_seen(item) else {
            continue;
        };
        let chance = memory.chance(item, last + Seconds::DAY).unwrap_or(0.0);
        hold.chance = Some(hold.chance.map_or(chance, |least: f64| least.min(chance)));
        hold.answers += memory.reviews(item);
        let right = memory.last_recalled(item).is_some_and(|r| r >= LEVEL);
        match right && chance >= LEVEL && memory.reviews(item) >= ANSWERS {
            true => firm += 1,
            false => weak += 1,
        }
    }
    hold.held = weak == 0 && firm >= ITEMS.min(all).max(1);
    hold
}
