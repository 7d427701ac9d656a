//! From a start of the program to the first question on the screen, after five years: all items of the shipped decks
//! and 75,000 reviews (41 on each of 1,826 days).
//!
//! `cargo bench --bench start` makes the log (kept in the target folder for the next run; `-- --fresh` makes it
//! anew), then starts the real program in a pseudo-terminal, again and again, and waits until it shows a question;
//! beside that it measures the steps of a start in fresh processes. Peak memory is that of `/proc/PID/status`.
//! It also measures how soon an answer is on the disk.
//! Exits with 1 where the median from outside is over [`LIMIT`], the fold of the log over [`FOLD`], or the median answer
//! over [`FRAME`].

#[allow(dead_code)]
#[path = "../tests/terminal/mod.rs"]
mod terminal;

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;
use terminal::Terminal;
use whichside::deck;
use whichside::memory::{Composition, Memory, Settings, plan_composed};
use whichside::question::{self, Item};
use whichside::rhythm::{Grid, Tempo};
use whichside::session::Profile;
use whichside::store::{IntroductionRow, ReviewRow, Store};
use whichside::time::{Moment, Seconds};

const REVIEWS: u64 = 75_000;
/// Starts of the program, and of each step by itself.
const STARTS: usize = 25;
const STEPS: usize = 9;
/// Milliseconds that a start may take from outside.
const LIMIT: f64 = 150.0;
/// Milliseconds that the fold of the log may take.
const FOLD: f64 = 100.0;
/// Milliseconds until an answer is on the disk: a frame at 60 a second.
const FRAME: f64 = 1_000.0 / 60.0;
/// Answers that are written.
const ANSWERS: u64 = 100;
/// Raised when the log of the bench changes.
const LOG: u32 = 3;
/// Just after the last review: 75,000 times 35 minutes after the first.
const NOW: &str = "2028-11-11T20:00:00Z";
const NOW_SECONDS: f64 = 1_857_585_600.0;
/// The first review, milliseconds since 1970 UTC.
const START: i64 = 1_700_000_000_000;
/// Seconds from one review to the next.
const APART: i64 = 2_100;

fn main() {
    let args: Vec<String> = std::env::args().collect();
    if let Some(at) = args.iter().position(|a| a == "--one-start") {
        return one_start(Path::new(&args[at + 1]));
    }
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("start-bench");
    make(&folder, args.iter().any(|a| a == "--fresh"));

    let size = |name: &str| std::fs::metadata(folder.join(name)).map_or(0, |m| m.len());
    println!(
        "start with {} items, {REVIEWS} reviews; log {:.1} MB",
        shipped().len(),
        size("log.db") as f64 / 1e6,
    );
    let mut shown: Vec<(f64, f64)> = (0..STARTS).map(|_| from_outside(&folder)).collect();
    shown.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (median, worst) = (shown[STARTS / 2].0, shown[STARTS - 1].0);
    let peak = shown.iter().map(|s| s.1).fold(0.0, f64::max);
    println!(
        "  first question on the screen {median:8.1} ms  (median of {STARTS}; {:.1} to {worst:.1}), peak memory {peak:.1} MiB",
        shown[0].0
    );
    let mut starts: Vec<[f64; 7]> = (0..STEPS).map(|_| measured(&folder)).collect();
    starts.sort_by(|a, b| a[5].total_cmp(&b[5]));
    let [open, decks, fold, plan, peak, sum, check] = starts[STEPS / 2];
    println!(
        "  steps: open the log {open:.1}, read the decks {decks:.1}, fold the log {fold:.1}, plan {plan:.1}; together {sum:.1} ms ({:.1} to {:.1}), peak {peak:.1} MiB; the check of all rows, which the question does not wait for, {check:.1} ms",
        starts[0][5],
        starts[STEPS - 1][5]
    );
    let (answer, longest) = answered(&folder);
    println!("  an answer on the disk {answer:.1} ms (median of {ANSWERS}; longest {longest:.1})");
    if median > LIMIT || fold > FOLD || answer > FRAME {
        println!(
            "too slow: the limits are {LIMIT} ms, for the fold {FOLD} ms, for an answer {FRAME:.1} ms"
        );
        std::process::exit(1);
    }
}

/// Milliseconds until the real program shows a question or the card before it, and the peak of its memory by then in MiB.
fn from_outside(folder: &Path) -> (f64, f64) {
    let from = Instant::now();
    let args = ["drill", "--silent", "--still", "--now", NOW];
    let mut drill = Terminal::start(&args, folder);
    drill.wait("a first page", |text| {
        // A question, or the card that is shown before one.
        text.contains("[Esc]") && (text.contains("by eye") || text.contains("something new"))
    });
    let took = from.elapsed().as_secs_f64() * 1e3;
    let peak = peak(&format!("/proc/{}/status", drill.process()));
    // Ends it as a player does who has second thoughts; nothing was answered.
    drill.send("\x03");
    drill.end();
    (took, peak)
}

fn peak(status: &str) -> f64 {
    let status = std::fs::read_to_string(status).unwrap_or_default();
    let lines = status.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    lines
        .and_then(|l| l.trim().trim_end_matches(" kB").parse::<f64>().ok())
        .map_or(f64::NAN, |kb| kb / 1024.0)
}

