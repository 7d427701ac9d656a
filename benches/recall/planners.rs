//! Planners to compare with, and the run of a learner through a season of sessions.

use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use whichside::time::{Moment, Seconds};

use super::beta::Belief;
use super::half_life::{Counts, Weights};
use super::learners::{DAY, Family, KINDS, Learner, SLIP};
use super::logs::{MEET, REVEAL, SKIPPED, outcome};
use whichside::memory::constants::Constants;
use whichside::memory::{Candidate, Composition, Memory, Settings, plan_composed};

/// How a planner chooses what is due; what is due comes first, then new items, then what was longest unseen.
#[derive(Clone, Copy, Debug)]
pub enum Rule {
    Ours(Constants),
    Leitner,
    Expanding,
    HalfLife(Weights, f64),
    Beta(Belief, f64),
    Random,
    Rotation,
    /// Knows the learner's true state and looks ahead to what is kept at the end: see [`by_gain`].
    LookAhead(f64),
}

pub struct Regime {
    pub name: &'static str,
    pub items: usize,
    pub days: u32,
}

pub const REGIMES: [Regime; 3] = [
    Regime {
        name: "300 items, 30 days",
        items: 300,
        days: 30,
    },
    Regime {
        name: "120 items, 30 days",
        items: 120,
        days: 30,
    },
    Regime {
        name: "300 items, 90 days",
        items: 300,
        days: 90,
    },
];

#[derive(Clone, Copy, Debug, Default)]
pub struct Result {
    /// Items retained a minute studied, 1 and 60 days after the last day.
    pub day: f64,
    pub sixty: f64,
    /// Mean recall at 60 days of the worst quarter of concepts.
    pub worst: f64,
    pub met: usize,
    /// Share right.
    pub right: f64,
}

struct Item {
    last: f64,
    box_: i32,
    counts: Counts,
    beta: Option<Belief>,
}

/// Seconds that a question usually takes.
const USUAL: f64 = 8.0;

const GAPS: [f64; 8] = [1.0, 3.0, 7.0, 14.0, 30.0, 60.0, 120.0, 240.0];

pub fn run(family: Family, regime: &Regime, rule: Rule, seed: u64) -> Result {
    let mut learner = Learner::new(family, regime.items, true, seed);
    // Days skipped and times of day are the same for every planner.
    let mut calendar = ChaCha8Rng::seed_from_u64(seed ^ 0xca1e);
    let mut rng = ChaCha8Rng::seed_from_u64(seed ^ 0x0dd);
    let mut memory = match rule {
        Rule::Ours(constants, ..) => Memory::with_constants(constants),
        _ => Memory::new(),
    };
    let candidates: Vec<Candidate> = learner
        .world
        .items
        .iter()
        .enumerate()
        .map(|(order, s)| Candidate {
            item: s.name.clone(),
            card: s.name.clone(),
            kind: KINDS[s.kind].0.into(),
            concepts: s.concept_names.clone(),
            produced: false,
            timing: Default::default(),
            order,
            needs: Vec::new(),
        })
        .collect();
    let mut items: Vec<Item> = (0..regime.items)
        .map(|_| Item {
            last: f64::NEG_INFINITY,
            box_: 0,
            counts: Counts::default(),
            beta: None,
        })
        .collect();
    let (mut met, mut minutes, mut asked, mut right) = (0, 0.0, 0.0, 0.0);
    for day in 0..regime.days {
        let (skip, start) = (
            calendar.random::<f64>() < SKIPPED,
            calendar.random::<f64>() * 1200.0,
        );
        if skip {
            continue;
        }
        let start = f64::from(day) * DAY + start;
        let mut at = start;
        let mut queue: Vec<usize> = Vec::new();
        loop {
            let left = start + 300.0 - at;
            let choice = if let Rule::LookAhead(patience) = rule {
                if at == start {
                    let end = f64::from(regime.days) * DAY;
                    queue = by_gain(&mut learner, at, end, patience);
                }
                queue.pop()
            } else if matches!(rule, Rule::Ours(_)) {
                if queue.is_empty() {
                    let settings = Settings {
                        minutes: left / 60.0,
                        new_cards_a_day: usize::MAX,
                        reveal_seconds: Seconds::new(REVEAL),
                        meet_seconds: Seconds::new(MEET),
                    };
                    queue = plan_composed(
                        &memory,
                        &candidates,
                        &Composition::default(),
                        &[],
                        &settings,
                        Moment::new(at),
                        0,
                        seed,
                    )
                    .iter()
                    .map(|p| p.candidate)
                    .collect();
                    queue.reverse();
                }
                queue.pop()
            } else {
                next(rule, &items, met, at, &mut rng)
            };
            // The same stop for all: none begins a question that is likely not to fit.
            let Some(item) = choice else { break };
            if left < USUAL {
                break;
            }
            if !learner.seen(item) {
                met += 1;
                at += MEET;
            }
            let answer = learner.ask(item, at);
            if matches!(rule, Rule::Ours(..)) {
                memory.observe(&outcome(&learner, item, at, &answer));
            }
            note(&mut items[item], rule, at, answer.correct, answer.guess);
            at += answer.seconds + REVEAL;
            asked += 1.0;
            right += f64::from(u8::from(answer.correct));
        }
        minutes += (at - start) / 60.0;
    }
    let end = f64::from(regime.days) * DAY;
    let total = |t: f64| {
        (0..regime.items)
            .map(|i| learner.recall(i, end + t * DAY))
            .sum::<f64>()
    };
    let mut by_concept = vec![(0.0, 0.0); learner.world.concepts];
    for (i, spec) in learner.world.items.iter().enumerate() {
        for &c in &spec.concepts {
            by_concept[c].0 += learner.recall(i, end + 60.0 * DAY);
            by_concept[c].1 += 1.0;
        }
    }
    let mut means: Vec<f64> = by_concept
        .iter()
        .filter(|c| c.1 > 0.0)
        .map(|c| c.0 / c.1)
        .collect();
    means.sort_by(f64::total_cmp);
    let quarter = (means.len() / 4).max(1);
    let worst = means[..quarter].iter().sum::<f64>() / quarter as f64;
    Result {
        day: total(1.0) / minutes,
        sixty: total(60.0) / minutes,
        worst,
        met,
        right: right / asked,
    }
}

