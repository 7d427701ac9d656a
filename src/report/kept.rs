//! What is kept of the decks now, and what will be in the coming weeks.

use super::Input;
use crate::time::{Moment, Seconds};
use serde::Serialize;

/// Days after today for which the report says what would be kept.
const AHEAD: [usize; 5] = [1, 7, 14, 21, 28];

/// Days that [`Practice::ahead`](super::Practice::ahead) should hold.
pub const DAYS_AHEAD: usize = 28;

/// What memory holds now, and what it will hold with practice and without.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Kept {
    /// Items asked at least once, of those on the decks.
    pub asked: usize,
    /// Items on the decks.
    pub items: usize,
    /// Items that would be recalled if all were asked now: the sum of their chances as memory forecasts them.
    pub now: f64,
    /// Minutes a day that `ahead` supposes.
    pub minutes: f64,
    /// The coming weeks in order.
    pub ahead: Vec<KeptThen>,
}

/// What is kept on a day to come.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct KeptThen {
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

/// What is kept now and later, by memory's forecasts.
pub(super) fn kept(input: &Input<'_>) -> Kept {
    let (practice, now) = (&input.practice, input.now);
    let at = |at: Moment| {
        input
            .items
            .iter()
            .filter_map(move |i| input.memory.chance(&i.item, at))
    };
    let asked = at(now).count();
    let ahead = AHEAD.map(|days| KeptThen {
        days,
        without_practice: at(now + days as f64 * Seconds::DAY).sum(),
        with_practice: practice.ahead.get(days - 1).map(|day| day.kept),
        new_cards: practice.ahead.iter().take(days).map(|d| d.new_cards).sum(),
    });
    Kept {
        asked,
        items: input.items.len(),
        now: at(now).sum(),
        minutes: practice.minutes,
        ahead: ahead.into_iter().filter(|_| asked > 0).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::memory::{Day, Memory};
    use crate::report::Practice;
    use crate::report::fixture::{answer, candidate, item, reply};
    use crate::store::Words;

    /// What is kept by a player who was right about all of six items of eight, `after` seconds after the last answer.
    fn kept_after(after: f64) -> Kept {
        let words = Words {
            items: (0..6).map(|n| item(n, "side")).collect(),
            concepts: vec![vec!["tumbao".into()]],
            replies: vec![reply(&["two side", "three side"], 0, 0)],
        };
        let mut memory = Memory::new();
        let mut last = 0;
        for n in 0..60 {
            let mut fact = answer(n * 3600, 2.0);
            fact.item = n as usize % 6;
            memory.observe(&fact.outcome(&words));
            last = fact.at;
        }
        let items: Vec<_> = (0..8).map(|n| candidate(n, &words.concepts[0])).collect();
        let days: Vec<Day> = (0..DAYS_AHEAD)
            .map(|n| Day {
                kept: n as f64 / 10.0,
                new_cards: 1,
                ..Day::default()
            })
            .collect();
        kept(&Input {
            words: &words,
            recent: &[],
            memory: &memory,
            items: &items,
            now: Moment::new(last as f64 / 1000.0 + after),
            practice: Practice {
                ahead: &days,
                ..Practice::default()
            },
        })
    }

    #[test]
    fn without_practice_what_is_kept_only_falls() {
        // The first is a clock set before the log: everything was answered just now.
        for after in [
            -30.0 * Seconds::DAY,
            Seconds::new(1.0),
            Seconds::new(60.0),
            Seconds::new(3600.0),
            Seconds::DAY,
            30.0 * Seconds::DAY,
        ] {
            let kept = kept_after(after.seconds());
            assert_eq!((kept.asked, kept.items), (6, 8));
            let mut before = kept.now;
            assert!(before <= 6.0);
            for then in &kept.ahead {
                let left = then.without_practice;
                assert!(left <= before + 1e-9, "after {after} s: {kept:?}");
                before = left;
            }
        }
    }

    #[test]
    fn practice_is_read_from_its_day() {
        let found = kept_after(60.0).ahead;
        let found = found.iter().map(|a| (a.days, a.with_practice, a.new_cards));
        let by_hand = [(1, 0.0), (7, 0.6), (14, 1.3), (21, 2.0), (28, 2.7)];
        let by_hand = by_hand.map(|(days, kept)| (days, Some(kept), days));
        assert_eq!(found.collect::<Vec<_>>(), by_hand);
    }
}
