//! Reasons in a player's words, each tied to pulses that make a difference.

use super::{Direction, Known, Side};
use crate::rhythm::Grid;

/// One reason for a reading.
///
/// It is true in this sense: take any one of `pulses` away, or put a stroke on any one of `empty`, and the margin
/// moves away from what the cue pulls to.
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
    /// How far the margin moves without it: log odds, positive, summed over its pulses.
    pub weight: f64,
}

/// What a cue is about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CueKind {
    /// A named part.
    Part(Known),
    /// All bars are the same.
    AllTheSame,
    /// A single bar, which alone has no direction.
    OneBar,
    /// Nothing, or next to nothing, is played.
    TooLittle,
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
        let counts = |pulses: &[usize]| {
            let said: Vec<String> = pulses.iter().map(|p| grid.spoken(p % per)).collect();
            match said.split_last() {
                Some((last, [])) => last.clone(),
                Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
                None => String::new(),
            }
        };
        match self.kind {
            CueKind::Part(known) => {
                let near = match known.distance {
                    0 => "this is the",
                    _ => "all but one stroke of the",
                };
                match known.direction {
                    Some(direction) => format!("{near} {} in {}", known.name, direction.name()),
                    None => format!("{near} {}: no side", known.name),
                }
            }
            CueKind::AllTheSame => "every bar is the same: no side".to_string(),
            CueKind::OneBar => "one bar going round is the same on either side".to_string(),
            CueKind::TooLittle => "too little is played to tell".to_string(),
            CueKind::Balanced => "no side stands out from the other".to_string(),
            CueKind::BothWays => "signs of both directions cross each other".to_string(),
            CueKind::Figure { words, accented } => words
                .replace("{}", &counts(&self.pulses))
                .replace("{e}", &counts(&self.empty))
                .replace("{struck}", if accented { "accented" } else { "struck" }),
            CueKind::Stroke => format!("the stroke on {}", counts(&self.pulses)),
            CueKind::Accent => format!("the accent on {}", counts(&self.pulses)),
            CueKind::LowDrum => "the low drum comes in here only".to_string(),
        }
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
