//! Text notation, both ways: patterns on one line, scores as a block of rows.

mod block;
mod build;
mod line;
mod place;
mod row;
mod write;

pub use block::{NotationFault, Problem, locate, read_block};
pub use line::{LineError, read_line, write_line};
pub use place::{BlockIndex, BlockPlace, touches};
pub use row::trimmed;
pub use write::write_block;

/// Most bars of a pattern or a block of rows.
pub const MOST_BARS: usize = 1_000;

#[cfg(test)]
mod tests;
