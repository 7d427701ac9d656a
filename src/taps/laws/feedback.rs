//! Laws of what a player is told about taps: drift, stops, another clave, tempo or turn, a clave that is held.

use super::{TEMPOS, chance, claves, taps, times};
use crate::clave::{Clave, Direction, Family};
use crate::rhythm::notation::read_line;
use crate::rhythm::{Grid, Hand, Tempo};
use crate::taps::{Steadiness, TapTask, TappedDirection, grade};
use crate::time::Seconds;

#[test]
fn a_drift_is_told_and_what_it_takes_from_its_place_is_wrong() {
    let clave = Clave {
        family: Family::Son,
        direction: Direction::TwoThree,
    };
    let task = TapTask::of_clave(clave, Grid::Eighths, Tempo::new(180.0));
    let cycle = task.cycle_seconds().seconds();
    // Eight rounds at 40 ms are 320 ms in all; half a pulse either way is a sixth of a second.
    let off: Vec<f64> = times(&task, 8)
        .iter()
        .map(|t| t + 0.040 * t / cycle)
        .collect();
    let verdict = grade(&task, &taps(&off));
    let p = &verdict.played;
    assert_eq!((p.matched.len(), p.missed.len(), p.added.len()), (40, 0, 0));
    assert!(
        (p.drift.unwrap() - Seconds::new(0.040)).abs() < Seconds::new(1e-9) && p.displaced > 10
    );
    assert!(!verdict.right);
    let slight: Vec<f64> = times(&task, 8)
        .iter()
        .map(|t| t + 0.005 * t / cycle)
        .collect();
    assert!(grade(&task, &taps(&slight)).right);
}

#[test]
fn a_stop_is_told() {
    let clave = Clave {
        family: Family::Son,
        direction: Direction::TwoThree,
    };
    let task = TapTask::of_clave(clave, Grid::Eighths, Tempo::new(120.0));
    let stopped: Vec<f64> = times(&task, 6)
        .iter()
        .enumerate()
        .map(|(i, t)| if i < 15 { *t } else { t + 0.3 })
        .collect();
    let verdict = grade(&task, &taps(&stopped));
    assert_eq!(verdict.played.hesitations, 1);
    assert!(!verdict.in_time && !verdict.right);
}

#[test]
fn rumba_clapped_for_son_is_named() {
    for tempo in TEMPOS {
        for direction in Direction::ALL {
            let [son, rumba] = Family::ALL.map(|family| Clave { family, direction });
            let asked = TapTask::of_clave(son, Grid::Eighths, Tempo::new(tempo));
            let clapped = times(
                &TapTask::of_clave(rumba, Grid::Eighths, Tempo::new(tempo)),
                2,
            );
            let verdict = grade(&asked, &taps(&clapped));
            assert_eq!(verdict.played.family, Some(Family::Rumba));
            assert_eq!(verdict.played.direction, Some(TappedDirection::AsWritten));
            assert!(!verdict.right && verdict.correct == 0.8);
            // The direction is right: a teacher corrects one stroke (common practice, no source).
            assert!(verdict.partly);
            let said = verdict.told(&asked, None).join("; ");
            assert!(
                said.contains("this is the rumba clave, with 4& instead of 4"),
                "{said}"
            );
        }
    }
}

/// The son clave 3-2 at 120 a minute, held through eight rounds as the kind of question has it.
fn to_hold() -> TapTask {
    let clave = Clave {
        family: Family::Son,
        direction: Direction::ThreeTwo,
    };
    let task = TapTask::of_clave(clave, Grid::Eighths, Tempo::new(120.0));
    task.in_turns(1..8).without_clave(2..7)
}

