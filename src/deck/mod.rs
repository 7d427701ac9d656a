//! Decks: cards written as plain text, read with diagnostics.

mod card;

pub use card::{Card, Deck, Place, School, States, WordChoice};
