//! Reports for tests.

use super::{
    Confusion, Diary, Focus, HeldTempo, Input, Kept, KeptThen, Practice, PracticeWeek, Report,
    Spot, Standing, Strength, TempoLimit, Trend, Weakness, report,
};
use crate::memory::{Candidate, Memory};
use crate::rhythm::Tempo;
use crate::store::{Fact, ItemKey, Reply, Sense, Words};
use crate::time::{Moment, Seconds};

/// The report of a player who has answered nothing, at `now` (seconds since 1970 UTC).
pub(crate) fn empty(now: Moment) -> Report {
    let (words, memory) = (Words::default(), Memory::new());
    let input = Input {
        words: &words,
        recent: &[],
        memory: &memory,
        items: &[],
        now,
        practice: Practice::default(),
    };
    report(&input, &Diary::default())
}

/// A report with something in every section.
pub(crate) fn full(now: Moment) -> Report {
    let known = Strength {
        mean: 0.999,
        low: 0.998,
        high: 1.0,
        worth: 9.0,
    };
    let standing = |name: &str| Standing {
        name: name.into(),
        known,
        by_eye: Some(known),
        by_ear: None,
        now: Some(0.8),
        in_a_week: Some(0.7),
        answers: 3,
        cards: 1,
        trend: Some(Trend {
            change: -0.1,
            rose: 0.01,
        }),
        in_time: 1.0,
        priority: 0.2,
    };
    let mut facts = [answer(0, 6.0), answer(20, 4.0)];
    facts[0].forecast = Some(0.4);
    let mut diary = Diary::default();
    facts.iter().for_each(|f| diary.observe(f));
    let date = chrono::NaiveDate::from_ymd_opt(2026, 11, 25).expect("a date");
    Report {
        reviews: 250,
        sounded: 0,
        spots: vec![Spot {
            what: Weakness::Concept {
                concept: "rumba clave".into(),
            },
            sense: Some(Sense::Hear),
            here: known,
            elsewhere: known,
            answers: 1,
            wrong: 1,
            named: None,
            doubt: 0.002,
            touches: 0.2,
            drill: Focus {
                concepts: vec!["rumba clave".into()],
                ..Focus::default()
            },
        }],
        concepts: vec![standing(
            "a name that is a good deal longer than its column",
        )],
        kinds: vec![standing("strokes")],
        confusions: vec![Confusion {
            truth: "slap".into(),
            given: "open tone".into(),
            sense: Sense::Hear,
            count: 12,
            asked: 40,
            wrong: 18,
            by_chance: 6.0,
            doubt: 0.0004,
            pattern: true,
            situations: vec!["tumbao".into()],
        }],
        tempos: vec![TempoLimit {
            concept: "tumbao".into(),
            answers: 20,
            asked: (Tempo::new(90.0), Tempo::new(240.0)),
            limit: Tempo::new(181.6),
            low: Tempo::new(160.2),
            high: Tempo::new(204.4),
            open_ended: false,
            next: Tempo::new(150.0),
            measured: vec![(Tempo::new(90.0), 0.9, 10), (Tempo::new(240.0), 0.0, 10)],
        }],
        held: vec![HeldTempo {
            card: "variations/corner-open".into(),
            title: "Corner, open".into(),
            held: Tempo::new(168.0),
            tops: Tempo::new(190.0),
        }],
        kept: Kept {
            asked: 180,
            items: 240,
            now: 120.4,
            minutes: 5.0,
            ahead: vec![KeptThen {
                days: 7,
                without_practice: 96.2,
                with_practice: Some(127.0),
                new_cards: 7,
            }],
        },
        weeks: vec![PracticeWeek {
            until: date,
            days: 3,
            minutes: [0.0, 6.0, 0.0, 3.0, 0.0, 0.0, 0.1],
            answers: 40,
            right: 0.8,
            in_time: 0.6,
            new_cards: 1,
        }],
        days: diary.days(),
        forecasts: diary.forecasts.fit(),
        ..empty(now)
    }
}

/// A right answer this many seconds after 2026-06-01 00:00 UTC that took this many seconds.
pub(crate) fn answer(at: i64, seconds: f64) -> Fact {
    Fact {
        id: 1,
        at: (1_780_272_000 + at) * 1000,
        tempo: Tempo::new(120.0),
        correct: 1.0,
        guess: 0.5,
        seconds: Seconds::new(seconds),
        limit: Seconds::new(4.0),
        in_time: true,
        ..Fact::default()
    }
}

/// A reply of a question with these choices, keyed from `a` on: which was given, and which was right.
pub(crate) fn reply(choices: &[&str], given: usize, right: usize) -> Reply {
    let key = |n: usize| char::from(b'a' + n as u8);
    let labels = choices.iter().enumerate();
    Reply {
        answer: key(given).to_string(),
        keys: vec![key(right).to_string()],
        choices: labels
            .map(|(n, label)| (key(n), label.to_string()))
            .collect(),
    }
}

/// The question of a kind about the `n`th card, by eye.
pub(crate) fn item(n: usize, kind: &str) -> ItemKey {
    ItemKey {
        card: format!("festival/{n}"),
        kind: kind.into(),
        sense: Sense::Read,
    }
}

/// The question about the side of the `n`th card, as it is on a deck.
pub(crate) fn candidate(n: usize, concepts: &[String]) -> Candidate {
    let ItemKey { card, kind, .. } = item(n, "side");
    Candidate {
        item: item(n, "side").to_string(),
        card,
        kind,
        concepts: concepts.to_vec(),
        produced: false,
        timing: Default::default(),
        order: n,
        needs: Vec::new(),
    }
}
