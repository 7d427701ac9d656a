//! Questions that are answered by the player's own hands wait until their card is known by easier ones.

use super::candidate::Candidate;
use super::composition::hold;
use super::fold::Memory;
use crate::time::{Moment, Seconds};
use std::collections::{HashMap, HashSet};

/// Time after the first answer about a card from which on it may be asked so: a week (chosen).
const FIRST_WEEK: Seconds = Seconds::from_days(7.0);

/// The candidates that wait: the answer is produced, was never asked for, and the card has other questions, of which the
/// first answer is less than a week old or missing, and which are not held either.
pub(super) fn waiting(memory: &Memory, candidates: &[Candidate], now: Moment) -> HashSet<usize> {
    let mut easier: HashMap<&str, Vec<&str>> = HashMap::new();
    for c in candidates.iter().filter(|c| !c.produced) {
        easier.entry(&c.card).or_default().push(&c.item);
    }
    let ripe = |card: &str| {
        easier.get(card).is_none_or(|items| {
            let begun = items.iter().filter_map(|item| memory.first_seen(item));
            begun.fold(Moment::AT_NO_END, Moment::min) + FIRST_WEEK <= now
                || hold(memory, items.iter().copied()).held
        })
    };
    let all = candidates.iter().enumerate();
    let waits = all.filter(|(_, c)| c.produced && memory.reviews(&c.item) == 0 && !ripe(&c.card));
    waits.map(|(i, _)| i).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::memory::{Composition, Outcome, Settings, plan_composed};

    fn candidate(kind: &str, produced: bool) -> Candidate {
        Candidate {
            item: format!("yard/corner:{kind}:read"),
            card: "yard/corner".into(),
            kind: kind.into(),
            concepts: Vec::new(),
            produced,
            timing: Default::default(),
            order: 0,
            needs: Vec::new(),
        }
    }

    /// So many days after the epoch.
    fn on_day(days: f64) -> Moment {
        Moment::EPOCH + Seconds::from_days(days)
    }

    fn answered(memory: &mut Memory, kind: &str, at: Moment, correct: f64) {
        memory.observe(&Outcome {
            item: candidate(kind, false).item,
            concepts: Vec::new(),
            kind: kind.into(),
            at,
            correct,
            guess: 0.25,
            seconds: Seconds::new(3.0),
            limit: Seconds::new(4.0),
            replays: 0,
            slowed: false,
        });
    }

    #[test]
    fn what_is_produced_comes_after_the_first_week_of_its_card() {
        let mut memory = Memory::new();
        let all = [
            candidate("side", false),
            candidate("strokes", false),
            candidate("write", true),
        ];
        let waits = |memory: &Memory, now| !waiting(memory, &all, now).is_empty();
        assert!(waits(&memory, Moment::new(1e9)));
        answered(&mut memory, "side", Moment::EPOCH, 0.0);
        assert!(waits(&memory, on_day(6.9)));
        assert!(!waits(&memory, on_day(7.0)));
        // The plan goes by it, and what was asked once does not wait any more.
        let kinds = |memory: &Memory, now| -> Vec<String> {
            let planned = plan_composed(
                memory,
                &all,
                &Composition::default(),
                &[],
                &Settings::default(),
                now,
                0,
                1,
            );
            planned
                .iter()
                .map(|p| all[p.candidate].kind.clone())
                .collect()
        };
        assert!(!kinds(&memory, on_day(1.0)).contains(&"write".to_string()));
        assert!(kinds(&memory, on_day(7.0)).contains(&"write".to_string()));
        answered(&mut memory, "write", on_day(1.0), 0.5);
        assert!(!waits(&memory, on_day(1.0)));
    }

    #[test]
    fn what_is_held_sooner_or_asked_in_no_other_way_does_not_wait() {
        let mut memory = Memory::new();
        let all = ["side", "strokes"].map(|kind| candidate(kind, false));
        let all = [&all[..], &[candidate("write", true)]].concat();
        for night in 0..4 {
            for kind in ["side", "strokes"] {
                answered(&mut memory, kind, on_day(f64::from(night)), 1.0);
            }
        }
        assert!(hold(&memory, all[..2].iter().map(|c| c.item.as_str())).held);
        assert!(waiting(&memory, &all, on_day(3.5)).is_empty());
        assert!(waiting(&Memory::new(), &all[2..], Moment::EPOCH).is_empty());
    }
}
