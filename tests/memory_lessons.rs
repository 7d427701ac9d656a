//! What went wrong in an earlier simulation of such a model, each as a test that it does not come back.

// Only what a season of drills needs is used here.
#[allow(dead_code)]
#[path = "../benches/recall/learners.rs"]
mod learners;
#[allow(dead_code)]
#[path = "../benches/recall/logs.rs"]
mod logs;
#[allow(dead_code)]
#[path = "../benches/recall/strangers.rs"]
mod strangers;

mod answers;

use std::sync::LazyLock;
use whichside::time::{Moment, Seconds};

use answers::outcome;
use learners::{Family, KINDS, Learner};
use logs::{Log, MEET, REVEAL, log};
use whichside::memory::constants::{Constants, DEFAULT};
use whichside::memory::{Candidate, Composition, Memory, Outcome, Settings, plan_composed};

const DAY: f64 = 86_400.0;

/// Expected recall `delay` days after two questions `gap` days apart, the answers left open.
fn after(gap: f64, delay: f64) -> f64 {
    let mut sum = 0.0;
    for first in [0.0, 1.0] {
        for second in [0.0, 1.0] {
            let mut memory = Memory::new();
            let mut weight = 1.0;
            for (at, y) in [(0.0, first), (gap * DAY, second)] {
                let p = memory.observe(&outcome("a", at, y, 0.02)).expected;
                weight *= if y > 0.5 { p } else { 1.0 - p };
            }
            sum += weight
                * memory
                    .chance("a", Moment::new((gap + delay) * DAY))
                    .unwrap();
        }
    }
    sum
}

/// Lesson 1: massed review must never look best. The best gap grows with the delay (Cepeda et al. 2008, Psych Sci
/// 19:1095-1102, found about a fifth of a delay of weeks); the model's own are shorter, but beyond a quarter day.
#[test]
fn best_gap_is_beyond_a_quarter_day_and_does_not_fall_with_the_delay() {
    let gaps: Vec<f64> = (-24..=20).map(|i| 2f64.powf(f64::from(i) / 4.0)).collect();
    let mut before = 0.25;
    for delay in [7.0, 35.0, 70.0, 350.0] {
        let best = gaps
            .iter()
            .copied()
            .max_by(|a, b| after(*a, delay).total_cmp(&after(*b, delay)))
            .unwrap();
        println!("delay {delay} d: best gap {best:.2} d");
        assert!(
            best > 0.25 && best >= before,
            "delay {delay}: best gap {best}"
        );
        before = best;
    }
}

/// Lesson 2: likelihood shrinks the prior of new items, and then hard items are mispredicted.
#[test]
fn priors_of_new_items_stay_wide() {
    let c = std::hint::black_box(DEFAULT);
    assert!((c.item + c.group).sqrt() >= 0.7);
}

/// What a season of daily sessions came to.
#[derive(Clone, Copy, Debug, Default)]
struct Season {
    /// Items kept for 60 days after the last day, for each minute studied.
    kept: f64,
    /// Mean recall then of the worst quarter of concepts.
    worst: f64,
    /// Share of questions that asked for what was met before and was below even chances.
    weak: f64,
}

const ITEMS: usize = 150;
const DAYS: u32 = 20;
const SESSION: f64 = 300.0;

type Choose<'a> = &'a dyn Fn(&Memory, &[Candidate], f64) -> Vec<usize>;

