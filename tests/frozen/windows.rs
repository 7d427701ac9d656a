//! Frozen: the real program on a terminal of 80 columns and 24 lines, page by page.

use crate::program::{Drill, Sitting, Stage};
use crate::terminal::Terminal;
use std::fmt::Write;
use std::path::Path;
use std::time::{Duration, Instant};

/// How long a page must stand still before it is looked at.
const STILL: Duration = Duration::from_millis(100);

/// Types `keys`, waits until the page is another and stands still, and writes it down.
fn after(terminal: &mut Terminal, keys: &str, told: &mut String) {
    let before = terminal.text();
    if !keys.is_empty() {
        terminal.send(keys);
        terminal.wait(&format!("another page after {keys:?}"), |t| t != before);
    }
    let mut page = terminal.text();
    let mut since = Instant::now();
    let begun = Instant::now();
    while since.elapsed() < STILL || page.contains("Working out what") || page.lines().count() < 3 {
        assert!(
            begun.elapsed().as_secs() < 20,
            "no page after {keys:?}: {page}"
        );
        std::thread::sleep(Duration::from_millis(10));
        let now = terminal.text();
        if now != page {
            page = now;
            since = Instant::now();
        }
    }
    writeln!(told, "> {keys:?}\n{}\n", without_seconds(&page)).unwrap();
}

/// A page without the seconds that an answer took.
fn without_seconds(page: &str) -> String {
    let mut out = String::new();
    for line in page.lines() {
        let line = match line.split_once(" after ") {
            Some((before, after)) if after.contains("second") => format!("{before} after ..."),
            _ => line.to_string(),
        };
        out += line.trim_end();
        out.push('\n');
    }
    out
}

/// An evening line by line, so that there is something to be shown.
fn played(data: &Path) {
    let sitting = Sitting {
        data,
        now: "2026-11-24T18:00:00Z",
        seed: 5,
        extra: &[],
    };
    let (mut drill, mut page) = Drill::start(sitting);
    for _ in 0..40 {
        let line = match page.stage() {
            Stage::Done => break,
            Stage::Asking => "x",
            _ => "",
        };
        page = drill.say(3.0, line);
    }
    drill.close();
}

const CLOCK: [&str; 3] = ["--silent", "--now", "2026-11-25T18:00:00Z"];
const ZONE: [(&str, &str); 1] = [("TZ", "UTC")];

#[test]
fn the_start_page_and_what_it_opens_look_as_they_did() {
    let folder = tempfile::tempdir().unwrap();
    played(folder.path());
    let mut told = String::new();
    let mut window = Terminal::start_with(&CLOCK, folder.path(), &ZONE);
    window.wait_for("[Enter] drill");
    let keys = [
        "", "z", "?", "\r", "l", "\x1b", "c", "\x1b[B", "/", "b", "o", "m", "\r", "\r", "l", "-",
        "\t", "\x1b", "\x1b", "\x1b", "s", "\x1b[C", "\x1b[B", "\x1b[C", "\x1b", "w", "\x1b[C",
        "\x1b[C", "\x1b",
    ];
    for key in keys {
        after(&mut window, key, &mut told);
    }
    window.send("\x1b");
    assert!(window.end().success());
    insta::assert_snapshot!("start", told);
}

#[test]
fn a_drill_in_a_window_looks_as_it_did() {
    let folder = tempfile::tempdir().unwrap();
    let mut told = String::new();
    let args = [&["drill", "--seed", "7"], &CLOCK[..]].concat();
    let mut window = Terminal::start_with(&args, folder.path(), &ZONE);
    window.wait_for("Minutes a day");
    for key in [
        "", "2", "l", ">", "b", "n", "\r", "\r", "z", "?", "\r", "\x1b",
    ] {
        after(&mut window, key, &mut told);
    }
    window.send("\x1b");
    window.wait_for("[Enter] close");
    after(&mut window, "", &mut told);
    window.send("\r");
    assert!(window.end().success());
    insta::assert_snapshot!("drill", told);
}

#[test]
fn a_terminal_that_is_too_small_is_told_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let mut told = String::new();
    let args = [&["drill", "--seed", "7"], &CLOCK[..]].concat();
    let mut window = Terminal::start_with(&args, folder.path(), &ZONE);
    window.wait_for("Minutes a day");
    window.resize(40, 12);
    window.wait_for("larger");
    after(&mut window, "", &mut told);
    window.resize(100, 30);
    window.wait_for("Minutes a day");
    after(&mut window, "", &mut told);
    window.send("\x03");
    assert!(window.end().success());
    insta::assert_snapshot!("small", told);
}
