//! Laws of grading, over many parts, tempos and tappers.

mod feedback;

use super::{
    COMMON, PerformanceLevel, Tap, TapLead, TapTask, TapVerdict, TappedDirection, TappedHands,
    grade,
};
use crate::clave::{Clave, Direction, Family, PARTS};
use crate::hands::{Handed, Player};
use crate::rhythm::notation::read_line;
use crate::rhythm::{Grid, Hand, Pattern, Tempo};
use crate::time::Seconds;

const TEMPOS: [f64; 6] = [40.0, 72.0, 101.0, 140.0, 187.0, 260.0];

/// The times of a part, `cycles` times round.
fn times(task: &TapTask, cycles: usize) -> Vec<f64> {
    let round = |c: usize| (c * task.part().pulses()) as f64 * task.pulse_seconds().seconds();
    let strokes: Vec<usize> = task.part().strokes().map(|s| s.0).collect();
    let of = |c: usize| {
        let strokes = strokes.clone();
        strokes.into_iter().map(move |p| (c, p))
    };
    (0..cycles)
        .flat_map(of)
        .map(|(c, p)| round(c) + p as f64 * task.pulse_seconds().seconds())
        .collect()
}

fn taps(times: &[f64]) -> Vec<Tap> {
    times.iter().map(|t| Tap::at(Seconds::new(*t))).collect()
}

fn claves() -> impl Iterator<Item = Clave> {
    Family::ALL
        .into_iter()
        .flat_map(|family| Direction::ALL.map(|direction| Clave { family, direction }))
}

/// Every clave and every named part, with each direction, at each tempo.
fn tasks() -> Vec<TapTask> {
    let mut found = Vec::new();
    for tempo in TEMPOS {
        for grid in Grid::ALL {
            found.extend(claves().map(|c| TapTask::of_clave(c, grid, Tempo::new(tempo))));
        }
        for part in PARTS {
            for direction in Direction::ALL {
                found.extend(TapTask::of_onsets(
                    part.grid,
                    &part.onsets(direction),
                    Tempo::new(tempo),
                ));
            }
        }
    }
    found
}

/// A number from -1 to 1 that looks like chance (a linear congruential generator; Knuth 1997, *The Art of Computer
/// Programming* 2, 3.3.4).
fn chance(seed: &mut u64) -> f64 {
    *seed = seed
        .wrapping_mul(6_364_136_223_846_793_005)
        .wrapping_add(1_442_695_040_888_963_407);
    (*seed >> 33) as f64 / f64::from(1u32 << 30) - 1.0
}

#[test]
fn perfect_taps_are_right_in_time_at_every_tempo() {
    for task in tasks() {
        for cycles in [1, 2, 8] {
            let taps = taps(&times(&task, cycles));
            for task in [task.clone(), task.clone().times(cycles)] {
                let verdict = grade(&task, &taps);
                assert!(verdict.right && verdict.in_time, "{task:?}: {verdict:?}");
                assert_eq!(verdict.level, PerformanceLevel::Perfect);
                assert_eq!(verdict.correct, 1.0);
                assert_eq!(verdict.played.matched.len(), taps.len());
                assert_ne!(verdict.played.direction, Some(TappedDirection::Other));
            }
        }
    }
}

/// All that is told but the mean and the direction.
fn told(verdict: &TapVerdict) -> impl PartialEq + std::fmt::Debug + use<> {
    let p = &verdict.played;
    let rounded = |x: Option<f64>| x.map(|x| (1e7 * x).round());
    let pairs: Vec<_> = p.matched.iter().map(|m| (m.place, m.tap)).collect();
    let counts = (p.early, p.late, p.wrong, p.displaced, p.hesitations);
    let added: Vec<_> = p.added.iter().map(|a| a.tap).collect();
    (
        (
            verdict.right,
            verdict.partly,
            verdict.in_time,
            verdict.level,
        ),
        (pairs, p.missed.clone(), added, counts),
        (
            rounded(p.spread.map(Seconds::seconds)),
            rounded(p.drift.map(Seconds::seconds)),
        ),
        rounded(Some(verdict.correct)),
    )
}

