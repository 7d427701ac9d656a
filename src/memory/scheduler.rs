//! What each candidate is worth today.

use std::collections::HashMap;

use super::candidate::{Candidate, Settings};
use super::constants::{AFTER, CROWDED, END, IN_TURN, LONGEST, PATIENCE, REST};
use super::fold::Memory;
use super::value_function::{Horizon, ValueFunction};

/// A candidate as the plan sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct ReviewIndex {
    pub candidate: usize,
    /// Never asked.
    pub new: bool,
    /// Asked so lately that others come first.
    pub rested: bool,
    /// Gain over waiting for each second.
    pub gain: f64,
    /// Seconds, without a first meeting.
    pub seconds: f64,
    /// Chance of recall when it is asked, and of a right answer.
    pub recall: f64,
    pub expected: f64,
}

impl ReviewIndex {
    /// By what plans are sorted: the gain, those without rest last.
    pub fn order(&self) -> f64 {
        if self.rested {
            self.gain
        } else {
            self.gain - 1e3
        }
    }
}

const DAY: f64 = 86_400.0;
/// Items asked within so many days are of today.
const TODAY: f64 = 0.35;
/// So many items at most tell how much time all of them want.
const SAMPLE: usize = 400;

/// What the candidates are worth, at the price at which all of them together want just the minutes that there are.
pub(super) struct Scheduler<'a> {
    view: SchedulerInput<'a>,
    value: ValueFunction,
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
        now: f64,
    ) -> Self {
        let view = SchedulerInput::new(memory, candidates, settings, now);
        Self {
            value: view.value(),
            rest: view.rest(view.crowd()),
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
        let (gain, rested) = self.again(candidate, id);
        let memory = self.view.memory;
        let (recall, expected) = memory.chance_of(id, &memory.beliefs[id], self.view.now);
        Some(ReviewIndex {
            candidate,
            new: false,
            rested,
            gain,
            seconds: self.view.seconds[candidate],
            recall,
            expected,
        })
    }

    /// Mean chance of recall a day from now of everything that was met; 1 where nothing was. Of very many some tell for
    /// all.
    pub fn tomorrow(&self) -> f64 {
        let met: Vec<usize> = self.view.ids.iter().copied().flatten().collect();
        let some = met.iter().step_by(met.len().div_ceil(SAMPLE).max(1));
        let (memory, tomorrow) = (self.view.memory, self.view.now + DAY);
        let chance = |&id: &usize| memory.chance_of(id, &memory.beliefs[id], tomorrow).0;
        let n = some.len();
        if n == 0 {
            return 1.0;
        }
        some.map(chance).sum::<f64>() / n as f64
    }

    /// Would the minutes be filled by all that was met and so many new items, each asked so many times?
    pub fn fills(&self, new: usize, times: usize) -> bool {
        let all = self.view.seconds.len().max(1);
        let turns = self.view.days(true) + self.turn * new as f64 / all as f64;
        turns * times as f64 >= 1.0
    }

    /// Of the candidates that were asked before and `may` come, the one that has gone unasked longest, where that is
    /// longer than [`LONGEST`].
    pub fn overdue(&self, may: impl Fn(usize) -> bool) -> Option<usize> {
        let met = self.view.ids.iter().enumerate();
        let met = met.filter_map(|(i, id)| Some((i, self.view.memory.items[(*id)?].last)));
        let (oldest, last) = met
            .filter(|(i, _)| may(*i))
            .min_by(|(_, a), (_, b)| a.total_cmp(b))?;
        (self.view.now - last > LONGEST * DAY).then_some(oldest)
    }

    /// Is everything seen in turn? Then nothing gives way to easier questions either: what is hard would only be seen
    /// less often, and the share right hardly moved (`benches/recall`, 120 items).
    pub fn in_turn(&self) -> bool {
        self.turn <= IN_TURN
    }

    /// Gain for each second and rest of a candidate that was asked before.
    fn again(&self, candidate: usize, id: usize) -> (f64, bool) {
        let memory = self.view.memory;
        let days = (self.view.now - memory.items[id].last) / DAY;
        let gain = if self.in_turn() {
            (days / self.turn).min(NEW_FIRST / 2.0)
        } else {
            self.value.gain(&memory.beliefs[id], days) / self.view.seconds[candidate]
        };
        (gain, days >= self.rest)
    }

    fn new_item(&self, candidate: usize, fresh: &mut NewItemCache<'a>) -> ReviewIndex {
        let (memory, settings) = (self.view.memory, self.view.settings);
        let c = &self.view.candidates[candidate];
        let new = fresh.of(memory, c, &self.value);
        let seconds = self.view.seconds[candidate];
        let cost = seconds + settings.meet_seconds;
        let later = (1.0 - END) * (new.value - self.value.price * cost).max(0.0);
        let gain = (new.value - later) / cost;
        ReviewIndex {
            candidate,
            new: true,
            rested: true,
            gain: if self.in_turn() { NEW_FIRST } else { gain },
            seconds,
            recall: new.recall,
            expected: new.expected,
        }
    }
}

/// Values of new items, by kind and concepts: many share them.
#[derive(Default)]
struct NewItemCache<'a> {
    known: HashMap<(&'a str, &'a [String]), New>,
}

