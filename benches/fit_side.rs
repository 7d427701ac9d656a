//! Fits the score that says which side of the clave a free pattern states, and reports how well it does.
//!
//! `cargo bench --bench fit_side` prints the accuracy under five-fold cross-validation, the calibration, and then
//! the table that stands in `src/clave/weights.rs`. Data: Mehmet Vurkaç, *Firm-Teacher Clave-Direction
//! Classification*, UCI Machine Learning Repository, DOI 10.24432/C5GC9F, read from
//! `../shared/data/clave-direction.csv` or from the path given as an argument; where there is no such file the program
//! says so and ends.
//!
//! A pattern and the same pattern with its bars swapped are always in the same fold. The strengths of the two
//! penalties are chosen inside each training part, by five folds of it; for the printed table by five folds of
//! everything.

use rand::SeedableRng;
use rand::rngs::ChaCha8Rng;
use rand::seq::SliceRandom;
use std::collections::HashMap;
use std::process::ExitCode;
use whichside::clave::score::{FEATURES, OnsetBits, SalienceWeights, logistic};
use whichside::clave::{Direction, PARTS, SideClassifier, SideVerdict};
use whichside::rhythm::Grid;

const FOLDS: usize = 5;
const SEED: u64 = 1;
/// Penalties tried, each the inverse variance of a normal prior on the weights.
const VOTE_PENALTIES: [f64; 6] = [1.0, 0.3, 0.1, 0.03, 0.01, 0.003];
const CLASS_PENALTIES: [f64; 4] = [10.0, 3.0, 1.0, 0.1];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Label {
    Forward,
    Reverse,
    Neutral,
    Incoherent,
}

struct Row {
    bars: [OnsetBits; 2],
    label: Label,
    fold: usize,
}

fn main() -> ExitCode {
    let named = std::env::args().skip(1).find(|a| !a.starts_with("--"));
    let path = &named.unwrap_or("../shared/data/clave-direction.csv".to_string());
    let Some(rows) = read(path) else {
        println!("fit_side: skipped, {path} cannot be read here");
        return ExitCode::SUCCESS;
    };
    println!(
        "{} rows of {path}, {FOLDS} folds, pairs kept together, seed {SEED}\n",
        rows.len()
    );
    let mut held_out = Vec::new();
    for fold in 0..FOLDS {
        let (test, train): (Vec<&Row>, Vec<&Row>) = rows.iter().partition(|r| r.fold == fold);
        let (weights, chosen) = fit(&train);
        println!(
            "fold {fold}: penalties {chosen:?}, {} rows held out",
            test.len()
        );
        let weights: &'static SalienceWeights = Box::leak(Box::new(weights));
        held_out.extend(test.into_iter().map(|row| Held { row, weights }));
    }
    println!("\n== the free score alone, the likeliest of the four ==");
    report(&held_out, false);
    println!(
        "\n== as the program reads: with named parts, and with no call where the direction is unclear =="
    );
    report(&held_out, true);
    named_parts();
    rotations();
    let (weights, chosen) = fit(&rows.iter().collect::<Vec<_>>());
    print_weights(&weights, chosen);
    ExitCode::SUCCESS
}

fn read(path: &str) -> Option<Vec<Row>> {
    let mut table = csv::Reader::from_path(path).ok()?;
    let mut rows = Vec::new();
    for record in table.records() {
        let record = record.ok()?;
        let bits = |s: &str| -> OnsetBits {
            let marks = s.bytes().enumerate().filter(|(_, c)| *c == b'x');
            marks.map(|(i, _)| 1 << i).sum()
        };
        let label = match &record[1] {
            "forward" => Label::Forward,
            "reverse" => Label::Reverse,
            "neutral" => Label::Neutral,
            _ => Label::Incoherent,
        };
        let bars = [bits(&record[0][..8]), bits(&record[0][8..])];
        rows.push(Row {
            bars,
            label,
            fold: 0,
        });
    }
    deal(&mut rows, FOLDS, SEED);
    Some(rows)
}

/// Deals the rows out to folds, each pattern together with its swapped form.
fn deal(rows: &mut [Row], folds: usize, seed: u64) {
    let mut pairs: Vec<[OnsetBits; 2]> = rows.iter().map(|r| pair(r.bars)).collect();
    pairs.sort_unstable();
    pairs.dedup();
    pairs.shuffle(&mut ChaCha8Rng::seed_from_u64(seed));
    let fold: HashMap<[OnsetBits; 2], usize> = pairs
        .into_iter()
        .enumerate()
        .map(|(i, p)| (p, i % folds))
        .collect();
    for row in rows {
        row.fold = fold[&pair(row.bars)];
    }
}

