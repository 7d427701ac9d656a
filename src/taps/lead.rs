//! How far a player taps ahead of what is heard, learned from answer to answer.

use super::{COMMON, Played};
use crate::time::Seconds;

/// A player's own lead: people tap some tens of milliseconds ahead of a beat without knowing it, those without training
/// more than musicians (mean negative asynchrony; Repp 2005, *Psychonomic Bulletin & Review* 12:969-992). It is taken
/// off every tap and not held against anybody.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct TapLead {
    answers: u32,
    mean: Seconds,
}

/// Answers that the mean looks back over, so that it follows another machine or a player who changes: chosen. After twenty
/// on another machine an eighth of the difference is left.
const MEMORY: u32 = 10;

impl TapLead {
    /// Answers from which on those before them hardly count.
    pub const ENOUGH: usize = 2 * MEMORY as usize;

    /// By how much the player taps late, negative where ahead as most do; 0 before the first answer. Within
    /// ±[`COMMON`].
    pub fn late(&self) -> Seconds {
        self.mean
    }

    /// The same after one more answer. One in which fewer than four strokes were matched tells nothing, nor one that was off
    /// by more than a delay that is not blamed.
    pub fn after(self, played: &Played) -> TapLead {
        match played.mean {
            Some(mean) if played.matched.len() >= 4 && played.shift.is_none() => {
                let answers = (self.answers + 1).min(MEMORY);
                let step = (mean - self.mean) / f64::from(answers);
                let mean = (self.mean + step).clamp(-COMMON, COMMON);
                TapLead { answers, mean }
            }
            _ => self,
        }
    }
}
