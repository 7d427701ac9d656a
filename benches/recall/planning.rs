//! The second half of the report: what is retained for the minutes studied.

use super::beta::Belief;
use super::half_life::Weights;
use super::learners::Family;
use super::planners::{REGIMES, Regime, Result, Rule, run};
use super::prediction::Fits;
use super::score::{mean, paired, ratio};
use super::{Margins, parallel};
use whichside::memory::constants::DEFAULT;

/// Seeds of the learners that thresholds of the others are chosen on. Those of the plan (`constants::DUE` and what
/// follows it) were chosen on seeds from 20000.
const CHOOSE_SEED: u64 = 7000;
/// Thresholds that planners by a predicted recall may take.
const THRESHOLDS: [f64; 5] = [0.05, 0.1, 0.2, 0.3, 0.5];
/// Learners of each family that a threshold is chosen on.
const CHOOSE_LEARNERS: u64 = 2;

/// What the look-ahead weighs waiting with, in each of [`REGIMES`]: of 0, 2, 5 and 20 what keeps most on seeds from 20000.
const PATIENCE: [f64; 3] = [2.0, 5.0, 20.0];

/// The second half: `seed` is the first of those of the learners reported.
pub fn report(learners: u64, seed: u64, fits: &Fits, margins: &mut Margins) {
    println!(
        "\nPlanning: five minutes a day, 15 % of days skipped, {} learners, seeds from {seed}",
        learners * 3
    );
    println!(
        "items retained a minute studied 1 and 60 days after the last day; mean recall of the worst quarter of"
    );
    println!(
        "concepts at 60 days; items met; share right; ours against it at 60 days (paired bootstrap)."
    );
    for (r, regime) in REGIMES.iter().enumerate() {
        println!(
            "\n  {:40} {:>6} {:>6} {:>6} {:>5} {:>5}   ours at 60 days",
            regime.name, "1 d", "60 d", "worst", "met", "right"
        );
        let ours = season(regime, learners, seed, |_| Rule::Ours(DEFAULT));
        line("ours", &ours);
        println!();
        let published: [(&str, Rule); 4] = [
            ("Leitner boxes", Rule::Leitner),
            ("fixed expanding", Rule::Expanding),
            ("random", Rule::Random),
            ("new first, then rotation", Rule::Rotation),
        ];
        let mut best = (f64::NEG_INFINITY, "", (0.0, 0.0, 0.0));
        let mut against = |name: &'static str, theirs: &[Result]| {
            line(name, theirs);
            let gain = ratio(&sixty(&ours), &sixty(theirs));
            println!(
                "   {:+.1} % [{:+.1}, {:+.1}]",
                100.0 * gain.0,
                100.0 * gain.1,
                100.0 * gain.2
            );
            if name == "random" {
                return;
            }
            let level = gain.1 > -0.01;
            margins.claim(
                level,
                format!(
                    "{}: level with {name} or better: interval from {:+.1} %",
                    regime.name,
                    100.0 * gain.1
                ),
            );
            let own = mean(&sixty(theirs));
            if own > best.0 {
                best = (own, name, gain);
            }
        };
        let (mut worst, mut rotation) = (None, 0.0);
        for (name, rule) in published {
            let theirs = season(regime, learners, seed, |_| rule);
            against(name, &theirs);
            if name == "new first, then rotation" {
                let of = |r: &[Result]| r.iter().map(|r| r.worst).collect::<Vec<_>>();
                worst = Some(paired(&of(&ours), &of(&theirs)));
                rotation = mean(&sixty(&theirs));
            }
        }
        let weights = |f: usize| Weights {
            right: fits.half_life[f][0],
            wrong: fits.half_life[f][1],
            bias: fits.half_life[f][2],
            roots: true,
        };
        let belief = |f: usize| {
            let a = fits.beta[f][0].clamp(1.05, 20.0);
            Belief {
                alpha: a,
                beta: a,
                time: fits.beta[f][1].exp2().clamp(0.02, 60.0),
            }
        };
        let half_life = |f: usize, t: f64| Rule::HalfLife(weights(f), t);
        let limits = thresholds(regime, learners, &half_life);
        against(
            "half-life regression, best threshold",
            &season(regime, learners, seed, |f| half_life(f, limits[f])),
        );
        let beta = |f: usize, t: f64| Rule::Beta(belief(f), t);
        let limits = thresholds(regime, learners, &beta);
        against(
            "Beta filter, best threshold",
            &season(regime, learners, seed, |f| beta(f, limits[f])),
        );
        let ahead = season(regime, learners, seed, |_| Rule::LookAhead(PATIENCE[r]));
        line("look-ahead on the true state", &ahead);
        let room = mean(&sixty(&ahead)) / rotation - 1.0;
        let taken = mean(&sixty(&ours)) / rotation - 1.0;
        println!(
            "\n  Of the {:.1} % between rotation and that look-ahead the plan takes {:.1}.",
            100.0 * room,
            100.0 * taken
        );
        if let Some((d, low, high)) = worst {
            // No worse: the interval of the difference reaches 0.
            let text = format!(
                "{}: worst quarter no worse than rotation's: {d:+.3} [{low:+.3}, {high:+.3}]",
                regime.name
            );
            margins.claim(high >= 0.0, text);
        }
        if r == 0 {
            let (_, name, gain) = best;
            margins.claim(
                gain.0 >= 0.03,
                format!(
                    "{}: 3 % ahead of the best published ({name}): {:+.1} %",
                    regime.name,
                    100.0 * gain.0
                ),
            );
        }
    }
}

/// One season of every learner of every family; `rule` is given the family's number.
fn season(
    regime: &Regime,
    learners: u64,
    seed: u64,
    rule: impl Fn(usize) -> Rule + Sync,
) -> Vec<Result> {
    parallel((learners * 3) as usize, |i| {
        run(Family::ALL[i % 3], regime, rule(i % 3), seed + i as u64 / 3)
    })
}

/// For each family the threshold that retains most at 60 days with learners of the two others.
fn thresholds(
    regime: &Regime,
    learners: u64,
    rule: &(dyn Fn(usize, f64) -> Rule + Sync),
) -> [f64; 3] {
    let each = CHOOSE_LEARNERS.min(learners);
    [0, 1, 2].map(|left| {
        let others: Vec<Family> = Family::ALL
            .into_iter()
            .filter(|f| *f != Family::ALL[left])
            .collect();
        let runs = (2 * each) as usize;
        let kept = parallel(THRESHOLDS.len() * runs, |i| {
            let (t, n) = (THRESHOLDS[i / runs], i % runs);
            run(
                others[n % 2],
                regime,
                rule(left, t),
                CHOOSE_SEED + n as u64 / 2,
            )
            .sixty
        });
        let means: Vec<f64> = kept.chunks(runs).map(mean).collect();
        let best = (0..THRESHOLDS.len())
            .max_by(|&a, &b| means[a].total_cmp(&means[b]))
            .unwrap_or(0);
        THRESHOLDS[best]
    })
}

fn sixty(results: &[Result]) -> Vec<f64> {
    results.iter().map(|r| r.sixty).collect()
}

fn line(name: &str, results: &[Result]) {
    let m = |f: fn(&Result) -> f64| mean(&results.iter().map(f).collect::<Vec<_>>());
    print!(
        "  {name:40} {:6.3} {:6.3} {:6.3} {:5.0} {:5.2}",
        m(|r| r.day),
        m(|r| r.sixty),
        m(|r| r.worst),
        m(|r| r.met as f64),
        m(|r| r.right)
    );
}
