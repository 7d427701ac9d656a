//! The name by which the strong tones of a part are known.

use super::no_side::{self, Half};
use super::part_match;
use super::salient_onsets::SalientOnsets;
use super::{NoSide, PartMatch};

/// What strong tones are known as.
pub(super) enum Name {
    Part(PartMatch),
    NoSide(NoSide),
    /// A single bar that is half of named parts.
    Halves(Vec<Half>),
    None,
}

impl Name {
    pub fn of(salient: &SalientOnsets) -> Name {
        let halves = no_side::halves(salient);
        if !halves.is_empty() {
            return Name::Halves(halves);
        }
        match (part_match::find(salient), no_side::find(salient)) {
            (Some(known), _) if known.distance == 0 => Name::Part(known),
            (_, Some(no_side)) => Name::NoSide(no_side),
            (Some(known), None) => Name::Part(known),
            (None, None) => Name::None,
        }
    }

    pub fn part(&self) -> Option<PartMatch> {
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
