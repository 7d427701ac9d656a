//! The decks that come with the program, in the order in which they are learned.

use super::{Deck, read};

/// File name and text of each.
pub const SHIPPED: &[(&str, &str)] = &[
    ("decks/clave.toml", include_str!("../../decks/clave.toml")),
    (
        "decks/strokes.toml",
        include_str!("../../decks/strokes.toml"),
    ),
    ("decks/parts.toml", include_str!("../../decks/parts.toml")),
    ("decks/tumbao.toml", include_str!("../../decks/tumbao.toml")),
    (
        "decks/variations.toml",
        include_str!("../../decks/variations.toml"),
    ),
    (
        "decks/low-drum-three.toml",
        include_str!("../../decks/low-drum-three.toml"),
    ),
    (
        "decks/low-drum-two.toml",
        include_str!("../../decks/low-drum-two.toml"),
    ),
    (
        "decks/variations-two-bars.toml",
        include_str!("../../decks/variations-two-bars.toml"),
    ),
];

/// The shipped decks, read.
pub fn shipped() -> Vec<Deck> {
    SHIPPED
        .iter()
        .map(|(name, text)| read(name, text).0)
        .collect()
}