fn season(family: Family, seed: u64, choose: Choose) -> Season {
    let mut learner = Learner::new(family, ITEMS, true, seed);
    let specs = learner.world.items.iter().enumerate();
    let candidates: Vec<Candidate> = specs
        .map(|(order, spec)| Candidate {
            item: spec.name.clone(),
            card: spec.name.clone(),
            kind: KINDS[spec.kind].0.into(),
            concepts: spec.concept_names.clone(),
            produced: false,
            timing: Default::default(),
            order,
            needs: Vec::new(),
        })
        .collect();
    let mut memory = Memory::new();
    let (mut minutes, mut asked, mut weak) = (0.0, 0.0, 0.0);
    for day in 0..DAYS {
        let start = f64::from(day) * DAY;
        let mut at = start;
        for item in choose(&memory, &candidates, start) {
            if at > start + SESSION - 8.0 {
                break;
            }
            if !learner.seen(item) {
                at += MEET;
            } else if memory
                .chance(&candidates[item].item, Moment::new(at))
                .unwrap()
                < 0.5
            {
                weak += 1.0;
            }
            let answer = learner.ask(item, at);
            memory.observe(&logs::outcome(&learner, item, at, &answer));
            at += answer.seconds + REVEAL;
            asked += 1.0;
        }
        minutes += (at - start) / 60.0;
    }
    let end = f64::from(DAYS + 60) * DAY;
    let recalls: Vec<f64> = (0..ITEMS).map(|i| learner.recall(i, end)).collect();
    let mut by_concept: Vec<f64> = (0..learner.world.concepts)
        .filter_map(|concept| {
            let of: Vec<f64> = (0..ITEMS)
                .filter(|&i| learner.world.items[i].concepts.contains(&concept))
                .map(|i| recalls[i])
                .collect();
            (!of.is_empty()).then(|| of.iter().sum::<f64>() / of.len() as f64)
        })
        .collect();
    by_concept.sort_by(f64::total_cmp);
    let quarter = &by_concept[..by_concept.len() / 4];
    Season {
        kept: recalls.iter().sum::<f64>() / minutes,
        worst: quarter.iter().sum::<f64>() / quarter.len() as f64,
        weak: weak / asked,
    }
}

/// The mean over a few learners of each family.
fn seasons(choose: Choose) -> Season {
    const SEEDS: [u64; 2] = [31_000, 31_001];
    let mut mean = Season::default();
    let n = (Family::ALL.len() * SEEDS.len()) as f64;
    for family in Family::ALL {
        for seed in SEEDS {
            let one = season(family, seed, choose);
            mean.kept += one.kept / n;
            mean.worst += one.worst / n;
            mean.weak += one.weak / n;
        }
    }
    mean
}

static OURS: LazyLock<Season> = LazyLock::new(|| seasons(&planned));

fn planned(memory: &Memory, candidates: &[Candidate], now: f64) -> Vec<usize> {
    let settings = Settings {
        new_cards_a_day: usize::MAX,
        reveal_seconds: Seconds::new(REVEAL),
        meet_seconds: Seconds::new(MEET),
        ..Settings::default()
    };
    let plan = plan_composed(
        memory,
        candidates,
        &Composition::default(),
        &[],
        &settings,
        Moment::new(now),
        0,
        1,
    );
    plan.iter().map(|p| p.candidate).collect()
}

/// The most recall gained 30 days from now for each second, first: what one question adds, item by item.
fn greedy(memory: &Memory, candidates: &[Candidate], now: f64) -> Vec<usize> {
    let later = now + 30.0 * DAY;
    let mut gains: Vec<(usize, f64)> = candidates
        .iter()
        .map(|candidate| {
            let guess = KINDS.iter().find(|k| k.0 == candidate.kind).unwrap().1;
            let answered = |correct| {
                let mut memory = memory.clone();
                let expected = memory.observe(&Outcome {
                    concepts: candidate.concepts.clone(),
                    kind: candidate.kind.clone(),
                    ..outcome(&candidate.item, now, correct, guess)
                });
                (
                    expected.expected,
                    memory.chance(&candidate.item, Moment::new(later)).unwrap(),
                )
            };
            let ((expected, right), (_, wrong)) = (answered(1.0), answered(0.0));
            let unasked = memory
                .chance(&candidate.item, Moment::new(later))
                .unwrap_or(0.0);
            let seen = memory.reviews(&candidate.item) > 0;
            let meet = if seen { 0.0 } else { MEET };
            let seconds =
                memory.seconds_estimate(candidate) + Seconds::new(REVEAL) + Seconds::new(meet);
            let gain = expected * right + (1.0 - expected) * wrong - unasked;
            (candidate.order, gain / seconds.seconds())
        })
        .collect();
    gains.sort_by(|a, b| b.1.total_cmp(&a.1));
    gains.into_iter().map(|g| g.0).collect()
}

