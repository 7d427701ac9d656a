//! The page of a pause: the keys, and the words that the other pages use.

use crate::screens::help;
use crate::screens::page::{Keys, Page, Paragraph};
use crate::screens::screen_settings::ExtraKeys;
use crate::session::{Paused, Stage};

/// A pause, asked for or because nobody was there.
pub fn page(paused: &Paused, extra: ExtraKeys) -> Page<'static> {
    let why = match (paused.left_alone, &paused.stage) {
        (true, _) => "You did nothing for a while, so the clock stopped.",
        (false, _) => "The clock stands still.",
    };
    let then = match paused.stage {
        Stage::Asking(_) => "A fresh question comes when you go on.",
        _ => "Nothing is lost.",
    };
    let [unknown, ask_me, take_back] =
        [extra.unknown, extra.ask_me, extra.take_back].map(String::from);
    let keys = [
        ("letters", "an answer: the keys above the foot of the page"),
        (
            "Backspace",
            "takes back a letter of a row; left, right: to another pulse",
        ),
        ("Space", "hear it, or hear it again"),
        ("-", "hear it slower; the answer is then not in time"),
        ("up, down", "louder, softer; the wheel does too"),
        (&unknown, "you do not know: missed, but nothing guessed"),
        (
            &ask_me,
            "on a new card: you know it, so it is asked at once",
        ),
        (
            &take_back,
            "after an answer: a slip; it does not count, and comes again",
        ),
        ("Esc", "ends the session; what you answered stays"),
    ];
    Page {
        place: "pause".into(),
        head: vec![Paragraph::strong(format!("{why} {then}"))],
        body: help::paragraphs(&keys),
        keys: Keys::ends("go on", "stop"),
        ..Page::default()
    }
}
