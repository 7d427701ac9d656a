//! From a start of the program to the first question on the screen, with a long log: 100,000 items (those of the
//! shipped decks among them) and 1,000,000 reviews, the shipped decks on the shelf.
//!
//! `cargo bench --bench start` makes the log (kept in the target folder for the next run; `-- --fresh` makes it
//! anew), then starts the real program in a pseudo-terminal, again and again, and waits until it shows a question;
//! beside that it measures the steps of a start in fresh processes. Peak memory is that of `/proc/PID/status`.
//! `-- --replay` measures a start without saved states, too. Exits with 1 where the median from outside is over
//! [`LIMIT`].

#[allow(dead_code)]
#[path = "../tests/terminal/mod.rs"]
mod terminal;

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;
use terminal::Terminal;
use whichside::deck;
use whichside::memory::{Candidate, Memory, Settings, plan};
use whichside::question::{self, Item};
use whichside::rhythm::Grid;
use whichside::session::Profile;
use whichside::store::{Meeting, ReviewRow, Store, Wanted};

const ITEMS: u64 = 100_000;
const REVIEWS: u64 = 1_000_000;
/// Starts of the program, and of each step by itself.
const STARTS: usize = 25;
const STEPS: usize = 9;
/// Milliseconds that a start may take from outside.
const LIMIT: f64 = 150.0;
/// Raised when the log of the bench changes.
const LOG: u32 = 2;
/// Just after the last review.
const NOW: &str = "2025-10-10T18:00:00Z";
const NOW_SECONDS: f64 = 1_760_119_200.0;

fn main() {
    let args: Vec<String> = std::env::args().collect();
    if let Some(at) = args.iter().position(|a| a == "--one-start") {
        return one_start(Path::new(&args[at + 1]), args[at + 2] == "all");
    }
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("start-bench");
    make(&folder, args.iter().any(|a| a == "--fresh"));

    let size = |name: &str| std::fs::metadata(folder.join(name)).map_or(0, |m| m.len());
    println!(
        "start with {ITEMS} items, {REVIEWS} reviews; log {:.1} MB, states {:.1} MB",
        size("log.db") as f64 / 1e6,
        size("states.db") as f64 / 1e6
    );
    let mut shown: Vec<(f64, f64)> = (0..STARTS).map(|_| from_outside(&folder)).collect();
    shown.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (median, worst) = (shown[STARTS / 2].0, shown[STARTS - 1].0);
    let peak = shown.iter().map(|s| s.1).fold(0.0, f64::max);
    println!(
        "  first question on the screen {median:8.1} ms  (median of {STARTS}; {:.1} to {worst:.1}), peak memory {peak:.1} MiB",
        shown[0].0
    );
    for wanted in ["shelf", "all"] {
        let mut starts: Vec<[f64; 6]> = (0..STEPS).map(|_| measured(&folder, wanted)).collect();
        starts.sort_by(|a, b| a[5].total_cmp(&b[5]));
        let [open, decks, states, plan, peak, sum] = starts[STEPS / 2];
        println!(
            "  steps, {wanted:5} items wanted: open the log {open:.1}, read the decks {decks:.1}, states {states:.1}, plan {plan:.1}; together {sum:.1} ms ({:.1} to {:.1}), peak {peak:.1} MiB",
            starts[0][5],
            starts[STEPS - 1][5]
        );
    }
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
    if median > LIMIT {
        println!("too slow: the limit is {LIMIT} ms");
        std::process::exit(1);
    }
}

