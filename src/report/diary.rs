//! What every review adds to: days, hours, and how well forecasts held. A fold of the log, small enough to be kept.

use super::Strength;
use super::beta::share;
use super::evidence::{Evidence, Tables};
use super::population::Population;
use crate::store::Fact;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Version of the fold: raise it with any change to what is folded.
pub const VERSION: u32 = 2;

/// Longest time that one answer adds to the practice minutes, in seconds: who is away longer is not practising.
const LONGEST: f64 = 120.0;
/// Seconds without an answer after which a new session began.
const APART: f64 = 600.0;
/// Bins of forecasts.
pub(super) const BINS: usize = 10;
const DAY: i64 = 86_400;

/// Sums over all reviews.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Diary {
    /// By the player's day, counted from 1970-01-01.
    days: BTreeMap<i64, Sums>,
    /// By hour of the player's day and guess chance in 256ths.
    hours: BTreeMap<(u8, u16), Sums>,
    /// By forecast.
    forecasts: [Held; BINS],
    /// When the latest answer was given, milliseconds since 1970 UTC.
    last: Option<i64>,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
struct Sums {
    answers: u32,
    right: f64,
    in_time: u32,
    seconds: f64,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
struct Held {
    answers: f64,
    /// Sums of the forecast and of the measured chance to be right, guessing included.
    forecast: f64,
    right: f64,
}

/// One day of practice.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Day {
    /// By the player's clock.
    pub date: NaiveDate,
    /// Minutes of drilling: from answer to answer within a session, so that reasons read and cards met count in; of
    /// the first answer of a session its own time alone. A pause counts two minutes at most.
    pub minutes: f64,
    /// Questions answered.
    pub answers: u32,
    /// Share of the answers that was right.
    pub right: f64,
    /// Share of the answers that was right and in time.
    pub in_time: f64,
}

/// A stretch of the day.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Hours {
    /// Hours of the player's clock: from the first up to the second.
    pub from: u8,
    /// The end of the stretch.
    pub to: u8,
    /// Questions answered in it.
    pub answers: u32,
    /// What was known when asked then, guessing taken out.
    pub known: Strength,
}

/// Forecasts of about the same chance, and what came of them.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Calibration {
    /// Mean forecast of being right, guessing included.
    pub forecast: f64,
    /// Share that was right, with the interval that its count allows.
    pub right: Strength,
    /// Answers in the group; recent ones count whole.
    pub answers: f64,
}

impl Diary {
    /// Takes in one review.
    pub fn observe(&mut self, fact: &Fact) {
        let local = fact.at.div_euclid(1000) + i64::from(fact.utc_offset) * 60;
        let hour = local.rem_euclid(DAY) / 3600;
        let guess = (fact.guess * 256.0).round() as u16;
        let seconds = self.practised(fact);
        let day = self.days.entry(local.div_euclid(DAY)).or_default();
        for sums in [day, self.hours.entry((hour as u8, guess)).or_default()] {
            sums.answers += 1;
            sums.right += fact.correct;
            sums.in_time += u32::from(fact.in_time);
            sums.seconds += seconds;
        }
        if let Some(recall) = fact.forecast {
            let expected = fact.guess + (1.0 - fact.guess) * recall;
            let bin = &mut self.forecasts[((expected * BINS as f64) as usize).min(BINS - 1)];
            bin.answers += 1.0;
            bin.forecast += expected;
            bin.right += fact.correct;
        }
    }

    /// Seconds that this answer adds to the practice.
    fn practised(&mut self, fact: &Fact) -> f64 {
        let since = (self.last.replace(fact.at)).map(|last| (fact.at - last) as f64 / 1000.0);
        let within = since.filter(|gap| (0.0..APART).contains(gap));
        within.unwrap_or(fact.seconds).clamp(0.0, LONGEST)
    }

