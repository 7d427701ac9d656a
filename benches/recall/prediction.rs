//! The first half of the report: how well answers are predicted.

use super::baselines::{self, Baseline};
use super::fitted::LEFT_OUT;
use super::learners::Family;
use super::logs::{Log, log};
use super::score::{Predictions, Score, mean, paired, score};
use super::{Margins, parallel};
use whichside::memory::Memory;
use whichside::memory::constants::{Constants, DEFAULT};

/// Seeds of the logs that baselines are fitted on, and of those reported.
pub const FIT_SEED: u64 = 5000;
const TEST_SEED: u64 = 1000;
/// Learners of each family that baselines are fitted on.
const FIT_LEARNERS: u64 = 6;

/// Numbers of the baselines that planners use too, fitted without each family.
pub struct Fits {
    /// Guess-aware half-life regression.
    pub half_life: Vec<Vec<f64>>,
    pub beta: Vec<Vec<f64>>,
}

pub fn ours(constants: &Constants, log: &Log) -> Predictions {
    let mut memory = Memory::with_constants(*constants);
    log.rows
        .iter()
        .map(|row| {
            let forecast = memory.observe(&row.outcome);
            (forecast.expected, Some(forecast.recall))
        })
        .collect()
}

pub fn report(learners: u64, margins: &mut Margins) -> Fits {
    let train = logs(&Family::ALL, FIT_SEED, FIT_LEARNERS.min(learners * 2));
    let test = logs(&Family::ALL, TEST_SEED, learners);
    let strangers = logs(&Family::STRANGERS, TEST_SEED, learners);

    let mut fits = Fits {
        half_life: Vec::new(),
        beta: Vec::new(),
    };
    let baselines = baselines::all();
    let numbers = parallel(baselines.len() * 3, |i| {
        let left: Vec<&Log> = train
            .iter()
            .filter(|l| l.family != Family::ALL[i % 3])
            .collect();
        baselines[i / 3].fit(&left)
    });
    let fitted: Vec<(&Baseline, &[Vec<f64>])> = baselines.iter().zip(numbers.chunks(3)).collect();
    for (baseline, numbers) in &fitted {
        keep(baseline, numbers, &mut fits);
    }

    let rows = |logs: &[Log]| logs.iter().map(|l| l.rows.len()).sum::<usize>();
    println!(
        "Prediction: {} simulated learners, {} answers, seeds from {TEST_SEED}",
        test.len(),
        rows(&test)
    );
    println!(
        "log loss in nats; RMSE against the true chance of recall; calibration error; gain of ours with its"
    );
    println!(
        "95 % interval (paired bootstrap over learners). All fitted on the two families not tested."
    );
    let average = table(&test, &Family::ALL, &fitted, "", margins);
    margins.claim(
        average <= 0.49,
        format!("log loss at most .49: {average:.4}"),
    );
    println!(
        "\nThe same, unlike all that anything was fitted on: {} learners, {} answers",
        strangers.len(),
        rows(&strangers)
    );
    table(
        &strangers,
        &Family::STRANGERS,
        &fitted,
        "strangers: ",
        margins,
    );
    fits
}

/// `each` logs of every family, in turn.
fn logs(families: &[Family; 3], seed: u64, each: u64) -> Vec<Log> {
    parallel(each as usize * 3, |i| {
        log(families[i % 3], seed + i as u64 / 3)
    })
}

/// Prints a line for each predictor and claims that ours is the best. Gives our log loss.
fn table(
    test: &[Log],
    families: &[Family; 3],
    fitted: &[(&Baseline, &[Vec<f64>])],
    whose: &str,
    margins: &mut Margins,
) -> f64 {
    println!(
        "\n  {:38} {:>8} {:>6} {:>6}   gain of ours",
        "", "log loss", "RMSE", "cal."
    );
    let scores = |predict: &(dyn Fn(&Log, usize) -> Predictions + Sync)| -> Vec<Score> {
        parallel(test.len(), |i| score(&test[i], &predict(&test[i], i % 3)))
    };
    let floor = scores(&|log, _| {
        log.rows
            .iter()
            .map(|r| (r.expected, Some(r.recall)))
            .collect()
    });
    line("floor (knows the learner)", &floor, None);
    let filter = scores(&|log, f| ours(&LEFT_OUT[f], log));
    line("ours", &filter, None);
    for (f, family) in families.iter().enumerate() {
        let own: Vec<Score> = filter.iter().skip(f).step_by(3).copied().collect();
        line(&format!("  of these {}", family.name()), &own, None);
    }
    let shipped = scores(&|log, _| ours(&DEFAULT, log));
    line("ours, shipped constants", &shipped, None);
    for (baseline, numbers) in fitted {
        let theirs = scores(&|log, f| baseline.predict(&numbers[f], log));
        if let Some((_, low, _)) = line(baseline.name, &theirs, Some(&filter)) {
            margins.claim(
                low > 0.0,
                format!(
                    "{whose}predicts better than {}: interval from {low:+.4}",
                    baseline.name
                ),
            );
        }
    }
    mean(&filter.iter().map(|s| s.log_loss).collect::<Vec<_>>())
}

/// Prints one line and gives the gain of ours with its interval.
fn line(name: &str, s: &[Score], ours: Option<&[Score]>) -> Option<(f64, f64, f64)> {
    let m = |f: fn(&Score) -> f64| mean(&s.iter().map(f).collect::<Vec<_>>());
    print!(
        "  {name:38} {:8.4} {:6.3} {:6.3}",
        m(|s| s.log_loss),
        m(|s| s.rmse),
        m(|s| s.calibration)
    );
    let loss = |s: &[Score]| s.iter().map(|s| s.log_loss).collect::<Vec<_>>();
    let gain = ours.map(|ours| paired(&loss(s), &loss(ours)));
    match gain {
        Some((d, low, high)) => println!("   {d:+.4} [{low:+.4}, {high:+.4}]"),
        None => println!(),
    }
    gain
}

fn keep(baseline: &Baseline, numbers: &[Vec<f64>], fits: &mut Fits) {
    // The first four numbers are for first answers.
    let own: Vec<Vec<f64>> = numbers.iter().map(|n| n[4..].to_vec()).collect();
    match baseline.name {
        baselines::GUESS_AWARE => fits.half_life = own,
        baselines::BETA => fits.beta = own,
        _ => {}
    }
}
