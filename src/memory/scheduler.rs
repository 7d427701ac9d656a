//! What comes first today.
//!
//! Three tiers: what is fading but not yet lost; then new items; then everything else in turn, by the days unseen for
//! each second that it takes. Of what is fading the quickest comes first, of what is new what is likeliest
//! to be recalled for each second. What was asked so lately that others should come first is behind them all. Where
//! everything can be seen within a few days, there is no first tier: all of it in turn, new items first, by the days
//! unseen alone. What is as good as lost waits for its turn too: one answer hardly brings it back.
//!
//! Such a rule keeps more, for each minute, than the greatest gain of one answer a second (`tests/memory_lessons.rs`), and
//! as much as values reckoned several answers ahead (`benches/recall`).

use crate::time::{Moment, Seconds};
use std::collections::HashMap;

use super::candidate::{Candidate, Settings};
use super::constants::{DUE, IN_TURN, LONGEST, PATIENCE, REST};
use super::fold::Memory;

/// A candidate as the plan sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct ReviewIndex {
    pub candidate: usize,
    /// Never asked.
    pub new: bool,
    /// Asked so lately that others come first.
    pub rested: bool,
    /// What comes first has more of it: its tier, then its place within it.
    pub priority: f64,
    /// Seconds, without a first meeting.
    pub seconds: Seconds,
    /// Chance of recall when it is asked, and of a right answer.
    pub recall: f64,
    pub expected: f64,
}

impl ReviewIndex {
    /// By what plans are sorted: those without rest last.
    pub fn order(&self) -> f64 {
        if self.rested {
            self.priority
        } else {
            self.priority - 4.0 * TIER
        }
    }
}

/// Between two tiers; more than the days between two answers for each of the seconds that one takes.
const TIER: f64 = 1e5;
/// Items asked within this many days are of today.
const TODAY: f64 = 0.35;
/// A session counts as no shorter than this.
const SHORTEST: Seconds = Seconds::new(1.0);
/// This many items at most tell how much time all of them want.
const SAMPLE: usize = 400;

/// The candidates in their order of coming.
pub(super) struct Scheduler<'a> {
    view: SchedulerInput<'a>,
    /// Days for which an item rests.
    rest: f64,
    /// Days that it takes to see everything once.
    turn: f64,
}

impl<'a> Scheduler<'a> {
    pub fn new(
        memory: &'a Memory,
        candidates: &'a [Candidate],
        settings: &'a Settings,
        now: Moment,
    ) -> Self {
        let view = SchedulerInput::new(memory, candidates, settings, now);
        Self {
            rest: view.rest(),
            turn: view.turn(),
            view,
        }
    }

    /// Was the candidate ever asked?
    pub fn asked_before(&self, candidate: usize) -> bool {
        self.view.ids[candidate].is_some()
    }

    /// All candidates but those that `without` names.
    pub fn all(&self, without: impl Fn(usize) -> bool) -> Vec<ReviewIndex> {
        let mut fresh = NewItemCache::default();
        let candidates = (0..self.view.ids.len()).filter(|c| !without(*c));
        let worth = |c| {
            self.known(c)
                .unwrap_or_else(|| self.new_item(c, &mut fresh))
        };
        candidates.map(worth).collect()
    }

    /// One that was asked before.
    pub fn known(&self, candidate: usize) -> Option<ReviewIndex> {
        let id = self.view.ids[candidate]?;
        let memory = self.view.memory;
        let days = (self.view.now - memory.items[id].history.last).days();
        let (recall, expected) = memory.chance_of(id, self.view.now);
        let seconds = self.view.seconds[candidate];
        let priority = match self.in_turn() {
            true => days.max(0.0),
            false if recall >= DUE.0 && recall < DUE.1 => 2.0 * TIER + 1.0 / seconds.seconds(),
            false => days.max(0.0) / seconds.seconds(),
        };
        Some(ReviewIndex {
            candidate,
            new: false,
            rested: days >= self.rest,
            priority,
            seconds,
            recall,
            expected,
        })
    }

