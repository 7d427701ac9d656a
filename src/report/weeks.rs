//! Week by week: what was practised and met, what is kept, what is to come.

use super::misfit::{Misfit, chance, log_odds};
use super::{Diary, Input};
use crate::memory::Day;
use chrono::{DateTime, Days, NaiveDate};
use serde::Serialize;

const DAY: f64 = 86_400.0;
/// Weeks that are looked back on.
const BACK: u64 = 8;
/// Days after today for which it is said what would be kept.
const AHEAD: [usize; 5] = [1, 7, 14, 21, 28];

/// Days that [`Practice::ahead`] should hold.
pub const DAYS_AHEAD: usize = 28;

/// What is known of a player's practice beside the answers.
#[derive(Clone, Copy, Debug, Default)]
pub struct Practice<'a> {
    /// Minutes that the player means to practise a day.
    pub minutes: f64,
    /// When each card was first met, milliseconds since 1970 by the player's clock.
    pub met: &'a [i64],
    /// The coming days at these minutes; [`DAYS_AHEAD`] of them for the whole table.
    pub ahead: &'a [Day],
    /// Minutes east of UTC on the player's clock now.
    pub utc_offset: i32,
}

/// Seven days that are over, or the last seven with today.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Week {
    /// Its last day.
    pub until: NaiveDate,
    /// Days with an answer.
    pub days: usize,
    /// Minutes of drilling, as in [`super::Day::minutes`].
    pub minutes: f64,
    /// Questions answered.
    pub answers: u32,
    /// Share of the answers that was right.
    pub right: f64,
    /// Cards met for the first time.
    pub new_cards: usize,
}

/// What memory holds now, and what it will hold with practice and without.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Kept {
    /// Items asked at least once, of those on the decks.
    pub asked: usize,
    /// Items on the decks.
    pub items: usize,
    /// Items that would be recalled if all were asked now: the sum of their chances, with what memory's forecasts get
    /// wrong for this player taken off.
    pub now: f64,
    /// So many at least, and at most: both together nine times in ten.
    pub between: (f64, f64),
    /// Minutes a day that `ahead` supposes.
    pub minutes: f64,
    /// The coming weeks in order.
    pub ahead: Vec<Ahead>,
}

/// A day to come.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Ahead {
    /// Days from now.
    pub days: usize,
    /// Items that would be recalled if nothing were practised until then.
    pub without_practice: f64,
    /// The same if the minutes are practised every day and answers come as forecast; one possible course. Absent
    /// where it was not worked out.
    pub with_practice: Option<f64>,
    /// Cards met for the first time until then, if so.
    pub new_cards: usize,
}

/// The last weeks, oldest first, from the first one with an answer or a meeting.
pub(super) fn weeks(diary: &Diary, practice: &Practice<'_>, now: f64) -> Vec<Week> {
    let date = |seconds: f64| {
        let local = seconds + f64::from(practice.utc_offset) * 60.0;
        DateTime::from_timestamp(local as i64, 0).map(|d| d.date_naive())
    };
    let Some(today) = date(now) else {
        return Vec::new();
    };
    let days = diary.days();
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
        let answers: u32 = practised.iter().map(|d| d.answers).sum();
        let right: f64 = practised
            .iter()
            .map(|d| d.right * f64::from(d.answers))
            .sum();
        Some(Week {
            until,
            days: practised.len(),
            minutes: practised.iter().map(|d| d.minutes).sum(),
            answers,
            right: right / f64::from(answers.max(1)),
            new_cards: met.iter().filter(|d| within(d)).count(),
        })
    });
    weeks
        .skip_while(|w| w.days == 0 && w.new_cards == 0)
        .collect()
}

