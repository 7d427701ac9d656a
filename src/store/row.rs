//! What a row of the log holds: a review, whole ([`ReviewRow`]) or as figures ([`Fact`]), and a meeting.

use super::{ItemKey, Sense};
use crate::memory::Outcome;
use crate::rhythm::{Grid, Tempo};
use crate::time::{Moment, Seconds};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::mem::take;

/// The columns of the table `review` that a review is read from and written to: field, column. This is the one list of
/// them. A new figure is a field here in [`ReviewRow`] and [`Fact`], a line in this list and a step in `steps.rs`.
macro_rules! with_figures {
    ($use:ident!($($first:tt)*)) => {
        $use!($($first)*
            at "at", utc_offset "utc_offset", tempo "bpm", grid "grid", correct "correct", guess "guess",
            seconds "seconds", limit "within", replays "replays", slowed "slowed", in_time "in_time",
            forecast "forecast")
    };
}
pub(super) use with_figures;

/// Shortest response that memory is told: a simple reaction to sound or light takes about this long
/// (from memory). An answer to a heard question may come before its clock starts and counts as 0 s in the log.
const REACTION: Seconds = Seconds::new(0.2);

/// One asked question with its answer: a row of the log, never changed once written. The fields are those of
/// `whichside log export`, in this order.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct ReviewRow {
    /// When the answer was given: milliseconds since 1970-01-01 00:00 UTC.
    pub at: i64,
    /// The player's clock at that moment: minutes east of UTC.
    pub utc_offset: i32,
    /// The session in which it was asked; reviews of one session share it.
    pub session: String,
    /// `deck/card`.
    pub card: String,
    /// Kind of question: `side`, `strokes`, `hand`, ...
    pub kind: String,
    /// By eye or by ear.
    pub sense: Sense,
    /// The ideas that the question exercised.
    pub concepts: Vec<String>,
    /// With the card, the kind and the sense, the seed makes the question again.
    pub seed: u64,
    /// Tempo at which it was asked.
    #[serde(rename = "bpm")]
    pub tempo: Tempo,
    /// The grid of what was asked.
    pub grid: Grid,
    /// The score that was asked, in block notation, so that the question outlives its deck.
    pub score: String,
    /// The question in words.
    pub prompt: String,
    /// What could be answered: key to label.
    pub choices: BTreeMap<char, String>,
    /// The keys that were given, in order.
    pub answer: String,
    /// For each key of the answer, the keys that are right; none where they do not lie under each other, as in a row that
    /// is shifted.
    pub keys: Vec<String>,
    /// Share of the answer that was right, 0 to 1.
    pub correct: f64,
    /// Chance that a player who knows nothing is right, 0 to 1.
    pub guess: f64,
    /// From the question to the answer.
    pub seconds: Seconds,
    /// How soon an answer counts as in time: one clave cycle at the tempo.
    pub limit: Seconds,
    /// How often the player listened again before answering.
    pub replays: u32,
    /// Whether it was played slower before the answer.
    pub slowed: bool,
    /// Right, and within `limit`.
    pub in_time: bool,
    /// Version of the program that asked.
    pub program: String,
    /// Chance of recall, 0 to 1, that memory forecast before the answer was seen. Absent in reviews from before it was
    /// kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub forecast: Option<f64>,
}

/// A review that counts, without what was on the screen. Fields as in [`ReviewRow`].
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Fact {
    /// Place in the log.
    pub id: i64,
    /// Milliseconds since 1970-01-01 00:00 UTC.
    pub at: i64,
    /// Minutes east of UTC.
    pub utc_offset: i32,
    /// Index into [`Words::items`].
    pub item: usize,
    /// Index into [`Words::concepts`].
    pub concepts: usize,
    /// Index into [`Words::replies`].
    pub reply: usize,
    /// At which tempo.
    pub tempo: Tempo,
    /// The grid of what was asked.
    pub grid: Grid,
    /// Share that was right, 0 to 1.
    pub correct: f64,
    /// Chance of guessing it, 0 to 1.
    pub guess: f64,
    /// How long the answer took.
    pub seconds: Seconds,
    /// Up to when it was in time.
    pub limit: Seconds,
    /// How often it was listened to again.
    pub replays: u32,
    /// Whether it was slowed down.
    pub slowed: bool,
    /// Whether the answer was right and within `limit`.
    pub in_time: bool,
    /// Chance of recall that memory forecast before the answer was seen, where it did; lucky guesses are not in it.
    pub forecast: Option<f64>,
}

