//! Clave: sides, directions, the named parts of the tradition and what a free pattern states.
//!
//! [`Ear`] reads a part: the direction it states, the side of each bar, how clearly, and why.

mod band;
mod cue;
mod direction;
mod ear;
mod figure;
mod known;
#[cfg(test)]
mod laws;
mod meeting;
mod name;
mod no_side;
mod onsets;
mod part_table;
mod parts;
mod reading;
mod reasons;
pub mod score;
mod strong;
mod weights;

pub use band::{band, band_lines};
pub use cue::{Change, Cue, CueKind};
pub use direction::{Clave, Direction, Family, Side, goes_round};
pub use ear::{Ear, LowDrum};
pub use known::Known;
pub use meeting::{Alignment, locks, meets};
pub use no_side::NoSide;
pub use onsets::{OnsetsError, read_onsets};
pub use part_table::{PARTS, RUMBA_CLAVE, SON_CLAVE, TIMELINES};
pub use parts::{NamedPart, Timeline, part};
pub use reading::{BarReading, Call, Classes, Reading};
pub use strong::Strong;
pub use weights::WEIGHTS;