/// What is kept now and later. What memory's forecasts get wrong now they are taken to get wrong later, too.
pub(super) fn kept(input: &Input<'_>, misfit: &Misfit) -> Kept {
    let (practice, now) = (&input.practice, input.now);
    let shifts: Vec<Option<f64>> = (0..input.items.len()).map(|i| misfit.shift(i)).collect();
    let asked = (0..shifts.len()).filter(|i| shifts[*i].is_some()).collect();
    let Some(share) = misfit.now(&asked) else {
        return Kept {
            items: input.items.len(),
            minutes: practice.minutes,
            ..Kept::default()
        };
    };
    // By what memory forecasts, with each item's shift or without.
    let sum = |at: f64, shifted: bool| -> f64 {
        let chances = input.items.iter().zip(&shifts).filter_map(|(item, shift)| {
            let odds = log_odds(input.memory.chance(&item.item, at)?);
            Some(chance(odds + if shifted { (*shift)? } else { 0.0 }))
        });
        chances.sum()
    };
    let all = asked.len() as f64;
    // The shift of the mean, for days of which only the sum is known.
    let shift = log_odds(share.mean) - log_odds(sum(now, false) / all);
    let with_practice = |days: usize| {
        let day = practice.ahead.get(days - 1)?;
        let new: usize = practice.ahead[..days].iter().map(|d| d.new).sum();
        let asked = all + new as f64;
        Some(asked * chance(log_odds(day.kept / asked) + shift))
    };
    let ahead = AHEAD.map(|days| Ahead {
        days,
        without_practice: sum(now + days as f64 * DAY, true),
        with_practice: with_practice(days),
        new_cards: practice.ahead.iter().take(days).map(|d| d.new_cards).sum(),
    });
    Kept {
        asked: asked.len(),
        items: input.items.len(),
        now: all * share.mean,
        between: (all * share.low, all * share.high),
        minutes: practice.minutes,
        ahead: ahead.to_vec(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::memory::{Candidate, Memory};
    use crate::report::fixture::{answer, candidate, item, reply};
    use crate::store::Words;

    const HOUR: i64 = 3600;

    /// The weeks seen `days` after 2026-06-01 00:00 UTC, on a clock two hours ahead.
    fn seen(answers: &[i64], met: &[i64], days: f64) -> Vec<Week> {
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
        weeks(&diary, &practice, start as f64 + days * DAY)
    }

    #[test]
    fn answers_and_meetings_fall_into_the_week_of_the_players_clock() {
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
        let minutes: Vec<f64> = found.iter().map(|w| w.minutes).collect();
        assert_eq!(minutes, [50.0 / 60.0, 1.0]);
        assert!(found.iter().all(|w| w.right == 0.5));
    }

    #[test]
    fn empty_weeks_stand_between_but_not_before_and_no_more_than_eight_are_told() {
        let day = 24 * HOUR;
        let found = seen(&[6 * day, 27 * day], &[], 27.5);
        let answers: Vec<u32> = found.iter().map(|w| w.answers).collect();
        assert_eq!(answers, [1, 0, 0, 1]);
        assert_eq!(seen(&[6 * day], &[], 400.0), []);
        assert_eq!(seen(&[], &[6 * day], 6.5).len(), 1);
        assert_eq!(
            seen(
                &(0..20).map(|w| w * 7 * day).collect::<Vec<_>>(),
                &[],
                140.5
            )
            .len(),
            8
        );
        assert!(seen(&[], &[], 10.0).is_empty());
    }

    /// What is kept by a player who was right about all of some items, `after` seconds after the last answer, if
    /// practice were to keep `ahead` items of `new` more than those asked.
    fn kept_after(after: f64, ahead: f64, new: usize) -> Kept {
        let words = Words {
            items: (0..6).map(|n| item(n, "side")).collect(),
            concepts: vec![vec!["tumbao".into()]],
            replies: vec![reply(&["two side", "three side"], 0, 0)],
        };
        let mut memory = Memory::new();
        let mut facts = Vec::new();
        for n in 0..60 {
            let mut fact = answer(n * 3600, 2.0);
            fact.item = n as usize % 6;
            fact.forecast = Some(memory.observe(&fact.outcome(&words)).recall);
            facts.push(fact);
        }
        let all = 0..6 + new;
        let items: Vec<Candidate> = all.map(|n| candidate(n, &words.concepts[0])).collect();
        let days: Vec<Day> = (0..DAYS_AHEAD)
            .map(|n| Day {
                new: if n == 0 { new } else { 0 },
                kept: ahead,
                ..Day::default()
            })
            .collect();
        let input = Input {
            words: &words,
            recent: &facts,
            memory: &memory,
            items: &items,
            now: facts[59].at as f64 / 1000.0 + after,
            practice: Practice {
                ahead: &days,
                ..Practice::default()
            },
        };
        let seen = items
            .iter()
            .map(|c| (memory.sight(&c.item, input.now), vec!["tumbao"]));
        kept(&input, &Misfit::new(&input, &seen.collect::<Vec<_>>()))
    }

    #[test]
    fn without_practice_what_is_kept_only_falls() {
        // The first is a clock set before the log: everything was answered just now.
        for after in [
            -30.0 * 86_400.0,
            1.0,
            60.0,
            3600.0,
            86_400.0,
            30.0 * 86_400.0,
        ] {
            let kept = kept_after(after, 5.0, 0);
            let mut before = kept.now;
            for ahead in &kept.ahead {
                assert!(
                    ahead.without_practice <= before + 1e-9,
                    "after {after} s: {kept:?}"
                );
                before = ahead.without_practice;
            }
            assert!(
                kept.between.0 < kept.now && kept.now < kept.between.1,
                "{kept:?}"
            );
        }
    }

    #[test]
    fn no_more_is_kept_than_was_asked_by_then() {
        for (ahead, new) in [(5.9, 0), (9.9, 4), (0.1, 0)] {
            for after in [1.0, 86_400.0, 30.0 * 86_400.0] {
                let kept = kept_after(after, ahead, new);
                assert_eq!(kept.asked, 6);
                for day in &kept.ahead {
                    let with = day.with_practice.expect("the days were given");
                    assert!((0.0..=(6 + new) as f64).contains(&with), "{kept:?}");
                }
            }
        }
    }
}
