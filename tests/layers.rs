//! The rooms of the program lie in layers; this test reads `src/` and fails where a line looks upward or where a
//! crate, the clock, the files or chance are used outside their home.

use std::fs;
use std::path::{Path, PathBuf};

/// Rooms from the ground up. Rooms of one row do not know each other.
const LAYERS: &[&[&str]] = &[
    &["time"],
    &["rhythm", "memory"],
    &["clave", "hands", "sound", "store"],
    &["deck", "taps"],
    &["question", "report"],
    &["session"],
    &["screens"],
    &["app"],
];

/// Every crate that the program uses, and the rooms (or files) where it may stand.
const CRATES: &[(&str, &[&str])] = &[
    ("alsa::", &["sound"]),
    ("anyhow::", &["app"]),
    ("chrono::", &["app", "report"]),
    ("clap::", &["app"]),
    ("clap_complete::", &["app"]),
    ("clap_mangen::", &["app"]),
    ("crc32fast::", &["store"]),
    ("crossterm::", &["screens", "app"]),
    ("csv::", &["app"]),
    ("ebur128::", &["sound"]),
    ("etcetera::", &["app"]),
    ("hound::", &["sound"]),
    ("pulseaudio::", &["sound"]),
    (
        "rand::",
        &["hands", "memory", "question", "report", "sound", "app"],
    ),
    ("ratatui::", &["screens"]),
    ("rodio::", &["sound"]),
    ("rusqlite::", &["store"]),
    ("rustix::", &["sound", "app"]),
    (
        "serde::",
        &[
            "time", "rhythm", "memory", "clave", "hands", "sound", "store", "deck", "taps",
            "question", "report", "session", "screens", "app",
        ],
    ),
    ("serde_json::", &["time", "store", "deck", "app"]),
    ("signal_hook::", &["app"]),
    ("statrs::", &["report"]),
    ("strsim::", &["rhythm"]),
    ("tempfile::", &["app", "store/tests"]),
    ("textwrap::", &["deck", "report", "screens", "app"]),
    (
        "thiserror::",
        &[
            "rhythm", "clave", "hands", "sound", "store", "deck", "taps", "app",
        ],
    ),
    ("toml::", &["deck"]),
    ("unicode_width::", &["deck", "screens"]),
];

/// The clock, chance and files: the words that give a use away, and where they may stand.
const HOMES: &[(&str, &[&str])] = &[
    ("Utc::now", &["app"]),
    ("Local::now", &["app"]),
    ("SystemTime::now", &["app", "sound/player"]),
    ("Instant::now", &["app", "sound/player"]),
    ("std::env", &["app", "sound/player"]),
    ("env::var", &["app", "sound/player"]),
    ("std::fs", &["app", "store", "sound/wave", "sound/player"]),
    ("from_os_rng", &["app"]),
    ("rand::rng(", &["app"]),
    ("rand::random", &["app"]),
];

struct Source {
    /// Path below `src/`, such as `sound/player.rs`.
    path: String,
    room: String,
    /// The text with line comments taken out.
    code: String,
}

fn sources() -> Vec<Source> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut folders = vec![root.clone()];
    let mut found = Vec::new();
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).expect("src can be read") {
            let path: PathBuf = entry.expect("src can be read").path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                found.push(source(&root, &path));
            }
        }
    }
    found
}

fn source(root: &Path, path: &Path) -> Source {
    let below = path.strip_prefix(root).expect("below src");
    let below = below.to_string_lossy().replace('\\', "/");
    let room = below.split('/').next().unwrap_or("");
    let text = fs::read_to_string(path).expect("a source file is text");
    let code = text.lines().map(|l| l.split("//").next().unwrap_or(""));
    Source {
        room: room.trim_end_matches(".rs").to_string(),
        code: code.collect::<Vec<_>>().join("\n"),
        path: below,
    }
}

/// The rooms that a file names: `crate::room` and `crate::{room, other::thing}`.
fn rooms_named(code: &str) -> Vec<String> {
    let word = |text: &str| -> String {
        text.chars()
            .take_while(|c| c.is_alphanumeric() || *c == '_')
            .collect()
    };
    let mut rooms = Vec::new();
    for (at, _) in code.match_indices("crate::") {
        let rest = &code[at + "crate::".len()..];
        let Some(group) = rest.strip_prefix('{') else {
            rooms.push(word(rest));
            continue;
        };
        let mut depth = 0;
        let mut start = true;
        for (i, c) in group.char_indices() {
            if start && !c.is_whitespace() {
                rooms.push(word(&group[i..]));
                start = false;
            }
            match c {
                '{' => depth += 1,
                '}' if depth == 0 => break,
                '}' => depth -= 1,
                ',' if depth == 0 => start = true,
                _ => {}
            }
        }
    }
    rooms.retain(|r| !r.is_empty());
    rooms
}

fn layer(room: &str) -> Option<usize> {
    LAYERS.iter().position(|row| row.contains(&room))
}

#[test]
fn no_room_looks_upward() {
    let mut wrong = Vec::new();
    for source in sources() {
        let Some(own) = layer(&source.room) else {
            if !["lib", "main"].contains(&source.room.as_str()) {
                wrong.push(format!("{}: a room that no layer lists", source.path));
            }
            continue;
        };
        for room in rooms_named(&source.code) {
            match layer(&room) {
                Some(other) if other < own || room == source.room => {}
                Some(_) => wrong.push(format!("{} uses crate::{room}", source.path)),
                None => wrong.push(format!("{} uses crate::{room}, no room", source.path)),
            }
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[test]
fn crates_clock_files_and_chance_stay_at_home() {
    let mut wrong = Vec::new();
    for source in sources() {
        for (word, homes) in CRATES.iter().chain(HOMES) {
            let at_home = homes.iter().any(|home| {
                let rest = source.path.strip_prefix(home);
                rest.is_some_and(|r| r.starts_with(['/', '.']))
            });
            if !at_home && source.code.contains(word) {
                wrong.push(format!("{} uses {word} (home: {homes:?})", source.path));
            }
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[test]
fn every_crate_of_the_program_has_a_home() {
    let manifest: toml::Table = include_str!("../Cargo.toml").parse().expect("a manifest");
    let linux = &manifest["target"]["cfg(target_os = \"linux\")"]["dependencies"];
    let tables = [&manifest["dependencies"], linux].map(|t| t.as_table().expect("a table"));
    for name in tables.into_iter().flat_map(|t| t.keys()) {
        let word = format!("{}::", name.replace('-', "_"));
        assert!(CRATES.iter().any(|(c, _)| *c == word), "{name} has no home");
    }
}

#[test]
fn the_reader_of_this_test_finds_grouped_uses() {
    let named = rooms_named("use crate::{rhythm::{Grid, Hand}, deck}; crate::app::run()");
    assert_eq!(named, ["rhythm", "deck", "app"]);
    assert!(sources().len() > 10);
}

#[test]
fn main_is_thin() {
    let main = include_str!("../src/main.rs");
    assert!(main.lines().count() <= 25);
}
