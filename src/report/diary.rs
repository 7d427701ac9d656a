//! What every review adds to: the days of practice, and how well the forecasts fit. A fold of the log.

use super::Forecasts;
use crate::store::Fact;
use crate::time::Seconds;
use chrono::NaiveDate;
use serde::Serialize;
use std::collections::BTreeMap;

/// Longest time that one answer adds to the practice minutes: anybody away longer is not practising.
const LONGEST: Seconds = Seconds::from_minutes(2.0);
/// Time without an answer after which a new session began.
const APART: Seconds = Seconds::from_minutes(10.0);
const DAY: i64 = 86_400;

/// Sums over all reviews.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Diary {
    /// By the player's day, counted from 1970-01-01.
    days: BTreeMap<i64, Sums>,
    /// How well the forecasts fit.
    pub forecasts: Forecasts,
    /// When the latest answer was given, milliseconds since 1970 UTC.
    last: Option<i64>,
}

#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Sums {
    answers: usize,
    right: f64,
    in_time: usize,
    seconds: Seconds,
}

/// One day of practice.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PracticeDay {
    /// By the player's clock.
    pub date: NaiveDate,
    /// Minutes of drilling: from answer to answer within a session, so that reasons read and cards met count in; of
    /// the first answer of a session its own time alone. A pause counts two minutes at most.
    pub minutes: f64,
    /// Questions answered.
    pub answers: usize,
    /// Share of the answers that was right.
    pub right: f64,
    /// Share of the answers that was right and in time.
    pub in_time: f64,
}

impl Diary {
    /// Takes in one review.
    pub fn observe(&mut self, fact: &Fact) {
        self.forecasts.observe(fact);
        let local = fact.at.div_euclid(1000) + i64::from(fact.utc_offset) * 60;
        let seconds = self.practised(fact);
        let sums = self.days.entry(local.div_euclid(DAY)).or_default();
        sums.answers += 1;
        sums.right += fact.correct;
        sums.in_time += usize::from(fact.in_time);
        sums.seconds += seconds;
    }

    /// How much this answer adds to the practice.
    fn practised(&mut self, fact: &Fact) -> Seconds {
        let since =
            (self.last.replace(fact.at)).map(|last| Seconds::new((fact.at - last) as f64 / 1000.0));
        let within = since.filter(|gap| (Seconds::ZERO..APART).contains(gap));
        within.unwrap_or(fact.seconds).clamp(Seconds::ZERO, LONGEST)
    }

    /// Every day with an answer, oldest first.
    pub fn days(&self) -> Vec<PracticeDay> {
        let days = self.days.iter().filter_map(|(day, sums)| {
            let answers = sums.answers as f64;
            Some(PracticeDay {
                date: NaiveDate::from_epoch_days(i32::try_from(*day).ok()?)?,
                minutes: sums.seconds.minutes(),
                answers: sums.answers,
                right: sums.right / answers,
                in_time: sums.in_time as f64 / answers,
            })
        });
        days.collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture::answer;

    fn minutes(answers: &[(i64, f64)]) -> Vec<f64> {
        let mut diary = Diary::default();
        for (at, seconds) in answers {
            diary.observe(&answer(*at, *seconds));
        }
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
