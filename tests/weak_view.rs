//! The report on the full screen, as text, as data and as a page.

#[path = "../benches/report/players.rs"]
#[allow(dead_code)]
mod players;
#[allow(dead_code)]
mod terminal;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use players::{Fault, play, rows};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use std::path::Path;
use std::process::Command;
use terminal::Terminal;
use whichside::memory::Memory;
use whichside::report::{Diary, Focus, Input, Kept, KeptThen, Practice, Report, report, sections};
use whichside::screens::theme::{Depth, Theme};
use whichside::screens::weak::{SMALLEST, ViewAction, WeakView};
use whichside::store::{ReviewRow, Sense, Store, Words};
use whichside::time::Moment;

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
        now: Moment::new(log.facts.last().map_or(1.8e9, |f| f.at as f64 / 1000.0) + 7_200.0),
        practice: Practice::default(),
    };
    let mut report = report(&input, &diary);
    for (n, concept) in report.concepts.iter_mut().enumerate() {
        concept.now = Some(0.3 + 0.05 * n as f64);
        concept.in_a_week = Some(0.2 + 0.05 * n as f64);
        concept.cards = 5 + n;
    }
    report.kept = Kept {
        asked: 180,
        items: 240,
        now: 120.4,
        minutes: 5.0,
        ahead: [(1, 117.0), (7, 96.2), (14, 81.0), (21, 73.0), (28, 66.0)]
            .map(|(days, without_practice)| KeptThen {
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
        now: Moment::new(1.8e9),
        practice: Practice::default(),
    };
    report(&input, &Diary::default())
}

fn drawn(view: &WeakView, report: &Report, width: u16, height: u16) -> String {
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
fn every_section_looks_as_it_did() {
    let full = made(Fault::DeafToRumba, 600);
    for (size, (width, height)) in [("80x24", (80, 24)), ("120x40", (120, 40))] {
        let mut view = WeakView::default();
        for section in sections(&full) {
            insta::assert_snapshot!(
                format!("{}_{size}", section.name.to_lowercase().replace(' ', "_")),
                drawn(&view, &full, width, height)
            );
            view.key(&full, key(KeyCode::Right), (width, height));
        }
        assert_eq!(
            view,
            WeakView::default(),
            "the last section, then the first"
        );
    }
}

#[test]
fn the_last_line_of_every_section_is_reached_with_the_down_key() {
    let full = made(Fault::DeafToRumba, 600);
    let mut view = WeakView::default();
    for section in sections(&full) {
        for _ in 0..99 {
            view.key(&full, key(KeyCode::Down), SMALLEST);
        }
        let last = whichside::report::text::lines(&section, 74, usize::MAX);
        let last = &last.last().expect("a heading at least").text;
        let seen = drawn(&view, &full, 80, 24);
        assert!(seen.contains(last.as_str()), "{last}\n{seen}");
        view.key(&full, key(KeyCode::Right), SMALLEST);
    }
}

#[test]
fn empty_sections_say_what_will_be_there() {
    let empty = empty();
    let mut view = WeakView::default();
    for section in sections(&empty) {
        let text = drawn(&view, &empty, 80, 24);
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains(section.heading), "{text}");
        assert!(text.contains(", this shows "), "{text}");
        view.key(&empty, key(KeyCode::Right), SMALLEST);
    }
}

#[test]
fn a_small_window_is_told_so_and_none_is_too_small_to_draw() {
    let full = made(Fault::DeafToRumba, 200);
    let told = drawn(&WeakView::default(), &full, 60, 20).replace('\n', " ");
    assert!(told.contains("needs 80 and 24"), "{told}");
    for (width, height) in [(1, 1), (20, 5), (79, 24), (80, 23)] {
        drawn(&WeakView::default(), &full, width, height);
    }
}

#[test]
fn enter_drills_on_what_is_chosen() {
    let full = made(Fault::DeafToRumba, 600);
    let mut view = WeakView::default();
    let asked = view.key(&full, key(KeyCode::Enter), SMALLEST);
    let focus = |concept: &str, sense: Option<Sense>| Focus {
        concepts: vec![concept.into()],
        kind: None,
        sense,
    };
    assert_eq!(
        asked,
        ViewAction::Drill(focus("rumba clave", Some(Sense::Hear)))
    );
    // One weak spot on the first section; the concepts are on the second one.
    assert_eq!(full.spots.len(), 1);
    view.key(&full, key(KeyCode::Right), SMALLEST);
    view.key(&full, key(KeyCode::Down), SMALLEST);
    let asked = view.key(&full, key(KeyCode::Enter), SMALLEST);
    let second = &full.concepts[1].name;
    assert_eq!(asked, ViewAction::Drill(focus(second, None)));
    view.key(&full, key(KeyCode::Up), SMALLEST);
    view.key(&full, key(KeyCode::Left), SMALLEST);
    let asked = view.key(&full, key(KeyCode::Enter), SMALLEST);
    assert_eq!(
        asked,
        ViewAction::Drill(focus("rumba clave", Some(Sense::Hear)))
    );
    assert_eq!(
        view.key(&full, key(KeyCode::Esc), SMALLEST),
        ViewAction::Leave
    );
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
        "the same log gives the same report"
    );

    let data: serde_json::Value = serde_json::from_str(&run(&["--json"])).unwrap();
    assert_eq!(data["spots"][0]["what"]["concept"], "rumba clave");
    assert_eq!(data["reviews"], 400);

    run(&["--html", page.to_str().unwrap(), "--player", "Ana"]);
    let html = std::fs::read_to_string(&page).unwrap();
    assert!(html.contains("<strong>1. rumba clave, by ear</strong>"));
    assert!(html.contains("whichside") && html.contains("Player: Ana"));
    let listed = |name: &str| data[name].as_array().map_or(0, Vec::len);
    assert!(listed("weeks") > 0 && listed("tempos") > 0);
    assert_eq!(
        html.matches("<svg").count(),
        listed("weeks") + listed("tempos"),
        "a row of bars in each row of these tables"
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

/// Puts reviews into a new log.
fn kept(folder: &Path, rows: Vec<ReviewRow>) {
    let mut store = Store::open(folder).expect("a log");
    store.append_all(rows).expect("room for it");
}

#[test]
fn enter_starts_a_drill_on_the_row_and_the_view_comes_back_with_its_answers() {
    let folder = tempfile::tempdir().unwrap();
    // A sound device that swallows everything, whatever the machine has.
    let device = folder.path().join("swallow.conf");
    std::fs::write(
        &device,
        "pcm.!default { type null }\nctl.!default { type null }\n",
    )
    .unwrap();
    let data = folder.path().join("data");
    std::fs::create_dir(&data).unwrap();
    kept(&data, rows(&play(Fault::DeafToRumba, 400, 3)));
    let variables = [("ALSA_CONFIG_PATH", device.to_str().unwrap())];
    let args = ["weak", "--now", "2026-06-22T20:00:00Z"];
    let mut view = Terminal::start_with(&args, &data, &variables);
    view.wait_for("1. rumba clave, by ear");
    view.send("\x1b[C");
    view.wait_for("‹Figures›");
    view.wait_for("› rumba clave ");
    view.send("\r");
    view.wait_for("Minutes a day");
    view.send("\r");
    view.wait_for("ask me");
    view.send("\r");
    for _ in 0..20 {
        let screen = view.settled();
        if screen.contains("[Enter] next") {
            break;
        }
        let keys = ["1", "2", "o", "r", "a"];
        let shown = keys.iter().find(|k| screen.contains(&format!("[{k}]")));
        view.send(shown.unwrap_or(&"1"));
    }
    view.wait_for("[Enter] next");
    view.send("\x1b");
    view.wait_for("Press Esc again");
    view.send("\x1b");
    view.wait_for("1 question in");
    view.send("\x1b");
    view.wait("the view with one answer more", |t| {
        t.contains("‹Figures›") && t.contains("from 401 answers")
    });
    view.send("\x1b");
    assert!(view.end().success());
    let store = Store::open(&data).unwrap();
    let mut last = None;
    store.reviews(0, |logged| last = Some(logged.row)).unwrap();
    let asked = last.expect("the answer is in the log").concepts;
    assert!(asked.iter().any(|c| c == "rumba clave"), "{asked:?}");
}

#[test]
fn a_drill_on_an_idea_that_is_not_there_names_the_nearest_one() {
    let folder = tempfile::tempdir().unwrap();
    let said = |name: &str| {
        let run = Command::new(env!("CARGO_BIN_EXE_whichside"))
            .args(["drill", "--plain", "--silent", "--concept", name, "--data"])
            .arg(folder.path())
            .output()
            .unwrap();
        assert_eq!(run.status.code(), Some(2));
        String::from_utf8(run.stderr).unwrap()
    };
    let near = said("rumba clav");
    assert!(
        near.contains("no concept is called `rumba clav`; did you mean `rumba clave`?"),
        "{near}"
    );
    let far = said("zzzz");
    assert!(far.contains("`whichside deck cover` lists"), "{far}");
}

#[test]
fn the_report_is_about_the_school_that_the_player_drills() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("decks")).unwrap();
    let card = |id: &str| {
        format!(
            "[[card]]\nid = \"{id}\"\ntitle = \"The {id} ending\"\nstates = \"neither\"\nclave = \"son 2-3\"\ntempo = [100, 160]\n\
             concepts = [\"{id} ending\"]\nschool = \"street ending: {id}\"\ngrid = \"\"\"\n\
             count | 1 & 2 & 3 & 4 & |\nconga | H T S T H T O O |\nhand  | L L R L L L R R |\n\"\"\"\n"
        )
    };
    let deck = format!(
        "id = \"street\"\ntitle = \"Street\"\nsource = \"common practice, no source\"\n{}{}",
        card("early"),
        card("late")
    );
    std::fs::write(folder.path().join("decks/street.toml"), deck).unwrap();
    let mut reviews = rows(&play(Fault::None, 20, 3));
    for (n, row) in reviews.iter_mut().enumerate() {
        let id = ["early", "late"][n % 2];
        row.card = format!("street/{id}");
        row.kind = "strokes".into();
        row.sense = Sense::Read;
        row.concepts = vec![format!("{id} ending")];
    }
    kept(folder.path(), reviews);
    let run = |args: &[&str]| {
        let run = Command::new(env!("CARGO_BIN_EXE_whichside"))
            .args(args)
            .args(["--now", "2026-06-22T20:00:00Z", "--data"])
            .arg(folder.path())
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&run.stderr);
        assert!(run.status.success(), "{said}");
        String::from_utf8(run.stdout).unwrap()
    };
    for (school, followed, other) in [
        (None, "early ending", "late ending"),
        (Some("street ending: late"), "late ending", "early ending"),
    ] {
        if let Some(school) = school {
            run(&["deck", "school", school]);
        }
        let data: serde_json::Value = serde_json::from_str(&run(&["weak", "--json"])).unwrap();
        let line = |name: &str| {
            let mut lines = data["concepts"].as_array().unwrap().iter();
            lines
                .find(|c| c["name"] == name)
                .expect("it was asked")
                .clone()
        };
        assert_eq!(line(followed)["cards"], 1, "{school:?}");
        assert!(line(followed)["now"].is_number(), "{school:?}");
        assert_eq!(line(other)["cards"], 0, "{school:?}");
        assert!(line(other)["now"].is_null(), "{school:?}");
    }
}
