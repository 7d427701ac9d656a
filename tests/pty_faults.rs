//! The real program on the full screen of a terminal while something around it goes wrong: another program holds the log,
//! the clock jumps, the log is gone, somebody wants it to end while it is flooded with keys.
#![cfg(unix)]

mod terminal;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;
use terminal::Terminal;
use whichside::rhythm::Tempo;
use whichside::store::Store;
use whichside::time::Seconds;

const DECK: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/decks/block-party.toml");
const EVENING: &str = "2026-11-25T18:00:00Z";

fn drill(data: &Path) -> Terminal {
    drill_with(data, &["--now", EVENING], &[])
}

fn drill_with(data: &Path, when: &[&str], variables: &[(&str, &str)]) -> Terminal {
    let args = [
        "drill", "--silent", "--still", "--seed", "7", "--deck", DECK,
    ];
    let mut drill = Terminal::start_with(&[&args, when].concat(), data, variables);
    drill.wait_for("Minutes a day");
    drill.send("\r");
    drill.wait_for("ask me");
    drill.send("\r");
    drill.wait_for("[x] don't know");
    drill
}

fn program(data: &Path, args: &[&str]) -> std::process::Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_whichside"));
    command.args(args).arg("--data").arg(data).output().unwrap()
}

fn answers(data: &Path) -> usize {
    let run = program(data, &["log", "export"]);
    String::from_utf8_lossy(&run.stdout).lines().count()
}

#[test]
fn damage_that_is_found_after_the_first_question_ends_the_drill() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::open(folder.path()).unwrap();
    let evening = 1_795_629_600_000;
    let rows = (0..700).map(|n| whichside::store::ReviewRow {
        at: evening - 1_000 * (700 - n),
        utc_offset: 0,
        session: "before".into(),
        card: format!("clave/{}", n % 9),
        kind: "side".into(),
        sense: whichside::store::Sense::Read,
        concepts: vec!["son clave".into()],
        seed: n as u64,
        tempo: Tempo::new(90.0),
        grid: whichside::rhythm::Grid::Eighths,
        // Larger than what is looked through whole when it is opened.
        score: ".".repeat(4_000),
        prompt: format!("question {n}"),
        choices: [('2', "two side".to_string())].into(),
        answer: "2".into(),
        keys: vec!["2".into()],
        correct: 1.0,
        guess: 0.5,
        seconds: Seconds::new(1.0),
        limit: Seconds::new(3.0),
        replays: 0,
        slowed: false,
        in_time: true,
        program: "test".into(),
        forecast: None,
    });
    store.append_all(rows).unwrap();
    drop(store);
    let settings = ["settings", "--minutes", "6"];
    assert!(program(folder.path(), &settings).status.success());
    let log = folder.path().join("log.db");
    let mut bytes = fs::read(&log).unwrap();
    let place = bytes
        .windows(12)
        .position(|w| w == b"question 350")
        .unwrap();
    bytes[place] ^= 1;
    fs::write(&log, &bytes).unwrap();
    let drill = Terminal::start(&["drill", "--silent", "--now", EVENING], folder.path());
    drill.wait_for("shown 351 is not as it was written");
    drill.wait_for("log restore");
    assert_eq!(drill.end().exit_code(), 2);
    assert!(fs::read(&log).unwrap() == bytes, "it was written to");
}

#[test]
fn a_log_that_another_program_holds_is_told_and_waited_for() {
    let folder = tempfile::tempdir().unwrap();
    let mut drill = drill(folder.path());
    let other = rusqlite::Connection::open(folder.path().join("log.db")).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let since = Instant::now();
    drill.send("x");
    drill.wait_for("Missed:");
    drill.wait_for("another program is using");
    println!("a held log is told after {:?}", since.elapsed());
    // The screen is alive: every key does what it does, and the window can be resized.
    drill.send("?");
    drill.wait_for("not right; it comes again today");
    drill.send("\r");
    drill.wait_for("Missed:");
    drill.resize(100, 30);
    drill.wait_for("Missed:");
    other.execute_batch("ROLLBACK").unwrap();
    drill.wait("the answer is saved", |text| {
        !text.contains("another program is using")
    });
    drill.send("\x03");
    assert!(drill.end().success());
    assert_eq!(answers(folder.path()), 1);
}

