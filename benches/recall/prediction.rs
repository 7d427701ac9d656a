//! The first half of the report: how well answers are predicted.

use super::baselines::{self, Baseline};
use super::learners::Family;
use super::logs::{Log, log};
use super::people::{self, Half};
use super::score::{Predictions, Score, mean, paired, score};
use super::{Margins, parallel};
use whichside::memory::constants::{Constants, DEFAULT};
use whichside::memory::history::NAMES;
use whichside::memory::{Learners, Memory};

/// Seeds of the logs that baselines and constants are fitted on.
pub const FIT_SEED: u64 = 5000;
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

/// The same of learners one after the other who are asked the same items, as `whichside forecast` takes a file of them.
fn together(logs: &[&Log]) -> Vec<Predictions> {
    let mut learners = Learners::default();
    let of = |(number, log): (usize, &&Log)| {
        let learner = number.to_string();
        let rows = log.rows.iter().map(|row| {
            let forecast = learners.observe(&learner, &row.outcome);
            (forecast.expected, Some(forecast.recall))
        });
        rows.collect()
    };
    logs.iter().enumerate().map(of).collect()
}

/// The first half: `seed` is the first of those of the learners reported.
pub fn report(learners: u64, seed: u64, margins: &mut Margins) -> Fits {
    let train = logs(&Family::ALL, FIT_SEED, FIT_LEARNERS.min(learners * 2));
    let test = logs(&Family::ALL, seed, learners);
    let strangers = logs(&Family::STRANGERS, seed, learners);

    let mut fits = Fits {
        half_life: Vec::new(),
        beta: Vec::new(),
    };
    let baselines = baselines::all();
    let numbers = parallel(baselines.len() * 3, |i| {
        let left: Vec<&Log> = train
            .iter()
            .filter(|l| l.family != Some(Family::ALL[i % 3]))
            .collect();
        baselines[i / 3].fit(&left)
    });
    let fitted: Vec<(&Baseline, &[Vec<f64>])> = baselines.iter().zip(numbers.chunks(3)).collect();
    for (baseline, numbers) in &fitted {
        keep(baseline, numbers, &mut fits);
    }

    println!(
        "log loss in nats; RMSE against the true chance of recall; calibration error; gain of ours with its"
    );
    println!("95 % interval (paired bootstrap over learners).");
    println!(
        "\nPrediction: {} simulated learners of families that ours was fitted on, {} answers, seeds from {seed}; the",
        test.len(),
        rows(&test)
    );
    println!("others are fitted on the two families not tested.");
    table(&test, &Family::ALL, &fitted, "", margins);
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
    people(&baselines, learners, margins);
    fits
}

fn rows(logs: &[Log]) -> usize {
    logs.iter().map(|l| l.rows.len()).sum()
}

/// People: all is fitted on one half of the learners and reported on the other.
fn people(baselines: &[Baseline], learners: u64, margins: &mut Margins) {
    let (Some(train), Some(mut test)) = (people::logs(Half::Fitted), people::logs(Half::Reported))
    else {
        println!("\nPeople: skipped, ../shared/data/cloze-practice.csv is not here");
        return;
    };
    test.truncate(learners as usize * 20);
    let train: Vec<&Log> = train.iter().take(learners as usize * 20).collect();
    let numbers = parallel(baselines.len(), |i| baselines[i].fit(&train));
    let numbers: Vec<Vec<Vec<f64>>> = numbers.into_iter().map(|n| vec![n; 3]).collect();
    let fitted: Vec<(&Baseline, &[Vec<f64>])> = baselines
        .iter()
        .zip(numbers.iter().map(|n| &n[..]))
        .collect();
    println!(
        "\nPeople who fill gaps in sentences, learners not fitted on: {}, {} answers",
        test.len(),
        rows(&test)
    );
    let all = table(&test, &[], &fitted, "people: ", margins);
    margins.claim(
        all <= 0.535,
        format!("people: log loss at most .535: {all:.4}"),
    );

    let file = by_family(&test, 1);
    let alone: Vec<Predictions> = test.iter().map(|log| ours(&DEFAULT, log)).collect();
    let nights: Vec<Vec<usize>> = test.iter().map(people::after_a_night).collect();
    let asked = nights.iter().filter(|rows| !rows.is_empty()).count();
    println!("\n  the first answer about a sentence after a night, {asked} learners");
    let night = |name: &str, predictions: &[Predictions]| {
        let mut of = Vec::new();
        let (mut right, mut expected) = (Vec::new(), Vec::new());
        for ((log, rows), predictions) in test.iter().zip(&nights).zip(predictions) {
            if rows.is_empty() {
                continue;
            }
            let kept: Predictions = rows.iter().map(|&row| predictions[row]).collect();
            let log = log.only(rows);
            right.extend(log.rows.iter().map(|r| r.outcome.correct));
            expected.extend(kept.iter().map(|p| p.0));
            of.push(score(&log, &kept));
        }
        line(name, &of, None);
        let (right, expected) = (mean(&right), mean(&expected));
        println!("    expected right {expected:.3}, right {right:.3}");
        let loss = mean(&of.iter().map(|s| s.log_loss).collect::<Vec<_>>());
        (loss, expected - right)
    };
    let (loss, _) = night("ours", &alone);
    println!("    (.58 was asked for: {:+.3})", loss - 0.58);
    let (loss, level) = night("ours, a file of all learners", &file);
    println!(
        "  Measured once beside this, for what can be had of one learner alone: 62 figures of item, sentence and day, a"
    );
    println!(
        "  logistic regression fitted offline on all other learners: .587 (boosted trees .594); knowing how hard each gap is"
    );
    println!("  for others: .501.");
    margins.claim(
        loss <= 0.58,
        format!("people in one file, after a night: log loss at most .58: {loss:.4}"),
    );
    margins.claim(
        level.abs() <= 0.02,
        format!(
            "people in one file, after a night: level within 2 points: {:+.1}",
            100.0 * level
        ),
    );
}