/// The same for a pattern and its swapped form.
fn pair([a, b]: [OnsetBits; 2]) -> [OnsetBits; 2] {
    [a.min(b), a.max(b)]
}

/// What the score says of one row: probabilities of 3-2, 2-3, neutral, crossed; and of 3-2 among the first two.
#[derive(Clone, Copy)]
struct Shares {
    classes: [f64; 4],
    forward: f64,
}

impl Shares {
    fn of(weights: &SalienceWeights, bars: [OnsetBits; 2]) -> Shares {
        let votes = weights.votes(&bars);
        let forward = logistic(votes.margin());
        let [stated, neutral, crossed] = weights.stated(&votes);
        Shares {
            classes: [stated * forward, stated * (1.0 - forward), neutral, crossed],
            forward,
        }
    }

    fn log_loss(&self, label: Label) -> f64 {
        -self.classes[label as usize].max(1e-12).ln()
    }
}

/// Fits everything to `rows`; the penalties are chosen by folds of these rows alone.
fn fit(rows: &[&Row]) -> (SalienceWeights, (f64, f64)) {
    let mut best = (f64::INFINITY, (0.0, 0.0));
    for votes in VOTE_PENALTIES {
        let mut loss = [0.0; CLASS_PENALTIES.len()];
        for fold in inner_folds(rows) {
            let halves = fit_halves(&fold.train, votes);
            for (loss, classes) in loss.iter_mut().zip(CLASS_PENALTIES) {
                let weights = fit_classes(&fold.train, halves, classes);
                let test = fold.test.iter();
                *loss += test
                    .map(|r| Shares::of(&weights, r.bars).log_loss(r.label))
                    .sum::<f64>();
            }
        }
        for (loss, classes) in loss.iter().zip(CLASS_PENALTIES) {
            if *loss < best.0 {
                best = (*loss, (votes, classes));
            }
        }
    }
    let (votes, classes) = best.1;
    (fit_classes(rows, fit_halves(rows, votes), classes), best.1)
}

struct Fold<'a> {
    train: Vec<&'a Row>,
    test: Vec<&'a Row>,
}

/// Five folds of rows that are themselves four folds of the whole, again with pairs together.
fn inner_folds<'a>(rows: &[&'a Row]) -> Vec<Fold<'a>> {
    let mut copies: Vec<Row> = rows
        .iter()
        .map(|r| Row {
            bars: r.bars,
            label: r.label,
            fold: 0,
        })
        .collect();
    deal(&mut copies, FOLDS, SEED + 1);
    let parts = (0..FOLDS).map(|fold| {
        let (test, train): (Vec<_>, Vec<_>) = rows
            .iter()
            .zip(&copies)
            .partition(|(_, copy)| copy.fold == fold);
        let plain = |v: Vec<(&&'a Row, &Row)>| v.into_iter().map(|(r, _)| *r).collect();
        Fold {
            train: plain(train),
            test: plain(test),
        }
    });
    parts.collect()
}

/// Tables of the half-bar votes: logistic regression of forward against reverse. A pattern and its swapped form
/// say the same thing with opposite signs, so each row enters as the difference of its bars and no constant is
/// fitted.
fn fit_halves(rows: &[&Row], penalty: f64) -> [[f64; 16]; 2] {
    let mut data = Vec::new();
    for row in rows {
        let forward = match row.label {
            Label::Forward => 1.0,
            Label::Reverse => 0.0,
            _ => continue,
        };
        let mut x = vec![0.0; 32];
        for half in 0..2 {
            let at = |bar: OnsetBits| 16 * half + usize::from(bar >> (4 * half) & 15);
            x[at(row.bars[0])] += 1.0;
            x[at(row.bars[1])] -= 1.0;
        }
        data.push((x, vec![forward]));
    }
    let fitted = regression(&data, penalty, false);
    let mut halves = [[0.0; 16]; 2];
    for (half, table) in halves.iter_mut().enumerate() {
        table.copy_from_slice(&fitted[0][16 * half..16 * half + 16]);
        let mean = table.iter().sum::<f64>() / 16.0;
        table.iter_mut().for_each(|v| *v -= mean);
    }
    halves
}

