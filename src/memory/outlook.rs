//! The coming days, if the player practises every day and answers as forecast.

use super::{Candidate, Composition, Memory, Outcome, PlanReason, Settings, plan_composed};
use crate::time::{Moment, Seconds};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use std::collections::HashSet;

/// Time that must be left of a day to go on planning.
const LEAST: Seconds = Seconds::new(15.0);
/// Time after which the next question of the same session counts as asked; only the order matters.
const APART: Seconds = Seconds::new(1.0);

/// One day of the outlook.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Day {
    /// When the session of the day begins.
    pub at: Moment,
    /// Questions about items that were asked before.
    pub again: usize,
    /// Questions about items that were not.
    pub new: usize,
    /// Cards met for the first time.
    pub new_cards: usize,
    /// How long all of it is likely to take.
    pub seconds: Seconds,
    /// Mean chance of recall over its questions, 0 to 1; 0 for a day without any.
    pub chance: f64,
    /// Items that would be recalled a day later, before the next session: the sum of their chances.
    pub kept: f64,
}

/// Plays `days` days ahead from a session at `now`: every day the minutes are planned and filled, and
/// each answer is drawn with its own chance of recall. It is one possible course of things, the same for the same
/// arguments; `new_today` as in [`plan_composed`]. What is in the lesson stays in it.
#[allow(clippy::too_many_arguments)] // as a plan, and the days
pub fn outlook(
    memory: &Memory,
    candidates: &[Candidate],
    composition: &Composition,
    settings: &Settings,
    now: Moment,
    new_today: usize,
    days: usize,
    seed: u64,
) -> Vec<Day> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let (mut memory, mut composition) = (memory.clone(), composition.clone());
    let mut outlook = Vec::new();
    for nth in 0..days {
        let at = now + nth as f64 * Seconds::DAY;
        let met_before = if nth == 0 { new_today } else { 0 };
        if nth > 0 {
            composition.next_day();
        }
        let mut day = Day {
            at,
            ..Day::default()
        };
        let mut met: HashSet<&str> = candidates
            .iter()
            .filter(|c| match &composition.met {
                Some(met) => met.contains(&c.card),
                None => memory.reviews(&c.item) > 0,
            })
            .map(|c| c.card.as_str())
            .collect();
        let mut asked = Vec::new();
        let mut chances = 0.0;
        loop {
            let settings = Settings {
                minutes: settings.minutes - day.seconds.minutes(),
                ..*settings
            };
            if settings.length() < LEAST {
                break;
            }
            let now = at + day.seconds;
            let new_today = met_before + day.new_cards;
            let seed = rng.random();
            let planned = plan_composed(
                &memory,
                candidates,
                &composition,
                &asked,
                &settings,
                now,
                new_today,
                seed,
            );
            if planned.is_empty() {
                break;
            }
            for (nth, step) in planned.iter().enumerate() {
                let candidate = &candidates[step.candidate];
                asked.push(step.candidate);
                let now = now + nth as f64 * APART;
                let known = memory.chance(&candidate.item, now);
                let new = || memory.expected_new(&candidate.concepts, &candidate.kind, now);
                let chance = known.unwrap_or_else(new).clamp(0.0, 1.0);
                chances += chance;
                memory.observe(&answer(candidate, now, rng.random_bool(chance)));
                match step.why {
                    PlanReason::New => day.new += 1,
                    PlanReason::Fading | PlanReason::Rotation => day.again += 1,
                }
                day.new_cards += usize::from(met.insert(&candidate.card));
                composition.meet(candidates, step.candidate);
                day.seconds += step.seconds;
            }
        }
        let chances_after = candidates
            .iter()
            .filter_map(|c| memory.chance(&c.item, at + Seconds::DAY));
        day.kept = chances_after.sum();
        if !asked.is_empty() {
            day.chance = chances / asked.len() as f64;
        }
        outlook.push(day);
    }
    outlook
}

/// An answer whose time was not measured and that could not be guessed.
fn answer(candidate: &Candidate, at: Moment, right: bool) -> Outcome {
    Outcome {
        item: candidate.item.clone(),
        concepts: candidate.concepts.clone(),
        kind: candidate.kind.clone(),
        at,
        correct: f64::from(u8::from(right)),
        ..Outcome::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn candidates(n: usize) -> Vec<Candidate> {
        let candidate = |i: usize| Candidate {
            item: format!("deck/{i}:side:read"),
            card: format!("deck/{i}"),
            kind: "side".into(),
            concepts: vec!["two side".into()],
            produced: false,
            timing: Default::default(),
            order: i,
            needs: Vec::new(),
        };
        (0..n).map(candidate).collect()
    }

    fn days(minutes: f64, cards: usize, seed: u64) -> Vec<Day> {
        let settings = Settings {
            minutes,
            new_cards_a_day: 5,
            ..Settings::default()
        };
        outlook(
            &Memory::new(),
            &candidates(cards),
            &Composition::default(),
            &settings,
            Moment::new(1e9),
            0,
            9,
            seed,
        )
    }

    #[test]
    fn no_day_is_longer_than_its_minutes_or_brings_too_much_that_is_new() {
        for minutes in [0.5, 5.0] {
            for day in days(minutes, 60, 1) {
                assert!(
                    day.seconds <= Seconds::new(minutes * 60.0 + 1e-6),
                    "{day:?}"
                );
                assert!(day.new_cards <= 10, "{day:?}");
                assert!((0.0..=1.0).contains(&day.chance), "{day:?}");
            }
        }
    }

    #[test]
    fn every_card_is_met_once_and_a_day_apart_lies_between_sessions() {
        let days = days(20.0, 30, 2);
        assert_eq!(days.iter().map(|d| d.new_cards).sum::<usize>(), 30);
        assert!(days.windows(2).all(|w| w[1].at - w[0].at == Seconds::DAY));
    }

    #[test]
    fn the_same_arguments_give_the_same_days() {
        assert_eq!(days(5.0, 20, 3), days(5.0, 20, 3));
    }

    #[test]
    fn nothing_to_ask_gives_empty_days() {
        let days = days(5.0, 0, 4);
        assert!(days.iter().all(|d| d.again + d.new == 0 && d.chance == 0.0));
    }
}
