//! How fast hands are found: `cargo bench --bench hands`. Prints a table; nothing is asserted.

use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use std::hint::black_box;
use std::time::Instant;
use whichside::hands::{Player, stick};
use whichside::rhythm::notation::read_line;
use whichside::rhythm::{Drum, Grid, Pattern, Stroke, Tempo, Tone};

/// Two-bar patterns of eighths: the named ones first, then draws with the given share of pulses struck.
fn patterns(named: &[&str], density: f64) -> Vec<Pattern> {
    let mut rng = ChaCha8Rng::seed_from_u64(7);
    let mut all: Vec<Pattern> = named
        .iter()
        .map(|t| read_line(t, Grid::Eighths).expect("a pattern").tiled(2))
        .collect();
    while all.len() < 200 {
        let cells = (0..16).map(|_| {
            let drum = if rng.random_bool(0.2) {
                Drum::Tumbadora
            } else {
                Drum::Conga
            };
            rng.random_bool(density)
                .then(|| Stroke::new(drum, Tone::ALL[rng.random_range(0..7)]))
        });
        all.push(Pattern::new(Grid::Eighths, cells.collect()).expect("two bars"));
    }
    all
}

/// Runs `work` over all patterns and tempos for about a second, in rounds, and prints how often a second in the
/// median round and in the fastest one (nearest to a core without other work).
fn measure(name: &str, patterns: &[Pattern], mut work: impl FnMut(&Pattern, f64)) {
    let tempos = [90.0, 120.0, 150.0, 180.0];
    let start = Instant::now();
    let mut rounds = Vec::new();
    while start.elapsed().as_secs_f64() < 1.0 {
        let (round, mut done) = (Instant::now(), 0u32);
        while round.elapsed().as_micros() < 2000 {
            for bpm in tempos {
                for p in patterns {
                    work(p, bpm);
                    done += 1;
                }
            }
        }
        rounds.push(f64::from(done) / round.elapsed().as_secs_f64());
    }
    rounds.sort_by(f64::total_cmp);
    let (median, best) = (rounds[rounds.len() / 2], rounds[rounds.len() - 1]);
    println!("{name:<38} {median:>9.0} a second, at best {best:>9.0}");
}

fn main() {
    let player = Player::default();
    let named = [
        "H T S T H T O O",
        "H T S tO tO T O O / H T S T H T O O",
        "H T S tO H T O O",
    ];
    let tumbaos = patterns(&named, 0.0)
        .into_iter()
        .take(named.len())
        .collect::<Vec<_>>();
    println!("two bars of eighths, one core");
    for (name, set) in [
        ("tumbaos, every pulse struck", &tumbaos),
        (
            "drawn strokes, half of the pulses struck",
            &patterns(&[], 0.5),
        ),
        (
            "drawn strokes, nine in ten pulses struck",
            &patterns(&[], 0.9),
        ),
    ] {
        println!("{name}");
        measure("  sticking with reasons", set, |p, bpm| {
            black_box(stick(p, Tempo::new(bpm), &player));
        });
    }
}