/// The second step on top of `halves`, and the slope for single bars.
fn fit_classes(rows: &[&Row], halves: [[f64; 16]; 2], penalty: f64) -> SalienceWeights {
    let mut weights = SalienceWeights {
        halves,
        classes: [[0.0; FEATURES + 1]; 2],
        bar_slope: 1.0,
    };
    let features: Vec<_> = rows
        .iter()
        .map(|r| weights.votes(&r.bars).features())
        .collect();
    // standard deviations, so that one penalty suits all
    let scale: Vec<f64> = (0..FEATURES)
        .map(|i| {
            let n = features.len() as f64;
            let mean = features.iter().map(|f| f[i]).sum::<f64>() / n;
            let var = features.iter().map(|f| (f[i] - mean).powi(2)).sum::<f64>() / n;
            var.sqrt().max(1e-9)
        })
        .collect();
    let data: Vec<_> = rows
        .iter()
        .zip(&features)
        .map(|(row, f)| {
            let x = f.iter().zip(&scale).map(|(x, s)| x / s).collect();
            let is = |label| f64::from(u8::from(row.label == label));
            (x, vec![is(Label::Neutral), is(Label::Incoherent)])
        })
        .collect();
    for (class, fitted) in regression(&data, penalty, true).into_iter().enumerate() {
        for (i, w) in fitted.into_iter().enumerate() {
            weights.classes[class][i] = w / scale.get(i).copied().unwrap_or(1.0);
        }
    }
    let bars: Vec<_> = rows
        .iter()
        .filter(|r| matches!(r.label, Label::Forward | Label::Reverse))
        .flat_map(|r| {
            let forward = f64::from(u8::from(r.label == Label::Forward));
            [(r.bars[0], forward), (r.bars[1], 1.0 - forward)]
        })
        .map(|(bar, three)| (vec![weights.bar(bar)], vec![three]))
        .collect();
    weights.bar_slope = regression(&bars, 1e-3, false)[0][0];
    weights
}

/// Multinomial logistic regression with a normal prior, by Newton's method: for each class but the first its
/// weights, with the constant (not penalised) last if one is asked for. `data` holds the inputs and the indicators
/// of all classes but the first.
fn regression(data: &[(Vec<f64>, Vec<f64>)], penalty: f64, constant: bool) -> Vec<Vec<f64>> {
    let inputs = data[0].0.len();
    let width = inputs + usize::from(constant);
    let classes = data[0].1.len();
    let n = width * classes;
    let mut w = vec![0.0; n];
    for _ in 0..50 {
        let mut gradient = vec![0.0; n];
        let mut hessian = vec![vec![0.0; n]; n];
        for (x, y) in data {
            let at = |i: usize| if i < inputs { x[i] } else { 1.0 };
            let odds: Vec<f64> = (0..classes)
                .map(|c| {
                    (0..width)
                        .map(|i| w[c * width + i] * at(i))
                        .sum::<f64>()
                        .exp()
                })
                .collect();
            let all = 1.0 + odds.iter().sum::<f64>();
            let p: Vec<f64> = odds.iter().map(|o| o / all).collect();
            let used: Vec<usize> = (0..width).filter(|i| at(*i) != 0.0).collect();
            for c in 0..classes {
                for &i in &used {
                    gradient[c * width + i] += (y[c] - p[c]) * at(i);
                    for d in 0..=c {
                        let curve = p[c] * (f64::from(u8::from(c == d)) - p[d]);
                        for &j in &used {
                            hessian[c * width + i][d * width + j] += curve * at(i) * at(j);
                        }
                    }
                }
            }
        }
        for k in 0..n {
            let prior = if k % width < inputs { penalty } else { 1e-9 };
            gradient[k] -= prior * w[k];
            hessian[k][k] += prior;
        }
        let step = solve(hessian, gradient);
        for (w, s) in w.iter_mut().zip(&step) {
            *w += s;
        }
        if step.iter().all(|s| s.abs() < 1e-8) {
            break;
        }
    }
    w.chunks(width).map(<[f64]>::to_vec).collect()
}

/// Solves `a x = b` for a positive definite `a` of which the lower triangle is given (Cholesky).
fn solve(mut a: Vec<Vec<f64>>, mut b: Vec<f64>) -> Vec<f64> {
    let n = b.len();
    for j in 0..n {
        for k in 0..j {
            for i in j..n {
                a[i][j] -= a[i][k] * a[j][k];
            }
        }
        let pivot = a[j][j].sqrt();
        for row in &mut a[j..] {
            row[j] /= pivot;
        }
    }
    for i in 0..n {
        for k in 0..i {
            b[i] -= a[i][k] * b[k];
        }
        b[i] /= a[i][i];
    }
    for i in (0..n).rev() {
        for k in i + 1..n {
            b[i] -= a[k][i] * b[k];
        }
        b[i] /= a[i][i];
    }
    b
}

