//! How much a deck may hold. Anything longer is reported, never cut in silence.

use crate::rhythm::notation::MOST_BARS;

/// Most bytes of a deck's file.
pub const MOST_BYTES: u64 = 64 << 20;
/// Most cards of a deck.
pub(super) const MOST_CARDS: usize = 100_000;
/// Most texts of a list, such as the concepts of a card.
pub(super) const MOST_ENTRIES: usize = 100;
/// Most characters of a title, a concept or another name.
const MOST_NAME: usize = 120;
/// Most characters of a text in sentences.
const MOST_PROSE: usize = 4_000;

/// What a key holds: sentences, which may run over several lines, or a name on one line.
pub(super) fn is_prose(key: &str) -> bool {
    ["about", "source", "ask", "right", "wrong", "why"].contains(&key)
}

/// Most characters of a text of this key.
pub(super) fn most(key: &str) -> usize {
    if is_prose(key) { MOST_PROSE } else { MOST_NAME }
}

/// All limits in a sentence each.
#[cfg(any(test, feature = "internals"))]
pub fn limits() -> Vec<String> {
    vec![
        format!("a file: {} MiB", MOST_BYTES >> 20),
        format!("a deck: {} cards", grouped(MOST_CARDS)),
        format!("a grid: {} bars", grouped(MOST_BARS)),
        format!("a title, a concept or another name: {MOST_NAME} characters on one line"),
        format!("a text in sentences: {} characters", grouped(MOST_PROSE)),
        format!("a list: {MOST_ENTRIES} entries"),
    ]
}

/// A number with a comma before every three digits.
pub(super) fn grouped(n: usize) -> String {
    match n {
        0..1000 => n.to_string(),
        _ => format!("{},{:03}", grouped(n / 1000), n % 1000),
    }
}