/// Reckoned by hand: a round lasts 4 s and its strokes lie on pulses 0, 3, 6, 10 and 12 of 16, 6.2 on average. What grows by
/// d a round from the third round on has grown by d (4 + 6.2 / 16) = 4.3875 d in the last round without the clave, the
/// seventh.
#[test]
fn drift_and_what_is_off_at_the_return_are_told_of_a_clave_that_is_held() {
    let task = to_hold();
    let times = times(&task, 8);
    for d in [0.0, 0.008, -0.012, 0.02] {
        let drifts = times.iter().map(|t| match (8.0..28.0 - 0.01).contains(t) {
            true => t + d * (t - 8.0) / 4.0,
            false => *t,
        });
        let verdict = grade(&task, &taps(&drifts.collect::<Vec<_>>()));
        let held = verdict.played.held.unwrap();
        let near = |x: Option<f64>, y: f64| (x.unwrap() - y).abs() < 1e-6;
        assert!(
            near(held.drift.map(Seconds::seconds), d)
                && near(held.at_return.map(Seconds::seconds), 4.3875 * d),
            "{d}: {held:?}"
        );
        assert_eq!(held.direction, Some(TappedDirection::AsWritten));
        assert!(verdict.right && verdict.correct == 1.0, "{d}");
    }
}

/// The same, a bar later from the third round on; then with nothing tapped while the clave is away.
#[test]
fn a_clave_that_turns_over_or_stops_while_it_is_away_is_not_held() {
    let task = to_hold();
    let times = times(&task, 8);
    let turned = times.iter().map(|t| if *t < 8.0 { *t } else { t + 2.0 });
    let verdict = grade(&task, &taps(&turned.collect::<Vec<_>>()));
    assert_eq!(
        verdict.played.held.unwrap().direction,
        Some(TappedDirection::Other)
    );
    assert!(!verdict.right && !verdict.partly);
    let stopped = times.iter().copied().filter(|t| !(8.0..28.0).contains(t));
    let verdict = grade(&task, &taps(&stopped.collect::<Vec<_>>()));
    let away = verdict
        .played
        .missed
        .iter()
        .filter(|p| (2..7).contains(&p.cycle));
    assert_eq!((away.count(), verdict.played.missed.len()), (25, 25));
    assert!(!verdict.right && verdict.correct == 10.0 / 35.0);
}

#[test]
fn what_is_tapped_out_of_turn_counts_for_nothing_and_in_turn_it_does() {
    let part = read_line("HTSTO.TO | HTSTHTOO", Grid::Eighths).unwrap();
    let task = TapTask::new(part, Tempo::new(140.0)).in_turns([1, 3]);
    let all = times(&task, 5);
    let verdict = grade(&task, &taps(&all));
    assert!(
        verdict.right && verdict.in_time && verdict.correct == 1.0,
        "{verdict:?}"
    );
    assert_eq!(
        (verdict.played.matched.len(), verdict.played.added.len()),
        (30, 0)
    );
    // One too many in the second turn, between two strokes.
    let more = all
        .iter()
        .copied()
        .chain([(3.0 * task.cycle_seconds() + 5.0 * task.pulse_seconds()).seconds()]);
    let verdict = grade(&task, &taps(&more.collect::<Vec<_>>()));
    assert!(!verdict.right && verdict.played.added.len() == 1 && verdict.correct == 30.0 / 31.0);
}

/// The two side is the same in son and rumba (common practice, no source): taps of it alone
/// are taken for the clave that was asked for.
#[test]
fn the_side_that_both_claves_share_is_the_one_that_was_asked_for() {
    for clave in claves() {
        let task = TapTask::of_clave(clave, Grid::Eighths, Tempo::new(110.0));
        let two_side = if clave.direction == Direction::TwoThree {
            0.0
        } else {
            0.5
        };
        let within = |t: &f64| {
            let share = (t / task.cycle_seconds().seconds()).fract();
            (two_side..two_side + 0.5).contains(&share)
        };
        let side: Vec<f64> = times(&task, 8).into_iter().filter(within).collect();
        assert_eq!(side.len(), 16);
        assert_eq!(grade(&task, &taps(&side)).played.family, Some(clave.family));
    }
}

