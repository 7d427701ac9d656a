//! The report on the full screen, as text, as data and as a page.

#[path = "../benches/report/players.rs"]
#[allow(dead_code)]
mod players;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use players::{Fault, play, rows};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use std::process::Command;
use whichside::memory::Memory;
use whichside::report::{Ahead, Diary, Focus, Input, Kept, Practice, Report, Strength, report};
use whichside::screens::theme::{Depth, Theme};
use whichside::screens::weak::{Asked, View};
use whichside::store::{Store, Words};

/// A report whose forecasts are given, so that the pictures do not change with the memory model.
fn made(fault: Fault, count: usize) -> Report {
    let log = play(fault, count, 3);
    let mut diary = Diary::default();
    log.facts.iter().for_each(|fact| diary.observe(fact));
    let memory = Memory::new();
    let input = Input {
        words: &log.words,
        recent: &log.facts,
        memory: &memory,
        items: &[],
        now: log.facts.last().map_or(1.8e9, |f| f.at as f64 / 1000.0) + 7_200.0,
        practice: Practice::default(),
    };
    let mut report = report(&input, &diary);
    for (n, concept) in report.concepts.iter_mut().enumerate() {
        let mean = 0.3 + 0.05 * n as f64;
        concept.now = Some(Strength {
            mean,
            low: mean - 0.1,
            high: mean + 0.08,
            worth: 50.0,
        });
        concept.cards = 5 + n;
    }
    report.kept = Kept {
        asked: 180,
        items: 240,
        now: 120.4,
        minutes: 5.0,
        ahead: [(1, 117.0), (7, 96.2), (14, 81.0), (21, 73.0), (28, 66.0)]
            .map(|(days, without_practice)| Ahead {
                days,
                without_practice,
                with_practice: Some(120.4 + days as f64),
                new_cards: days,
            })
            .to_vec(),
    };
    report
}

fn empty() -> Report {
    let (words, memory) = (Words::default(), Memory::new());
    let input = Input {
        words: &words,
        recent: &[],
        memory: &memory,
        items: &[],
        now: 1.8e9,
        practice: Practice::default(),
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
        for leaf in 0..8 {
            insta::assert_snapshot!(
                format!("leaf_{leaf}_{size}"),
                drawn(&view, &full, width, height)
            );
            view.key(&full, key(KeyCode::Right));
        }
        assert_eq!(view, View::default(), "eight leaves, then the first again");
    }
}

#[test]
fn empty_leaves_say_what_will_be_there() {
    let empty = empty();
    let mut view = View::default();
    for leaf in 0..8 {
        let text = drawn(&view, &empty, 80, 24);
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
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
    let focus = |concept: &str, sense: Option<&str>| Focus {
        concepts: vec![concept.into()],
        kind: None,
        sense: sense.map(str::to_string),
    };
    assert_eq!(asked, Asked::Drill(focus("rumba clave", Some("hear"))));
    view.key(&full, key(KeyCode::Right));
    view.key(&full, key(KeyCode::Down));
    let asked = view.key(&full, key(KeyCode::Enter));
    let second = &full.concepts[1].concept;
    assert_eq!(asked, Asked::Drill(focus(second, None)));
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

#[test]
fn a_withdrawn_answer_counts_no_longer() {
    let folder = tempfile::tempdir().unwrap();
    let log = play(Fault::None, 30, 3);
    let mut store = Store::open(folder.path()).unwrap();
    store.append_all(rows(&log)).unwrap();
    let run = |args: &[&str]| {
        let run = Command::new(env!("CARGO_BIN_EXE_whichside"))
            .args(args)
            .arg("--data")
            .arg(folder.path())
            .output()
            .unwrap();
        let text = |bytes| String::from_utf8_lossy(bytes).into_owned();
        (run.status.success(), text(&run.stdout), text(&run.stderr))
    };
    let (good, _, _) = run(&["log", "withdraw", "7", "--why", "the cat"]);
    assert!(good);
    let (_, export, _) = run(&["log", "export"]);
    let seventh: serde_json::Value = serde_json::from_str(export.lines().nth(6).unwrap()).unwrap();
    assert_eq!(
        (&seventh["id"], &seventh["withdrawn"]),
        (&7.into(), &"the cat".into())
    );
    assert!(run(&["weak"]).1.contains("latest 29 answers"));
    let (good, _, said) = run(&["log", "withdraw", "7", "--why", "again"]);
    assert!(
        !good && said.contains("already withdrawn: review 7"),
        "{said}"
    );
}