/// Milliseconds until the real program shows a question, and the peak of its memory by then in MiB.
fn from_outside(folder: &Path) -> (f64, f64) {
    let from = Instant::now();
    let args = ["drill", "--silent", "--still", "--now", NOW];
    let mut drill = Terminal::start(&args, folder);
    drill.wait("a question", |text| {
        text.contains("by eye") && text.contains("[Esc]") && !text.contains("[Enter]")
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

/// The steps of one start in this process, in milliseconds: log, decks, states, plan; the peak in MiB; all steps.
fn one_start(folder: &Path, all: bool) {
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
    let keys: Vec<String> = match all {
        true => (0..ITEMS).map(|i| row(&items, i).item()).collect(),
        false => items.iter().map(|i| i.key.to_string()).collect(),
    };
    step();
    let states = store.states(Wanted::These(&keys)).expect("states");
    let loaded = step();
    assert_eq!(states.memory.outcomes(), REVIEWS);
    assert!(keys.iter().all(|key| states.memory.reviews(key) == 10));
    let candidates = candidates(&items, all);
    step();
    let plan = plan(
        &states.memory,
        &candidates,
        &Settings::default(),
        NOW_SECONDS,
        0,
        1,
    );
    let planned = step();
    assert!(!plan.is_empty());
    let peak = peak("/proc/self/status");
    let sum = open + decks + loaded + planned;
    println!("{open} {decks} {loaded} {planned} {peak} {sum}");
}

fn candidates(items: &[Item], all: bool) -> Vec<Candidate> {
    if !all {
        return question::candidates(&deck::shipped(), items);
    }
    let one = |n: u64| {
        let row = row(items, n);
        Candidate {
            item: row.item(),
            card: row.card,
            kind: row.kind,
            concepts: row.concepts,
            order: n as usize,
            needs: Vec::new(),
        }
    };
    (0..ITEMS).map(one).collect()
}

fn measured(folder: &Path, wanted: &str) -> [f64; 6] {
    let me = std::env::current_exe().expect("a bench has a path");
    let out = Command::new(me)
        .arg("--one-start")
        .arg(folder)
        .arg(wanted)
        .output()
        .expect("a second process starts");
    let said = String::from_utf8_lossy(&out.stderr);
    assert!(out.status.success(), "{said}");
    let text = String::from_utf8_lossy(&out.stdout);
    let figures = text
        .split_whitespace()
        .map(|w| w.parse().expect("a number"));
    let figures: Vec<f64> = figures.collect();
    figures.try_into().expect("six figures")
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
            let met = Meeting {
                card: card.id.clone(),
                at: 1_690_000_000_000,
                utc_offset: 60,
                session: "s".into(),
                seconds: 5.0,
            };
            store.meet(&met).expect("a meeting is kept");
        }
        let rows = (have..REVIEWS).map(|n| row(&items, n));
        store.append_all(rows).expect("rows are kept");
    }
    let mut states = store.states(Wanted::These(&[])).expect("the states load");
    store
        .save_states(&mut states)
        .expect("the states are saved");
}

/// The `n`th review: every item ten times, in an order that jumps about. The first items are those of the shipped
/// decks.
fn row(shipped: &[Item], n: u64) -> ReviewRow {
    let item = n.wrapping_mul(7_919) % ITEMS;
    let h = n.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 40;
    let right = !h.is_multiple_of(4);
    let three = item % 2 == 1;
    let (good, bad) = if three { ("3", "2") } else { ("2", "3") };
    let known = shipped.get(item as usize);
    let card = || format!("deck-{}/card-{}", item / 2_000, item / 2);
    let kind = || ["side", "strokes", "hand"][(item % 3) as usize].to_string();
    let sense = ["read", "hear"][(item % 2) as usize];
    let concepts = || {
        vec![
            format!("idea {}", item % 97),
            format!("part {}", item % 11),
            if three { "three side" } else { "two side" }.into(),
        ]
    };
    ReviewRow {
        at: 1_700_000_000_000 + n as i64 * 60_000,
        utc_offset: 60,
        session: format!("s{}", n / 60),
        card: known.map_or_else(card, |i| i.key.card.clone()),
        kind: known.map_or_else(kind, |i| i.key.kind.clone()),
        sense: known.map_or(sense, |i| i.key.sense.name()).into(),
        concepts: known.map_or_else(concepts, |i| i.concepts.clone()),
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
