//! Hands: which sticking works at a tempo, and why.
//!
//! A model of reach and speed ([`Model`], every number with its source) gives each movement of each hand the time
//! that it needs; its *load* is that time over the time there is. [`stick()`] finds the sticking of least effort over
//! the whole cycle, exactly, and says how fast it goes ([`Sticking::works_to`]). The numbers were not tried on players:
//! tempos are estimates.
//!
//! Not modelled: a resting hand that chokes an open tone, flams, loudness, fatigue. Rolls and rudiments are
//! stickings by definition: write their hands instead of asking for them.

mod caution;
mod crossings;
mod judge;
#[cfg(test)]
mod laws;
mod loosen;
mod model;
mod moves;
mod problem;
mod reason;
mod rudiment;
mod solve;
mod stick;
mod words;

pub use caution::HANDS;
pub use judge::{GRACE, IN_A_ROW, MOST_OPEN, Refusal, all_right, either, every_row, judge};
pub use model::Model;
pub use rudiment::{RUDIMENTS, Rudiment, is_even, rudiment};
pub use stick::{LeaveOut, Solver, Sticking, fastest, stick};
pub use words::said_all;

use serde::{Deserialize, Serialize};

/// How trained a player's hands are.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum Level {
    /// Slower than the practised, by [`Model::learner`].
    Learner,
    /// The level whose times the model has.
    #[default]
    Practised,
    /// Faster than the practised, by [`Model::expert`].
    Expert,
}

impl Level {
    /// Every level, from slow to fast.
    pub const ALL: [Level; 3] = [Level::Learner, Level::Practised, Level::Expert];

    /// `learner`, `practised` or `expert`.
    pub const fn name(self) -> &'static str {
        match self {
            Level::Learner => "learner",
            Level::Practised => "practised",
            Level::Expert => "expert",
        }
    }
}

/// Which hand is the stronger one. A left-handed player is taken to have the drums set up in mirror image.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum Handed {
    /// The right hand is the stronger one.
    #[default]
    Right,
    /// The left hand is the stronger one.
    Left,
}

/// What matters of a player.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Player {
    /// How trained the hands are.
    pub level: Level,
    /// Which hand is the stronger one.
    pub handed: Handed,
}
