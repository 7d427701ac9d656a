//! A row of hands that is judged right can be played; one that is refused is refused for a true reason. Both are held
//! against the slow reckoning and against the row itself.

use super::price::{need, priced};
use super::{PRACTISED, any_stroke, stickings};
use crate::hands::{GRACE, Handed, IN_A_ROW, Model, Player, Refusal, all_right, judge, rudiment};
use crate::rhythm::{Drum, Grid, Hand, Pattern, Stroke, Tempo, Tone, Weight};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use std::collections::BTreeMap;

const MIRRORED: Player = Player {
    handed: Handed::Left,
    ..PRACTISED
};

fn written(p: &Pattern, row: &[Hand]) -> Pattern {
    p.with_hands(&row.iter().map(|h| Some(*h)).collect::<Vec<_>>())
}

fn mirror(row: &[Hand]) -> Vec<Hand> {
    row.iter().map(|h| h.other()).collect()
}

/// Strokes as parts have them: mostly of one drum, heel and tip, open tones and slaps.
fn drawn(rng: &mut ChaCha8Rng, drums: bool) -> Pattern {
    let grid = [Grid::Eighths, Grid::SixEight][rng.random_range(0..2)];
    let wild = rng.random_range(0..4) == 0;
    let cells = (0..grid.pulses_per_bar()).map(|_| {
        let tones = [Tone::Heel, Tone::Tip, Tone::Tip, Tone::Open, Tone::Slap];
        let drum = [Drum::Conga, Drum::Conga, Drum::Tumbadora][rng.random_range(0..3)];
        let stroke = match wild && drums {
            true => any_stroke(rng),
            false => Stroke::new(
                if drums { drum } else { Drum::Conga },
                tones[rng.random_range(0..5)],
            ),
        };
        (rng.random_range(0..6) > 0).then_some(stroke)
    });
    Pattern::new(grid, cells.collect()).unwrap()
}

fn number_after(text: &str, words: &str) -> f64 {
    let (_, rest) = text.split_once(words).unwrap();
    let digits: String = rest.chars().take_while(char::is_ascii_digit).collect();
    digits.parse().unwrap()
}

/// The sort of a refusal that was checked; panics where it is untrue.
fn checked(p: &Pattern, row: &[Hand], tempo: Tempo, refusal: &Refusal) -> &'static str {
    let text = refusal.text.as_str();
    let struck: Vec<usize> = p.strokes().map(|(pulse, _)| pulse).collect();
    let number = |pulse: usize| struck.iter().position(|s| *s == pulse).unwrap();
    let hand = |pulse: usize| row[number(pulse)];
    let stroke = |pulse: usize| p.at(pulse).unwrap();
    let ms = |from: usize, to: usize| {
        let pulses = (to + p.pulses() - from - 1) % p.pulses() + 1;
        pulses as f64 * 1000.0 * tempo.pulse(p.grid()).seconds()
    };
    // Next to each other, in a row, in one hand.
    let together = |from: usize, to: usize| {
        assert_eq!((number(from) + 1) % struck.len(), number(to), "{text}");
        assert!(ms(from, to) < IN_A_ROW, "{text}");
        hand(from) == hand(to)
    };
    let heel_or_tip = |pulse: usize| matches!(stroke(pulse).tone, Tone::Heel | Tone::Tip);
    let speaks = |pulse: usize| !heel_or_tip(pulse) && stroke(pulse).weight != Weight::Ghost;
    let q = &refusal.pulses;
    assert!(q.contains(&refusal.pulse), "{text}");
    for pulse in q {
        let count = p.grid().spoken(*pulse);
        assert!(
            text.contains(&format!(" {count}")),
            "{text} does not name {count}"
        );
    }
    if text.contains(" needs about ") {
        assert_eq!(hand(q[0]), hand(q[1]));
        let between = (1..struck.len())
            .map(|d| (number(q[0]) + d) % struck.len())
            .take_while(|i| *i != number(q[1]));
        assert!(between.into_iter().all(|i| row[i] != hand(q[0])));
        let needs = need(stroke(q[0]), stroke(q[1]), hand(q[1]));
        assert!(needs > (1.0 + GRACE) * ms(q[0], q[1]));
        assert!((number_after(text, "needs about ") - needs).abs() <= 0.5 + 1e-9);
        assert!((number_after(text, " ms and has ") - ms(q[0], q[1])).abs() <= 0.5 + 1e-9);
        "late"
    } else if text.contains("so the arms cross") {
        assert!(hand(q[0]) != hand(q[1]) && hand(q[1]) == hand(q[2]));
        let within = Model::DEFAULT.cross_within;
        assert!(ms(q[1], q[0]) < within && ms(q[0], q[2]) < within);
        // The drums stand from left to right: quinto, conga, low drum.
        let place = |pulse: usize| stroke(pulse).drum;
        let far = match hand(q[0]) {
            Hand::Left => place(q[0]) > place(q[1]).max(place(q[2])),
            Hand::Right => place(q[0]) < place(q[1]).min(place(q[2])),
        };
        assert!(far, "{text}");
        "cross"
    } else if text.contains("strong strokes in a row change hands") {
        assert!(together(q[0], q[1]) && speaks(q[0]) && speaks(q[1]));
        assert_eq!(stroke(q[0]).drum, stroke(q[1]).drum);
        "run"
    } else if text.contains(" in a row while the ") {
        assert!(q.len() == 4 && q.windows(2).all(|w| together(w[0], w[1])));
        "alone"
    } else if text.contains(" after ") && text.contains("the hands take turns") {
        assert!(together(q[0], q[1]) && heel_or_tip(q[0]));
        assert_eq!(stroke(q[0]).tone, stroke(q[1]).tone);
        assert!(ms(q[0], q[1]) < 155.0 / 0.6);
        "again"
    } else if text.contains("which rocks") {
        assert!(!together(q[0], q[1]) && heel_or_tip(q[0]) && heel_or_tip(q[1]));
        assert_ne!(stroke(q[0]).tone, stroke(q[1]).tone);
        "split"
    } else if text.contains(" rocks heel and tip on ") {
        assert!(together(q[0], q[1]) && together(q[2], q[3]) && hand(q[0]) != hand(q[2]));
        assert!(q.iter().all(|pulse| heel_or_tip(*pulse)));
        "rockers"
    } else if text.contains(" has both ") {
        assert!(together(q[0], q[1]) && heel_or_tip(q[0]) != heel_or_tip(q[1]));
        "mixed"
    } else {
        panic!("a refusal that nobody checks: {text}")
    }
}

