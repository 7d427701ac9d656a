//! What a player loses and what practice keeps: findings from the log, in words, as text and as a page.
//!
//! Read [`report`] first: it makes the findings. [`sections()`] puts them into words; [`text`] writes those on a terminal,
//! [`page`] as a page for a teacher.

pub mod beta;
mod concepts;
mod confusions;
mod diary;
mod evidence;
#[cfg(test)]
mod fixture;
mod forecasts;
mod held;
mod hypothesis;
mod kept;
pub mod page;
mod population;
mod search;
mod section;
mod sections;
mod spots;
mod tempo;
pub mod text;
mod trials;
mod weeks;
mod words;

use crate::time::Moment;
pub use beta::Strength;
pub use concepts::{Standing, TREND_WEEKS, Trend};
pub use confusions::Confusion;
pub use diary::{Diary, PracticeDay};
pub use forecasts::{ForecastFit, ForecastGroup, Forecasts};
pub use held::HeldTempo;
pub use kept::{DAYS_AHEAD, Kept, KeptThen};
pub use section::{Block, ReportTable, Section, TableCell, TableRow};
pub use sections::{forecasts, sections};
pub use spots::{DOUBT, Focus, GAP, Spot, Weakness};
pub use tempo::TempoLimit;
pub use weeks::PracticeWeek;

use crate::memory::{Candidate, Day, Memory};
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
    /// What the numbers in `recent` stand for.
    pub words: &'a Words,
    /// The latest reviews, oldest first; [`RECENT`] are enough.
    pub recent: &'a [Fact],
    /// What memory makes of the whole log.
    pub memory: &'a Memory,
    /// The items of the player's decks.
    pub items: &'a [Candidate],
    /// The present moment.
    pub now: Moment,
    /// What is known of the player's practice besides the answers.
    pub practice: Practice<'a>,
}

/// What is known of a player's practice besides the answers.
#[derive(Clone, Copy, Debug, Default)]
pub struct Practice<'a> {
    /// Minutes that the player means to practise a day.
    pub minutes: f64,
    /// When each card was first met, milliseconds since 1970 by the player's clock.
    pub met: &'a [i64],
    /// At which tempo variations are held; those most below their range first.
    pub held: &'a [HeldTempo],
    /// The coming days at these minutes; [`DAYS_AHEAD`] of them for the whole table.
    pub ahead: &'a [Day],
    /// Answers that showed where the player stands; none of the reviews is one of them.
    pub sounded: usize,
    /// Minutes east of UTC on the player's clock now.
    pub utc_offset: i32,
}

/// What there is to say about a player.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Report {
    /// When it was made.
    pub made_at: Moment,
    /// Reviews that strengths, limits and confusions rest on.
    pub reviews: usize,
    /// Answers before them that showed where the player stands, and say nothing of what was lost since.
    pub sounded: usize,
    /// The weak spots, the one with the most to gain first; empty where none stands out.
    pub spots: Vec<Spot>,
    /// How well each concept is known, the one most worth practising first.
    pub concepts: Vec<Standing>,
    /// The same for each kind of question.
    pub kinds: Vec<Standing>,
    /// What was answered instead of what, most often first.
    pub confusions: Vec<Confusion>,
    /// Up to which tempo answers come in time.
    pub tempos: Vec<TempoLimit>,
    /// At which tempo variations are held, those most below their range first.
    pub held: Vec<HeldTempo>,
    /// What is kept of the decks, and what will be in the coming weeks.
    pub kept: Kept,
    /// The last weeks, oldest first.
    pub weeks: Vec<PracticeWeek>,
    /// Days with an answer, oldest first.
    pub days: Vec<PracticeDay>,
    /// How well the forecasts fit the answers; absent where nothing was forecast.
    pub forecasts: Option<ForecastFit>,
}

/// Makes the report.
pub fn report(input: &Input<'_>, diary: &Diary) -> Report {
    let latest = |count: usize| &input.recent[input.recent.len().saturating_sub(count)..];
    let input = &Input {
        recent: latest(RECENT),
        ..*input
    };
    let trials = Trials::new(input.words, input.recent);
    let days = diary.days();
    Report {
        made_at: input.now,
        reviews: input.recent.len(),
        sounded: input.practice.sounded,
        spots: spots(input.words, latest(SPOTS_IN)),
        concepts: concepts::concepts(input, &trials),
        kinds: concepts::kinds(input, &trials),
        confusions: confusions::table(&trials),
        tempos: tempo::limits(input, &trials),
        held: input.practice.held.to_vec(),
        kept: kept::kept(input),
        weeks: weeks::weeks(&days, &input.practice, input.now),
        days,
        forecasts: diary.forecasts.fit(),
    }
}

/// The weak spots that these reviews show, see [`Spot`].
pub fn spots(words: &Words, facts: &[Fact]) -> Vec<Spot> {
    spots::find(&Trials::new(words, facts))
}

/// How well each concept is known, the one most worth practising first.
#[cfg(any(test, feature = "internals"))]
pub fn concepts(input: &Input<'_>) -> Vec<Standing> {
    concepts::concepts(input, &Trials::new(input.words, input.recent))
}
