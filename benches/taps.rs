//! Simulated tappers: how well taps are graded. Prints its table and exits with 1 where a bound is missed.
//!
//!     cargo bench --bench taps            the report, on the seeds kept for it
//!     cargo bench --bench taps -- choose  the same on the seeds on which the numbers were chosen
//!
//! Three published models of tapping, none of which the grading knows:
//! - a central timer and a motor delay, no correction (Wing & Kristofferson 1973, *Perception & Psychophysics* 14:5-12):
//!   an interval is the timer's, plus the delay of its tap, less that of the tap before;
//! - the same with linear phase correction (Vorberg & Schulze 2002, *Journal of Mathematical Psychology* 46:56-87): a
//!   share of each asynchrony is taken back in the next interval;
//! - correction of the last two asynchronies (Pressing 1998, *Ecological Psychology* 10; the form from memory).
//!
//! Spreads, as a share of the mean time between strokes: expert 2 %, musician 3 %, beginner 6 %, inside the ranges of
//! musicians (2 to 4 %) and of people without training (4 to 8 %; Repp 2005, Repp & Su 2013; from memory). Mean
//! asynchrony -10, -20 and -50 ms (Repp 2005; from memory), on top of a delay of the machine from 0 to 80 ms. The motor
//! delay takes a fifth of the variance, the correction is half of the asynchrony (from memory).

use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use std::process::ExitCode;
use whichside::clave::{Clave, Direction, Family};
use whichside::rhythm::{Grid, Tempo};
use whichside::taps::{PerformanceLevel, Tap, TapTask, TappedDirection, grade};
use whichside::time::Seconds;

/// The first seed of the runs on which thresholds were chosen.
const CHOOSING: u64 = 1_000_000;
/// The first seed of the runs that are reported.
const REPORTING: u64 = 9_000_000;
const RUNS: u64 = 400;

#[derive(Clone, Copy, Debug, PartialEq)]
enum Model {
    TimerAndDelay,
    PhaseCorrection,
    TwoLags,
}

const MODELS: [(Model, &str); 3] = [
    (
        Model::TimerAndDelay,
        "timer and delay (Wing & Kristofferson 1973)",
    ),
    (
        Model::PhaseCorrection,
        "phase correction (Vorberg & Schulze 2002)",
    ),
    (Model::TwoLags, "two lags (Pressing 1998)"),
];

/// A player: spread as a share of the mean interval, mean asynchrony in seconds.
#[derive(Clone, Copy)]
struct Tapper {
    name: &'static str,
    spread: f64,
    lead: f64,
}

const EXPERT: Tapper = Tapper {
    name: "expert",
    spread: 0.02,
    lead: -0.010,
};
const MUSICIAN: Tapper = Tapper {
    name: "musician",
    spread: 0.03,
    lead: -0.020,
};
const BEGINNER: Tapper = Tapper {
    name: "beginner",
    spread: 0.06,
    lead: -0.050,
};