/// At 90 a pulse lasts a third of a second: half of one is no whole number of milli- or microseconds.
#[test]
fn taps_on_the_edge_of_half_a_pulse_are_told_alike_whatever_the_file_rounds_to() {
    let task = TapTask::of_clave(claves().next().unwrap(), Grid::Eighths, Tempo::new(90.0));
    for digits in [1e3, 1e6, 1e9] {
        for half in [-1.0, 1.0] {
            let off = times(&task, 8).into_iter().map(|t| t + half / 6.0);
            let rounded: Vec<f64> = off.map(|t| (t * digits).round() / digits).collect();
            let played = grade(&task, &taps(&rounded)).played;
            assert_eq!(
                (played.matched.len(), played.missed.len()),
                (40, 0),
                "{digits}"
            );
        }
    }
}

#[test]
fn another_tempo_is_told_and_the_right_one_is_not() {
    for clave in claves().step_by(3) {
        let task = TapTask::of_clave(clave, Grid::Eighths, Tempo::new(120.0));
        for tempo in [60.0, 108.0, 132.0, 240.0] {
            let tapped = TapTask::of_clave(clave, Grid::Eighths, Tempo::new(tempo));
            let found = task.tempo_of(&taps(&times(&tapped, 8))).unwrap();
            assert!(
                (found.bpm() / tempo - 1.0).abs() <= 0.01,
                "{tempo}: {found}"
            );
            assert!(!grade(&task, &taps(&times(&tapped, 8))).right);
        }
        for late in [-0.1, 0.0, 0.1] {
            let off: Vec<f64> = times(&task, 8).iter().map(|t| t + late).collect();
            assert_eq!(task.tempo_of(&taps(&off)), None);
        }
        assert_eq!(task.tempo_of(&taps(&[0.0; 40])), None);
    }
}

/// Eight bars, all but full, are even enough to fit in part at any tempo.
#[test]
fn another_tempo_is_told_of_a_long_phrase() {
    let bars = ["HTSTHTOO"; 7].join(" | ");
    let part = read_line(&format!("{bars} | H..O..O."), Grid::Eighths).unwrap();
    let task = TapTask::new(part.clone(), Tempo::new(133.0));
    for tempo in [120.0, 145.0] {
        let tapped = times(&TapTask::new(part.clone(), Tempo::new(tempo)), 2);
        let found = task.tempo_of(&taps(&tapped));
        let near = found.is_some_and(|found| (found.bpm() / tempo - 1.0).abs() <= 0.01);
        assert!(near, "{tempo}: {found:?}");
    }
    let late: Vec<f64> = times(&task, 2).iter().map(|t| t + 0.08).collect();
    assert_eq!(task.tempo_of(&taps(&late)), None);
}

/// Where an answer is in one way only, as the strokes of a variation are, nobody is told that no direction can be told.
#[test]
fn no_direction_is_missed_where_none_was_asked_for() {
    let part = read_line("HTSTHTOO | H..O..O.", Grid::Eighths).unwrap();
    let task = TapTask::new(part, Tempo::new(120.0));
    let all = times(&task, 4);
    let few: Vec<f64> = all.iter().copied().step_by(3).collect();
    let said = grade(&task, &taps(&few)).told(&task, None).join("; ");
    assert!(!said.contains("direction it was"), "{said}");
}

#[test]
fn a_key_that_bounces_is_asked_about_and_costs_nothing() {
    let task = TapTask::of_clave(claves().next().unwrap(), Grid::Eighths, Tempo::new(120.0));
    let played = |later: f64| {
        let mut all = times(&task, 4);
        all.push(all[7] + later);
        grade(&task, &taps(&all))
    };
    let bounced = played(0.02);
    assert!((bounced.right, bounced.in_time, bounced.played.bounced) == (true, true, 1));
    let said = bounced.told(&task, None).join("; ");
    assert!(
        said.contains("1 came right after another and did not count"),
        "{said}"
    );
    // After 80 ms it is a stroke too many.
    let added = played(0.08);
    assert!((added.right, added.played.bounced, added.played.added.len()) == (false, 0, 1));
    // Two hands can strike so soon after one another, one cannot.
    let mut hands = taps(&times(&task, 4));
    hands
        .iter_mut()
        .for_each(|tap| tap.hand = Some(Hand::Right));
    let mut other = hands[7];
    other.seconds += Seconds::new(0.02);
    other.hand = Some(Hand::Left);
    hands.push(other);
    assert_eq!(grade(&task, &hands).played.added.len(), 1);
}