    /// The diary as bytes, see [`Diary::from_bytes`].
    pub fn to_bytes(&self) -> Vec<u8> {
        let lists = (
            self.days.iter().collect::<Vec<_>>(),
            self.hours.iter().collect::<Vec<_>>(),
            self.forecasts,
            self.last,
        );
        serde_json::to_vec(&lists).unwrap_or_default()
    }

    /// What [`Diary::to_bytes`] wrote; `None` for anything else.
    pub fn from_bytes(bytes: &[u8]) -> Option<Diary> {
        type Lists = (
            Vec<(i64, Sums)>,
            Vec<((u8, u16), Sums)>,
            [Held; BINS],
            Option<i64>,
        );
        let (days, hours, forecasts, last): Lists = serde_json::from_slice(bytes).ok()?;
        Some(Diary {
            days: days.into_iter().collect(),
            hours: hours.into_iter().collect(),
            forecasts,
            last,
        })
    }

    /// Every day with an answer, oldest first.
    pub fn days(&self) -> Vec<Day> {
        let days = self.days.iter().filter_map(|(day, sums)| {
            let answers = f64::from(sums.answers.max(1));
            Some(Day {
                date: NaiveDate::from_epoch_days(i32::try_from(*day).ok()?)?,
                minutes: sums.seconds / 60.0,
                answers: sums.answers,
                right: sums.right / answers,
                in_time: f64::from(sums.in_time) / answers,
            })
        });
        days.collect()
    }

    /// What is known at which time of day: stretches of four hours with an answer.
    pub fn hours(&self) -> Vec<Hours> {
        const STRETCH: u8 = 4;
        let mut stretches: BTreeMap<u8, (u32, Evidence)> = BTreeMap::new();
        for ((hour, guess), sums) in &self.hours {
            let (answers, evidence) = stretches.entry(hour / STRETCH).or_default();
            *answers += sums.answers;
            let count = f64::from(sums.answers);
            evidence.add(f64::from(*guess) / 256.0, sums.right / count, count);
        }
        let mut tables = Tables::new();
        let all: Vec<Evidence> = stretches.values().map(|(_, e)| e.clone()).collect();
        let population = Population::of(&all, &mut tables);
        let each = stretches
            .into_iter()
            .map(|(stretch, (answers, evidence))| Hours {
                from: stretch * STRETCH,
                to: (stretch + 1) * STRETCH,
                answers,
                known: population.strength(&evidence, &mut tables),
            });
        each.collect()
    }

    /// How forecasts held, for tenths of the chance that were forecast at all.
    pub fn calibration(&self) -> Vec<Calibration> {
        let bins = self.forecasts.iter().filter(|b| b.answers > 0.0);
        bins.map(|b| Calibration {
            forecast: b.forecast / b.answers,
            right: share(b.right, b.answers),
            answers: b.answers,
        })
        .collect()
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::report::fixture::answer;

    fn minutes(answers: &[(i64, f64)]) -> Vec<f64> {
        let mut diary = Diary::default();
        for (at, seconds) in answers {
            diary.observe(&answer(*at, *seconds));
        }
        let again = Diary::from_bytes(&diary.to_bytes());
        assert_eq!(again, Some(diary.clone()));
        diary.days().iter().map(|d| d.minutes).collect()
    }

    #[test]
    fn minutes_run_from_answer_to_answer_and_pauses_are_cut() {
        // 6 s; 24 s with the reasons read; five minutes away, cut to two; the next morning 12 s.
        let found = minutes(&[(0, 6.0), (24, 5.0), (324, 3.0), (40_000, 12.0)]);
        assert_eq!(found, [(6.0 + 24.0 + 120.0 + 12.0) / 60.0]);
        // A clock that was set back begins anew.
        assert_eq!(minutes(&[(90_000, 6.0), (60, 9.0)]), [9.0 / 60.0, 0.1]);
        // Left alone at the very first question.
        assert_eq!(minutes(&[(0, 5000.0)]), [2.0]);
    }
}
