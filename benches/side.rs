//! How many parts are read a second: `cargo bench --bench side`.
//!
//! Every one of the 65,536 patterns of two bars of eighths is read from its onsets, reasons included, in an order
//! that jumps about; the rounds are repeated and the median, slowest and fastest are printed. One thread.

use std::hint::black_box;
use std::time::Instant;
use whichside::clave::SideClassifier;
use whichside::rhythm::Grid;

const ROUNDS: usize = 15;
const PATTERNS: usize = 1 << 16;

fn main() {
    let onsets: Vec<[bool; 16]> = (0..PATTERNS)
        // an odd step visits every pattern once
        .map(|i| i * 40_503 % PATTERNS)
        .map(|mask| std::array::from_fn(|pulse| mask >> pulse & 1 == 1))
        .collect();
    let classifier = SideClassifier::default();
    let mut cues = 0;
    let mut rates: Vec<f64> = (0..ROUNDS)
        .map(|_| {
            let start = Instant::now();
            cues = 0;
            for pattern in &onsets {
                cues += black_box(classifier.onsets(Grid::Eighths, black_box(pattern)))
                    .cues
                    .len();
            }
            PATTERNS as f64 / start.elapsed().as_secs_f64()
        })
        .collect();
    rates.sort_by(f64::total_cmp);
    println!("readings a second over all {PATTERNS} two-bar patterns, {ROUNDS} rounds, one thread");
    println!("  median  {:>12.0}", rates[ROUNDS / 2]);
    println!("  slowest {:>12.0}", rates[0]);
    println!("  fastest {:>12.0}", rates[ROUNDS - 1]);
    println!(
        "  reasons found a reading: {:.2}",
        cues as f64 / PATTERNS as f64
    );
}
