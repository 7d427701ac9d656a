//! The page of a pause: the keys, and the words that the other pages use.

use crate::screens::keys::{ASK_ME, TAKE_BACK, UNKNOWN};
use crate::screens::page::{Keys, Page, Paragraph};
use crate::screens::theme::Role;
use crate::session::{Paused, Stage};

/// A pause, asked for or because nobody was there.
pub fn page(paused: &Paused) -> Page<'static> {
    let why = match (paused.left_alone, &paused.stage) {
        (true, _) => "Nothing came from you for a while, so the clock stopped.",
        (false, _) => "The clock stands still.",
    };
    let then = match paused.stage {
        Stage::Asking(_) => "A fresh question comes when you go on.",
        _ => "Nothing is lost.",
    };
    let row = |name: &str, text: String| Paragraph::led(format!("{name:<12}"), Role::Plain, text);
    let heading = |text: &str| Paragraph::new(Role::Strong, text);
    Page {
        place: "pause".into(),
        head: vec![heading(&format!("{why} {then}"))],
        body: vec![
            heading("Keys"),
            row("letters", "an answer: the keys above the foot of the page".into()),
            row("Backspace", "takes back the last letter of a row".into()),
            row("left, right", "to another pulse of a row that you write".into()),
            row("Space", "hear it, or hear it again".into()),
            row("-", "hear it slower; the answer is then not in time".into()),
            row("up, down", "louder, softer".into()),
            row(&UNKNOWN.to_string(), "you do not know: missed, but nothing guessed".into()),
            row(
                &ASK_ME.to_string(),
                "on a new card: you know it, so it is asked at once".into(),
            ),
            row(
                &TAKE_BACK.to_string(),
                "after an answer: a slip; it does not count, and comes again".into(),
            ),
            row("Esc", "ends the session; what you answered stays".into()),
            Paragraph::new(Role::Plain, ""),
            heading("Words"),
            row("in time", "right within one clave cycle; a row may take a bit longer".into()),
            row("late", "right, but after that".into()),
            row("missed", "not right; it comes again today".into()),
            row("side", "the clave bar that a bar goes with: of two strokes or three".into()),
        ],
        keys: Keys {
            enter: Some("go on"),
            escape: Some("stop"),
            ..Keys::default()
        },
        ..Page::default()
    }
}