    /// Mean chance of recall a day from now of everything that was met; 1 where nothing was. Of very many some tell for
    /// all.
    pub fn tomorrow(&self) -> f64 {
        let met: Vec<usize> = self.view.ids.iter().copied().flatten().collect();
        let some = met.iter().step_by(met.len().div_ceil(SAMPLE).max(1));
        let (memory, tomorrow) = (self.view.memory, self.view.now + Seconds::DAY);
        let chance = |&id: &usize| memory.chance_of(id, tomorrow).0;
        let n = some.len();
        if n == 0 {
            return 1.0;
        }
        some.map(chance).sum::<f64>() / n as f64
    }

    /// Would the minutes be filled by all that was met and this many new items, each asked this many times?
    pub fn fills(&self, new: usize, times: usize) -> bool {
        let all = self.view.seconds.len().max(1);
        let turns = self.view.days(true) + self.turn * new as f64 / all as f64;
        turns * times as f64 >= 1.0
    }

    /// Of the candidates that were asked before and `may` come, the one that has gone unasked longest, where that is
    /// longer than [`LONGEST`].
    pub fn overdue(&self, may: impl Fn(usize) -> bool) -> Option<usize> {
        let met = self.view.ids.iter().enumerate();
        let met = met.filter_map(|(i, id)| Some((i, self.view.memory.items[(*id)?].history.last)));
        let (oldest, last) = met
            .filter(|(i, _)| may(*i))
            .min_by(|(_, a), (_, b)| a.total_cmp(b))?;
        (self.view.now - last > LONGEST).then_some(oldest)
    }

    /// Is everything seen in turn? Then nothing gives way to easier questions either: what is hard would only be seen
    /// less often, and the share right hardly moved (`benches/recall`, 120 items).
    pub fn in_turn(&self) -> bool {
        self.turn <= IN_TURN
    }

    fn new_item(&self, candidate: usize, fresh: &mut NewItemCache<'a>) -> ReviewIndex {
        let c = &self.view.candidates[candidate];
        let (recall, expected) = fresh.of(self.view.memory, c, self.view.now);
        let seconds = self.view.seconds[candidate];
        ReviewIndex {
            candidate,
            new: true,
            rested: true,
            priority: TIER + recall / seconds.seconds(),
            seconds,
            recall,
            expected,
        }
    }
}

/// Chances of new items, by kind and concepts: many share them.
#[derive(Default)]
struct NewItemCache<'a> {
    known: HashMap<(&'a str, &'a [String]), (f64, f64)>,
}

impl<'a> NewItemCache<'a> {
    fn of(&mut self, memory: &Memory, c: &'a Candidate, now: Moment) -> (f64, f64) {
        let chance = || memory.chance_new(&c.concepts, &c.kind, now);
        *self
            .known
            .entry((&c.kind, &c.concepts))
            .or_insert_with(chance)
    }
}

struct SchedulerInput<'a> {
    memory: &'a Memory,
    candidates: &'a [Candidate],
    ids: Vec<Option<usize>>,
    /// How long each takes with its answer looked at, without a first meeting.
    seconds: Vec<Seconds>,
    settings: &'a Settings,
    now: Moment,
}

impl<'a> SchedulerInput<'a> {
    fn new(
        memory: &'a Memory,
        candidates: &'a [Candidate],
        settings: &'a Settings,
        now: Moment,
    ) -> Self {
        let known = candidates.iter().map(|c| {
            let id = memory.names.find(&c.item);
            (id, memory.seconds_of(c, id) + settings.reveal_seconds)
        });
        let (ids, seconds) = known.unzip();
        Self {
            memory,
            candidates,
            ids,
            seconds,
            settings,
            now,
        }
    }

    /// Days that the candidates take that were met, or were not, each once.
    fn days(&self, met: bool) -> f64 {
        let meet = if met {
            Seconds::ZERO
        } else {
            self.settings.meet_seconds
        };
        let all = self.seconds.iter().zip(&self.ids);
        let seconds = all.filter(|(_, id)| id.is_some() == met);
        seconds.map(|(seconds, _)| *seconds + meet).sum::<Seconds>()
            / self.settings.length().max(SHORTEST)
    }

    /// Days for which an item rests: most of the time that it takes to see everything that was met once.
    fn rest(&self) -> f64 {
        (REST * self.days(true)).clamp(TODAY, PATIENCE)
    }

    /// Days that it takes to see everything once, new items included.
    fn turn(&self) -> f64 {
        self.seconds.iter().copied().sum::<Seconds>() / self.settings.length().max(SHORTEST)
    }
}