/// What each part is worth: the loss on learners not fitted on without it, all else fitted again.
pub fn parts(learners: u64, seed: u64) {
    let fitting = super::fit::Fitting::new(8);
    let mut sets: Vec<(&str, Vec<Log>)> = Family::STRANGERS
        .into_iter()
        .map(|family| (family.name(), logs(&[family], seed, learners)))
        .collect();
    match people::logs(Half::Reported) {
        Some(people) => sets.push(("people", people)),
        None => println!("people skipped: ../shared/data/cloze-practice.csv is not here"),
    }
    let losses = |constants: &Constants| -> Vec<f64> {
        let loss = |log: &Log| score(log, &ours(constants, log)).log_loss;
        let of = |logs: &[Log]| mean(&parallel(logs.len(), |i| loss(&logs[i])));
        sets.iter().map(|(_, logs)| of(logs)).collect()
    };
    let whole = losses(&fitting.fit(DEFAULT, 6));
    println!(
        "Log loss with all parts, seeds from {seed}, and what it rises by without one, all else fitted again"
    );
    for ((name, logs), loss) in sets.iter().zip(&whole) {
        println!("  {name:36} {:4} learners {loss:.4}", logs.len());
    }
    let mut without: Vec<(&str, Constants)> = Vec::new();
    for (i, name) in NAMES.iter().enumerate().skip(1) {
        let mut constants = DEFAULT;
        (constants.means[i], constants.spreads[i]) = (0.0, 0.0);
        without.push((name, constants));
    }
    without.push((
        "what an item adds",
        Constants {
            item: 0.0,
            ..DEFAULT
        },
    ));
    without.push((
        "what kinds and ideas add",
        Constants {
            group: 0.0,
            ..DEFAULT
        },
    ));
    println!();
    for (name, constants) in without {
        print!("  {name:36}");
        for (less, whole) in losses(&fitting.fit(constants, 6)).iter().zip(&whole) {
            print!(" {:+.4}", less - whole);
        }
        println!();
    }
}

/// `each` logs of every family, in turn.
pub fn logs(families: &[Family], seed: u64, each: u64) -> Vec<Log> {
    let n = families.len();
    parallel(each as usize * n, |i| {
        log(families[i % n], seed + (i / n) as u64)
    })
}

/// Prints a line for each predictor and claims that ours is the best. Gives our log loss. People are of no family.
fn table(
    test: &[Log],
    families: &[Family],
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
    if !families.is_empty() {
        let truth = |row: &super::logs::Row| (row.expected, Some(row.recall));
        let floor = scores(&|log, _| log.rows.iter().map(truth).collect());
        line("floor (knows the learner)", &floor, None);
    }
    let own = scores(&|log, _| ours(&DEFAULT, log));
    line("ours", &own, None);
    let among = by_family(test, families.len().max(1));
    let among: Vec<Score> = among
        .iter()
        .zip(test)
        .map(|(p, log)| score(log, p))
        .collect();
    line("ours, a file of all learners", &among, Some(&own));
    for (f, family) in families.iter().enumerate() {
        let of: Vec<Score> = own
            .iter()
            .skip(f)
            .step_by(families.len())
            .copied()
            .collect();
        line(&format!("  of these {}", family.name()), &of, None);
    }
    for (baseline, numbers) in fitted {
        let theirs = scores(&|log, f| baseline.predict(&numbers[f], log));
        if let Some((_, low, _)) = line(baseline.name, &theirs, Some(&own)) {
            margins.claim(
                low > 0.0,
                format!(
                    "{whose}predicts better than {}: interval from {low:+.4}",
                    baseline.name
                ),
            );
        }
    }
    mean(&own.iter().map(|s| s.log_loss).collect::<Vec<_>>())
}

/// What [`together`] predicts for each family in a file of its own.
fn by_family(logs: &[Log], families: usize) -> Vec<Predictions> {
    let mut all = vec![Predictions::new(); logs.len()];
    for family in 0..families {
        let of: Vec<&Log> = logs.iter().skip(family).step_by(families).collect();
        for (i, predictions) in together(&of).into_iter().enumerate() {
            all[i * families + family] = predictions;
        }
    }
    all
}

/// Prints one line and gives the gain of ours with its interval.
fn line(name: &str, s: &[Score], ours: Option<&[Score]>) -> Option<(f64, f64, f64)> {
    let m = |f: fn(&Score) -> f64| mean(&s.iter().map(f).collect::<Vec<_>>());
    // Of people the true chance is not known.
    let rmse = m(|s| s.rmse);
    let rmse = match rmse.is_nan() {
        true => "-".into(),
        false => format!("{rmse:.3}"),
    };
    print!(
        "  {name:38} {:8.4} {rmse:>6} {:6.3}",
        m(|s| s.log_loss),
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
