//! Clave: sides, directions, the named parts of the tradition and what a free pattern states.
//!
//! [`SideClassifier`] reads a part: the direction it states, the side of each bar, how clearly, and why.

mod alignment;
mod band;
mod cue;
mod direction;
mod figure;
#[cfg(test)]
mod laws;
mod name;
mod no_side;
mod onsets;
mod part_match;
mod part_table;
mod parts;
mod reading;
mod reasons;
mod salient_onsets;
pub mod score;
mod side_classifier;
mod weights;

pub use alignment::{Alignment, locks, meets};
pub use band::{band, band_lines};
pub use cue::{Change, Cue, CueKind};
pub use direction::{Clave, Direction, Family, Side, goes_round};
pub use no_side::NoSide;
pub use onsets::{OnsetsError, read_onsets};
pub use part_match::PartMatch;
pub use part_table::{PARTS, RUMBA_CLAVE, SON_CLAVE, TIMELINES};
pub use parts::{NamedPart, Timeline, part};
pub use reading::{BarReading, Classes, Reading, SideVerdict};
pub use salient_onsets::SalientOnsets;
pub use side_classifier::{LowDrum, SideClassifier};
pub use weights::WEIGHTS;