/// Items from the least to the greatest worth. A review now, and one or three more evenly over the days left or none, adds
/// something to true recall 60 days after the end for each second that all of it takes; the best of the three counts. Worth
/// is that, and `patience` times what it is more than when begun three days later: what loses by waiting comes first.
fn by_gain(learner: &mut Learner, at: f64, end: f64, patience: f64) -> Vec<usize> {
    let then = end + 60.0 * DAY;
    let mut worth: Vec<(f64, usize)> = (0..learner.world.items.len())
        .map(|item| {
            let without = learner.recall(item, then);
            let meet = if learner.seen(item) { 0.0 } else { MEET };
            let seconds = learner.usual(item) + REVEAL;
            let mut rate = |from: f64| {
                let rates = [1.0, 2.0, 4.0].map(|times: f64| {
                    let apart = (end - from) / times;
                    let times_at = (0..times as usize).map(|k| from + k as f64 * apart);
                    let gain = learner.recall_after(item, times_at, then) - without;
                    gain / (meet + times * seconds)
                });
                rates.into_iter().fold(f64::NEG_INFINITY, f64::max)
            };
            let later = at + (3.0 * DAY).min((end - at) / 2.0);
            ((1.0 + patience) * rate(at) - patience * rate(later), item)
        })
        .collect();
    worth.sort_by(|a, b| a.0.total_cmp(&b.0));
    worth.into_iter().map(|(_, item)| item).collect()
}

fn note(item: &mut Item, rule: Rule, at: f64, correct: bool, guess: f64) {
    if let Rule::Beta(start, _) = rule {
        let days = (at - item.last) / DAY;
        item.beta = Some(match item.beta {
            Some(b) => {
                let next = b.noisy(correct, 1.0 - SLIP, guess, days.max(1e-3));
                let sane = next.alpha.is_finite()
                    && next.alpha > 0.0
                    && next.beta > 0.0
                    && next.time > 1e-5;
                if sane { next } else { b }
            }
            None => start,
        });
    }
    item.box_ = if correct { item.box_ + 1 } else { 0 };
    item.counts.right += f64::from(u8::from(correct));
    item.counts.wrong += f64::from(u8::from(!correct));
    item.last = at;
}

/// The next item by a rule of the literature.
fn next(rule: Rule, items: &[Item], met: usize, at: f64, rng: &mut ChaCha8Rng) -> Option<usize> {
    // Nothing is asked twice within a minute.
    let rested = || (0..met).filter(|&i| at - items[i].last > 60.0);
    let oldest = |a: &usize, b: &usize| items[*a].last.total_cmp(&items[*b].last);
    // The smallest of a score below its limit.
    let weakest = |score: &dyn Fn(usize) -> f64, limit: f64| {
        rested()
            .map(|i| (i, score(i)))
            .filter(|s| s.1 < limit)
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .map(|s| s.0)
    };
    let days = |i: usize| (at - items[i].last) / DAY;
    let due = match rule {
        Rule::Ours(..) | Rule::LookAhead(_) => unreachable!("has its own plan"),
        Rule::Leitner => rested()
            .filter(|&i| days(i) > 0.8 * f64::from(items[i].box_.min(8)).exp2())
            .min_by(oldest),
        Rule::Expanding => rested()
            .filter(|&i| days(i) > 0.8 * GAPS[items[i].box_.min(7) as usize])
            .min_by(oldest),
        Rule::HalfLife(w, limit) => weakest(&|i| w.recall(items[i].counts, days(i)), limit),
        Rule::Beta(_, limit) => weakest(&|i| items[i].beta.map_or(0.0, |b| b.mean(days(i))), limit),
        Rule::Random => {
            let all: Vec<usize> = rested().chain((met < items.len()).then_some(met)).collect();
            return (!all.is_empty()).then(|| all[rng.random_range(0..all.len())]);
        }
        Rule::Rotation => None,
    };
    due.or_else(|| (met < items.len()).then_some(met))
        .or_else(|| rested().min_by(oldest))
}