#[test]
fn right_rows_can_be_played_and_refusals_are_true() {
    let mut rng = ChaCha8Rng::seed_from_u64(6);
    let mut seen = BTreeMap::new();
    for round in 0..240 {
        let p = drawn(&mut rng, round % 3 > 0);
        let tempo = Tempo::new(rng.random_range(50.0..260.0));
        for row in stickings(p.strokes().count()) {
            let sort = match judge(&written(&p, &row), tempo, &PRACTISED) {
                Ok(()) => {
                    let own = priced(&p, &row, tempo);
                    assert!(own.peak <= 1.0 + GRACE + 1e-9 && own.crossings == 0);
                    "right"
                }
                Err(refusal) => checked(&p, &row, tempo, &refusal),
            };
            *seen.entry(sort).or_insert(0) += 1;
        }
    }
    for sort in [
        "right", "late", "cross", "run", "alone", "again", "split", "rockers", "mixed",
    ] {
        assert!(seen.get(sort).is_some_and(|n| *n >= 20), "{sort}: {seen:?}");
    }
}

#[test]
fn all_right_rows_are_those_that_are_judged_right() {
    let mut rng = ChaCha8Rng::seed_from_u64(7);
    let mut found = 0;
    for _ in 0..150 {
        let p = drawn(&mut rng, true);
        let tempo = Tempo::new(rng.random_range(50.0..220.0));
        let n = p.strokes().count();
        let row: Vec<Hand> = (0..n).map(|_| Hand::ALL[rng.random_range(0..2)]).collect();
        let asked: Vec<bool> = (0..n).map(|_| rng.random_bool(0.7)).collect();
        let open = p.with_hands(
            &(0..n)
                .map(|i| (!asked[i]).then_some(row[i]))
                .collect::<Vec<_>>(),
        );
        let told = all_right(&open, tempo, &PRACTISED);
        let pick = |full: &[Hand]| -> Vec<Hand> {
            (0..n).filter(|i| asked[*i]).map(|i| full[i]).collect()
        };
        let mut tried: Vec<Vec<Hand>> = stickings(n)
            .filter(|full| (0..n).all(|i| asked[i] || full[i] == row[i]))
            .filter(|full| judge(&written(&p, full), tempo, &PRACTISED).is_ok())
            .map(|full| pick(&full))
            .collect();
        tried.sort();
        assert_eq!(told, tried);
        found += told.len();
    }
    assert!(found > 150, "{found}");
}

