//! Reports made from states and reviews: weak concepts, the coming days.

pub mod beta;
mod concepts;
mod confusions;
mod diary;
mod evidence;
#[cfg(test)]
mod fixture;
mod general;
pub mod html;
mod hypothesis;
mod misfit;
mod parts;
pub mod phrases;
mod population;
mod search;
mod spots;
mod tempo;
pub mod text;
mod trials;
mod weeks;

pub use beta::Strength;
pub use concepts::{Concept, TREND_WEEKS, Trend};
pub use confusions::Confusion;
pub use diary::{Calibration, Day, Diary, Hours, VERSION as DIARY_VERSION};
pub use general::{General, View};
pub use parts::Part;
pub use phrases::counted;
pub use spots::{DOUBT, Focus, GAP, Spot, What};
pub use tempo::TempoLimit;
pub use weeks::{Ahead, DAYS_AHEAD, Kept, Practice, Week};

use crate::memory::{Candidate, Memory};
use crate::store::{Fact, Words};
use concepts::Describing;
use serde::Serialize;
use trials::Trials;

/// Reviews that strengths, limits and confusions are read from: the latest ones, at most so many.
pub const RECENT: usize = 2_000;
/// Reviews that weak spots are looked for in: the latest of those, at most so many.
pub const SPOTS_IN: usize = 600;

/// What a report is made from.
#[derive(Clone, Copy)]
pub struct Input<'a> {
    /// What the numbers in `recent` stand for.
    pub words: &'a Words,
    /// The latest reviews, oldest first; [`RECENT`] are enough.
    pub recent: &'a [Fact],
    /// What memory makes of the whole log.
    pub memory: &'a Memory,
    /// The items of the player's decks.
    pub items: &'a [Candidate],
    /// Seconds since 1970 UTC.
    pub now: f64,
    /// The days and what memory forecasts for the coming ones.
    pub practice: Practice<'a>,
}

/// What there is to say about a player.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Report {
    /// Seconds since 1970 UTC.
    pub made_at: f64,
    /// Reviews that strengths, limits and confusions rest on.
    pub reviews: usize,
    /// The weak spots, the one with the most to win first; empty where nothing stands out.
    pub spots: Vec<Spot>,
    /// Every concept as a whole, what is most worth working on first.
    pub concepts: Vec<Concept>,
    /// The same by eye and by ear.
    pub by_sense: Vec<Concept>,
    /// All questions by sense, by kind, by tempo.
    pub general: Vec<General>,
    /// Parts of the band by how often they mislead about the side, most often first.
    pub parts: Vec<Part>,
    /// What was answered instead of what, most often first.
    pub confusions: Vec<Confusion>,
    /// Up to which tempo answers come in time.
    pub tempos: Vec<TempoLimit>,
    /// How answers go by time of day.
    pub hours: Vec<Hours>,
    /// How the forecasts held, from low to high.
    pub calibration: Vec<Calibration>,
    /// Days with an answer, oldest first.
    pub days: Vec<Day>,
    /// The last weeks, oldest first.
    pub weeks: Vec<Week>,
    /// What is kept of the decks, and what the coming weeks bring.
    pub kept: Kept,
}

/// Makes the report.
pub fn report(input: &Input<'_>, diary: &Diary) -> Report {
    let latest = |count: usize| &input.recent[input.recent.len().saturating_sub(count)..];
    let input = &Input {
        recent: latest(RECENT),
        ..*input
    };
    let trials = Trials::new(input.words, input.recent);
    let describing = Describing::new(input);
    let (concepts, by_sense) = concepts::lines(&describing, &trials);
    Report {
        made_at: input.now,
        reviews: input.recent.len(),
        spots: spots(input.words, latest(SPOTS_IN)),
        concepts,
        by_sense,
        general: general::lines(input, &trials, &describing),
        parts: parts::table(&trials),
        confusions: confusions::table(&trials),
        tempos: tempo::limits(input, &trials),
        hours: diary.hours(),
        calibration: diary.calibration(),
        days: diary.days(),
        weeks: weeks::weeks(diary, &input.practice, input.now),
        kept: weeks::kept(input, &describing.misfit),
    }
}

/// The weak spots that these reviews show, see [`Spot`].
pub fn spots(words: &Words, facts: &[Fact]) -> Vec<Spot> {
    spots::find(&Trials::new(words, facts))
}

/// How strong each concept is, as a whole and by eye and by ear; what is most worth working on first.
pub fn concepts(input: &Input<'_>) -> (Vec<Concept>, Vec<Concept>) {
    let trials = Trials::new(input.words, input.recent);
    concepts::lines(&Describing::new(input), &trials)
}
