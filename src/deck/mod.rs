//! Decks: cards written as plain text, read with diagnostics.

mod card;
mod change;
mod check;
mod coverage;
mod diagnostic;
mod draw;
mod facts;
mod keys;
mod read;
mod read_card;
mod read_grid;
mod read_place;
mod read_rudiment;
mod read_thin;
mod relief;
pub mod rules;
mod schema;
mod shipped;
mod show;
mod source;
mod starter;
mod words;

pub use card::{Card, Deck, PhrasePlace, School, States, WordChoice};
pub use change::{changed_card, idea, same_idea};
pub use check::{KindFit, Setting, check};
pub use coverage::{ConceptCoverage, Coverage, DeckCoverage, Sides, coverage};
pub use diagnostic::{Diagnostic, Severity};
pub use draw::{Look, render};
pub use facts::CardFacts;
pub use read::read;
pub use relief::Relief;
pub use schema::schema;
pub use shipped::{SHIPPED, shipped};
pub use show::show;
pub use starter::{nearest_rule, starter};
pub use words::counted;