/// The steps of one start in this process, in milliseconds: log, decks, fold, plan; the peak in MiB; all steps; the check.
fn one_start(folder: &Path) {
    let from = Instant::now();
    let mut before = 0.0;
    let mut step = || {
        let now = from.elapsed().as_secs_f64() * 1e3;
        let took = now - before;
        before = now;
        took
    };
    let store = Store::open(folder).expect("the log opens");
    let open = step();
    let items = shipped();
    let decks = step();
    let new = || (Memory::new(), 0);
    let told = store.fold(new, |(memory, told), _, _, outcome| {
        memory.observe(outcome);
        *told += 1;
    });
    let ((memory, told), _) = told.expect("the log reads");
    let folded = step();
    assert_eq!(told, REVIEWS);
    let candidates = question::candidates(&deck::shipped(), &items);
    step();
    let plan = plan_composed(
        &memory,
        &candidates,
        &Composition::default(),
        &[],
        &Settings::default(),
        Moment::new(NOW_SECONDS),
        0,
        1,
    );
    let planned = step();
    assert!(!plan.is_empty());
    let peak = peak("/proc/self/status");
    let sum = open + decks + folded + planned;
    step();
    store.sound().expect("the log is sound");
    let check = step();
    println!("{open} {decks} {folded} {planned} {peak} {sum} {check}");
}

/// Milliseconds until an answer is on the disk, with the log so long: median and longest. Goes to a copy of the log.
fn answered(folder: &Path) -> (f64, f64) {
    let copy = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder can be made");
    std::fs::copy(folder.join("log.db"), copy.path().join("log.db")).expect("there is room");
    let mut store = Store::open(copy.path()).expect("the log opens");
    store.sound().expect("the log is sound");
    let items = shipped();
    let write = |n| {
        let row = row(&items, REVIEWS + n);
        let from = Instant::now();
        store.append(&row).expect("a row is kept");
        from.elapsed().as_secs_f64() * 1e3
    };
    let mut took: Vec<f64> = (0..ANSWERS).map(write).collect();
    took.sort_by(f64::total_cmp);
    (took[took.len() / 2], took[took.len() - 1])
}

fn measured(folder: &Path) -> [f64; 7] {
    let me = std::env::current_exe().expect("a bench has a path");
    let out = Command::new(me)
        .arg("--one-start")
        .arg(folder)
        .output()
        .expect("a second process starts");
    let said = String::from_utf8_lossy(&out.stderr);
    assert!(out.status.success(), "{said}");
    let text = String::from_utf8_lossy(&out.stdout);
    let figures = text
        .split_whitespace()
        .map(|w| w.parse().expect("a number"));
    let figures: Vec<f64> = figures.collect();
    figures.try_into().expect("seven figures")
}

fn shipped() -> Vec<Item> {
    question::items(&deck::shipped())
}

fn make(folder: &Path, fresh: bool) {
    let old = || Store::open(folder).ok()?.setting::<u32>("bench").ok()?;
    if fresh || old() != Some(LOG) {
        let _ = std::fs::remove_dir_all(folder);
    }
    let mut store = Store::open(folder).expect("the log opens");
    let have = store.mark().expect("the log reads").review as u64;
    let items = shipped();
    if have < REVIEWS {
        println!("making the log in {} (some minutes) ...", folder.display());
        store.set("bench", &LOG).expect("a setting is kept");
        let profile = Profile::default();
        store.set("profile", &profile).expect("a setting is kept");
        for card in deck::shipped().iter().flat_map(|d| &d.cards) {
            let met = IntroductionRow {
                card: card.id.clone(),
                at: START - 1_000,
                utc_offset: 60,
                session: "s".into(),
                seconds: Seconds::new(5.0),
            };
            store.meet(&met).expect("a meeting is kept");
        }
        let rows = (have..REVIEWS).map(|n| row(&items, n));
        store.append_all(rows).expect("rows are kept");
    }
}

/// The `n`th review: the items in turn, in an order that jumps about.
fn row(shipped: &[Item], n: u64) -> ReviewRow {
    let item = &shipped[(n.wrapping_mul(7_919) % shipped.len() as u64) as usize];
    let h = n.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 40;
    let right = !h.is_multiple_of(4);
    let (good, bad) = if h.is_multiple_of(2) {
        ("3", "2")
    } else {
        ("2", "3")
    };
    ReviewRow {
        at: START + n as i64 * APART * 1_000,
        utc_offset: 60,
        session: format!("s{}", n / 60),
        card: item.key.card.clone(),
        kind: item.key.kind.clone(),
        sense: item.key.sense,
        concepts: item.concepts.clone(),
        seed: h,
        tempo: Tempo::new(90.0 + (h % 120) as f64),
        grid: Grid::Eighths,
        score:
            "       1 & 2 & 3 & 4 & | 1 & 2 & 3 & 4 &\nconga  . . S . . . O O | . . S . . . O O\n"
                .into(),
        prompt: "Which side is the marked bar?".into(),
        choices: [
            ('2', "two side".to_string()),
            ('3', "three side".to_string()),
        ]
        .into(),
        answer: if right { good } else { bad }.into(),
        keys: vec![good.into()],
        correct: f64::from(u8::from(right)),
        guess: 0.5,
        seconds: Seconds::new(0.8 + (h % 50) as f64 / 10.0),
        limit: Seconds::new(3.0),
        replays: (h % 13 / 12) as u32,
        in_time: right && h % 50 < 22,
        program: env!("CARGO_PKG_VERSION").into(),
        forecast: Some(0.6),
        ..ReviewRow::default()
    }
}