/// A row with weights that were fitted without it.
struct Held<'a> {
    row: &'a Row,
    weights: &'static SalienceWeights,
}

/// Prints how well held-out rows are read; `whole`: as the program does, else by the free score alone.
fn report(held_out: &[Held], whole: bool) {
    const CALLS: [SideVerdict; 5] = [
        SideVerdict::ThreeTwo,
        SideVerdict::TwoThree,
        SideVerdict::Neutral,
        SideVerdict::Crossed,
        SideVerdict::Unsure,
    ];
    let mut confusion = [[0usize; 5]; 4];
    let mut directed = Vec::new();
    for Held { row, weights } in held_out {
        let (call, forward) = if whole {
            let onsets: Vec<bool> = (0..16)
                .map(|p| row.bars[p / 8] >> (p % 8) & 1 == 1)
                .collect();
            let reading = SideClassifier {
                weights,
                ..SideClassifier::default()
            }
            .onsets(Grid::Eighths, &onsets);
            (reading.verdict, reading.forward)
        } else {
            let shares = Shares::of(weights, row.bars);
            let best = (0..4).max_by(|a, b| shares.classes[*a].total_cmp(&shares.classes[*b]));
            (CALLS[best.unwrap_or(0)], shares.forward)
        };
        let at = CALLS.iter().position(|c| *c == call).unwrap_or(4);
        confusion[row.label as usize][at] += 1;
        if matches!(row.label, Label::Forward | Label::Reverse) {
            directed.push((forward, row.label == Label::Forward, call));
        }
    }
    let share = |n: usize, of: usize| n as f64 / of.max(1) as f64;
    let right: usize = (0..4).map(|c| confusion[c][c]).sum();
    println!(
        "four classes: {:.4} right of {} rows (no call counts as wrong)",
        share(right, held_out.len()),
        held_out.len()
    );
    println!(
        "{:>12} {:>6} {:>6} {:>8} {:>8} {:>7}",
        "true", "3-2", "2-3", "neutral", "crossed", "unsure"
    );
    for (name, row) in ["forward", "reverse", "neutral", "incoherent"]
        .iter()
        .zip(confusion)
    {
        println!(
            "{name:>12} {:>6} {:>6} {:>8} {:>8} {:>7}",
            row[0], row[1], row[2], row[3], row[4]
        );
    }
    let right =
        |rows: &[&(f64, bool, SideVerdict)]| rows.iter().filter(|r| (r.0 > 0.5) == r.1).count();
    let all: Vec<_> = directed.iter().collect();
    println!("forward against reverse, {} rows:", all.len());
    println!(
        "  by `forward` above or below one half, every row:    {:.4}",
        share(right(&all), all.len())
    );
    let sure: Vec<_> = directed
        .iter()
        .filter(|r| r.2 != SideVerdict::Unsure)
        .collect();
    println!(
        "  by `forward`, rows that are not unsure:             {:.4} of {}",
        share(right(&sure), sure.len()),
        sure.len()
    );
    println!(
        "  by `forward`, unsure counted as wrong:              {:.4}",
        share(right(&sure), all.len())
    );
    let called: Vec<_> = directed
        .iter()
        .filter(|r| r.2.direction().is_some())
        .collect();
    println!(
        "  by the call, rows called 3-2 or 2-3:                {:.4} of {}",
        share(right(&called), called.len()),
        called.len()
    );
    println!(
        "  by the call, any other call counted as wrong:       {:.4}",
        share(right(&called), all.len())
    );
    let pairs: Vec<(f64, bool)> = directed.iter().map(|r| (r.0, r.1)).collect();
    for bins in [10, 15] {
        println!(
            "  expected calibration error of forward, {bins} bins:    {:.4}",
            calibration_error(&pairs, bins)
        );
    }
    println!(
        "{:>10} {:>6} {:>10} {:>8}",
        "forward", "rows", "predicted", "seen"
    );
    for bin in 0..10 {
        let here: Vec<_> = pairs
            .iter()
            .filter(|(p, _)| bin_of(*p, 10) == bin)
            .collect();
        if !here.is_empty() {
            let n = here.len() as f64;
            println!(
                "{:>4.1} - {:.1} {:>6} {:>10.3} {:>8.3}",
                bin as f64 / 10.0,
                (bin + 1) as f64 / 10.0,
                here.len(),
                here.iter().map(|(p, _)| p).sum::<f64>() / n,
                share(here.iter().filter(|(_, y)| *y).count(), here.len())
            );
        }
    }
}

