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

use crate::time::Seconds;
use std::collections::HashMap;

use super::candidate::{Candidate, PlanReason, Planned};
use super::constants::{DUE, FADING, IN_TURN, LONGEST, PATIENCE, REST};
use super::plan::PlanRequest;

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

    /// Some of them, by their worth.
    pub fn sorted<'a>(some: impl Iterator<Item = &'a ReviewIndex>) -> Vec<&'a ReviewIndex> {
        let mut sorted: Vec<&ReviewIndex> = some.collect();
        sorted.sort_by(|a, b| {
            let by_worth = b.order().total_cmp(&a.order());
            by_worth.then(a.candidate.cmp(&b.candidate))
        });
        sorted
    }

    /// It as a step of a plan, which takes so much longer than its question.
    pub fn planned(&self, longer: Seconds) -> Planned {
        Planned {
            candidate: self.candidate,
            why: match (self.new, self.recall < FADING) {
                (true, _) => PlanReason::New,
                (false, true) => PlanReason::Fading,
                (false, false) => PlanReason::Rotation,
            },
            seconds: self.seconds + longer,
            recall: self.recall,
            expected: self.expected,
        }
    }
}

/// Between two tiers; more than the days between two answers for each of the seconds that one takes.
const TIER: f64 = 1e5;
/// Items asked within this many days are of today.
const TODAY: f64 = 0.35;
/// A session counts as no shorter than this.
const SHORTEST: Seconds = Seconds::new(1.0);
/// This many items at most tell how well all of them are kept.
pub(super) const SAMPLE: usize = 400;

/// The candidates in their order of coming.
pub(super) struct Scheduler<'a> {
    request: &'a PlanRequest<'a>,
    ids: Vec<Option<usize>>,
    /// How long each takes with its answer looked at, without a first meeting.
    seconds: Vec<Seconds>,
    /// Days that it takes to see everything that was met once.
    round: f64,
    /// Days that it takes to see everything once, new items included.
    turn: f64,
    /// Days for which an item rests: most of the time that it takes to see everything that was met once.
    rest: f64,
}

impl<'a> Scheduler<'a> {
    pub fn new(request: &'a PlanRequest<'a>) -> Self {
        let (memory, settings) = (request.memory, request.settings);
        let known = request.candidates.iter().map(|c| {
            let id = memory.names.find(&c.item);
            (id, memory.seconds_of(c, id) + settings.reveal_seconds)
        });
        let (ids, seconds): (Vec<Option<usize>>, Vec<Seconds>) = known.unzip();
        let length = settings.length().max(SHORTEST);
        let met = seconds.iter().zip(&ids).filter(|(_, id)| id.is_some());
        let round = met.map(|(seconds, _)| *seconds).sum::<Seconds>() / length;
        Self {
            request,
            round,
            turn: seconds.iter().copied().sum::<Seconds>() / length,
            rest: (REST * round).clamp(TODAY, PATIENCE),
            ids,
            seconds,
        }
    }

    /// Was the candidate ever asked?
    pub fn asked_before(&self, candidate: usize) -> bool {
        self.ids[candidate].is_some()
    }

    /// All candidates but those that `without` names.
    pub fn all(&self, without: impl Fn(usize) -> bool) -> Vec<ReviewIndex> {
        // Many new items share their kind and concepts, and so their chances.
        let mut fresh = HashMap::new();
        let candidates = (0..self.ids.len()).filter(|c| !without(*c));
        let worth = |c| {
            self.known(c)
                .unwrap_or_else(|| self.new_item(c, &mut fresh))
        };
        candidates.map(worth).collect()
    }

    /// One that was asked before.
    pub fn known(&self, candidate: usize) -> Option<ReviewIndex> {
        let id = self.ids[candidate]?;
        let memory = self.request.memory;
        let days = (self.request.now - memory.items[id].history.last).days();
        let (recall, expected) = memory.chance_of(id, self.request.now);
        let seconds = self.seconds[candidate];
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

    /// Mean chance of recall a day from now of everything that was asked about candidates that `count`; 1 where nothing was.
    /// Of very many about `sample` tell for all.
    pub fn tomorrow(&self, sample: usize, count: impl Fn(&Candidate) -> bool) -> f64 {
        let all = self.request.candidates.iter().zip(&self.ids);
        let met: Vec<usize> = all
            .filter(|(c, _)| count(c))
            .filter_map(|(_, id)| *id)
            .collect();
        let some = met.iter().step_by(met.len().div_ceil(sample).max(1));
        let tomorrow = self.request.now + Seconds::DAY;
        let chance = |&id: &usize| self.request.memory.chance_of(id, tomorrow).0;
        match some.len() {
            0 => 1.0,
            n => some.map(chance).sum::<f64>() / n as f64,
        }
    }

    /// Would the minutes be filled by all that was met and this many new items, each asked this many times?
    pub fn fills(&self, new: usize, times: usize) -> bool {
        let all = self.seconds.len().max(1);
        let turns = self.round + self.turn * new as f64 / all as f64;
        turns * times as f64 >= 1.0
    }

    /// Of the candidates that were asked before and `may` come, the one that has gone unasked longest, where that is
    /// longer than [`LONGEST`].
    pub fn overdue(&self, may: impl Fn(usize) -> bool) -> Option<usize> {
        let met = self.ids.iter().enumerate();
        let met =
            met.filter_map(|(i, id)| Some((i, self.request.memory.items[(*id)?].history.last)));
        let (oldest, last) = met
            .filter(|(i, _)| may(*i))
            .min_by(|(_, a), (_, b)| a.total_cmp(b))?;
        (self.request.now - last > LONGEST).then_some(oldest)
    }

    /// Is everything seen in turn? Then nothing gives way to easier questions either: what is hard would only be seen
    /// less often, and the share right hardly moved (`benches/recall`, 120 items).
    pub fn in_turn(&self) -> bool {
        self.turn <= IN_TURN
    }

    fn new_item(
        &self,
        candidate: usize,
        fresh: &mut HashMap<(&'a str, &'a [String]), (f64, f64)>,
    ) -> ReviewIndex {
        let PlanRequest { memory, now, .. } = self.request;
        let c = &self.request.candidates[candidate];
        let chance = || memory.chance_new(&c.concepts, &c.kind, *now);
        let known = fresh.entry((&c.kind, &c.concepts));
        let (recall, expected) = *known.or_insert_with(chance);
        let seconds = self.seconds[candidate];
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
