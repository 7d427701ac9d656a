//! Whether the interval of what would be recalled now holds the truth: players who forget by published laws, none of
//! them the law of the memory model.

use crate::learners::{DAY, Family, KINDS, Learner};
use crate::players::Log;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;
use whichside::memory::{Candidate, Memory};
use whichside::report::{Input, Practice, concepts};
use whichside::rhythm::Grid;
use whichside::store::{Fact, Item, Reply, Words};

/// Items asked in a session.
const SESSION: usize = 20;
/// Cards met for the first time in a session, at most.
const NEW: usize = 5;

/// What came of some intervals.
#[derive(Clone, Copy, Debug, Default)]
pub struct Covered {
    /// Those that hold the true mean chance of recall of their concept's items.
    pub held: usize,
    pub all: usize,
    /// Sum of their widths, each at most 1.
    pub width: f64,
}

impl Covered {
    /// Both together.
    pub fn and(self, other: Covered) -> Covered {
        Covered {
            held: self.held + other.held,
            all: self.all + other.all,
            width: self.width + other.width,
        }
    }
}

/// The intervals of every concept after `count` reviews.
pub fn covered(family: Family, count: usize, seed: u64) -> Covered {
    let (learner, log, last) = played(family, count, seed);
    judged(&learner, log, &last)
}

/// A learner after `count` reviews, the reviews, and when each item was asked last.
fn played(family: Family, count: usize, seed: u64) -> (Learner, Log, Vec<f64>) {
    let mut rng = ChaCha8Rng::seed_from_u64(seed ^ 0x006e_6f77);
    let mut learner = Learner::new(family, 120, true, seed);
    // Items come back after growing gaps, in turn, or at random: a player may drill in any way.
    let rule = rng.random_range(0..3);
    let total = learner.world.items.len();
    let (mut last, mut gap) = (vec![f64::NEG_INFINITY; total], vec![1.0f64; total]);
    let mut met = 0;
    let mut log = Log {
        words: Words::default(),
        facts: Vec::new(),
    };
    log.words.items = (learner.world.items.iter())
        .map(|spec| Item {
            card: spec.name.clone(),
            kind: KINDS[spec.kind].0.into(),
            sense: "read".into(),
        })
        .collect();
    log.words.concepts = (learner.world.items.iter())
        .map(|spec| spec.concept_names.clone())
        .collect();
    log.words.replies = vec![reply(false), reply(true)];
    let mut day = 0.0;
    while log.facts.len() < count {
        day += if rng.random::<f64>() < 0.15 { 2.0 } else { 1.0 };
        let mut at = day * DAY;
        let mut new = 0;
        for _ in 0..SESSION.min(count - log.facts.len()) {
            let rested = || (0..met).filter(|i| at - last[*i] > 60.0);
            let oldest = || rested().min_by(|a, b| last[*a].total_cmp(&last[*b]));
            let again = match rule {
                0 => rested()
                    .filter(|i| at - last[*i] > gap[*i] * DAY * 0.8)
                    .min_by(|a, b| last[*a].total_cmp(&last[*b])),
                1 => oldest().filter(|_| rng.random::<f64>() < 0.8),
                _ => Some(rng.random_range(0..met.max(1)))
                    .filter(|i| *i < met && rng.random::<f64>() < 0.8),
            };
            let item = match again {
                Some(item) => item,
                None if met < total && new < NEW => {
                    met += 1;
                    new += 1;
                    met - 1
                }
                None => match oldest() {
                    Some(item) => item,
                    None => break,
                },
            };
            let answer = learner.ask(item, at);
            gap[item] = if answer.correct { gap[item] * 2.0 } else { 1.0 };
            last[item] = at;
            log.facts.push(Fact {
                id: log.facts.len() as i64 + 1,
                at: (at * 1000.0) as i64,
                utc_offset: 0,
                item,
                concepts: item,
                reply: usize::from(answer.correct),
                bpm: 120.0,
                grid: Grid::Eighths,
                correct: f64::from(u8::from(answer.correct)),
                guess: answer.guess,
                seconds: answer.seconds,
                limit: 8.0,
                replays: 0,
                slowed: false,
                in_time: answer.correct,
                forecast: None,
            });
            at += answer.seconds + 4.0;
        }
    }
    (learner, log, last)
}

fn judged(learner: &Learner, mut log: Log, last: &[f64]) -> Covered {
    let mut memory = Memory::new();
    for fact in &mut log.facts {
        fact.forecast = Some(memory.observe(&fact.outcome(&log.words)).recall);
    }
    let now = log.facts.last().map_or(0.0, |f| f.at as f64 / 1000.0) + DAY;
    let items: Vec<Candidate> = (0..log.words.items.len())
        .map(|n| Candidate {
            item: log.words.items[n].to_string(),
            card: log.words.items[n].card.clone(),
            kind: log.words.items[n].kind.clone(),
            concepts: log.words.concepts[n].clone(),
            order: n,
            needs: Vec::new(),
        })
        .collect();
    let mut truth: BTreeMap<&str, (f64, f64)> = BTreeMap::new();
    for (n, spec) in learner.world.items.iter().enumerate() {
        if last[n] > f64::NEG_INFINITY {
            for concept in &spec.concept_names {
                let sums = truth.entry(concept).or_default();
                sums.0 += learner.recall(n, now);
                sums.1 += 1.0;
            }
        }
    }
    let (lines, _) = concepts(&Input {
        words: &log.words,
        recent: &log.facts,
        memory: &memory,
        items: &items,
        now,
        practice: Practice::default(),
    });
    let mut count = Covered::default();
    for line in &lines {
        if let (Some(strength), Some((sum, items))) = (&line.now, truth.get(line.concept.as_str()))
        {
            count.held += usize::from((strength.low..=strength.high).contains(&(sum / items)));
            count.all += 1;
            count.width += strength.high - strength.low;
        }
    }
    count
}

fn reply(right: bool) -> Reply {
    Reply {
        answer: if right { "a" } else { "b" }.into(),
        keys: vec!["a".into()],
        choices: [('a', "this".to_string()), ('b', "that".to_string())].into(),
    }
}
