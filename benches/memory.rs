//! Speed of the memory model: `cargo bench --bench memory`. Five years of practice: 1,000 items, 75,000 answers. Aims: the
//! fold of them in 100 ms, an answer in 5 µs, a prediction in 1 µs, today's plan in 50 ms. Times depend on the machine and
//! on what else it does; the best of several runs is printed beside the median.

use std::hint::black_box;
use std::time::Instant;

use whichside::memory::{Candidate, Memory, Outcome, Settings, plan};

const ITEMS: usize = 1_000;
const ANSWERS: usize = 75_000;
const KINDS: [&str; 4] = ["side", "hand", "strokes", "write"];

fn outcome(i: usize, turn: usize) -> Outcome {
    Outcome {
        item: format!("deck/card-{}:{}:read", i / 4, KINDS[i % 4]),
        concepts: vec![format!("idea {}", i % 60), format!("idea {}", i / 4 % 61)],
        kind: KINDS[i % 4].into(),
        at: turn as f64 * 40.0,
        correct: f64::from(u8::from(!(turn * 7 + i).is_multiple_of(4))),
        guess: 0.5,
        seconds: 2.0 + (turn % 5) as f64,
        limit: 4.0,
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

fn line(name: &str, (median, least): (f64, f64), scale: f64, unit: &str, aim: f64) {
    println!(
        "  {name:48} {:9.3} {:9.3} {unit:3}  aim {aim}",
        median * scale,
        least * scale
    );
}

fn main() {
    // `cargo test` runs benches without this flag: then only see that everything runs.
    let full = std::env::args().any(|a| a == "--bench");
    let (items, answers) = if full { (ITEMS, ANSWERS) } else { (200, 2000) };
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
    line(
        "fold of 75,000 answers, 1,000 items",
        time(if full { 11 } else { 1 }, || replay(&log)),
        1e3,
        "ms",
        100.0,
    );
    let mut memory = replay(&log);
    let now = answers as f64 * 40.0;

    let few: Vec<Outcome> = (0..1000).map(|i| outcome(i % items, answers + i)).collect();
    let update = time(50, || {
        for outcome in &few {
            black_box(memory.observe(outcome));
        }
    });
    line("one answer", update, 1e6 / few.len() as f64, "µs", 5.0);
    let chance = time(50, || {
        few.iter()
            .map(|o| memory.chance(&o.item, now + 9e4).unwrap_or(0.0))
            .sum::<f64>()
    });
    line("one prediction", chance, 1e6 / few.len() as f64, "µs", 1.0);

    let candidates: Vec<Candidate> = (0..items)
        .map(|i| {
            let o = outcome(i, 0);
            Candidate {
                card: format!("deck/card-{}", i / 4),
                item: o.item,
                kind: o.kind,
                concepts: o.concepts,
                order: i / 4,
                needs: Vec::new(),
            }
        })
        .collect();
    let settings = Settings::default();
    let planned = time(11, || {
        plan(&memory, &candidates, &settings, now + 9e4, 0, 1)
    });
    line("today's plan over 1,000 items", planned, 1e3, "ms", 50.0);
}
