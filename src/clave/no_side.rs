//! Patterns that have a name and yet state no side as they are played.

use super::part_match::{self, ENOUGH_STROKES, bars_of};
use super::salient_onsets::SalientOnsets;
use super::{Direction, Side, TIMELINES};
use crate::rhythm::{Grid, Instrument};
use serde::Serialize;
use std::sync::LazyLock;

/// Why a pattern that is known by name states no side as it is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "why")]
pub enum NoSide {
    /// A named part that is begun neither on 1 of its two side nor on 1 of its three side, so that its bars lie across
    /// the sides.
    Begun {
        /// Name in the table of parts.
        part: &'static str,
        /// The side of the part in which it is begun.
        side: Side,
        /// The pulse of that bar on which it is begun, from 0.
        pulse: usize,
    },
    /// A timeline that is not built on the clave, begun anywhere.
    Timeline {
        /// What players call it.
        name: &'static str,
    },
    /// Two figures that each hold all strokes of the three side, one a bar: no bar is left to be the two side.
    ThreeSides {
        /// Names of the figures, in the order of the bars.
        figures: [&'static str; 2],
    },
}

/// What a ring of pulses is, begun elsewhere; pulses count from the first of the three side.
#[derive(Clone, Copy)]
enum Ring {
    Begun(&'static str, usize),
    Timeline(&'static str),
}

/// All strokes of the three side of the son clave, as eighths.
const THREE_SIDE: u8 = 0b0100_1001;

/// What each ring of two bars is, where it is anything.
fn all_rings(six: bool) -> Vec<Option<Ring>> {
    let grid = if six { Grid::SixEight } else { Grid::Eighths };
    let pulses = grid.pulses_per_cycle();
    let turned = |ring: u16, by: usize| {
        let ring = usize::from(ring);
        (ring >> by | ring << (pulses - by)) & ((1 << pulses) - 1)
    };
    let mut rings = vec![None; 1 << pulses];
    let table = part_match::parts(six);
    let from_three = table
        .entries
        .iter()
        .filter(|e| e.direction == Some(Direction::ThreeTwo) && e.strokes >= ENOUGH_STROKES);
    for entry in from_three {
        for by in (0..pulses).filter(|by| by % (pulses / 2) != 0) {
            let place = &mut rings[turned(entry.ring, by)];
            place.get_or_insert(Ring::Begun(entry.part.name, by));
        }
    }
    for timeline in TIMELINES.iter().filter(|t| t.grid == grid) {
        for by in 0..pulses {
            let place = &mut rings[turned(timeline.ring(), by)];
            place.get_or_insert(Ring::Timeline(timeline.name));
        }
    }
    for entry in &table.entries {
        rings[usize::from(entry.ring)] = None;
    }
    rings
}

fn rings(six: bool) -> &'static [Option<Ring>] {
    static FOUR: LazyLock<Vec<Option<Ring>>> = LazyLock::new(|| all_rings(false));
    static SIX: LazyLock<Vec<Option<Ring>>> = LazyLock::new(|| all_rings(true));
    if six { &SIX } else { &FOUR }
}

/// Why the pattern states no side although it has a name; `None` where it has none, or is a part in its own place.
/// Every cycle of it must be the same.
pub(super) fn find(salient: &SalientOnsets) -> Option<NoSide> {
    let six = salient.in_six();
    let width = if six { 6 } else { 8 };
    if salient.bars.len() < 2 {
        return None;
    }
    let mut all = part_match::rings(salient, width);
    let ring = all.next()?;
    if all.any(|r| r != ring) {
        return None;
    }
    match rings(six)[usize::from(ring)] {
        Some(Ring::Timeline(name)) => Some(NoSide::Timeline { name }),
        Some(Ring::Begun(part, by)) => {
            let width = width as usize;
            let eighth = if six {
                part_match::OF_SIX[by % width]
            } else {
                by % width
            };
            let per = salient.grid().pulses_per_bar();
            Some(NoSide::Begun {
                part,
                side: Direction::ThreeTwo.side(by / width),
                pulse: salient.pulse(0, eighth)? % per,
            })
        }
        None => three_sides(bars_of(ring, six), six),
    }
}

/// Two different figures of one bar that each hold the three side.
fn three_sides(bars: [u8; 2], six: bool) -> Option<NoSide> {
    if six || bars[0] == bars[1] || bars.iter().any(|b| b & THREE_SIDE != THREE_SIDE) {
        return None;
    }
    let name = |bar: u8| {
        let mut own = part_match::parts(six).begun(bar, six);
        Some(own.find(|e| e.direction.is_none())?.part.name)
    };
    let figures = [name(bars[0])?, name(bars[1])?];
    Some(NoSide::ThreeSides { figures })
}

/// A single bar that is half of a named part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Half {
    /// Name of the part.
    pub part: &'static str,
    /// The half.
    pub side: Side,
}

/// The halves of named parts that a single bar is, the claves first. Where a clave strikes just so, other parts do not
/// matter. None where a part of the band is the same bar going round, unless there are halves of both sides.
pub(super) fn halves(salient: &SalientOnsets) -> Vec<Half> {
    let six = salient.in_six();
    let [bar] = salient.bars[..] else {
        return Vec::new();
    };
    let mut found: Vec<Half> = Vec::new();
    let mut goes_round = false;
    for entry in part_match::parts(six).begun(bar, six) {
        let Some(direction) = entry.direction else {
            goes_round |= entry.part.instrument.is_some();
            continue;
        };
        if entry.strokes < ENOUGH_STROKES {
            continue;
        }
        found.push(Half {
            part: entry.part.name,
            side: direction.side(0),
        });
        if entry.part.instrument == Some(Instrument::Clave) {
            return found;
        }
    }
    if goes_round && found.iter().all(|h| h.side == found[0].side) {
        found.clear();
    }
    found
}