/// Even eighths at 120 lie .25 s apart; with a triplet feel the second of two comes a third of a pulse, 83.3 ms, later (two
/// to one, Friberg & Sundström 2002).
#[test]
fn strokes_that_swing_are_all_there_and_the_swing_is_told() {
    let part = read_line("OOOOOOOO", Grid::Eighths).unwrap();
    let task = TapTask::new(part, Tempo::new(120.0));
    let swung = |late: f64| {
        let even = times(&task, 8).into_iter().enumerate();
        let all: Vec<f64> = even
            .map(|(n, t)| t + if n % 2 == 1 { late } else { 0.0 })
            .collect();
        grade(&task, &taps(&all))
    };
    let verdict = swung(0.25 / 3.0);
    let played = &verdict.played;
    assert_eq!(
        (played.matched.len(), verdict.right, verdict.in_time),
        (64, true, false)
    );
    assert_eq!(verdict.steadiness, Some(Steadiness::Musician));
    assert!(
        (played.swing.unwrap() - Seconds::new(0.25 / 3.0)).abs() < Seconds::new(1e-3),
        "{played:?}"
    );
    let said = verdict.told(&task, None).join("; ");
    assert!(
        said.contains("83 ms later than even: that is swung"),
        "{said}"
    );
    let pushed = swung(-0.06).told(&task, None).join("; ");
    assert!(
        pushed.contains("60 ms earlier than even: that is pushed"),
        "{pushed}"
    );
    // What a keyboard may blur is not told; even strokes have none.
    assert_eq!(
        (swung(0.02).played.swing, swung(0.0).played.swing),
        (None, None)
    );
}

#[test]
fn scatter_is_no_swing() {
    let mut seed = 7;
    let task = TapTask::of_clave(claves().next().unwrap(), Grid::Eighths, Tempo::new(120.0));
    let swings = (0..100).filter(|_| {
        // Even chances from -1 to 1 have a variance of 1/3: the sum of twelve is near a normal variable of deviation 2, here of
        // 40 ms.
        let mut off = || 0.02 * (0..12).map(|_| chance(&mut seed)).sum::<f64>();
        let all: Vec<f64> = times(&task, 8).iter().map(|t| t + off()).collect();
        grade(&task, &taps(&all)).played.swing.is_some()
    });
    // Four standard errors with eight to ten points: less than one in a hundred (Student's t).
    assert!(swings.count() <= 3);
}

#[test]
fn nothing_tapped_is_said_so() {
    let task = TapTask::of_clave(claves().next().unwrap(), Grid::Eighths, Tempo::new(120.0));
    let verdict = grade(&task, &[]);
    assert_eq!(verdict.told(&task, None), ["Nothing was tapped"]);
}

#[test]
fn hands_that_work_are_told_as_such_where_none_are_written() {
    let task = TapTask::new(
        read_line("HTSTHTOO", Grid::Eighths).unwrap(),
        Tempo::new(120.0),
    );
    let mut all = taps(&times(&task, 4));
    // Wikipedia, *Tumbao*.
    for (tap, hand) in all.iter_mut().zip("LLRLLLRR".chars().cycle()) {
        tap.hand = Some(if hand == 'L' { Hand::Left } else { Hand::Right });
    }
    let said = grade(&task, &all).told(&task, None).join("; ");
    assert!(said.ends_with("the hands work"), "{said}");
}
