//! Week by week: what was practised, and which cards were met for the first time.

use super::{Practice, PracticeDay};
use crate::time::{Moment, Seconds};
use chrono::{DateTime, Days, NaiveDate};
use serde::Serialize;

/// Weeks that are looked back on.
const BACK: u64 = 8;

/// Seven days that are over, or the last seven with today.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PracticeWeek {
    /// Its last day.
    pub until: NaiveDate,
    /// Days with an answer.
    pub days: usize,
    /// Minutes of drilling on each of its days, as in [`PracticeDay::minutes`]; 0 for a day without any.
    pub minutes: [f64; 7],
    /// Questions answered.
    pub answers: usize,
    /// Share of the answers that was right.
    pub right: f64,
    /// Share of the answers that was right and in time.
    pub in_time: f64,
    /// Cards met for the first time.
    pub new_cards: usize,
}

/// The last weeks, oldest first, from the first one with an answer or a new card.
pub(super) fn weeks(
    days: &[PracticeDay],
    practice: &Practice<'_>,
    now: Moment,
) -> Vec<PracticeWeek> {
    let local = now + Seconds::from_minutes(f64::from(practice.utc_offset));
    let Some(today) = DateTime::from_timestamp(local.seconds() as i64, 0).map(|d| d.date_naive())
    else {
        return Vec::new();
    };
    let met: Vec<NaiveDate> = practice
        .met
        .iter()
        .filter_map(|at| DateTime::from_timestamp_millis(*at).map(|d| d.date_naive()))
        .collect();
    let weeks = (0..BACK).rev().filter_map(|ago| {
        let until = today.checked_sub_days(Days::new(7 * ago))?;
        let from = until.checked_sub_days(Days::new(6))?;
        let within = |date: &NaiveDate| (from..=until).contains(date);
        let practised: Vec<_> = days.iter().filter(|d| within(&d.date)).collect();
        let answers: usize = practised.iter().map(|d| d.answers).sum();
        let mean = |of: fn(&PracticeDay) -> f64| {
            let sum: f64 = practised.iter().map(|d| of(d) * d.answers as f64).sum();
            sum / answers.max(1) as f64
        };
        let mut minutes = [0.0; 7];
        for day in &practised {
            minutes[(day.date - from).num_days() as usize] = day.minutes;
        }
        Some(PracticeWeek {
            until,
            days: practised.len(),
            minutes,
            answers,
            right: mean(|d| d.right),
            in_time: mean(|d| d.in_time),
            new_cards: met.iter().filter(|d| within(d)).count(),
        })
    });
    weeks
        .skip_while(|w| w.days == 0 && w.new_cards == 0)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::Diary;
    use crate::report::fixture::answer;

    const HOUR: i64 = 3600;

    /// The weeks seen `days` after 2026-06-01 00:00 UTC, on a clock two hours ahead.
    fn seen(answers: &[i64], met: &[i64], days: f64) -> Vec<PracticeWeek> {
        let start = 1_780_272_000;
        let mut diary = Diary::default();
        for (n, at) in answers.iter().enumerate() {
            let mut fact = answer(*at, 30.0);
            fact.utc_offset = 120;
            fact.correct = f64::from(u8::from(n % 2 == 0));
            diary.observe(&fact);
        }
        // By the player's clock already.
        let met: Vec<i64> = met.iter().map(|at| (start + at) * 1000).collect();
        let practice = Practice {
            met: &met,
            utc_offset: 120,
            ..Practice::default()
        };
        weeks(
            &diary.days(),
            &practice,
            Moment::new(start as f64 + days * 86_400.0),
        )
    }

    #[test]
    fn answers_and_new_cards_fall_into_the_week_of_the_players_clock() {
        // 2026-06-01 is a Monday. Seen on Sunday the 14th at 12 h UTC: the weeks end on the 7th and the 14th.
        let day = 24 * HOUR;
        // The first two on the 7th, the third at 22:30 UTC of the 7th: half past midnight of the 8th on the player's clock.
        let answers = [
            6 * day,
            6 * day + 20,
            6 * day + 22 * HOUR + HOUR / 2,
            13 * day,
        ];
        let met = [5 * day, 7 * day, 7 * day + HOUR];
        let found = seen(&answers, &met, 13.5);
        let day_of_june = |d| NaiveDate::from_ymd_opt(2026, 6, d);
        let ends: Vec<_> = found.iter().map(|w| Some(w.until)).collect();
        assert_eq!(ends, [day_of_june(7), day_of_june(14)]);
        let counts = found.iter().map(|w| (w.days, w.answers, w.new_cards));
        assert_eq!(counts.collect::<Vec<_>>(), [(1, 2, 1), (2, 2, 2)]);
        // 30 s and 20 s on the last day of the first week; 30 s each on the first and the last of the second.
        let minutes: Vec<[f64; 7]> = found.iter().map(|w| w.minutes).collect();
        let first = [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 50.0 / 60.0];
        let second = [0.5, 0.0, 0.0, 0.0, 0.0, 0.0, 0.5];
        assert_eq!(minutes, [first, second]);
        assert!(found.iter().all(|w| w.right == 0.5 && w.in_time == 1.0));
    }

    #[test]
    fn empty_weeks_stand_between_but_not_before_and_no_more_than_eight_are_told() {
        let day = 24 * HOUR;
        let found = seen(&[6 * day, 27 * day], &[], 27.5);
        let answers: Vec<usize> = found.iter().map(|w| w.answers).collect();
        assert_eq!(answers, [1, 0, 0, 1]);
        assert_eq!(seen(&[6 * day], &[], 400.0), []);
        assert_eq!(seen(&[], &[6 * day], 6.5).len(), 1);
        let every_week: Vec<i64> = (0..20).map(|w| w * 7 * day).collect();
        assert_eq!(seen(&every_week, &[], 140.5).len(), 8);
        assert!(seen(&[], &[], 10.0).is_empty());
    }
}