#[test]
fn a_constant_delay_within_the_range_changes_nothing() {
    let mut seed = 11;
    for task in tasks() {
        // Of even strokes nothing tells one from the next but the first and the last: there it must be known where it begins.
        let strokes: Vec<usize> = task.part().strokes().map(|s| s.0).collect();
        let every = task.part().pulses() / strokes.len();
        let even = strokes
            .iter()
            .enumerate()
            .all(|(i, p)| *p == strokes[0] + i * every);
        let task = if even { task.times(4) } else { task };
        let scatter = 0.02 * task.mean_interval().seconds();
        let off: Vec<f64> = times(&task, 4)
            .iter()
            .map(|t| t + scatter * chance(&mut seed))
            .collect();
        let plain = grade(&task, &taps(&off));
        let most = COMMON.seconds();
        for delay in [-most, -0.08, -0.03, 0.01, 0.06, 0.11, most] {
            let later: Vec<f64> = off.iter().map(|t| t + delay).collect();
            let found = grade(&task, &taps(&later));
            assert_eq!(told(&found), told(&plain), "{delay} {task:?}");
            // Where the delay may be half a pulse or more, the other side's bars may fit nearly as well.
            if task.pulse_seconds() > 2.0 * COMMON {
                assert_eq!(found.played.tapped, plain.played.tapped);
                assert_eq!(found.played.direction, plain.played.direction);
            }
        }
    }
}

#[test]
fn a_known_lead_moves_the_range() {
    let task = TapTask::of_clave(claves().next().unwrap(), Grid::Eighths, Tempo::new(90.0));
    let off: Vec<f64> = times(&task, 4).iter().map(|t| t - 0.25).collect();
    assert!(grade(&task, &taps(&off)).played.shift.is_some());
    let verdict = grade(&task.with_lead(Seconds::new(-0.13)), &taps(&off));
    assert!(verdict.right && verdict.in_time && verdict.played.shift.is_none());
    assert!((verdict.played.mean.unwrap() + Seconds::new(0.25)).abs() < Seconds::new(1e-9));
}

#[test]
fn a_lead_is_learned_within_some_answers_and_followed() {
    let task = TapTask::of_clave(claves().next().unwrap(), Grid::Eighths, Tempo::new(120.0));
    let answer = |late: f64| {
        let off: Vec<f64> = times(&task, 2).iter().map(|t| t + late).collect();
        grade(&task, &taps(&off)).played
    };
    let mut lead = TapLead::default();
    assert_eq!(lead.after(&grade(&task, &[]).played), lead);
    for _ in 0..5 {
        lead = lead.after(&answer(-0.04));
    }
    assert!((lead.late() + Seconds::new(0.04)).abs() < Seconds::new(1e-9));
    for _ in 0..100 {
        lead = lead.after(&answer(0.02));
    }
    // With a step of one in twenty, a hundred steps leave .95^100, less than 1 % of the way.
    assert!((lead.late() - Seconds::new(0.02)).abs() < Seconds::new(0.001));
}

#[test]
fn one_stroke_more_less_or_exchanged_is_exactly_that() {
    for task in tasks() {
        let all = times(&task, 2);
        let pulse = task.pulse_seconds().seconds();
        let struck = |p: usize| task.part().at(p).is_some();
        let pulses = 2 * task.part().pulses();
        for i in 0..all.len() {
            let mut fewer = all.clone();
            let gone = fewer.remove(i);
            let verdict = grade(&task, &taps(&fewer));
            let p = &verdict.played;
            assert_eq!(
                (p.missed.len(), p.added.len(), p.wrong),
                (1, 0, 1),
                "{gone} {task:?}"
            );
            assert!(!verdict.right);
        }
        for p in (0..pulses).filter(|p| !struck(*p)) {
            let more = [all.clone(), vec![p as f64 * pulse]].concat();
            let played = grade(&task, &taps(&more)).played;
            let found = (played.missed.len(), played.added.len(), played.wrong);
            assert_eq!(found, (0, 1, 1), "{p} {task:?}");
            // The stroke before it instead of it, where there is one.
            let before = (0..p).rev().find(|p| struck(*p));
            if let Some(before) = before {
                let mut moved = more;
                moved.retain(|t| (t / pulse).round() as usize != before);
                let played = grade(&task, &taps(&moved)).played;
                let found = (played.missed.len(), played.added.len(), played.wrong);
                assert_eq!(found, (1, 1, 1), "{before} to {p} {task:?}");
            }
        }
    }
}

#[test]
fn the_other_direction_is_never_right() {
    let mut seed = 5;
    for tempo in TEMPOS {
        for grid in Grid::ALL {
            for clave in claves() {
                let asked = TapTask::of_clave(clave, grid, Tempo::new(tempo));
                let other = TapTask::of_clave(clave.begun_later(1), grid, Tempo::new(tempo));
                for cycles in [1, 2, 8] {
                    for delay in [-0.1, 0.0, 0.1] {
                        let scatter = 0.03 * other.mean_interval().seconds();
                        let times = times(&other, cycles);
                        let off: Vec<f64> = times
                            .iter()
                            .map(|t| t + delay + scatter * chance(&mut seed))
                            .collect();
                        let verdict = grade(&asked, &taps(&off));
                        assert!(!verdict.right && !verdict.in_time);
                        // One round, late or early by a pulse or so, may as well be the part as written, badly tapped.
                        if cycles == 1 && delay != 0.0 && asked.pulse_seconds() < COMMON {
                            continue;
                        }
                        assert!(!verdict.partly);
                        assert_eq!(verdict.correct, 0.0);
                        let p = &verdict.played;
                        assert_eq!(p.direction, Some(TappedDirection::Other));
                        assert_eq!(p.tapped, Some(clave.begun_later(1).direction));
                    }
                }
            }
        }
    }
}

