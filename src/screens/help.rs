//! The page of keys and words; on every page `?` opens it.

use super::page::{Keys, Page, Paragraph};
use super::theme::Role;
use crossterm::event::KeyCode;

/// Words that the pages use, with what they mean.
const WORDS: [(&str, &str); 5] = [
    (
        "in time",
        "right within one clave cycle; a row may take a bit longer",
    ),
    ("late", "right, but after that"),
    ("missed", "not right; it comes again today"),
    (
        "side",
        "the clave bar that a bar goes with: two strokes or three",
    ),
    (
        "held",
        "most likely known a night later; takes two evenings",
    ),
];

fn row(name: &str, text: &str) -> Paragraph {
    Paragraph::led(format!("{name:<12}"), Role::Plain, text)
}

/// Keys and what they do, then the words.
pub fn paragraphs(keys: &[(&str, &str)]) -> Vec<Paragraph> {
    let heading = |text: &str| Paragraph::strong(text);
    let mut all = vec![heading("Keys")];
    all.extend(keys.iter().map(|(name, text)| row(name, text)));
    all.push(Paragraph::plain(""));
    all.push(heading("Words"));
    all.extend(WORDS.iter().map(|(name, text)| row(name, text)));
    all
}

/// What is said about a key that does nothing on a page.
pub fn not_a_key(code: KeyCode) -> String {
    format!("{code} does nothing on this page; ? shows the keys.")
}

/// The page of keys and words over another page. Any key closes it.
pub fn page(keys: &[(&str, &str)]) -> Page<'static> {
    Page {
        place: "help".into(),
        body: paragraphs(keys),
        keys: Keys::ends("go back", "go back"),
        ..Page::default()
    }
}
