//! Clave: sides, directions, the named parts of the tradition and what a free pattern states.
//!
//! [`Ear`] reads a part: the direction it states, the side of each bar, how clearly, and why.

mod band;
mod cue;
mod direction;
mod known;
mod meeting;
mod parts;
mod reading;
pub mod score;
mod strong;
mod weights;

pub use band::{BandLine, band, band_line, band_parts};
pub use cue::{Cue, CueKind};
pub use direction::{Clave, Direction, Family, Side};
pub use known::Known;
pub use meeting::{Meeting, locks};
pub use parts::{NamedPart, PARTS, RUMBA_CLAVE, SON_CLAVE, part};
pub use reading::{BarReading, Call, Classes, Ear, LowDrum, OnsetsError, Reading, read_onsets};
pub use strong::Strong;
pub use weights::WEIGHTS;
