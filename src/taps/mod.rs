//! Taps: what a player was to tap, what was tapped, and how well the two go together.
//!
//! A [`TapTask`] says what is to be tapped, round and round at a tempo. [`grade`] lays the [`Tap`]s of an answer beside it
//! and gives a [`TapVerdict`]: strokes matched, missed and added, mean asynchrony, spread and drift, the direction that was
//! clapped, the hands, and what all that is worth. A delay common to all taps, up to [`COMMON`], is not blamed: it is the
//! machine's or the player's own lead, which [`TapLead`] learns from answer to answer.
//!
//! Times are counted from the first pulse of the part. Nothing here reads a clock.

mod held;
#[cfg(test)]
mod laws;
mod layout;
mod lead;
mod matching;
mod played;
mod read;
mod sticking;
mod task;
mod tempo;
mod track;
mod trend;
mod variation;
mod verdict;
mod words;

use crate::time::Seconds;
pub use held::HeldClave;
pub use lead::TapLead;
pub use played::{AddedTap, Played, StrokePlace, TapPair, TappedDirection};
pub use read::{MOST_TAPS, TapsError, read_taps};
pub use sticking::TappedHands;
pub use task::{MOST_CYCLES, TapTask};
pub use track::COMMON;
pub use variation::VariationElsewhere;
pub use verdict::{PerformanceLevel, Steadiness, TapVerdict, grade};
pub use words::{counted, drifting, in_ms};

use crate::rhythm::Hand;
use serde::Serialize;

/// One tap.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Tap {
    /// Time from the first pulse; negative before it.
    pub seconds: Seconds,
    /// The hand, where it is known.
    pub hand: Option<Hand>,
}

impl Tap {
    /// A tap whose hand is not known.
    pub const fn at(seconds: Seconds) -> Tap {
        Tap {
            seconds,
            hand: None,
        }
    }
}
