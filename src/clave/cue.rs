//! Reasons in a player's words, each tied to pulses that make a difference.

use super::no_side::Half;
use super::{Direction, NoSide, PartMatch, Side, part};
use crate::rhythm::Grid;

/// One reason for a reading.
///
/// It is true in this sense. Where the pattern is a named part, or all but one stroke of one, `pulses` are strokes of that
/// part: take any one away and one more is missing from it. Elsewhere: take any one of `pulses` away, or put a stroke
/// on any one of `empty`, and the margin of the free score moves away from what the cue pulls to. And in phrases of
/// several bars it says nothing that is as true of every bar of the other side.
#[derive(Clone, Debug, PartialEq)]
pub struct Cue {
    /// What sort of reason it is.
    pub kind: CueKind,
    /// The direction it speaks for; `None` where it says that no side is stated.
    pub pulls: Option<Direction>,
    /// The bar it stands in, from 0, and the side that it gives to that bar; `None` where it is about the whole.
    pub bar: Option<(usize, Side)>,
    /// Struck pulses, from 0 in the part as it was given.
    pub pulses: Vec<usize>,
    /// Pulses that matter because nothing is struck there.
    pub empty: Vec<usize>,
    /// How far the margin moves without it: log odds, positive, summed over its pulses; for what follows from the name of
    /// the part, its weight.
    pub weight: f64,
}

/// The stroke in which what is played differs from a named part. Pulses count from 0 in the part as it was given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// None.
    Exact,
    /// A stroke more.
    More(usize),
    /// A stroke less.
    Less(usize),
    /// A stroke moved by one pulse.
    Moved {
        /// Where the part has it.
        from: usize,
        /// Where it is played.
        to: usize,
    },
    /// Another one in each cycle.
    Several,
}

