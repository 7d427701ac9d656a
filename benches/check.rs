//! How long the check of large decks takes, and the hands of long patterns: in proportion to their size, and at the sizes
//! of the table within its limits. Run by `cargo bench --bench check`; it fails where one is missed.

use std::process::ExitCode;
use std::time::{Duration, Instant};
use whichside::deck::{self, KindFit, Setting, render};
use whichside::hands::{Player, stick};
use whichside::question::{self, KINDS, Sense};
use whichside::rhythm::notation::read_line;
use whichside::rhythm::{Grid, Tempo};

const HEAD: &str = "title = \"Many\"\nsource = \"common practice, no source\"\ntempo = [80, 120]\n";

/// Longest that a deck of the largest size may take.
const LIMIT: Duration = Duration::from_secs(5);

fn good(n: usize) -> String {
    format!(
        "[[card]]\nid = \"c{n}\"\ntitle = \"Card {n}\"\nstates = \"neither\"\nconcepts = [\"two side\"]\ngrid = \"\"\"\n\
         count | 1 & 2 & 3 & 4 & |\nconga | H T S T H T O O |\nhand  | L L R L L L R R |\n\"\"\"\n"
    )
}

fn setting() -> Setting {
    let asks = |kind: &str, card: &deck::Card| {
        question::kind(kind).is_some_and(|k| Sense::ALL.iter().any(|s| (k.fits)(card, *s)))
    };
    let kinds = KINDS.iter().map(|k| KindFit { name: k.name, asks });
    Setting {
        kinds: kinds.collect(),
        ..Setting::default()
    }
}

/// What a deck is made of, its largest size, and its cards by number.
type Case = (&'static str, usize, fn(usize) -> String);

const CASES: [Case; 6] = [
    ("cards", 100_000, good),
    ("wrong letters", 20_000, |n| {
        good(n).replace("| H T S T", "| H T s T")
    }),
    ("mistakes of TOML", 20_000, |n| {
        good(n).replace("states =", "states ")
    }),
    ("twins", 20_000, |_| good(1)),
    ("lonely concepts", 20_000, |n| {
        good(n).replace("two side", &format!("idea {n}"))
    }),
    ("needs that are not there", 20_000, |n| {
        good(n).replace("states =", &format!("needs = [\"d{n}\"]\nstates ="))
    }),
];

fn main() -> ExitCode {
    let setting = setting();
    let mut missed = false;
    println!(
        "{:26} {:>8} {:>8} {:>8}",
        "check of a deck of", "quarter", "half", "whole"
    );
    for (what, size, card) in CASES {
        let times = [size / 4, size / 2, size].map(|size| {
            let text = (0..size)
                .map(card)
                .fold(HEAD.to_string(), |deck, card| deck + &card);
            let files = [("many.toml".to_string(), text)];
            let start = Instant::now();
            let found = deck::check(&files, &setting).remove(0);
            let drawn = render(&found, &files[0].1, 80);
            assert_eq!(drawn.is_empty(), found.is_empty());
            start.elapsed()
        });
        missed |= times[2] > LIMIT;
        let [quarter, half, whole] = times.map(|t| format!("{:.2} s", t.as_secs_f64()));
        println!(
            "{:26} {quarter:>8} {half:>8} {whole:>8}",
            format!("{size} {what}")
        );
    }
    println!("\n{:26} {:>8}", "hands of strokes", "time");
    for bars in [50, 100, 200, 400] {
        let text = "H T S T H T O O | H T S tO tO T O O |".repeat(bars / 2);
        let pattern = read_line(&text, Grid::Eighths).expect("strokes of the bench");
        let start = Instant::now();
        let found = stick(&pattern, Tempo::new(160.0), &Player::default());
        let time = format!("{:.2} s", start.elapsed().as_secs_f64());
        println!("{:26} {time:>8}", found.hands.len());
    }
    match missed {
        true => ExitCode::FAILURE,
        false => ExitCode::SUCCESS,
    }
}