fn with_hands(strokes: &str, hands: &str) -> Pattern {
    let hands: Vec<Option<Hand>> = hands.chars().map(Hand::from_letter).collect();
    read_line(strokes, Grid::Eighths)
        .unwrap()
        .with_hands(&hands)
}

/// The mirror image of a row of hands.
fn mirror(hands: &str) -> String {
    let other = |c| if c == 'L' { 'R' } else { 'L' };
    hands.chars().map(other).collect()
}

#[test]
fn grading_is_symmetric_for_left_handers() {
    // Wikipedia, *Tumbao* and *Conga* have the first row; all right-hand is nobody's.
    for (tapped, expected) in [
        ("LLRLLLRR", "as-written"),
        ("RLRLRLRL", "another"),
        ("RRRRRRRR", "neither"),
    ] {
        let graded = |handed: Handed, written: &str, tapped: &str| {
            let part = with_hands("HTSTHTOO", written);
            let player = Player {
                handed,
                ..Player::default()
            };
            let task = TapTask::new(part, Tempo::new(120.0)).by(player);
            let hands = tapped.chars().map(Hand::from_letter);
            let taps: Vec<Tap> = times(&task, 1)
                .iter()
                .zip(hands)
                .map(|(t, hand)| Tap {
                    seconds: Seconds::new(*t),
                    hand,
                })
                .collect();
            let verdict = grade(&task, &taps);
            let hands = match verdict.played.hands.unwrap() {
                TappedHands::AsWritten => "as-written",
                TappedHands::Another => "another",
                TappedHands::Neither { .. } => "neither",
            };
            (
                hands,
                verdict.right,
                verdict.partly,
                verdict.correct.to_bits(),
            )
        };
        let right = graded(Handed::Right, "LLRLLLRR", tapped);
        let left = graded(Handed::Left, &mirror("LLRLLLRR"), &mirror(tapped));
        assert_eq!(right, left);
        assert_eq!(right.0, expected);
        assert_eq!(right.1, expected != "neither");
    }
}

#[test]
fn no_taps_at_all_one_tap_hundreds_and_no_numbers_are_graded() {
    let nan = f64::NAN;
    let many: Vec<f64> = (0..600).map(|i| f64::from(i) * 0.017).collect();
    for task in tasks() {
        for times in [
            &[][..],
            &[0.0],
            &[-3.0],
            &[1e300],
            &[nan, f64::INFINITY],
            &many,
            &[5.0; 40],
        ] {
            let verdict = grade(&task, &taps(times));
            assert!(
                !verdict.right && (0.0..=1.0).contains(&verdict.correct),
                "{task:?}"
            );
            assert!((0.0..=1.0).contains(&verdict.score) && verdict.guess <= 1.0);
            let far = grade(&task.clone().times(3), &taps(times));
            assert!(!far.right);
        }
    }
    let part = read_line("........", Grid::Eighths).unwrap();
    let verdict = grade(&TapTask::new(part, Tempo::new(f64::NAN)), &taps(&many));
    assert!(!verdict.right && verdict.correct == 0.0);
}

#[test]
fn taps_in_any_order_and_with_noise_numbers_are_the_same_taps() {
    let task = TapTask::of_clave(claves().nth(2).unwrap(), Grid::Eighths, Tempo::new(100.0));
    let mut mixed = times(&task, 3);
    let plain = grade(&task, &taps(&mixed));
    mixed.reverse();
    mixed.push(f64::NAN);
    assert_eq!(grade(&task, &taps(&mixed)), plain);
}

#[test]
fn a_player_may_come_in_later_and_end_on_the_next_stroke() {
    let clave = Clave {
        family: Family::Son,
        direction: Direction::ThreeTwo,
    };
    let task = TapTask::of_clave(clave, Grid::Eighths, Tempo::new(100.0));
    let all = times(&task, 6);
    // From the third round on to the first stroke of the sixth.
    let verdict = grade(&task, &taps(&all[10..26]));
    assert!(verdict.right, "{verdict:?}");
    assert_eq!(verdict.played.matched[0].place.cycle, 2);
    let verdict = grade(&task.times(6), &taps(&all[10..26]));
    assert_eq!(verdict.played.missed.len(), 14);
}
