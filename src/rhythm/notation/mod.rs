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
pub use write::write_block;

#[cfg(test)]
mod tests;
