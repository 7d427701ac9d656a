//! Laws of the memory model.

use whichside::memory::{Memory, Outcome};

const DAY: f64 = 86_400.0;

fn outcome(item: &str, at: f64, correct: f64, guess: f64) -> Outcome {
    Outcome {
        item: item.into(),
        concepts: vec![],
        kind: "write".into(),
        at,
        correct,
        guess,
        seconds: 0.0,
        limit: 0.0,
        replays: 0,
        slowed: false,
    }
}

#[test]
fn forgetting_falls_with_time() {
    let mut memory = Memory::new();
    for (i, y) in [1.0, 0.0, 1.0, 1.0, 1.0, 0.0, 1.0].into_iter().enumerate() {
        let start = i as f64 * 1.7 * DAY;
        memory.observe(&outcome("a", start, y, 0.5));
        let mut before = 1.0;
        for step in 0..80 {
            let later = start + 2f64.powf(f64::from(step) / 3.0);
            let chance = memory.chance("a", later).unwrap();
            assert!(
                chance <= before + 1e-9,
                "answer {i}, step {step}: {chance} after {before}"
            );
            before = chance;
        }
    }
}

/// A right answer never makes tomorrow look worse than a wrong one, nor worse than no question at all.
#[test]
fn a_success_never_lowers_tomorrow() {
    let answers = [1.0, 1.0, 0.0, 1.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0];
    for guess in [0.0, 0.5] {
        for gap in [0.01, 0.5, 1.0, 4.0, 20.0] {
            let mut memory = Memory::new();
            let mut at = 0.0;
            for y in answers {
                let now = at + gap * DAY;
                if at > 0.0 {
                    let tomorrow = now + DAY;
                    let (mut right, mut wrong) = (memory.clone(), memory.clone());
                    right.observe(&outcome("a", now, 1.0, guess));
                    wrong.observe(&outcome("a", now, 0.0, guess));
                    let (right, wrong) = (
                        right.chance("a", tomorrow).unwrap(),
                        wrong.chance("a", tomorrow).unwrap(),
                    );
                    let unasked = memory.chance("a", tomorrow).unwrap();
                    assert!(
                        right >= wrong,
                        "gap {gap}: {right} after right, {wrong} after wrong"
                    );
                    assert!(
                        right >= unasked - 1e-9,
                        "gap {gap}: {right} after right, {unasked} unasked"
                    );
                }
                memory.observe(&outcome("a", now, y, guess));
                at = now;
            }
        }
    }
}

#[test]
fn a_right_guess_moves_less_than_a_right_answer_that_cannot_be_guessed() {
    let later = |guess: f64, correct: f64| {
        let mut memory = Memory::new();
        memory.observe(&outcome("a", 0.0, 0.0, 0.0));
        memory.observe(&outcome("a", 2.0 * DAY, correct, guess));
        memory.chance("a", 4.0 * DAY).unwrap()
    };
    assert!(later(0.0, 1.0) > later(0.5, 1.0) && later(0.5, 1.0) > later(0.0, 0.0));
    // Partly right lies between.
    assert!(later(0.0, 1.0) > later(0.0, 0.875) && later(0.0, 0.875) > later(0.0, 0.0));
}

/// A second answer minutes later says little about lasting memory.
#[test]
fn a_repeat_in_the_session_is_weak_evidence() {
    let next_week = |repeat: Option<f64>| {
        let mut memory = Memory::new();
        memory.observe(&outcome("a", 0.0, 0.0, 0.0));
        memory.observe(&outcome("a", DAY, 1.0, 0.0));
        if let Some(gap) = repeat {
            memory.observe(&outcome("a", DAY + gap, 1.0, 0.0));
        }
        memory.chance("a", 9.0 * DAY).unwrap()
    };
    let (none, minutes, days) = (
        next_week(None),
        next_week(Some(300.0)),
        next_week(Some(3.0 * DAY)),
    );
    println!("none {none:.3}, after five minutes {minutes:.3}, after three days {days:.3}");
    assert!(days - none > 2.0 * (minutes - none).abs());
}

/// Slow, replayed and slowed-down right answers show less than quick ones.
#[test]
fn hesitation_counts_against_recall() {
    let later = |seconds: f64, replays: u32, slowed: bool| {
        let mut memory = Memory::new();
        for i in 0..20 {
            let mut o = outcome(&format!("other {i}"), f64::from(i), 1.0, 0.5);
            o.seconds = 3.0;
            memory.observe(&o);
        }
        memory.observe(&outcome("a", 100.0, 0.0, 0.5));
        let mut o = outcome("a", 2.0 * DAY, 1.0, 0.5);
        (o.seconds, o.replays, o.slowed) = (seconds, replays, slowed);
        memory.observe(&o);
        memory.chance("a", 4.0 * DAY).unwrap()
    };
    let plain = later(2.5, 0, false);
    assert!(
        plain > later(6.0, 0, false) && plain > later(2.5, 2, false) && plain > later(2.5, 0, true)
    );
}

/// A new item is expected to be like its kin.
#[test]
fn new_items_start_from_what_their_concepts_showed() {
    let mut memory = Memory::new();
    for round in 0..6 {
        for i in 0..8 {
            let (concept, y) = if i % 2 == 0 {
                ("hard", 0.0)
            } else {
                ("easy", 1.0)
            };
            let mut o = outcome(
                &format!("{i}"),
                f64::from(round) * 2.0 * DAY + f64::from(i),
                y,
                0.0,
            );
            o.concepts = vec![concept.into()];
            memory.observe(&o);
        }
    }
    let new = |concepts: &[&str]| memory.expected_new(concepts, "write");
    println!(
        "easy {:.3}, unknown {:.3}, hard {:.3}",
        new(&["easy"]),
        new(&["unknown"]),
        new(&["hard"])
    );
    assert!(new(&["easy"]) > new(&["unknown"]) && new(&["unknown"]) > new(&["hard"]));
}
