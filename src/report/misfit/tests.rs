use super::*;
use crate::memory::Memory;
use crate::report::Practice;
use crate::report::fixture::{answer, candidate, item, reply};
use crate::store::{Fact, Words};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Items of each of two ideas.
const EACH: usize = 8;
/// What memory forecasts of every item, now and in every answer.
const FORECAST: f64 = 0.75;

/// `days` days on each of which every item is asked once; an answer to one of the two ideas is right with this chance.
fn log(days: usize, right: [f64; 2]) -> (Words, Vec<Fact>) {
    let words = Words {
        concepts: ["two side", "slap"].map(|c| vec![c.to_string()]).to_vec(),
        items: (0..2 * EACH).map(|n| item(n, "side")).collect(),
        replies: vec![reply(&["this"], 0, 0)],
    };
    let mut facts: Vec<Fact> = Vec::new();
    let mut rng = ChaCha8Rng::seed_from_u64(7);
    for day in 0..days {
        for item in 0..2 * EACH {
            let idea = item / EACH;
            let hit = rng.random::<f64>() < right[idea];
            facts.push(Fact {
                item,
                concepts: idea,
                correct: f64::from(u8::from(hit)),
                guess: 0.0,
                forecast: Some(FORECAST),
                ..answer(day as i64 * 86_400 + item as i64, 2.0)
            });
        }
    }
    (words, facts)
}

/// What would be recalled of each idea a day after the last answer.
fn now(words: &Words, recent: &[Fact]) -> [Strength; 2] {
    let items: Vec<Candidate> = (0..2 * EACH)
        .map(|n| candidate(n, &words.concepts[n / EACH]))
        .collect();
    let sight = Sight {
        chance: FORECAST,
        variance: 0.02,
        slope: FORECAST * (1.0 - FORECAST) - 0.02,
        days: 1.0,
        last: FORECAST,
    };
    let seen: Vec<_> = items
        .iter()
        .map(|c| (Some(sight), c.concepts.iter().map(String::as_str).collect()))
        .collect();
    let input = Input {
        words,
        recent,
        memory: &Memory::new(),
        items: &items,
        now: 0.0,
        practice: Practice::default(),
    };
    let misfit = Misfit::new(&input, &seen);
    assert_eq!(misfit.now(&BTreeSet::new()), None);
    [0, 1].map(|idea| {
        misfit
            .now(&(idea * EACH..(idea + 1) * EACH).collect())
            .unwrap()
    })
}

#[test]
fn forecasts_that_hold_are_left_and_those_that_do_not_are_mended() {
    let (words, facts) = log(20, [FORECAST, 0.4]);
    let [held, failed] = now(&words, &facts);
    assert!((held.mean - FORECAST).abs() < 0.05, "{held:?}");
    assert!(failed.low < 0.4 && 0.4 < failed.high, "{failed:?}");
    assert!(
        (failed.mean - 0.4).abs() < 0.08 && failed.high < FORECAST,
        "{failed:?}"
    );
}

#[test]
fn without_answers_the_forecast_stands_and_little_is_sure() {
    let (words, _) = log(0, [1.0, 1.0]);
    let [few, _] = now(&words, &[]);
    let (words, facts) = log(20, [FORECAST; 2]);
    let [many, _] = now(&words, &facts);
    assert!((few.mean - FORECAST).abs() < 0.08, "{few:?}");
    assert!(
        few.high - few.low > 2.0 * (many.high - many.low),
        "{few:?} {many:?}"
    );
}

#[test]
fn who_is_forecast_badly_is_told_wider_intervals() {
    let (words, facts) = log(20, [FORECAST; 2]);
    let [well, _] = now(&words, &facts);
    let (words, facts) = log(20, [0.75, 0.1]);
    let [badly, _] = now(&words, &facts);
    assert!(
        badly.high - badly.low > 1.15 * (well.high - well.low),
        "{well:?} {badly:?}"
    );
}

#[test]
fn answers_without_a_forecast_or_that_anybody_guesses_say_nothing() {
    let (words, facts) = log(20, [0.1, 0.1]);
    let [nothing, _] = now(&words, &[]);
    let blind: Vec<Fact> = facts
        .iter()
        .map(|f| Fact {
            forecast: None,
            ..*f
        })
        .collect();
    let free: Vec<Fact> = facts.iter().map(|f| Fact { guess: 1.0, ..*f }).collect();
    assert_eq!(now(&words, &blind)[0], nothing);
    assert_eq!(now(&words, &free)[0], nothing);
}

proptest::proptest! {
    #![proptest_config(proptest::test_runner::Config::with_cases(64))]

    #[test]
    fn any_log_gives_shares(
        answers in proptest::collection::vec(
            (0..2 * EACH, 0i64..40 * 86_400, 0.0..=1.0, 0.0..=1.0, 0.0..=1.0), 0..60)
    ) {
        let (words, _) = log(0, [1.0, 1.0]);
        let mut answers: Vec<(usize, i64, f64, f64, f64)> = answers;
        answers.sort_by_key(|a| a.1);
        let facts = answers.iter().map(|(item, at, correct, guess, forecast)| Fact {
            item: *item,
            concepts: item / EACH,
            correct: *correct,
            guess: *guess,
            forecast: Some(*forecast),
            ..answer(*at, 2.0)
        });
        for now in now(&words, &facts.collect::<Vec<_>>()) {
            proptest::prop_assert!(0.0 <= now.low && now.low < now.high && now.high <= 1.0, "{now:?}");
            proptest::prop_assert!(now.mean > 0.0 && now.mean < 1.0, "{now:?}");
        }
    }
}
