//! Decks: cards written as plain text, read with diagnostics.

mod card;
mod change;
mod check;
mod coverage;
mod diagnostic;
mod draw;
mod draw_bar;
mod facts;
mod keys;
mod limits;
mod printable;
mod read;
mod read_card;
mod read_choice;
mod read_grid;
mod read_place;
mod read_rudiment;
mod read_thin;
pub mod rules;
mod schema;
mod shipped;
mod show;
mod source;
mod starter;
mod thinning_effect;

pub use card::{Card, Deck, PhrasePlace, School, States, WordChoice};
pub use change::{changed_card, idea, same_idea};
pub use check::{KindFit, Setting, check};
pub use coverage::{ConceptCoverage, Coverage, DeckCoverage, Sides, coverage};
pub use diagnostic::{Diagnostic, Severity};
pub use draw::render;
pub use facts::CardFacts;
pub use limits::MOST_BYTES;
#[cfg(any(test, feature = "internals"))]
pub use limits::limits;
pub use read::read;
pub use schema::schema;
pub use shipped::{SHIPPED, shipped};
pub use show::{facts, show};
pub use starter::{nearest_rule, starter};
pub use thinning_effect::ThinningEffect;