/// A library in front of the system's clock: what the file `JUMP` holds, in seconds, is added to the time. The C compiler
/// is the one that builds SQLite.
#[cfg(target_os = "linux")]
fn movable_clock(folder: &Path) -> (PathBuf, PathBuf) {
    let (source, library, jump) = (
        folder.join("jump.c"),
        folder.join("jump.so"),
        folder.join("jump"),
    );
    let code = r#"
        #define _GNU_SOURCE
        #include <fcntl.h>
        #include <stdlib.h>
        #include <sys/syscall.h>
        #include <time.h>
        #include <unistd.h>
        int clock_gettime(clockid_t which, struct timespec *now) {
            int done = syscall(SYS_clock_gettime, which, now);
            char text[32] = {0};
            int file = which == CLOCK_REALTIME ? open(getenv("JUMP"), O_RDONLY) : -1;
            if (file >= 0) {
                if (read(file, text, 31) > 0) now->tv_sec += atol(text);
                close(file);
            }
            return done;
        }
    "#;
    fs::write(&source, code).unwrap();
    fs::write(&jump, "0").unwrap();
    let mut compiler = Command::new("cc");
    let made = compiler
        .args(["-shared", "-fPIC", "-o"])
        .arg(&library)
        .arg(&source);
    assert!(made.status().expect("there is a C compiler").success());
    (library, jump)
}

#[test]
#[cfg(target_os = "linux")]
fn a_clock_that_jumps_in_mid_drill_ends_it_before_anything_is_written() {
    for days in [400, -400] {
        let folder = tempfile::tempdir().unwrap();
        let data = folder.path().join("data");
        let (library, jump) = movable_clock(folder.path());
        let variables = [
            ("LD_PRELOAD", library.to_str().unwrap()),
            ("JUMP", jump.to_str().unwrap()),
        ];
        let mut drill = drill_with(&data, &[], &variables);
        drill.send("x");
        drill.wait_for("Missed:");
        let jumped = (days * 86_400).to_string();
        let beside = folder.path().join("new");
        fs::write(&beside, jumped).unwrap();
        fs::rename(&beside, &jump).unwrap();
        drill.wait("what happened", |text| {
            text.contains("the clock jumped by 400 days")
        });
        assert!(drill.end().success());
        let rows = String::from_utf8(program(&data, &["log", "export"]).stdout).unwrap();
        assert_eq!(rows.lines().count(), 1, "{rows}");
        // The next drill doubts a clock that is that far off, and asks.
        let args = ["drill", "--silent", "--deck", DECK];
        let mut next = Terminal::start_with(&args, &data, &variables);
        next.wait_for("Is the clock right?");
        next.send("n\n");
        assert!(!next.end().success());
        assert_eq!(answers(&data), 1);
    }
}

/// A page of the program, and the keys that lead to it with what is seen after each.
type Way = (
    &'static str,
    &'static [&'static str],
    &'static [(&'static str, &'static str)],
);

const PAGES: &[Way] = &[
    ("the start page", &[], &[]),
    ("its help", &[], &[("?", "this week's lesson: its cards")]),
    ("the cards", &[], &[("c", "Clave by itself")]),
    (
        "a card",
        &[],
        &[
            ("c", "Clave by itself"),
            ("/corner open\r", "Search"),
            ("\r", "Not asked yet"),
        ],
    ),
    ("the settings", &[], &[("s", "Minutes a day")]),
    ("the lesson", &[], &[("l", "this week's lesson")]),
    ("the report", &[], &[("w", "Weak concepts")]),
    (
        "a drill from the start page",
        &[],
        &[("\r", "minutes left")],
    ),
    (
        "a question from the start page",
        &[],
        &[("\r", "minutes left"), QUESTION],
    ),
    ("the report by itself", &["weak"], &[]),
    (
        "a drill from the report",
        &["weak"],
        &[("\x1b[C", "‹Figures›"), ("\r", "minutes left"), QUESTION],
    ),
];

