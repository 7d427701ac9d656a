//! Reports made from states and reviews: weak concepts, the coming days.

pub mod beta;
mod concepts;
mod confusions;
mod diary;
mod evidence;
pub mod html;
mod hypothesis;
pub mod phrases;
mod population;
mod search;
mod spots;
mod tempo;
pub mod text;
mod trials;

pub use beta::Strength;
pub use concepts::{Concept, TREND_WEEKS, Trend};
pub use confusions::Confusion;
pub use diary::{Calibration, Day, Diary, Hours, VERSION as DIARY_VERSION};
pub use spots::{DOUBT, GAP, Spot, What};
pub use tempo::TempoLimit;

use crate::memory::{Candidate, Memory};
use crate::store::{Fact, Words};
use serde::Serialize;
use trials::Trials;

/// Reviews that strengths, limits and confusions are read from: the latest ones, at most so many.
pub const RECENT: usize = 2_000;
/// Reviews that weak spots are looked for in: the latest of those, at most so many.
pub const SPOTS_IN: usize = 600;

/// What a report is made from.
#[derive(Clone, Copy)]
pub struct Input<'a> {
    pub words: &'a Words,
    /// The latest reviews, oldest first; [`RECENT`] are enough.
    pub recent: &'a [Fact],
    pub memory: &'a Memory,
    /// The items of the player's decks.
    pub items: &'a [Candidate],
    /// Seconds since 1970 UTC.
    pub now: f64,
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
    /// What was answered instead of what, most often first.
    pub confusions: Vec<Confusion>,
    /// Up to which tempo answers come in time.
    pub tempos: Vec<TempoLimit>,
    pub hours: Vec<Hours>,
    pub calibration: Vec<Calibration>,
    /// Days with an answer, oldest first.
    pub days: Vec<Day>,
    pub kept: Kept,
}

/// What memory holds now, and what it will hold without practice.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Kept {
    /// Items asked at least once, of those on the decks.
    pub asked: usize,
    /// Items on the decks.
    pub items: usize,
    /// Items that would be recalled if all were asked now: the sum of their chances.
    pub now: f64,
    /// The same in so many days from now if nothing were practised.
    pub without_practice: Vec<(u32, f64)>,
}

/// Makes the report.
pub fn report(input: &Input<'_>, diary: &Diary) -> Report {
    let latest = |count: usize| &input.recent[input.recent.len().saturating_sub(count)..];
    let input = &Input {
        recent: latest(RECENT),
        ..*input
    };
    let trials = Trials::new(input.words, input.recent);
    let (concepts, by_sense) = concepts::lines(input, &trials);
    Report {
        made_at: input.now,
        reviews: input.recent.len(),
        spots: spots(input.words, latest(SPOTS_IN)),
        concepts,
        by_sense,
        confusions: confusions::table(&trials),
        tempos: tempo::limits(input, &trials),
        hours: diary.hours(),
        calibration: diary.calibration(),
        days: diary.days(),
        kept: kept(input),
    }
}

/// The weak spots that these reviews show, see [`Spot`].
pub fn spots(words: &Words, facts: &[Fact]) -> Vec<Spot> {
    spots::find(&Trials::new(words, facts))
}

/// How strong each concept is, as a whole and by eye and by ear; what is most worth working on first.
pub fn concepts(input: &Input<'_>) -> (Vec<Concept>, Vec<Concept>) {
    concepts::lines(input, &Trials::new(input.words, input.recent))
}

fn kept(input: &Input<'_>) -> Kept {
    const AHEAD: [u32; 4] = [1, 7, 14, 28];
    let sum = |now: f64| -> (usize, f64) {
        let chances = input
            .items
            .iter()
            .filter_map(|i| input.memory.chance(&i.item, now));
        chances.fold((0, 0.0), |(n, sum), c| (n + 1, sum + c))
    };
    let (asked, now) = sum(input.now);
    Kept {
        asked,
        items: input.items.len(),
        now,
        without_practice: AHEAD
            .map(|d| (d, sum(input.now + f64::from(d) * 86_400.0).1))
            .to_vec(),
    }
}
