//! Speed of the memory model: `cargo bench --bench memory`. Five years of practice: 1,000 items, 75,000 answers. Aims: the
//! fold of them in 100 ms, an answer in 5 µs, a prediction in 1 µs, today's plan in 20 ms, over 5,000 items too. Times depend
//! on the machine and on what else it does: the median of several runs is printed, and the best of them is judged.

use std::hint::black_box;
use std::process::ExitCode;
use std::time::Instant;
use whichside::time::{Moment, Seconds};

use whichside::memory::{Candidate, Composition, Memory, Outcome, Settings, plan_composed};

const ITEMS: usize = 1_000;
const ANSWERS: usize = 75_000;
const MANY: usize = 5_000;
const KINDS: [&str; 4] = ["side", "hand", "strokes", "write"];

fn outcome(i: usize, turn: usize) -> Outcome {
    Outcome {
        item: format!("deck/card-{}:{}:read", i / 4, KINDS[i % 4]),
        concepts: vec![format!("idea {}", i % 60), format!("idea {}", i / 4 % 61)],
        kind: KINDS[i % 4].into(),
        at: Moment::new(turn as f64 * 40.0),
        correct: f64::from(u8::from(!(turn * 7 + i).is_multiple_of(4))),
        guess: 0.5,
        seconds: Seconds::new(2.0 + (turn % 5) as f64),
        limit: Seconds::new(4.0),
        replays: 0,
        slowed: false,
    }
}

/// Median and least of the times of `runs` calls, in seconds.
fn time<T>(runs: usize, mut call: impl FnMut() -> T) -> (f64, f64) {
    let mut times: Vec<f64> = (0..runs)
        .map(|_| {
            let start = Instant::now();
            black_box(call());
            start.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    (times[runs / 2], times[0])
}

/// Prints a line and says whether the aim is met.
fn line(name: &str, (median, least): (f64, f64), scale: f64, unit: &str, aim: f64) -> bool {
    let met = least * scale < aim;
    println!(
        "  {name:48} {:9.3} {:9.3} {unit:3}  aim {aim} {}",
        median * scale,
        least * scale,
        if met { "met" } else { "MISSED" }
    );
    met
}

fn candidates(items: usize) -> Vec<Candidate> {
    (0..items)
        .map(|i| {
            let o = outcome(i, 0);
            Candidate {
                card: format!("deck/card-{}", i / 4),
                item: o.item,
                kind: o.kind,
                concepts: o.concepts,
                produced: false,
                timing: Default::default(),
                order: i / 4,
                needs: Vec::new(),
            }
        })
        .collect()
}

fn main() -> ExitCode {
    // `cargo test` runs benches without this flag: then only see that everything runs.
    let full = std::env::args().any(|a| a == "--bench");
    let (items, answers, many) = match full {
        true => (ITEMS, ANSWERS, MANY),
        false => (200, 2000, 300),
    };
    let log: Vec<Outcome> = (0..answers)
        .map(|turn| outcome(turn * 7919 % items, turn))
        .collect();
    println!("  {:48} {:>9} {:>9}", "", "median", "least");

    let replay = |log: &[Outcome]| {
        let mut memory = Memory::new();
        for outcome in log {
            memory.observe(outcome);
        }
        memory
    };
    let folded = time(if full { 11 } else { 1 }, || replay(&log));
    let mut met = vec![line(
        "fold of 75,000 answers, 1,000 items",
        folded,
        1e3,
        "ms",
        100.0,
    )];
    let mut memory = replay(&log);
    let now = answers as f64 * 40.0;

    let few: Vec<Outcome> = (0..1000).map(|i| outcome(i % items, answers + i)).collect();
    let update = time(50, || {
        for outcome in &few {
            black_box(memory.observe(outcome));
        }
    });
    let each = 1e6 / few.len() as f64;
    met.push(line("one answer", update, each, "µs", 5.0));
    let chance = time(50, || {
        few.iter()
            .map(|o| {
                memory
                    .chance(&o.item, Moment::new(now + 9e4))
                    .unwrap_or(0.0)
            })
            .sum::<f64>()
    });
    met.push(line("one prediction", chance, each, "µs", 1.0));

    let settings = Settings::default();
    let planned = |memory: &Memory, candidates: &[Candidate], now: f64| {
        time(11, || {
            plan_composed(
                memory,
                candidates,
                &Composition::default(),
                &[],
                &settings,
                Moment::new(now + 9e4),
                0,
                1,
            )
        })
    };
    let some = planned(&memory, &candidates(items), now);
    met.push(line("today's plan over 1,000 items", some, 1e3, "ms", 20.0));
    let log: Vec<Outcome> = (0..3 * many)
        .map(|turn| outcome(turn % many, turn))
        .collect();
    let all = planned(&replay(&log), &candidates(many), 3.0 * many as f64 * 40.0);
    met.push(line("today's plan over 5,000 items", all, 1e3, "ms", 20.0));
    if full && met.contains(&false) {
        ExitCode::FAILURE
    } else {
        ExitCode::SUCCESS
    }
}
