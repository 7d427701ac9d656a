//! Clave: sides, directions, the named parts of the tradition and what a free pattern states.

mod band;
mod direction;
mod meeting;
mod parts;

pub use band::{BandLine, band, band_line, band_parts};
pub use direction::{Clave, Direction, Family, Side};
pub use meeting::{Meeting, locks};
pub use parts::{NamedPart, PARTS, RUMBA_CLAVE, SON_CLAVE, part};
