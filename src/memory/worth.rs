//! What each candidate is worth today.

use std::collections::HashMap;

use super::constants::{AFTER, END, IN_TURN, PATIENCE, REST};
use super::plan::{Candidate, Settings};
use super::states::Memory;
use super::value::{Aim, Value};

/// A candidate as the plan sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Worth {
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

impl Worth {
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

/// What every candidate is worth, at the price at which all of them together want just the minutes that there are.
pub(super) fn worths(
    memory: &Memory,
    candidates: &[Candidate],
    settings: &Settings,
    now: f64,
) -> Vec<Worth> {
    let ids: Vec<Option<usize>> = candidates
        .iter()
        .map(|c| memory.names.find(&c.item))
        .collect();
    let view = View {
        memory,
        candidates,
        ids: &ids,
        settings,
        now,
    };
    let value = view.value();
    let rest = view.rest();
    let turn = view.turn();
    let in_turn = turn <= IN_TURN;
    let mut fresh = Fresh::default();
    let mut seconds = Seconds::default();
    candidates
        .iter()
        .enumerate()
        .map(|(candidate, c)| match ids[candidate] {
            Some(id) => {
                let days = (now - memory.items[id].last) / DAY;
                let belief = memory.belief(id);
                let (recall, expected) = memory.chance_of(id, &belief, now);
                let seconds = memory.pace_of_item(id) + settings.reveal_seconds;
                let gain = value.gain(&belief, days) / seconds;
                Worth {
                    candidate,
                    new: false,
                    rested: days >= rest,
                    gain: if in_turn {
                        (days / turn).min(NEW_FIRST / 2.0)
                    } else {
                        gain
                    },
                    seconds,
                    recall,
                    expected,
                }
            }
            None => {
                let new = fresh.of(memory, c, &value);
                let seconds = seconds.of(memory, &c.kind) + settings.reveal_seconds;
                let cost = seconds + settings.meet_seconds;
                let later = (1.0 - END) * (new.value - value.price * cost).max(0.0);
                let gain = (new.value - later) / cost;
                Worth {
                    candidate,
                    new: true,
                    rested: true,
                    gain: if in_turn { NEW_FIRST } else { gain },
                    seconds,
                    recall: new.recall,
                    expected: new.expected,
                }
            }
        })
        .collect()
}

/// Values of new items, by kind and concepts: many share them.
#[derive(Default)]
struct Fresh<'a> {
    known: HashMap<(&'a str, &'a [String]), New>,
}

#[derive(Clone, Copy)]
struct New {
    value: f64,
    recall: f64,
    expected: f64,
}

impl<'a> Fresh<'a> {
    fn of(&mut self, memory: &Memory, c: &'a Candidate, value: &Value) -> New {
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

/// Seconds of an answer, by kind.
#[derive(Default)]
struct Seconds<'a> {
    known: HashMap<&'a str, f64>,
}

impl<'a> Seconds<'a> {
    fn of(&mut self, memory: &Memory, kind: &'a str) -> f64 {
        *self
            .known
            .entry(kind)
            .or_insert_with(|| memory.pace_of(kind))
    }
}

struct View<'a> {
    memory: &'a Memory,
    candidates: &'a [Candidate],
    ids: &'a [Option<usize>],
    settings: &'a Settings,
    now: f64,
}

/// Above any number of turns that an item has gone unseen.
const NEW_FIRST: f64 = 100.0;

impl View<'_> {
    /// Days that it takes to see everything once, new items included.
    fn turn(&self) -> f64 {
        let seconds: f64 = self
            .candidates
            .iter()
            .zip(self.ids)
            .map(|(c, id)| {
                id.map_or_else(
                    || self.memory.pace_of(&c.kind),
                    |id| self.memory.pace_of_item(id),
                )
            })
            .sum();
        let reveals = self.settings.reveal_seconds * self.candidates.len() as f64;
        (seconds + reveals) / (self.settings.minutes * 60.0).max(1.0)
    }

    /// Days for which an item rests. Where everything that was met can be seen within a few days, seeing it all in turn is
    /// hard to beat, so the rest is most of the time that one turn takes.
    fn rest(&self) -> f64 {
        let met = self.ids.iter().flatten();
        let turn: f64 = met
            .map(|&id| self.memory.pace_of_item(id) + self.settings.reveal_seconds)
            .sum();
        (REST * turn / (self.settings.minutes * 60.0)).clamp(TODAY, PATIENCE)
    }

    /// Values at the price that fits the minutes. Demand falls with the price, so bisection finds it.
    fn value(&self) -> Value {
        let n = self.candidates.len().max(1);
        let stride = n.div_ceil(SAMPLE);
        let sample: Vec<usize> = (0..self.candidates.len()).step_by(stride).collect();
        let review = sample
            .iter()
            .map(|&i| self.memory.pace_of(&self.candidates[i].kind))
            .sum::<f64>()
            / sample.len().max(1) as f64
            + self.settings.reveal_seconds;
        let steps = self.memory.steps(Aim {
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

    fn want(&self, i: usize) -> Want {
        let c = &self.candidates[i];
        match self.ids[i] {
            Some(id) => Want {
                belief: self.memory.belief(id),
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
                Want {
                    belief: self.memory.belief_new(&c.concepts, &c.kind),
                    days: None,
                    weight,
                }
            }
        }
    }
}

/// What an item asks of the time.
struct Want {
    belief: super::belief::Belief,
    /// Days since it was last asked; none for a new one.
    days: Option<f64>,
    weight: f64,
}
