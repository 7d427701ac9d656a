//! The start page and what it opens, in the real program: lesson, cards with search, settings, mouse, weak, drill.

#[allow(dead_code)]
mod terminal;

use std::path::Path;
use std::process::Command;
use terminal::Terminal;

/// A player who has begun: what they play was said.
fn begun() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    told(&["settings", "--minutes", "6"], folder.path());
    folder
}

fn told(args: &[&str], data: &Path) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_whichside"));
    let done = command.args(args).arg("--data").arg(data).output().unwrap();
    assert!(
        done.status.success(),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    String::from_utf8(done.stdout).unwrap()
}

/// The line of the screen, from 1, on which `text` stands, and its column, as the mouse counts them: the last
/// one, since the keys of a page stand at its foot.
fn place(terminal: &Terminal, text: &str) -> (usize, usize) {
    let screen = terminal.text();
    let found = screen
        .lines()
        .zip(1..)
        .filter_map(|(line, y)| line.find(text).map(|at| (line, at, y)))
        .last();
    let (line, at, y) = found.unwrap_or_else(|| panic!("no `{text}` in:\n{screen}"));
    (line[..at].chars().count() + 1, y)
}

/// The bytes of a click on `text`: button 0 pressed and released, SGR encoding (xterm control sequences, 1006).
fn click(terminal: &mut Terminal, text: &str) {
    terminal.wait_for(text);
    let (x, y) = place(terminal, text);
    terminal.send(&format!("\x1b[<0;{x};{y}M\x1b[<0;{x};{y}m"));
}

#[test]
fn the_first_run_is_no_start_page_and_the_second_one_is() {
    let folder = tempfile::tempdir().unwrap();
    let mut first = Terminal::start(&["--silent"], folder.path());
    first.wait_for("the first time");
    first.send("\x1b");
    assert_eq!(first.end().exit_code(), 0);
    told(&["settings", "--minutes", "7"], folder.path());
    let mut second = Terminal::start(&["--silent"], folder.path());
    second.wait_for("Today, 7 min");
    second.wait_for("[Enter] drill");
    second.send("j");
    second.wait_for("j does nothing on this page");
    second.send("?");
    second.wait_for("this week's lesson: its cards");
    second.send("\r");
    second.wait_for("Today, 7 min");
    second.send("\r");
    second.wait_for("something new");
    second.send("\x1b");
    second.wait_for("Press Esc again");
    second.send("\x1b");
    second.wait_for("[Enter] close");
    second.send("\x1b");
    second.wait_for("Today, 7 min");
    second.send("\x1b");
    assert_eq!(second.end().exit_code(), 0);
}

#[test]
fn a_card_is_searched_looked_at_and_put_into_the_lesson() {
    let folder = begun();
    let mut terminal = Terminal::start(&["--silent"], folder.path());
    terminal.wait_for("Lesson        empty");
    terminal.send("c");
    terminal.wait_for("Clave by itself");
    terminal.send("/variations/corner open\r");
    terminal.wait_for("Search: variations/corner open");
    terminal.send("\r");
    terminal.wait_for("variations/corner-open");
    terminal.wait_for("Not asked yet.");
    terminal.send("l");
    terminal.wait_for("leads the drill from now on");
    terminal.wait_for("In this week's lesson.");
    terminal.send("\x1b");
    terminal.wait_for("Search: variations/corner open");
    // The first Esc ends the search, the second one goes back.
    terminal.send("\x1b");
    terminal.wait("all cards", |text| !text.contains("Search"));
    terminal.send("\x1b");
    terminal.wait_for("0 of 1 cards held");
    terminal.send("l");
    terminal.wait_for("this week's lesson");
    terminal.wait_for("corner-open");
    terminal.send("l\x1b");
    terminal.wait_for("Lesson        empty");
    terminal.send("\x1b");
    assert_eq!(terminal.end().exit_code(), 0);
    assert!(told(&["lesson"], folder.path()).contains("The lesson is empty"));
}