/// What memory needs of a review that counts. Fields as in [`Fact`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutcomeRow {
    /// Place in the log.
    pub id: i64,
    /// Milliseconds since 1970-01-01 00:00 UTC.
    pub at: i64,
    /// Index into [`Words::items`].
    pub item: usize,
    /// Index into [`Words::concepts`].
    pub concepts: usize,
    /// Share that was right, 0 to 1.
    pub correct: f64,
    /// Chance of guessing it, 0 to 1.
    pub guess: f64,
    /// How long the answer took.
    pub seconds: Seconds,
    /// Up to when it was in time.
    pub limit: Seconds,
    /// How often it was listened to again.
    pub replays: u32,
    /// Whether it was slowed down.
    pub slowed: bool,
}

/// What could be answered, what was, and what is right: the fields of [`super::ReviewRow`].
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Reply {
    /// The keys that could be pressed, with what they stood for.
    pub choices: BTreeMap<char, String>,
    /// The keys that were pressed.
    pub answer: String,
    /// For each of them, the right ones.
    pub keys: Vec<String>,
}

/// The words that facts refer to by number. A number past the end does not come from the same log.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Words {
    /// Every item that was asked.
    pub items: Vec<ItemKey>,
    /// Every set of ideas that a question exercised.
    pub concepts: Vec<Vec<String>>,
    /// Every answer with what it could have been.
    pub replies: Vec<Reply>,
}

/// What memory learns from a review: right after the answer the same as from a replay of the log.
macro_rules! outcome {
    ($review:expr, $item:expr, $concepts:expr, $kind:expr) => {
        Outcome {
            item: $item,
            concepts: $concepts,
            kind: $kind,
            at: Moment::from_millis($review.at),
            correct: $review.correct,
            guess: $review.guess,
            seconds: $review.seconds.max(REACTION),
            limit: $review.limit,
            replays: $review.replays,
            slowed: $review.slowed,
        }
    };
}

impl Fact {
    /// What memory learns from the review.
    ///
    /// # Panics
    /// With the words of another log.
    #[cfg(any(test, feature = "internals"))]
    pub fn outcome(&self, words: &Words) -> Outcome {
        let item = &words.items[self.item];
        let concepts = words.concepts[self.concepts].clone();
        outcome!(self, item.to_string(), concepts, item.kind.clone())
    }
}

impl OutcomeRow {
    /// What memory learns from the review, in the place of what it was `told` of the same item before: the names are
    /// made once. By item, the sets of ideas that its questions exercised.
    ///
    /// # Panics
    /// With the words of another log.
    pub(super) fn told<'a>(
        &self,
        words: &Words,
        told: &'a mut Vec<Vec<(usize, Outcome)>>,
    ) -> &'a Outcome {
        told.resize_with(words.items.len(), Vec::new);
        let told = &mut told[self.item];
        let known = told.iter().position(|(of, _)| *of == self.concepts);
        let at = known.unwrap_or_else(|| {
            let (item, concepts) = (&words.items[self.item], &words.concepts[self.concepts]);
            let told_first = outcome!(self, item.to_string(), concepts.clone(), item.kind.clone());
            told.push((self.concepts, told_first));
            told.len() - 1
        });
        let told = &mut told[at].1;
        let (item, concepts) = (take(&mut told.item), take(&mut told.concepts));
        *told = outcome!(self, item, concepts, take(&mut told.kind));
        told
    }
}

impl ReviewRow {
    /// The item that memory keeps track of: `deck/card:kind:sense`.
    pub fn item(&self) -> String {
        format!("{}:{}:{}", self.card, self.kind, self.sense.name())
    }

