//! Logs of simulated learners, drilled by simple rules of many sorts, so that no predictor is at home in them.

use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use whichside::time::{Moment, Seconds};

use super::learners::{DAY, Family, KINDS, Learner};
use whichside::memory::Outcome;

/// A row with what only the simulation knows.
#[derive(Clone)]
pub struct Row {
    pub outcome: Outcome,
    pub item: usize,
    pub kind: usize,
    /// True chance of recall.
    pub recall: f64,
    /// True chance of a right answer.
    pub expected: f64,
}

pub struct Log {
    /// None for people.
    pub family: Option<Family>,
    pub rows: Vec<Row>,
}

impl Log {
    /// These rows of it.
    pub fn only(&self, rows: &[usize]) -> Log {
        Log {
            family: self.family,
            rows: rows.iter().map(|&row| self.rows[row].clone()).collect(),
        }
    }
}

/// Seconds that the answer is looked at.
pub const REVEAL: f64 = 4.0;
/// Seconds that it takes to meet an item.
pub const MEET: f64 = 10.0;
/// Share of days without a session.
pub const SKIPPED: f64 = 0.15;

pub fn outcome(
    learner: &Learner,
    item: usize,
    at: f64,
    answer: &super::learners::Answer,
) -> Outcome {
    let spec = &learner.world.items[item];
    Outcome {
        item: spec.name.clone(),
        concepts: spec.concept_names.clone(),
        kind: KINDS[spec.kind].0.into(),
        at: Moment::new(at),
        correct: f64::from(u8::from(answer.correct)),
        guess: answer.guess,
        seconds: Seconds::new(answer.seconds),
        limit: Seconds::ZERO,
        replays: 0,
        slowed: false,
    }
}

/// One learner's log. Seeds of logs and of planner runs never meet.
pub fn log(family: Family, seed: u64) -> Log {
    let mut rng = ChaCha8Rng::seed_from_u64(seed ^ 0x10_65);
    let count = rng.random_range(60..=240);
    let days = rng.random_range(30..=90);
    let shown_first = rng.random::<f64>() < 0.5;
    let again = rng.random::<f64>() < 0.5;
    let rule = rng.random_range(0..4);
    let new_a_day = rng.random_range(3..=12);
    let mut learner = Learner::new(family, count, shown_first, seed);
    let mut last = vec![f64::NEG_INFINITY; count];
    let mut gap = vec![1.0f64; count];
    let mut met = 0;
    let mut rows = Vec::new();
    for day in 0..days {
        if rng.random::<f64>() < SKIPPED {
            continue;
        }
        let start = f64::from(day) * DAY + rng.random::<f64>() * 1200.0;
        let mut at = start;
        let mut missed: Vec<usize> = Vec::new();
        let mut new = 0;
        while at < start + 300.0 {
            let seen: Vec<usize> = (0..met).collect();
            let due = |i: &usize| at - last[*i] > gap[*i] * DAY * 0.8;
            let oldest = |list: &[usize]| {
                list.iter()
                    .copied()
                    .min_by(|&a, &b| last[a].total_cmp(&last[b]))
            };
            let rested: Vec<usize> = seen
                .iter()
                .copied()
                .filter(|&i| at - last[i] > 60.0)
                .collect();
            let again_now = missed.iter().position(|&i| again && at - last[i] > 60.0);
            let choice = if let Some(p) = again_now {
                Some(missed.remove(p))
            } else {
                match rule {
                    // Expanding gaps.
                    0 => oldest(&rested.iter().copied().filter(due).collect::<Vec<_>>()),
                    // Rotation.
                    1 if rng.random::<f64>() < 0.8 => oldest(&rested),
                    // Anything.
                    2 if !rested.is_empty() && rng.random::<f64>() < 0.8 => {
                        Some(rested[rng.random_range(0..rested.len())])
                    }
                    // Crammed: the newest again and again.
                    3 if !rested.is_empty() && rng.random::<f64>() < 0.8 => {
                        let from = rested.len().saturating_sub(60);
                        Some(rested[rng.random_range(from..rested.len())])
                    }
                    _ => None,
                }
            };
            let item = match choice {
                Some(i) => i,
                None if met < count && new < new_a_day => {
                    met += 1;
                    new += 1;
                    at += if shown_first { MEET } else { 0.0 };
                    met - 1
                }
                None => match oldest(&rested) {
                    Some(i) => i,
                    None => break,
                },
            };
            let answer = learner.ask(item, at);
            gap[item] = if answer.correct {
                (gap[item] * 2.0).min(120.0)
            } else {
                1.0
            };
            if !answer.correct {
                missed.push(item);
            }
            last[item] = at;
            let expected = answer.recall * (1.0 - super::learners::SLIP)
                + (1.0 - answer.recall) * answer.guess;
            rows.push(Row {
                outcome: outcome(&learner, item, at, &answer),
                item,
                kind: learner.world.items[item].kind,
                recall: answer.recall,
                expected,
            });
            at += answer.seconds + REVEAL;
        }
    }
    Log {
        family: Some(family),
        rows,
    }
}
