//! What a part says about the clave, how clearly, and why.

use super::cue::{Cue, CueKind};
use super::{Direction, NoSide, PartMatch, Side};
use crate::rhythm::Grid;
use serde::ser::SerializeStruct;
use serde::{Deserialize, Serialize, Serializer};

/// The one word for what a part states.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SideVerdict {
    /// Three side first.
    #[serde(rename = "3-2")]
    ThreeTwo,
    /// Two side first.
    #[serde(rename = "2-3")]
    TwoThree,
    /// It fits both sides.
    Neutral,
    /// It pulls both ways.
    Crossed,
    /// The pattern alone does not say: too little evidence, as much for one as for the other, or a named part that is begun
    /// elsewhere.
    Unsure,
}

impl SideVerdict {
    /// `3-2`, `2-3`, `neutral`, `crossed` or `unsure`.
    pub const fn name(self) -> &'static str {
        match self {
            SideVerdict::ThreeTwo => "3-2",
            SideVerdict::TwoThree => "2-3",
            SideVerdict::Neutral => "neutral",
            SideVerdict::Crossed => "crossed",
            SideVerdict::Unsure => "unsure",
        }
    }

    /// The direction, where one is stated.
    pub const fn direction(self) -> Option<Direction> {
        match self {
            SideVerdict::ThreeTwo => Some(Direction::ThreeTwo),
            SideVerdict::TwoThree => Some(Direction::TwoThree),
            _ => None,
        }
    }
}

impl From<Direction> for SideVerdict {
    fn from(direction: Direction) -> SideVerdict {
        match direction {
            Direction::ThreeTwo => SideVerdict::ThreeTwo,
            Direction::TwoThree => SideVerdict::TwoThree,
        }
    }
}

/// Probabilities of the four things that a part can do; they sum to 1.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Classes {
    /// It states the clave with the three side first.
    #[serde(rename = "3-2")]
    pub three_two: f64,
    /// It states the clave with the two side first.
    #[serde(rename = "2-3")]
    pub two_three: f64,
    /// It fits both.
    pub neutral: f64,
    /// It speaks for one side in one place and for the other in another.
    pub crossed: f64,
}

/// One bar of a reading.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct BarReading {
    /// The side that the bar has in the whole; `None` where no side is stated. For a part of one bar the side that
    /// it would most likely be.
    pub side: Option<Side>,
    /// Probability that this bar, taken by itself out of a part that states its side, is the three side.
    pub three: f64,
}

/// What a part says about the clave. Bars and pulses count from 0.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The grid of the part.
    pub grid: Grid,
    /// The verdict in one word.
    pub verdict: SideVerdict,
    /// Log odds of 3-2 against 2-3. For a single bar: of the three side against the two side.
    pub margin: f64,
    /// Probability of 3-2 among 3-2 and 2-3.
    pub forward: f64,
    /// How probable each verdict is.
    pub classes: Classes,
    /// What each bar says, in order.
    pub bars: Vec<BarReading>,
    /// The part, where a phrase has a name. Of a single bar only the reasons tell it.
    pub known: Option<PartMatch>,
    /// Why it states no side although it has a name, where that is so.
    pub no_side: Option<NoSide>,
    /// The reasons, the weightiest first.
    pub cues: Vec<Cue>,
}

impl Reading {
    /// Is so little played that nothing can be told?
    pub fn is_too_little(&self) -> bool {
        self.cues.iter().any(|c| c.kind == CueKind::TooLittle)
    }

    /// The reasons as sentences, each with the struck pulses it points at.
    pub fn reasons(&self) -> impl Iterator<Item = (String, &[usize])> + '_ {
        self.cues
            .iter()
            .map(|c| (c.text(self.grid), c.pulses.as_slice()))
    }
}

impl Serialize for Reading {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct WrittenReason {
            text: String,
            pulses: Vec<usize>,
            empty: Vec<usize>,
            pulls: Option<Direction>,
        }
        let reasons: Vec<WrittenReason> = self
            .cues
            .iter()
            .map(|c| WrittenReason {
                text: c.text(self.grid),
                pulses: c.pulses.clone(),
                empty: c.empty.clone(),
                pulls: c.pulls,
            })
            .collect();
        let mut out = serializer.serialize_struct("Reading", 8)?;
        out.serialize_field("direction", &self.verdict)?;
        out.serialize_field("forward", &self.forward)?;
        out.serialize_field("margin", &self.margin)?;
        out.serialize_field("classes", &self.classes)?;
        out.serialize_field("bars", &self.bars)?;
        out.serialize_field("part", &self.known)?;
        out.serialize_field("no_side", &self.no_side)?;
        out.serialize_field("reasons", &reasons)?;
        out.end()
    }
}
