//! The pictures of the README, drawn by the program. `cargo test --test pictures -- --ignored` writes them anew; the
//! kept ones are frozen, and the usual run says which the program would draw otherwise now.

#[path = "../../benches/report/players.rs"]
#[allow(dead_code)]
mod players;
#[path = "../terminal/mod.rs"]
#[allow(dead_code)]
mod terminal;

mod drill;
mod svg;

use crossterm::event::KeyCode;
use drill::Drill;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;
use svg::{GROUNDS, Ground, Screen, Words, contrast};
use terminal::Terminal;
use whichside::store::Store;

const REDRAW: &str = "cargo test --test pictures -- --ignored";

/// A picture on one ground.
struct Picture {
    name: String,
    text: String,
}

impl Picture {
    fn new(name: &str, ground: Ground, text: String) -> Picture {
        let name = format!("{name}-{}.svg", ground.name);
        Picture { name, text }
    }

    fn path(&self) -> PathBuf {
        folder().join(&self.name)
    }
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/pictures")
}

/// Something to be shown: its name, its title, what it says to those who do not see it.
struct Shown {
    name: &'static str,
    title: &'static str,
    description: String,
    screen: Screen,
}

const SIDE: (&str, &str) = (
    "variations/corner-open:side:read",
    "Fading: last asked 9 days ago.",
);
const HANDS: (&str, &str) = (
    "variations/corner-open:hand:read",
    "Fading: last asked 6 days ago.",
);

const STROKES: (&str, &str) = (
    "variations/two-slaps:strokes:read",
    "To keep it fresh: last asked 12 days ago.",
);

/// A drill on the side of a marked bar, the hands of a whole bar and a stroke: the first seed that gives them.
fn a_drill() -> Drill {
    let items = [SIDE, HANDS, STROKES];
    let fits = |seed: &u64| {
        let mut drill = Drill::on(&items, *seed);
        let marked = drill.words().contains("Which side is the marked bar?");
        drill.type_in("2");
        let right = drill.words().contains("Right");
        drill.press(KeyCode::Enter);
        let whole_bar = "which hands play the bar, in order?";
        marked && right && drill.words().contains(whole_bar)
    };
    let seed = (1..2000).find(fits);
    Drill::on(&items, seed.expect("a seed that gives these questions"))
}

/// The first keys of the row of hands, and the rest of it; the third stroke, the slap, goes to the other hand.
const ROW: (&str, &str) = ("lll", "lrlrr");

/// Drawn once for all tests.
fn shown() -> &'static [Shown] {
    static SHOWN: OnceLock<Vec<Shown>> = OnceLock::new();
    SHOWN.get_or_init(draw)
}

fn draw() -> Vec<Shown> {
    let mut drill = a_drill();
    drill.wait(2.5);
    let see = |drill: &Drill, name, title| Shown {
        name,
        title,
        description: drill.words(),
        screen: drill.screen(),
    };
    let question = see(&drill, "question", "A question by eye");
    drill.type_in("2");
    let answer = see(&drill, "answer", "The answer with its reasons");
    drill.press(KeyCode::Enter);
    drill.wait(4.0);
    drill.type_in(ROW.0);
    drill.type_in(ROW.1);
    let partly = see(&drill, "partly", "A row of hands that is partly right");
    let weak = weak();
    let check = check();
    vec![
        question,
        answer,
        partly,
        Shown {
            name: "weak",
            title: "What is weak, and how sure that is",
            description: weak.text(),
            screen: weak,
        },
        Shown {
            name: "check",
            title: "A mistake in a deck, shown in its bar",
            description: check.text(),
            screen: check,
        },
    ]
}

/// The view of a simulated player who hears little of what has rumba clave in it.
fn weak() -> Screen {
    let data = tempfile::tempdir().unwrap();
    let log = players::play(players::Fault::DeafToRumba, 400, 3);
    let mut store = Store::open(data.path()).unwrap();
    store.append_all(players::rows(&log)).unwrap();
    drop(store);
    let variables = [("COLORTERM", "truecolor"), ("TZ", "UTC")];
    let args = ["weak", "--now", "2026-06-22T20:00:00Z"];
    let mut view = Terminal::start_with(&args, data.path(), &variables);
    view.wait_for("[Esc]");
    view.settled();
    let screen = view.screen(Screen::of_terminal);
    view.send("\x1b");
    assert!(view.end().success());
    screen
}

const FRIDAY: &str = include_str!("friday.toml");

/// What `check` finds in a deck where a hand is missing.
fn check() -> Screen {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("friday.toml"), FRIDAY).unwrap();
    let run = Command::new(env!("CARGO_BIN_EXE_whichside"))
        .args(["check", "friday.toml"])
        .current_dir(folder.path())
        .output()
        .unwrap();
    assert_eq!(run.status.code(), Some(1), "a mistake is found");
    let said = String::from_utf8(run.stdout).unwrap();
    Screen::of_text(&format!(
        "$ whichside check friday.toml\n\n{}",
        said.trim_end()
    ))
}

