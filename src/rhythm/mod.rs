//! Strokes, hands, drums, grids, parts and the scores made of them. Knows no other room of the program.
//!
//! A *pulse* is one grid cell. A *pattern* is what one pair of hands plays on one or more drums; a *line* is what
//! any other instrument of the band plays; a *score* is both together. Patterns and lines are always a whole
//! number of bars long.

mod grid;
#[cfg(test)]
mod laws;
mod line;
pub mod notation;
mod pattern;
mod reason;
mod salience;
mod score;
mod stroke;
mod tempo;
mod words;

pub use grid::Grid;
pub use line::{Hit, Instrument, Line};
pub use pattern::{LengthError, Pattern};
pub use reason::Reason;
pub use score::Score;
pub use stroke::{Drum, Hand, Stroke, Tone, Weight};
pub use tempo::Tempo;
pub use words::{capital, counted, did_you_mean, listed, nearest, spaced, uncapital};