#[test]
fn left_handed_players_are_judged_in_mirror_image() {
    let mut rng = ChaCha8Rng::seed_from_u64(8);
    for _ in 0..60 {
        let p = drawn(&mut rng, true);
        let tempo = Tempo::new(rng.random_range(50.0..260.0));
        for row in stickings(p.strokes().count()) {
            let right = judge(&written(&p, &row), tempo, &PRACTISED);
            let left = judge(&written(&p, &mirror(&row)), tempo, &MIRRORED);
            let pulse = |r: &Result<(), Refusal>| r.as_ref().err().map(|r| r.pulse);
            assert_eq!(right.is_ok(), left.is_ok());
            // Where two hands are late at once the left one is told first, so that pulses may differ there.
            if !right
                .as_ref()
                .is_err_and(|r| r.text.contains("needs about"))
                && !right.as_ref().is_err_and(|r| r.text.contains("arms cross"))
            {
                assert_eq!(pulse(&right), pulse(&left));
            }
        }
    }
}

#[test]
fn on_one_drum_the_mirror_image_of_a_right_row_is_right() {
    let mut rng = ChaCha8Rng::seed_from_u64(9);
    let mut both = 0;
    for _ in 0..120 {
        let p = drawn(&mut rng, false);
        // A tempo at which the weaker hand is not hurried where the stronger one is not.
        let tempo = Tempo::new(rng.random_range(50.0..110.0));
        for row in stickings(p.strokes().count()) {
            let is_right = |row: &[Hand]| judge(&written(&p, row), tempo, &PRACTISED).is_ok();
            if !is_right(&row) {
                continue;
            }
            let other = mirror(&row);
            let again = judge(&written(&p, &other), tempo, &PRACTISED);
            // Heel after heel needs a few milliseconds more in the weaker hand.
            if again.as_ref().is_err_and(|r| r.text.contains(" after ")) {
                continue;
            }
            assert_eq!(again, Ok(()), "{p:?} {row:?} {tempo}");
            both += 1;
        }
    }
    assert!(both > 300, "{both}");
}

#[test]
fn taking_turns_is_right_on_even_strokes_of_one_drum_from_either_hand() {
    let mut rng = ChaCha8Rng::seed_from_u64(10);
    for _ in 0..300 {
        let grid = Grid::ALL[rng.random_range(0..4)];
        let n = grid.pulses_per_bar();
        let every = [1, 2][rng.random_range(0..2)];
        let cells = (0..n).map(|i| {
            (i % every == 0).then(|| Stroke::new(Drum::Conga, Tone::ALL[rng.random_range(0..7)]))
        });
        let p = Pattern::new(grid, cells.collect()).unwrap();
        let strokes = p.strokes().count();
        if strokes % 2 == 1 {
            continue;
        }
        for first in [0, 1] {
            let row: Vec<Hand> = (0..strokes).map(|i| Hand::ALL[(first + i) % 2]).collect();
            let tempo = Tempo::new(rng.random_range(40.0..200.0));
            let slow = priced(&p, &row, tempo).peak <= 1.0;
            let found = judge(&written(&p, &row), tempo, &PRACTISED);
            assert!(!slow || found.is_ok(), "{p:?} {row:?} {tempo}: {found:?}");
        }
    }
}

/// Percussive Arts Society, International Drum Rudiments, 1984.
#[test]
fn rudiments_are_right_by_definition_where_they_can_be_played() {
    let strokes = |n: usize, grid| {
        let cells = vec![Some(Stroke::new(Drum::Conga, Tone::Open)); n];
        Pattern::new(grid, cells).unwrap()
    };
    for r in crate::hands::RUDIMENTS {
        let row: Vec<Hand> = r.hands.chars().filter_map(Hand::from_letter).collect();
        let (n, grid) = match row.len() % 3 {
            0 => (12, Grid::Triplets),
            _ => (16, Grid::Sixteenths),
        };
        let full: Vec<Hand> = (0..n).map(|i| row[i % row.len()]).collect();
        for full in [mirror(&full), full] {
            let p = written(&strokes(n, grid), &full);
            assert_eq!(rudiment(&p).map(|r| r.name), Some(r.name));
            assert_eq!(
                judge(&p, Tempo::new(60.0), &PRACTISED),
                Ok(()),
                "{}",
                r.name
            );
            // Doubles in 40 ms are beyond one hand.
            let fast = judge(&p, Tempo::new(400.0), &PRACTISED);
            let doubles = full.windows(2).any(|w| w[0] == w[1]);
            assert!(!doubles || fast.unwrap_err().text.contains("needs about"));
        }
    }
}