#[test]
fn the_mouse_opens_pages_scrolls_and_chooses() {
    let folder = begun();
    let mut terminal = Terminal::start(&["--silent"], folder.path());
    terminal.wait_for("[c] cards");
    click(&mut terminal, "[c] cards");
    terminal.wait_for("› Son clave");
    // Wheel down, button 65, three times.
    terminal.send(&"\x1b[<65;10;10M".repeat(3));
    terminal.wait_for("› The other bar of son clave");
    click(&mut terminal, "Rumba clave, turned round");
    terminal.wait_for("› Rumba clave, turned round");
    click(&mut terminal, "Rumba clave, turned round");
    terminal.wait_for("clave/rumba-3-2");
    click(&mut terminal, "[Esc] back");
    terminal.wait_for("› Rumba clave, turned round");
    click(&mut terminal, "[Esc] back");
    terminal.wait_for("Today, 6 min");
    click(&mut terminal, "[Enter] drill");
    terminal.wait_for("something new");
    click(&mut terminal, "[Enter] ask me");
    terminal.wait_for("[x] don't know");
    click(&mut terminal, "[x] don't know");
    terminal.wait_for("Missed:");
    terminal.signal("TERM");
    assert_eq!(terminal.end().exit_code(), 0);
    assert_eq!(told(&["log", "export"], folder.path()).lines().count(), 1);
}

#[test]
fn settings_are_kept_and_used() {
    let folder = begun();
    let mut terminal = Terminal::start(&["--silent"], folder.path());
    terminal.wait_for("[s] settings");
    terminal.send("s");
    terminal.wait_for("Minutes a day");
    // Two drums; then the key for what is not known.
    terminal.send("\x1b[B\r");
    terminal.wait_for("two drums");
    terminal.send(&"\x1b[B".repeat(7));
    terminal.wait_for("› Key for: don't know");
    terminal.send("\rh");
    terminal.wait_for("h is an answer");
    terminal.send("\rq");
    terminal.wait_until("the key", |t| t.text().contains("don't know             q"));
    terminal.send("\x1b");
    terminal.wait_for("Today, 6 min");
    terminal.send("\r");
    terminal.wait_for("something new");
    terminal.send("\r");
    terminal.wait_for("[q] don't know");
    terminal.send("q");
    terminal.wait_for("Missed:");
    terminal.send("\x03");
    terminal.wait_for("Today, 6 min");
    terminal.send("w");
    terminal.wait_for("What is worth working on");
    terminal.signal("HUP");
    assert_eq!(terminal.end().exit_code(), 0);
    assert!(told(&["settings"], folder.path()).contains("two drums"));
}

#[test]
fn cards_are_listed_as_text_and_as_data() {
    let folder = begun();
    let text = told(
        &["cards", "rumba", "turned", "round", "--plain"],
        folder.path(),
    );
    assert!(
        text.lines().any(|l| l.starts_with("clave/rumba-3-2 ")),
        "{text}"
    );
    let data = told(&["cards", "rumba-3-2", "--json"], folder.path());
    let data: serde_json::Value = serde_json::from_str(&data).unwrap();
    assert_eq!(data[0]["card"], "clave/rumba-3-2");
    assert_eq!(
        told(&["cards", "zzz"], folder.path()),
        "No card has all of these words.\n"
    );
}

#[test]
fn completions_know_the_ids_of_cards_and_decks() {
    let folder = begun();
    std::fs::create_dir_all(folder.path().join("decks")).unwrap();
    let made = Command::new(env!("CARGO_BIN_EXE_whichside"))
        .args(["deck", "new"])
        .arg(folder.path().join("decks/friday.toml"))
        .status();
    assert!(made.unwrap().success());
    for shell in ["bash", "zsh", "fish"] {
        let script = told(&["completions", shell], folder.path());
        for id in ["variations/corner-open", "friday"] {
            assert!(script.contains(id), "{shell}: {id}");
        }
    }
}