/// Lesson 3: the most gained a second by the next question alone, at a horizon of a month, plans badly: one review of
/// a weak item barely moves its recall then, so that the session goes to new and strong items.
#[test]
fn the_plan_keeps_more_than_the_greatest_gain_of_one_question() {
    let (ours, greedy) = (*OURS, seasons(&greedy));
    println!("ours {ours:?}\ngreedy {greedy:?}");
    assert!(ours.kept > greedy.kept);
    assert!(ours.weak > greedy.weak);
}

/// Lesson 4: what is kept for each minute rewards dropping what is hard, so that the worst quarter of concepts has to
/// be looked at beside it. A drill that never asks for the harder half shows it.
#[test]
fn dropping_the_harder_half_shows_in_the_worst_quarter() {
    let easier = |memory: &Memory, candidates: &[Candidate], now: f64| -> Vec<usize> {
        let concept = |c: &Candidate| {
            c.concepts[0]
                .trim_start_matches('k')
                .parse::<usize>()
                .unwrap()
        };
        let kept: Vec<Candidate> = candidates
            .iter()
            .filter(|c| concept(c) % 2 == 0)
            .cloned()
            .collect();
        planned(memory, &kept, now)
            .into_iter()
            .map(|i| kept[i].order)
            .collect()
    };
    let (all, half) = (*OURS, seasons(&easier));
    println!("all {all:?}\nhalf {half:?}");
    assert!(half.worst < 0.5 * all.worst);
}

/// Lesson 5: refitting the constants to one learner gains nothing in 30 days, beside what the model learns about the
/// player anyway. Fitted on the first half of a log, tried on the second.
#[test]
fn refitting_to_one_learner_gains_nothing_in_a_month() {
    type Field = (fn(&mut Constants) -> &mut f64, f64);
    const FIELDS: [Field; 5] = [
        (|c| &mut c.means[0], 0.4),
        (|c| &mut c.means[1], 0.4),
        (|c| &mut c.means[4], 0.2),
        (|c| &mut c.means[6], 0.2),
        (|c| &mut c.item, 0.2),
    ];
    /// Mean log loss of the first `split` answers and of the rest.
    fn losses(constants: Constants, log: &Log, split: usize) -> (f64, f64) {
        let mut memory = Memory::with_constants(constants);
        let loss: Vec<f64> = log
            .rows
            .iter()
            .map(|row| {
                let p = memory.observe(&row.outcome).expected;
                -if row.outcome.correct > 0.5 {
                    p.ln()
                } else {
                    (1.0 - p).ln()
                }
            })
            .collect();
        let mean = |part: &[f64]| part.iter().sum::<f64>() / part.len() as f64;
        (mean(&loss[..split]), mean(&loss[split..]))
    }
    let mut gains = Vec::new();
    for family in Family::ALL {
        for seed in [32_000, 32_001] {
            let mut log = log(family, seed);
            log.rows
                .retain(|row| row.outcome.at < Moment::new(30.0 * DAY));
            let split = log
                .rows
                .partition_point(|row| row.outcome.at < Moment::new(15.0 * DAY));
            let (mut best, (mut least, before)) = (DEFAULT, losses(DEFAULT, &log, split));
            let start = least;
            for _ in 0..3 {
                for (field, step) in FIELDS {
                    for step in [step, -step] {
                        let mut tried = best;
                        *field(&mut tried) += step;
                        let loss = losses(tried, &log, split).0;
                        if loss < least {
                            (best, least) = (tried, loss);
                            break;
                        }
                    }
                }
            }
            let after = losses(best, &log, split).1;
            println!(
                "{}: fitted {:+.4}, then {:+.4}",
                family.name(),
                start - least,
                before - after
            );
            gains.push(before - after);
        }
    }
    let mean = gains.iter().sum::<f64>() / gains.len() as f64;
    assert!(
        mean < 0.005,
        "a refit gains {mean:.4} nats an answer: {gains:?}"
    );
}