/// A player with one answer, so that there is a start page and a report.
fn player(data: &Path) {
    let mut drill = drill(data);
    drill.send("x");
    drill.wait_for("Missed:");
    drill.send("\x03");
    assert!(drill.end().success());
}

/// The way to a question, past the page of a new card where one is shown first.
const QUESTION: (&str, &str) = ("", "[x] don't know");

fn at(way: &Way, data: &Path) -> Terminal {
    let (_, args, keys) = way;
    let mut page = Terminal::start(&[args, &["--now", EVENING][..]].concat(), data);
    page.wait_until("the page", Terminal::is_full_screen);
    page.wait_for("[Esc]");
    for (key, seen) in *keys {
        if (*key, *seen) == QUESTION {
            page.wait("a card or a question", |text| {
                text.contains("ask me") || text.contains(seen)
            });
            if page.text().contains("ask me") {
                page.send("\r");
            }
        }
        page.send(key);
        page.wait_for(seen);
    }
    page
}

#[test]
fn signals_end_every_page_and_give_the_terminal_back() {
    let folder = tempfile::tempdir().unwrap();
    player(folder.path());
    for way in PAGES {
        for signal in ["TERM", "HUP", "INT", "QUIT"] {
            let page = at(way, folder.path());
            page.signal(signal);
            assert!(page.end().success(), "{}: {signal}", way.0);
        }
    }
}

#[test]
fn signals_come_before_keys_that_wait() {
    let folder = tempfile::tempdir().unwrap();
    player(folder.path());
    let mega = 1 << 20;
    let floods = [
        ("keys", "?x\r".repeat(mega / 3)),
        (
            "a sequence without an end",
            format!("\x1b]0;{}", "a".repeat(mega)),
        ),
        (
            "pasted text",
            format!("\x1b[200~{}", "O . S ".repeat(mega / 6)),
        ),
        ("numbers", format!("\x1b[{}", "1;".repeat(mega / 2))),
    ];
    for way in [&PAGES[0], &PAGES[8], &PAGES[9], &PAGES[10]] {
        for (what, keys) in &floods {
            let mut page = at(way, folder.path());
            page.flood(keys.clone());
            std::thread::sleep(std::time::Duration::from_millis(300));
            let since = Instant::now();
            page.signal("TERM");
            assert!(page.end().success(), "{} under {what}", way.0);
            println!("{} under {what}: ended after {:?}", way.0, since.elapsed());
        }
    }
}

#[test]
fn a_drill_from_the_report_that_lost_its_log_says_so_at_the_end() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("data");
    player(&data);
    let mut page = at(&PAGES[10], &data);
    fs::rename(&data, folder.path().join("moved")).unwrap();
    page.send("x");
    page.wait_for("is gone");
    page.signal("TERM");
    assert_eq!(page.end().exit_code(), 3);
}

#[test]
fn ctrl_l_draws_a_torn_page_anew() {
    let folder = tempfile::tempdir().unwrap();
    player(folder.path());
    for way in [&PAGES[0], &PAGES[2], &PAGES[8], &PAGES[9]] {
        let mut page = at(way, folder.path());
        // What was never drawn and a blank look the same.
        let read = |text: &str| {
            text.lines()
                .map(|line| line.trim_end().to_string())
                .collect::<Vec<_>>()
        };
        let whole = read(&page.settled());
        page.tear();
        assert_ne!(read(&page.text()), whole);
        page.send("\x0c");
        page.wait(way.0, |text| read(text) == whole);
        page.signal("TERM");
        assert!(page.end().success());
    }
}
