//! Decks: cards written as plain text, read with diagnostics.

mod card;
mod check;
mod diagnostic;
mod keys;
mod read;
mod read_card;
mod read_grid;
pub mod rules;
mod shipped;
mod source;

pub use card::{Card, Deck, Place, School, States, WordChoice};
pub use check::{KindFit, Setting, check};
pub use diagnostic::{Diagnostic, Severity, render};
pub use read::read;
pub use shipped::{SHIPPED, shipped};
