//! The name by which the strong tones of a part are known.

use super::known;
use super::no_side::{self, Half};
use super::strong::Strong;
use super::{Known, NoSide};

/// What strong tones are known as.
pub(super) enum Name {
    Part(Known),
    NoSide(NoSide),
    /// A single bar that is half of named parts.
    Halves(Vec<Half>),
    None,
}

impl Name {
    pub fn of(strong: &Strong) -> Name {
        let halves = no_side::halves(strong);
        if !halves.is_empty() {
            return Name::Halves(halves);
        }
        match (known::find(strong), no_side::find(strong)) {
            (Some(known), _) if known.distance == 0 => Name::Part(known),
            (_, Some(no_side)) => Name::NoSide(no_side),
            (Some(known), None) => Name::Part(known),
            (None, None) => Name::None,
        }
    }

    pub fn part(&self) -> Option<Known> {
        match self {
            Name::Part(known) => Some(*known),
            _ => None,
        }
    }

    pub fn no_side(&self) -> Option<NoSide> {
        match self {
            Name::NoSide(no_side) => Some(*no_side),
            _ => None,
        }
    }
}