/// A standard normal number (Box & Muller 1958, *Annals of Mathematical Statistics* 29:610-611).
fn normal(random: &mut ChaCha8Rng) -> f64 {
    let (u, v): (f64, f64) = (random.random(), random.random());
    (-2.0 * (1.0 - u).ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

/// The asynchronies of `strokes` taps of a model whose spread is about `sd` seconds.
fn asynchronies(model: Model, sd: f64, strokes: usize, random: &mut ChaCha8Rng) -> Vec<f64> {
    let motor = sd * 0.2f64.sqrt();
    let timer = sd * 0.8f64.sqrt();
    let (first, second) = match model {
        Model::TimerAndDelay => (0.0, 0.0),
        Model::PhaseCorrection => (0.5, 0.0),
        Model::TwoLags => (0.4, 0.15),
    };
    // What the corrections leave of the timer's variance is brought to the same spread.
    let timer = match model {
        Model::TimerAndDelay => timer,
        Model::PhaseCorrection => timer * (1.0 - 0.5f64 * 0.5).sqrt(),
        Model::TwoLags => timer * 0.8,
    };
    let mut found: Vec<f64> = Vec::new();
    let mut phase = 0.0;
    for i in 0..strokes {
        let last = found.last().copied().unwrap_or(0.0);
        let before = i.checked_sub(2).map_or(0.0, |i| found[i]);
        phase += timer * normal(random) - first * last - second * before;
        found.push(phase + motor * normal(random));
    }
    found
}

struct Performance {
    onsets: Vec<bool>,
    grid: Grid,
    tempo: Tempo,
    cycles: usize,
}

impl Performance {
    fn times(&self) -> Vec<f64> {
        let pulse = self.tempo.pulse(self.grid).seconds();
        let n = self.onsets.len();
        (0..n * self.cycles)
            .filter(|p| self.onsets[p % n])
            .map(|p| p as f64 * pulse)
            .collect()
    }

    /// The performance by a tapper, with `drift` seconds a cycle.
    fn taps(&self, model: Model, tapper: Tapper, drift: f64, random: &mut ChaCha8Rng) -> Vec<Tap> {
        let times = self.times();
        let cycle = self.tempo.pulse(self.grid).seconds() * self.onsets.len() as f64;
        let interval = cycle * self.cycles as f64 / times.len() as f64;
        let machine = random.random_range(0.0..0.080);
        let off = asynchronies(model, tapper.spread * interval, times.len(), random);
        let of = |(t, a): (&f64, &f64)| {
            Tap::at(Seconds::new(
                t + a + tapper.lead + machine + drift * t / cycle,
            ))
        };
        times.iter().zip(&off).map(of).collect()
    }
}

/// A clave, a tempo and a task drawn by chance.
fn drawn(cycles: usize, random: &mut ChaCha8Rng) -> (Performance, Clave) {
    let family = Family::ALL[random.random_range(0..2)];
    let direction = Direction::ALL[random.random_range(0..2)];
    let clave = Clave { family, direction };
    let grid = Grid::Eighths;
    let tempo = Tempo::new(f64::from(random.random_range(90..=200u32)));
    let onsets = clave.onsets(grid);
    (
        Performance {
            onsets,
            grid,
            tempo,
            cycles,
        },
        clave,
    )
}

fn ranked(model: Model, better: Tapper, worse: Tapper, first: u64) -> f64 {
    let right = (0..RUNS).filter(|run| {
        let mut random = ChaCha8Rng::seed_from_u64(first + run);
        let (performance, clave) = drawn(8, &mut random);
        let task = TapTask::of_clave(clave, performance.grid, performance.tempo);
        let mut of = |tapper| {
            let taps = performance.taps(model, tapper, 0.0, &mut random);
            grade(&task, &taps).score
        };
        of(better) > of(worse)
    });
    100.0 * right.count() as f64 / RUNS as f64
}

fn told(model: Model, tapper: Tapper, cycles: usize, first: u64) -> f64 {
    let right = (0..RUNS).filter(|run| {
        let mut random = ChaCha8Rng::seed_from_u64(first + 10_000 + run);
        let (performance, clave) = drawn(cycles, &mut random);
        let asked = match random.random() {
            true => clave,
            false => clave.begun_later(1),
        };
        let task = TapTask::of_clave(asked, performance.grid, performance.tempo);
        let taps = performance.taps(model, tapper, 0.0, &mut random);
        let verdict = grade(&task, &taps);
        let expected = match asked == clave {
            true => TappedDirection::AsWritten,
            false => TappedDirection::Other,
        };
        verdict.played.direction == Some(expected)
            && verdict.played.tapped == Some(clave.direction)
            && (asked == clave || !verdict.right && !verdict.partly)
    });
    100.0 * right.count() as f64 / RUNS as f64
}

/// The share of runs whose drift is found within 5 ms a cycle, and the root of the mean squared error in milliseconds.
/// A timer that is never corrected wanders: there it is the line through what was really tapped that is to be found.
fn drift(model: Model, tapper: Tapper, first: u64) -> (f64, f64) {
    let errors: Vec<f64> = (0..RUNS)
        .map(|run| {
            let mut random = ChaCha8Rng::seed_from_u64(first + 20_000 + run);
            let (performance, clave) = drawn(8, &mut random);
            let planted = random.random_range(-0.030..0.030);
            let taps = performance.taps(model, tapper, planted, &mut random);
            let task = TapTask::of_clave(clave, performance.grid, performance.tempo);
            let due = match model {
                Model::TimerAndDelay => {
                    slope(&performance.times(), &taps) * task.cycle_seconds().seconds()
                }
                _ => planted,
            };
            let found = grade(&task, &taps).played.drift;
            found.map_or(1000.0, |drift| 1000.0 * (drift.seconds() - due))
        })
        .collect();
    let within = errors.iter().filter(|e| e.abs() <= 5.0).count();
    let squares = errors.iter().map(|e| e * e).sum::<f64>();
    (
        100.0 * within as f64 / RUNS as f64,
        (squares / RUNS as f64).sqrt(),
    )
}

/// The rounds of a clave that is to be held in which it is away, as the kind `hold` has it.
const AWAY: std::ops::Range<usize> = 2..7;

/// A clave held through eight cycles by a tapper who drifts while it is away: the root of the mean squared error of the
/// drift that is told, milliseconds a cycle, and of how far off the player was when it came back, milliseconds. What is to
/// be found is what was really tapped where the timer is never corrected, as in [`drift`].
fn held(model: Model, tapper: Tapper, first: u64) -> (f64, f64) {
    let (mut drift, mut at_return) = (0.0, 0.0);
    for run in 0..RUNS {
        let mut random = ChaCha8Rng::seed_from_u64(first + 40_000 + run);
        let (performance, clave) = drawn(8, &mut random);
        let planted = random.random_range(-0.020..0.020);
        let mut taps = performance.taps(model, tapper, 0.0, &mut random);
        let task = TapTask::of_clave(clave, performance.grid, performance.tempo);
        let cycle = task.cycle_seconds().seconds();
        let times = performance.times();
        let gone = |t: f64| t / cycle - AWAY.start as f64;
        for (tap, t) in taps.iter_mut().zip(&times) {
            if gone(*t) > -1e-9 && gone(*t) < AWAY.len() as f64 - 1e-9 {
                tap.seconds += Seconds::new(planted * gone(*t));
            }
        }
        let of = |cycles: std::ops::Range<usize>| 5 * cycles.start..5 * cycles.end;
        let mean = |cycles: std::ops::Range<usize>| {
            let off = of(cycles).map(|i| taps[i].seconds.seconds() - times[i]);
            let n = off.len() as f64;
            off.sum::<f64>() / n
        };
        let due = match model {
            Model::TimerAndDelay => slope(&times[of(AWAY)], &taps[of(AWAY)]) * cycle,
            _ => planted,
        };
        let off = mean(AWAY.end - 1..AWAY.end) - mean(1..AWAY.start);
        let task = task.in_turns(1..8).without_clave(AWAY);
        let held = grade(&task, &taps)
            .played
            .held
            .expect("a clave that is held");
        drift += (1000.0 * held.drift.map_or(1.0, |d| d.seconds() - due)).powi(2);
        at_return += (1000.0 * held.at_return.map_or(1.0, |o| o.seconds() - off)).powi(2);
    }
    let rms = |squares: f64| (squares / RUNS as f64).sqrt();
    (rms(drift), rms(at_return))
}

/// By how much taps fall behind in a second, by least squares.
fn slope(times: &[f64], taps: &[Tap]) -> f64 {
    let n = times.len() as f64;
    let mean = times.iter().sum::<f64>() / n;
    let off = times
        .iter()
        .zip(taps)
        .map(|(t, tap)| (t - mean) * (tap.seconds.seconds() - t));
    off.sum::<f64>() / times.iter().map(|t| (t - mean).powi(2)).sum::<f64>()
}

/// Strokes of a case for the rubric.
const STROKES: usize = 16;

/// Cases after the rubric of Falcão et al. 2019: strokes left out, added and moved, with or without a stop.
fn rubric(first: u64) -> (usize, usize) {
    let mut right = 0;
    let mut all = 0;
    for run in 0..RUNS {
        let mut random = ChaCha8Rng::seed_from_u64(first + 30_000 + run);
        let tempo = Tempo::new(f64::from(random.random_range(90..=160u32)));
        // Four bars of eighths struck on even pulses; the odd ones are free for added and moved strokes.
        let text = "x.".repeat(STROKES);
        let onsets: Vec<bool> = text.chars().map(|c| c == 'x').collect();
        let grid = Grid::Eighths;
        let task = TapTask::of_onsets(grid, &onsets, tempo)
            .expect("two bars")
            .times(1);
        let performance = Performance {
            onsets,
            grid,
            tempo,
            cycles: 1,
        };
        let mut taps = performance.taps(Model::PhaseCorrection, EXPERT, 0.0, &mut random);
        let pulse = tempo.pulse(grid);
        let wrong = random.random_range(0..6usize);
        let hesitates = random.random::<bool>();
        let mut out = Vec::new();
        // No two wrong strokes are neighbours: left out beside added would be one moved.
        let start = random.random_range(0..3usize);
        for at in (start..STROKES).step_by(3).take(wrong) {
            match random.random_range(0..3u32) {
                0 => out.push(at),
                1 => taps.push(Tap::at(taps[at].seconds + pulse)),
                _ => taps[at].seconds += pulse,
            }
        }
        if hesitates {
            // Strokes that come by turns too early and too late, by a quarter of a pulse.
            for (i, tap) in taps.iter_mut().enumerate() {
                tap.seconds += if i % 2 == 0 { 0.25 } else { -0.25 } * pulse;
            }
        }
        let mut number = 0;
        taps.retain(|_| {
            number += 1;
            !out.contains(&(number - 1))
        });
        let expected = match (wrong, hesitates) {
            (0, false) => vec![PerformanceLevel::Perfect],
            (1 | 2, false) => vec![PerformanceLevel::Minor],
            // The rubric has no words for a stop alone, for one stroke with a stop, or for three without.
            (0 | 1, true) => vec![PerformanceLevel::Minor, PerformanceLevel::Major],
            (3, false) => vec![PerformanceLevel::Minor, PerformanceLevel::Major],
            (2 | 3, true) => vec![PerformanceLevel::Major],
            _ => vec![PerformanceLevel::Off],
        };
        all += 1;
        right += usize::from(expected.contains(&grade(&task, &taps).level));
    }
    (right, all)
}

fn main() -> ExitCode {
    let choosing = std::env::args().any(|a| a == "choose");
    let (first, name) = match choosing {
        true => (CHOOSING, "for choosing"),
        false => (REPORTING, "for reporting"),
    };
    println!("{RUNS} runs each, seeds {name} from {first}\n");
    let mut missed = Vec::new();
    let mut bound = |what: String, found: f64, least: f64| {
        let mark = if found < least { "MISSED" } else { "" };
        println!("  {what:<72} {found:6.1}  (at least {least}) {mark}");
        if found < least {
            missed.push(what);
        }
    };
    for (model, words) in MODELS {
        println!("{words}");
        for (better, worse) in [(EXPERT, MUSICIAN), (MUSICIAN, BEGINNER), (EXPERT, BEGINNER)] {
            let what = format!(
                "{} above {}, of 100 pairs of 8 cycles",
                better.name, worse.name
            );
            bound(what, ranked(model, better, worse, first), 95.0);
        }
        for cycles in [2, 4, 8] {
            for (tapper, least) in [(MUSICIAN, 99.0), (BEGINNER, 95.0)] {
                let what = format!("direction of a {}, of 100 of {cycles} cycles", tapper.name);
                bound(what, told(model, tapper, cycles, first), least);
            }
        }
        for tapper in [EXPERT, MUSICIAN, BEGINNER] {
            let (within, rms) = drift(model, tapper, first);
            let what = format!(
                "drift of a {}, ms a cycle, rms error {rms:.1} below 5 by ({within:.0} of 100 within)",
                tapper.name
            );
            bound(what, 5.0 - rms, 0.0);
        }
    }
    println!(
        "A clave held through {} cycles without it: rms errors (no bound)",
        AWAY.len()
    );
    for (model, words) in MODELS {
        println!("{words}");
        for tapper in [EXPERT, MUSICIAN, BEGINNER] {
            let (drift, off) = held(model, tapper, first);
            let name = tapper.name;
            println!("  {name:<10} drift {drift:5.1} ms a cycle, at the return {off:5.1} ms");
        }
    }
    println!("Rubric of juries (Falcão et al. 2019)");
    let (right, all) = rubric(first);
    bound(
        "constructed cases with the level they deserve, of 100".into(),
        100.0 * right as f64 / all as f64,
        100.0,
    );
    match missed.is_empty() {
        true => ExitCode::SUCCESS,
        false => {
            println!("\nmissed: {}", missed.join("; "));
            ExitCode::FAILURE
        }
    }
}
