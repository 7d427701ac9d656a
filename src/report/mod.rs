//! Reports made from states and reviews: weak concepts, the coming days.

pub mod beta;
mod concepts;
mod evidence;
mod hypothesis;
mod population;
mod search;
mod spots;
mod trials;

pub use beta::Strength;
pub use concepts::{Concept, TREND_WEEKS, Trend};
pub use spots::{DOUBT, GAP, Spot, What};

use crate::memory::{Candidate, Memory};
use crate::store::{Fact, Words};
use trials::Trials;

/// What a report is made from.
#[derive(Clone, Copy)]
pub struct Input<'a> {
    pub words: &'a Words,
    /// The latest reviews, oldest first.
    pub recent: &'a [Fact],
    pub memory: &'a Memory,
    /// The items of the player's decks.
    pub items: &'a [Candidate],
    /// Seconds since 1970 UTC.
    pub now: f64,
    /// Minutes east of UTC on the player's clock.
    pub utc_offset: i32,
}

/// The weak spots that these reviews show, see [`Spot`].
pub fn spots(words: &Words, facts: &[Fact]) -> Vec<Spot> {
    spots::find(&Trials::new(words, facts))
}

/// How strong each concept is, as a whole and in each sense; what is most worth working on first.
pub fn concepts(input: &Input<'_>) -> (Vec<Concept>, Vec<Concept>) {
    concepts::lines(input, &Trials::new(input.words, input.recent))
}