/// Half a minute of a drill: screens, each with the seconds for which it is seen.
fn half_a_minute() -> Vec<(Screen, f64)> {
    let mut frames = Vec::new();
    let mut drill = a_drill();
    let mut see = |drill: &mut Drill, seconds: f64| {
        frames.push((drill.screen(), seconds));
        drill.wait(seconds);
    };
    see(&mut drill, 4.0);
    drill.type_in("2");
    see(&mut drill, 7.0);
    drill.press(KeyCode::Enter);
    see(&mut drill, 3.0);
    drill.type_in(ROW.0);
    see(&mut drill, 3.0);
    drill.type_in(ROW.1);
    see(&mut drill, 9.0);
    drill.press(KeyCode::Enter);
    see(&mut drill, 4.0);
    frames
}

fn pictures() -> Vec<Picture> {
    let frames = half_a_minute();
    let words = Words {
        title: "Half a minute of a drill",
        description: "A question by eye about the side of a bar, its answer with the reasons, a row of hands as it is \
                      typed, and what was partly right in it.",
    };
    let shown = shown();
    let on = |ground| {
        let still = shown.iter().map(move |shown| {
            let words = Words {
                title: shown.title,
                description: &shown.description,
            };
            Picture::new(shown.name, ground, svg::still(&shown.screen, words, ground))
        });
        still.collect::<Vec<_>>()
    };
    let drill = |ground| Picture::new("drill", ground, svg::moving(&frames, words, ground));
    let grounds = GROUNDS.into_iter();
    let all = grounds.flat_map(|ground| on(ground).into_iter().chain([drill(ground)]));
    all.collect()
}

#[test]
#[ignore = "writes the pictures of the README anew"]
fn draw_the_pictures() {
    for picture in pictures() {
        std::fs::write(picture.path(), picture.text).unwrap();
    }
}

#[test]
fn the_kept_pictures_are_what_the_program_draws() {
    let drawn = pictures();
    let differ = drawn.iter().filter(|picture| {
        std::fs::read_to_string(picture.path()).unwrap_or_default() != picture.text
    });
    let differ: Vec<_> = differ.map(|picture| picture.name.as_str()).collect();
    assert!(
        differ.is_empty(),
        "the program draws {} otherwise now; `{REDRAW}` writes them anew, then look at them",
        differ.join(", ")
    );
    let mut kept: Vec<String> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with(".svg"))
        .collect();
    let mut names: Vec<_> = drawn.iter().map(|picture| picture.name.clone()).collect();
    kept.sort();
    names.sort();
    assert_eq!(kept, names, "a picture is kept that nothing draws");
}

/// 3 to 1 is what the colours of the program are chosen for on any ground (WCAG 2.1, 1.4.11); letters without a colour
/// have 4.5 to 1 (1.4.3).
#[test]
fn every_letter_can_be_read() {
    for ground in GROUNDS {
        for grey in [ground.plain, ground.dim] {
            assert!(
                contrast(grey, ground.back) >= 4.5,
                "{grey:?} on {}",
                ground.name
            );
        }
        for colour in shown().iter().flat_map(|s| s.screen.colours(ground)) {
            let ratio = contrast(colour, ground.back);
            assert!(ratio >= 3.0, "{colour:?} on {}: {ratio:.2}", ground.name);
        }
    }
}

/// Black on white is 21 to 1, and `#767676` on white 4.54 to 1 (published with WCAG's techniques, from memory).
#[test]
fn contrast_is_that_of_the_guidelines() {
    assert!((contrast((0, 0, 0), (255, 255, 255)) - 21.0).abs() < 1e-9);
    assert!((contrast((118, 118, 118), (255, 255, 255)) - 4.54).abs() < 0.01);
}

/// The pictures show what the README says that they show.
#[test]
fn each_picture_shows_what_it_is_for() {
    let shows = |name: &str, words: &[&str]| {
        let text = shown()
            .iter()
            .find(|s| s.name == name)
            .unwrap()
            .screen
            .text();
        for word in words {
            assert!(text.contains(word), "{name} without {word}:\n{text}");
        }
    };
    shows("question", &["Which side", "[2] two side"]);
    shows("answer", &["Right, in time", "clave │"]);
    shows("partly", &["Partly right"]);
    shows("weak", &["rumba clave"]);
    shows("check", &["bar 2, on 3&", "^", "Mend it:"]);
}

/// Nothing changes more than once a second, and all of it takes half a minute (WCAG 2.1, 2.3.1 allows three flashes a
/// second; once is our choice).
#[test]
fn the_drill_goes_on_slowly_for_half_a_minute() {
    let frames = half_a_minute();
    assert!(frames.iter().all(|(_, seconds)| *seconds >= 1.0));
    assert_eq!(frames.iter().map(|(_, seconds)| seconds).sum::<f64>(), 30.0);
    assert!(
        frames
            .iter()
            .any(|(screen, _)| screen.text().contains("Partly right"))
    );
}

#[test]
fn words_are_safe_in_xml() {
    assert_eq!(
        svg::escaped("a < b & \"c\" > d"),
        "a &lt; b &amp; &quot;c&quot; &gt; d"
    );
}