/// Prints how the named parts are read with their table and without it, by the weights in the source.
fn named_parts() {
    println!(
        "\n== named parts, in both directions: with the table, and by the free score alone =="
    );
    let mut right = [0, 0];
    let mut all = 0;
    for part in PARTS {
        for direction in Direction::ALL {
            let expected = if part.states_side {
                direction.into()
            } else {
                SideVerdict::Neutral
            };
            let calls = [true, false].map(|named_parts| {
                let classifier = SideClassifier {
                    named_parts,
                    ..SideClassifier::default()
                };
                classifier
                    .onsets(part.grid, &part.onsets(direction))
                    .verdict
            });
            all += 1;
            for (right, call) in right.iter_mut().zip(calls) {
                *right += usize::from(call == expected);
            }
            println!(
                "{:>40} {}: is {:>7}, table {:>7}, free {:>7}{}",
                part.name,
                direction.name(),
                expected.name(),
                calls[0].name(),
                calls[1].name(),
                if calls[1] == expected {
                    ""
                } else {
                    "  (missed)"
                }
            );
        }
    }
    println!(
        "right of {all}: {} with the table, {} by the free score alone",
        right[0], right[1]
    );
}

/// Prints how often a named part that is begun elsewhere than on 1 of either side gets a direction with more than .8, with the
/// table and by the free score alone, by the weights in the source.
fn rotations() {
    println!(
        "\n== rotations of named parts by anything but whole bars: a direction with more than .8 =="
    );
    let mut sums = [0; 3];
    for part in PARTS.iter().filter(|p| p.states_side) {
        let onsets = part.onsets(Direction::ThreeTwo);
        let half = onsets.len() / 2;
        let mut counts = [0; 3];
        for by in (0..onsets.len()).filter(|by| by % half != 0) {
            let mut turned = onsets.clone();
            turned.rotate_left(by);
            counts[0] += 1;
            for (count, named_parts) in counts[1..].iter_mut().zip([true, false]) {
                let classifier = SideClassifier {
                    named_parts,
                    ..SideClassifier::default()
                };
                let reading = classifier.onsets(part.grid, &turned);
                let c = reading.classes;
                let most = c.three_two.max(c.two_three);
                *count += usize::from(reading.verdict.direction().is_some() && most > 0.8);
            }
        }
        println!(
            "{:>40}: of {:>2}, with the table {:>2}, by the free score alone {:>2}",
            part.name, counts[0], counts[1], counts[2]
        );
        for (sum, count) in sums.iter_mut().zip(counts) {
            *sum += count;
        }
    }
    println!(
        "all: of {}, with the table {}, by the free score alone {}",
        sums[0], sums[1], sums[2]
    );
}

fn bin_of(p: f64, bins: usize) -> usize {
    ((p * bins as f64) as usize).min(bins - 1)
}

/// Expected calibration error with bins of equal width: mean over rows of |mean prediction - share seen| of the
/// row's bin (Naeini, Cooper & Hauskrecht 2015).
fn calibration_error(rows: &[(f64, bool)], bins: usize) -> f64 {
    let mut sums = vec![0.0; bins];
    for (p, y) in rows {
        sums[bin_of(*p, bins)] += p - f64::from(u8::from(*y));
    }
    sums.iter().map(|s: &f64| s.abs()).sum::<f64>() / rows.len() as f64
}

fn print_weights(weights: &SalienceWeights, chosen: (f64, f64)) {
    let list = |values: &[f64]| {
        let cells: Vec<String> = values.iter().map(|v| format!("{v:.3}")).collect();
        cells.join(", ")
    };
    println!(
        "\npenalties for everything: votes {}, classes {}",
        chosen.0, chosen.1
    );
    println!("pub static WEIGHTS: SalienceWeights = SalienceWeights {{\n    halves: [");
    for table in &weights.halves {
        println!("        [{}],", list(table));
    }
    println!("    ],\n    classes: [");
    for class in &weights.classes {
        println!("        [{}],", list(class));
    }
    println!("    ],\n    bar_slope: {:.3},\n}};", weights.bar_slope);
}