/// What a cue is about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CueKind {
    /// A named part, and the stroke in which what is played differs from it.
    Part(PartMatch, Change),
    /// A named pattern that states no side as it is played.
    NoSide(NoSide),
    /// A single bar that is half of a named part: its name and which half.
    Half(&'static str, Side),
    /// A single bar that is one half of one named part and the other half of another.
    TwoHalves([(&'static str, Side); 2]),
    /// All bars are the same.
    AllTheSame,
    /// The strokes that carry are the same in all bars, the light ones are not.
    SameWeight,
    /// The low drum differs from bar to bar, and no school was declared that says which side it marks.
    LowDrumOpen,
    /// A single bar, which alone has no direction.
    OneBar,
    /// Nothing, or next to nothing, is played.
    TooLittle,
    /// No sign by itself speaks for what is called, all strokes together do.
    Together,
    /// Bars in six without a name, where the free score was never tried.
    InSix,
    /// What speaks for one direction and for the other is about the same.
    Balanced,
    /// Strong signs for both directions.
    BothWays,
    /// One of the figures that players listen for. [`Cue::what`] fills the blanks of its words.
    Figure {
        /// The sentence, with blanks for what differs.
        words: &'static str,
        /// Are all its strokes accented, and not everything is?
        accented: bool,
    },
    /// A single stroke.
    Stroke,
    /// A single accented stroke.
    Accent,
    /// The low drum in one of the bars only, by the school that was declared.
    LowDrum,
}

impl Cue {
    /// A cue about the whole, without pulses.
    pub(super) fn whole(kind: CueKind) -> Cue {
        Cue {
            kind,
            pulls: None,
            bar: None,
            pulses: Vec::new(),
            empty: Vec::new(),
            weight: 0.0,
        }
    }

    /// What is to be seen or heard, without the bar and without what it pulls to, with the counts of `grid`: `it starts on
    /// the beat (1 and 2)`.
    pub fn what(&self, grid: Grid) -> String {
        let per = grid.pulses_per_bar();
        let counts = |pulses: &[usize]| grid.spoken_all(pulses);
        match self.kind {
            CueKind::Part(known, change) => {
                let name = called(known.name);
                let this = match known.direction {
                    Some(direction) => format!("this is the {name} in {}", direction.name()),
                    None if name.contains("notes") => {
                        format!("these are {name}: they fit both sides")
                    }
                    None => format!("this is the {name}: it fits both sides"),
                };
                let at = |p: usize| format!("{} in bar {}", grid.spoken(p), p / per + 1);
                match change {
                    Change::Exact => this,
                    Change::More(p) => format!("{this} with one stroke added: {}", at(p)),
                    Change::Less(p) => format!("{this} with one stroke left out: {}", at(p)),
                    Change::Moved { from, to } => {
                        format!("{this} with one stroke moved: {} to {}", at(from), at(to))
                    }
                    Change::Several => format!("{this}, all but one stroke in each round"),
                }
            }
            CueKind::NoSide(NoSide::Begun { part, side, pulse }) => format!(
                "this is the {} begun on {} of its {}: its bars lie across the sides",
                called(part),
                grid.spoken(pulse),
                side.name()
            ),
            CueKind::NoSide(NoSide::Timeline { name }) => {
                format!("this is the {name}, which is not built on the clave: no side")
            }
            CueKind::NoSide(NoSide::ThreeSides { figures: [a, b] }) => format!(
                "a {a}, then a {b}: both hold all strokes of the three side, so no bar stands out as the two side"
            ),
            CueKind::Half(name, side) => {
                format!("this is the {} of the {}", side.name(), called(name))
            }
            CueKind::TwoHalves([(a, first), (b, second)]) => format!(
                "this is the {} of the {}, and the {} of the {}",
                first.name(),
                called(a),
                second.name(),
                called(b)
            ),
            CueKind::AllTheSame => "every bar is the same: no side".to_string(),
            CueKind::SameWeight => {
                "the strokes that carry are the same in every bar, and light strokes state no side"
                    .to_string()
            }
            CueKind::LowDrumOpen => {
                "the low drum differs from bar to bar: which side it marks is a matter of school"
                    .to_string()
            }
            CueKind::OneBar => "one bar going round is the same on either side".to_string(),
            CueKind::TooLittle => "too little is played to tell".to_string(),
            CueKind::Together => {
                "no single sign: it is the strokes of both bars together".to_string()
            }
            CueKind::InSix => {
                "this is not a named part, and unnamed bars in six were never tried on players"
                    .to_string()
            }
            CueKind::Balanced => "neither side stands out".to_string(),
            CueKind::BothWays => {
                "some signs speak for one direction, some for the other".to_string()
            }
            CueKind::Figure { words, accented } => words
                .replace("{}", &counts(&self.pulses))
                .replace("{e}", &counts(&self.empty))
                .replace("{struck}", if accented { "accented" } else { "struck" }),
            CueKind::Stroke => format!("the stroke on {}", counts(&self.pulses)),
            CueKind::Accent => format!("the accent on {}", counts(&self.pulses)),
            CueKind::LowDrum => "the low drum comes in only here".to_string(),
        }
    }

    /// A single bar as half of named parts: of all that it is, the first of each side. `None` where it is of none.
    pub(super) fn of_halves(halves: &[Half]) -> Option<Cue> {
        let first = halves.first()?;
        let other = halves.iter().find(|h| h.side != first.side);
        Some(match other {
            None => Cue {
                pulls: Some(Direction::starting(first.side)),
                ..Cue::whole(CueKind::Half(first.part, first.side))
            },
            Some(other) => Cue::whole(CueKind::TwoHalves([first, other].map(|h| (h.part, h.side)))),
        })
    }

    /// The cue as a sentence, with the counts of `grid`.
    pub fn text(&self, grid: Grid) -> String {
        let what = self.what(grid);
        match self.bar {
            Some((bar, side)) => format!("in bar {} {what}: pulls to the {}", bar + 1, side.name()),
            None => what,
        }
    }
}

/// All names of a part of the table.
fn called(name: &str) -> String {
    part(name).map_or_else(|| name.to_string(), |p| p.called())
}
