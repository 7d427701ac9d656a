//! From a start of the program to a memory that is ready for the plan, with a long log: 100,000 items and
//! 1,000,000 reviews.
//!
//! `cargo bench --bench start` makes the log (kept in the target folder for the next run; `-- --fresh` makes it
//! anew), then measures opening, loading the saved states and catching up in fresh processes, and prints the peak
//! memory of such a process from `/proc/self/status`. `-- --replay` measures a start without saved states, too.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;
use whichside::memory::Memory;
use whichside::rhythm::Grid;
use whichside::store::{ReviewRow, Store};

const ITEMS: u64 = 100_000;
const REVIEWS: u64 = 1_000_000;
const STARTS: usize = 9;
/// Milliseconds that a start may take.
const LIMIT: f64 = 150.0;

fn main() {
    let args: Vec<String> = std::env::args().collect();
    if let Some(at) = args.iter().position(|a| a == "--one-start") {
        return one_start(Path::new(&args[at + 1]));
    }
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("start-bench");
    make(&folder, args.iter().any(|a| a == "--fresh"));

    println!("start with {ITEMS} items, {REVIEWS} reviews");
    let mut starts: Vec<Start> = (0..STARTS).map(|_| measured(&folder)).collect();
    starts.sort_by(|a, b| a.total().total_cmp(&b.total()));
    let median = &starts[STARTS / 2];
    println!("  open the log        {:8.1} ms", median.open);
    println!("  load the states     {:8.1} ms", median.states);
    println!(
        "  ready for the plan  {:8.1} ms  (median of {STARTS}; {:.1} to {:.1})",
        median.total(),
        starts[0].total(),
        starts[STARTS - 1].total()
    );
    println!("  peak memory         {:8.1} MiB", median.peak);
    if args.iter().any(|a| a == "--replay") {
        let store = Store::open(&folder).expect("the log opens");
        let from = Instant::now();
        let mut memory = Memory::new();
        store
            .facts(0, |words, fact| {
                memory.observe(&fact.outcome(words));
            })
            .expect("the log reads");
        println!(
            "  without saved states {:7.1} s",
            from.elapsed().as_secs_f64()
        );
    }
    if median.total() > LIMIT {
        println!("too slow: the limit is {LIMIT} ms");
        std::process::exit(1);
    }
}

struct Start {
    open: f64,
    states: f64,
    peak: f64,
}

impl Start {
    fn total(&self) -> f64 {
        self.open + self.states
    }
}

fn one_start(folder: &Path) {
    let from = Instant::now();
    let store = Store::open(folder).expect("the log opens");
    let open = from.elapsed().as_secs_f64() * 1e3;
    let (memory, _) = store.states().expect("the states load");
    let total = from.elapsed().as_secs_f64() * 1e3;
    assert_eq!(memory.outcomes(), REVIEWS);
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak = status
        .lines()
        .find_map(|l| l.strip_prefix("VmHWM:"))
        .and_then(|l| l.trim().trim_end_matches(" kB").parse::<f64>().ok())
        .unwrap_or(f64::NAN);
    println!("{open} {} {}", total - open, peak / 1024.0);
}

fn measured(folder: &Path) -> Start {
    let me = std::env::current_exe().expect("a bench has a path");
    let out = Command::new(me)
        .arg("--one-start")
        .arg(folder)
        .output()
        .expect("a second process starts");
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    let text = String::from_utf8_lossy(&out.stdout);
    let v: Vec<f64> = text
        .split_whitespace()
        .map(|w| w.parse().expect("a number"))
        .collect();
    Start {
        open: v[0],
        states: v[1],
        peak: v[2],
    }
}

fn make(folder: &Path, fresh: bool) {
    if fresh {
        let _ = std::fs::remove_dir_all(folder);
    }
    let mut store = Store::open(folder).expect("the log opens");
    let have = store.mark().expect("the log reads").review as u64;
    if have < REVIEWS {
        println!("making the log in {} (some minutes) ...", folder.display());
        let rows = (have..REVIEWS).map(row);
        store.append_all(rows).expect("rows are kept");
    }
    let (memory, _) = store.states().expect("the states load");
    store.save_states(&memory).expect("the states are saved");
}

/// The `n`th review: every item ten times, in an order that jumps about.
fn row(n: u64) -> ReviewRow {
    let item = n.wrapping_mul(7_919) % ITEMS;
    let h = n.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 40;
    let right = !h.is_multiple_of(4);
    let three = item % 2 == 1;
    let (good, bad) = if three { ("3", "2") } else { ("2", "3") };
    ReviewRow {
        at: 1_700_000_000_000 + n as i64 * 60_000,
        utc_offset: 60,
        session: format!("s{}", n / 60),
        card: format!("deck-{}/card-{}", item / 2_000, item / 2),
        kind: ["side", "strokes", "hand"][(item % 3) as usize].into(),
        sense: ["read", "hear"][(item % 2) as usize].into(),
        concepts: vec![
            format!("idea {}", item % 97),
            format!("part {}", item % 11),
            if three { "three side" } else { "two side" }.into(),
        ],
        seed: h,
        bpm: 90.0 + (h % 120) as f64,
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
        seconds: 0.8 + (h % 50) as f64 / 10.0,
        limit: 3.0,
        replays: (h % 13 / 12) as u32,
        slowed: false,
        in_time: right && h % 50 < 22,
        program: env!("CARGO_PKG_VERSION").into(),
        forecast: Some(0.6),
    }
}
