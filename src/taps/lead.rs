//! By how much a player taps ahead of what is heard, learned from answer to answer.

// Nothing asks for taps yet: `played` takes the lead as a number.
#![cfg_attr(not(feature = "internals"), allow(dead_code))]

use super::{COMMON, Played};

/// A player's own lead: people tap some tens of milliseconds ahead of a beat without knowing it, those without training
/// more than musicians (mean negative asynchrony; Repp 2005, *Psychonomic Bulletin & Review* 12:969-992). It is taken off
/// every tap and blamed on nobody.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct TapLead {
    answers: u32,
    mean: f64,
}

/// Answers that the mean looks back over, so that it follows another machine or a player who changes: chosen.
const MEMORY: u32 = 20;

impl TapLead {
    /// Seconds by which the player taps late, negative where ahead as most do; 0 before the first answer. Within
    /// ±[`COMMON`].
    pub fn seconds(&self) -> f64 {
        self.mean
    }

    /// The same after one more answer. One in which fewer than four strokes were matched tells nothing.
    pub fn after(self, played: &Played) -> TapLead {
        match played.mean {
            Some(mean) if played.matched.len() >= 4 => {
                let answers = (self.answers + 1).min(MEMORY);
                let step = (mean - self.mean) / f64::from(answers);
                let mean = (self.mean + step).clamp(-COMMON, COMMON);
                TapLead { answers, mean }
            }
            _ => self,
        }
    }
}