    /// The item as it is told apart from others.
    pub fn item_key(&self) -> ItemKey {
        ItemKey {
            card: self.card.clone(),
            kind: self.kind.clone(),
            sense: self.sense,
        }
    }

    /// What memory learns from the review.
    pub fn outcome(&self) -> Outcome {
        outcome!(self, self.item(), self.concepts.clone(), self.kind.clone())
    }

    /// Checks what the columns of the log cannot hold.
    ///
    /// # Errors
    /// Names the first field that is out of its range.
    pub(super) fn check(&self) -> Result<(), String> {
        let unit = 0.0..=1.0;
        let named = [
            ("card", &self.card),
            ("kind", &self.kind),
            ("session", &self.session),
        ];
        if let Some((name, _)) = named.iter().find(|(_, v)| v.is_empty()) {
            return Err(format!("its {name} is empty"));
        }
        if !unit.contains(&self.correct) || !unit.contains(&self.guess) {
            return Err(format!(
                "correct {} and guess {} must be between 0 and 1",
                self.correct, self.guess
            ));
        }
        if !(Seconds::ZERO..=LONGEST).contains(&self.seconds) {
            return Err(format!("{} is not a time in seconds", self.seconds));
        }
        let positive = |v: f64| v > 0.0 && v <= MOST;
        if !positive(self.limit.seconds()) || !positive(self.tempo.bpm()) {
            return Err(format!(
                "limit {} s and tempo {} must be above 0, and no more than {MOST}",
                self.limit, self.tempo
            ));
        }
        no_time(self.at)?;
        if let Some(forecast) = self.forecast.filter(|f| !unit.contains(f)) {
            return Err(format!("forecast {forecast} must be between 0 and 1"));
        }
        no_offset(self.utc_offset)
    }
}

/// No answer takes longer, and no limit is higher: some thirty years. No tempo is a higher number either.
const LONGEST: Seconds = Seconds::new(MOST);
const MOST: f64 = 1e9;

/// Refuses what is not a time (milliseconds since 1970 UTC): calendars do not go beyond the years from 0 to 9999.
fn no_time(at: i64) -> Result<(), String> {
    let no_time = || format!("{at} is not a time in milliseconds since 1970");
    let years = -62_167_219_200_000..=253_402_300_799_999;
    years.contains(&at).then_some(()).ok_or_else(no_time)
}

/// Refuses what is not an offset from UTC, in minutes.
fn no_offset(minutes: i32) -> Result<(), String> {
    let no_offset = || format!("{minutes} min is not an offset from UTC");
    let offsets = -18 * 60..=18 * 60;
    offsets
        .contains(&minutes)
        .then_some(())
        .ok_or_else(no_offset)
}

/// A review as it stands in the log.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Logged {
    /// Place in the log: 1 for the first review, no number left out.
    pub id: i64,
    /// What was written.
    #[serde(flatten)]
    pub row: ReviewRow,
    /// Why the review no longer counts; absent for one that counts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub withdrawn: Option<String>,
    /// Cards shown in full since the review before, where an export says so.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub meetings: Vec<IntroductionRow>,
}

/// A card shown and played in full for the first time, with its answer, before anything was asked about it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct IntroductionRow {
    /// `deck/card`.
    pub card: String,
    /// Milliseconds since 1970-01-01 00:00 UTC.
    pub at: i64,
    /// Minutes east of UTC.
    pub utc_offset: i32,
    /// The session that it belongs to.
    pub session: String,
    /// How long it was looked at.
    pub seconds: Seconds,
}

impl IntroductionRow {
    /// Checks what the columns of the log cannot hold.
    ///
    /// # Errors
    /// Names what is out of its range.
    pub(super) fn check(&self) -> Result<(), String> {
        if self.card.is_empty() || !(Seconds::ZERO..=LONGEST).contains(&self.seconds) {
            return Err(format!("card `{}`, {} seconds", self.card, self.seconds));
        }
        no_time(self.at)?;
        no_offset(self.utc_offset)
    }
}