#[derive(Clone, Copy)]
struct New {
    value: f64,
    recall: f64,
    expected: f64,
}

impl<'a> NewItemCache<'a> {
    fn of(&mut self, memory: &Memory, c: &'a Candidate, value: &ValueFunction) -> New {
        *self.known.entry((&c.kind, &c.concepts)).or_insert_with(|| {
            let belief = memory.belief_new(&c.concepts, &c.kind);
            let (recall, expected) = memory.chance_new(&belief, &c.kind);
            New {
                value: value.new_item(&belief).0,
                recall,
                expected,
            }
        })
    }
}

struct SchedulerInput<'a> {
    memory: &'a Memory,
    candidates: &'a [Candidate],
    ids: Vec<Option<usize>>,
    /// Seconds of each with its answer looked at, without a first meeting.
    seconds: Vec<f64>,
    settings: &'a Settings,
    now: f64,
}

/// Above any number of turns that an item has gone unseen.
const NEW_FIRST: f64 = 100.0;

impl<'a> SchedulerInput<'a> {
    fn new(
        memory: &'a Memory,
        candidates: &'a [Candidate],
        settings: &'a Settings,
        now: f64,
    ) -> Self {
        let known = candidates.iter().map(|c| {
            let id = memory.names.find(&c.item);
            let answer = match id {
                Some(id) => memory.pace_of_item(id),
                None => memory.pace_of(&c.kind),
            };
            (id, answer + settings.reveal_seconds)
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
        let meet = if met { 0.0 } else { self.settings.meet_seconds };
        let all = self.seconds.iter().zip(&self.ids);
        let seconds = all.filter(|(_, id)| id.is_some() == met);
        seconds.map(|(seconds, _)| seconds + meet).sum::<f64>()
            / (self.settings.minutes * 60.0).max(1.0)
    }

    /// How much waits to be met: 0 where nothing does, 1 where it takes [`CROWDED`] days or more to meet it all.
    fn crowd(&self) -> f64 {
        (self.days(false) / CROWDED).min(1.0)
    }

    /// Days for which an item rests. Where everything that was met can be seen within a few days, seeing it all in turn is
    /// hard to beat, so the rest is most of the time that one turn takes. What waits to be met shortens it: then the
    /// time is better spent on what fades fast than on a full turn.
    fn rest(&self, crowd: f64) -> f64 {
        let patience = PATIENCE.0 + (PATIENCE.1 - PATIENCE.0) * crowd;
        (REST * self.days(true)).clamp(TODAY, patience)
    }

    /// Days that it takes to see everything once, new items included.
    fn turn(&self) -> f64 {
        self.seconds.iter().sum::<f64>() / (self.settings.minutes * 60.0).max(1.0)
    }

    /// Values at the price that fits the minutes. Demand falls with the price, so bisection finds it.
    fn value(&self) -> ValueFunction {
        let n = self.candidates.len().max(1);
        let stride = n.div_ceil(SAMPLE);
        let sample: Vec<usize> = (0..self.candidates.len()).step_by(stride).collect();
        let review = sample
            .iter()
            .map(|&i| self.memory.pace_of(&self.candidates[i].kind))
            .sum::<f64>()
            / sample.len().max(1) as f64
            + self.settings.reveal_seconds;
        let steps = self.memory.steps(Horizon {
            end: END,
            after: AFTER,
            review,
        });
        let wanted: Vec<_> = sample.iter().map(|&i| self.want(i)).collect();
        let budget = self.settings.minutes * 60.0 / END / stride as f64;
        let cost_new = review + self.settings.meet_seconds;
        let (mut low, mut high) = (1e-7f64, 1.0f64);
        let mut value = steps.solve((low * high).sqrt(), None);
        for _ in 0..9 {
            let demand: f64 = wanted
                .iter()
                .map(|w| match w.days {
                    Some(days) => value.demand(&w.belief, days),
                    None => {
                        let (worth, seconds) = value.new_item(&w.belief);
                        if worth > value.price * cost_new {
                            w.weight * (cost_new + seconds)
                        } else {
                            0.0
                        }
                    }
                })
                .sum();
            if demand > budget {
                low = value.price
            } else {
                high = value.price
            }
            value = steps.solve((low * high).sqrt(), Some(&value));
        }
        value
    }

    fn want(&self, i: usize) -> TimeDemand {
        let c = &self.candidates[i];
        match self.ids[i] {
            Some(id) => TimeDemand {
                belief: self.memory.beliefs[id],
                days: Some((self.now - self.memory.items[id].last) / DAY),
                weight: 1.0,
            },
            None => {
                // A new card waits its turn: what it will take comes so many days later.
                let wait = c.order as f64 / self.settings.new_cards_a_day.max(1) as f64;
                let weight = if self.settings.new_cards_a_day == usize::MAX {
                    1.0
                } else {
                    (1.0 - END).powf(wait)
                };
                TimeDemand {
                    belief: self.memory.belief_new(&c.concepts, &c.kind),
                    days: None,
                    weight,
                }
            }
        }
    }
}

/// What an item asks of the time.
struct TimeDemand {
    belief: super::belief::Belief,
    /// Days since it was last asked; none for a new one.
    days: Option<f64>,
    weight: f64,
}
