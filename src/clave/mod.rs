//! Clave: sides, directions, the named parts of the tradition and what a free pattern states.

mod direction;

pub use direction::{Clave, Direction, Family, Side};
