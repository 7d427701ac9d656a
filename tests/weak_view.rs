//! The report on the full screen, as text, as data and as a page.

#[path = "../benches/report/players.rs"]
#[allow(dead_code)]
mod players;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use players::{Fault, play, rows};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use std::process::Command;
use whichside::memory::{Candidate, Memory};
use whichside::report::{Diary, Input, Report, report};
use whichside::screens::theme::{Depth, Theme};
use whichside::screens::weak::{Asked, View};
use whichside::store::{Store, Words};

fn made(fault: Fault, count: usize) -> Report {
    let log = play(fault, count, 3);
    let (mut memory, mut diary) = (Memory::new(), Diary::default());
    for fact in &log.facts {
        memory.observe(&fact.outcome(&log.words));
        diary.observe(fact);
    }
    let mut items: Vec<Candidate> = Vec::new();
    for fact in &log.facts {
        let item = &log.words.items[fact.item];
        if items.iter().any(|i| i.item == item.to_string()) {
            continue;
        }
        items.push(Candidate {
            item: item.to_string(),
            card: item.card.clone(),
            kind: item.kind.clone(),
            concepts: log.words.concepts[fact.concepts].clone(),
            order: 0,
            needs: Vec::new(),
        });
    }
    let now = log.facts.last().map_or(1.8e9, |f| f.at as f64 / 1000.0) + 7_200.0;
    let input = Input {
        words: &log.words,
        recent: &log.facts,
        memory: &memory,
        items: &items,
        now,
    };
    report(&input, &diary)
}

fn empty() -> Report {
    let (words, memory) = (Words::default(), Memory::new());
    let input = Input {
        words: &words,
        recent: &[],
        memory: &memory,
        items: &[],
        now: 1.8e9,
    };
    report(&input, &Diary::default())
}

fn drawn(view: &View, report: &Report, width: u16, height: u16) -> String {
    let area = Rect::new(0, 0, width, height);
    let mut buffer = Buffer::empty(area);
    view.draw(report, Theme::new(Depth::None), area, &mut buffer);
    let row = |y| {
        (0..width)
            .map(|x| buffer[(x, y)].symbol())
            .collect::<String>()
    };
    let rows: Vec<String> = (0..height).map(|y| row(y).trim_end().to_string()).collect();
    rows.join("\n")
}

fn key(code: KeyCode) -> KeyEvent {
    KeyEvent::new(code, KeyModifiers::NONE)
}

#[test]
fn every_leaf_looks_as_it_did() {
    let full = made(Fault::DeafToRumba, 600);
    for (size, (width, height)) in [("80x24", (80, 24)), ("120x40", (120, 40))] {
        let mut view = View::default();
        for leaf in 0..6 {
            insta::assert_snapshot!(
                format!("leaf_{leaf}_{size}"),
                drawn(&view, &full, width, height)
            );
            view.key(&full, key(KeyCode::Right));
        }
        assert_eq!(view, View::default(), "six leaves, then the first again");
    }
}

#[test]
fn empty_leaves_say_what_will_be_there() {
    let empty = empty();
    let mut view = View::default();
    for leaf in 0..6 {
        let text = drawn(&view, &empty, 80, 24);
        let promises = [
            "once you have answered",
            "After your first answers",
            "are counted here",
            "is shown",
            "is listed here",
        ];
        assert!(promises.iter().any(|p| text.contains(p)), "{leaf}: {text}");
        view.key(&empty, key(KeyCode::Right));
    }
}

#[test]
fn a_small_window_is_told_so_and_none_is_too_small_to_draw() {
    let full = made(Fault::DeafToRumba, 200);
    let told = drawn(&View::default(), &full, 60, 20).replace('\n', " ");
    assert!(told.contains("needs 80 and 24"), "{told}");
    for (width, height) in [(1, 1), (20, 5), (79, 24), (80, 23)] {
        drawn(&View::default(), &full, width, height);
    }
}

#[test]
fn enter_drills_on_what_is_chosen() {
    let full = made(Fault::DeafToRumba, 600);
    let mut view = View::default();
    let asked = view.key(&full, key(KeyCode::Enter));
    assert_eq!(asked, Asked::Drill("rumba clave".into()));
    view.key(&full, key(KeyCode::Right));
    view.key(&full, key(KeyCode::Down));
    let asked = view.key(&full, key(KeyCode::Enter));
    assert_eq!(asked, Asked::Drill(full.concepts[1].concept.clone()));
    assert_eq!(view.key(&full, key(KeyCode::Esc)), Asked::Leave);
    let ctrl_c = KeyEvent::new(KeyCode::Char('c'), KeyModifiers::CONTROL);
    assert_eq!(view.key(&full, ctrl_c), Asked::Leave);
}

#[test]
fn the_command_gives_text_data_and_a_page() {
    let folder = tempfile::tempdir().unwrap();
    let log = play(Fault::DeafToRumba, 400, 3);
    Store::open(folder.path())
        .unwrap()
        .append_all(rows(&log))
        .unwrap();
    let page = folder.path().join("report.html");
    let run = |args: &[&str]| {
        let run = Command::new(env!("CARGO_BIN_EXE_whichside"))
            .arg("weak")
            .args(args)
            .args(["--now", "2026-06-22T20:00:00Z", "--data"])
            .arg(folder.path())
            .output()
            .unwrap();
        assert!(
            run.status.success(),
            "{}",
            String::from_utf8_lossy(&run.stderr)
        );
        String::from_utf8(run.stdout).unwrap()
    };
    let text = run(&[]);
    assert!(text.contains("1. rumba clave, by ear"), "{text}");
    assert_eq!(
        text,
        run(&["--plain"]),
        "the saved diary gives the same as the log"
    );

    let data: serde_json::Value = serde_json::from_str(&run(&["--json"])).unwrap();
    assert_eq!(data["spots"][0]["what"]["concept"], "rumba clave");
    assert_eq!(data["reviews"], 400);

    run(&["--html", page.to_str().unwrap()]);
    let html = std::fs::read_to_string(&page).unwrap();
    assert!(html.contains("<strong>rumba clave, by ear</strong>"));
    let (open, closed) = (html.matches("<svg").count(), html.matches("<desc>").count());
    assert!(
        open > 3 && open == closed,
        "every plot has its contents in words"
    );
    if let Some(keep) = std::env::var_os("KEEP_PAGE") {
        std::fs::copy(&page, keep).unwrap();
    }
}
