//! Frozen: what taps come to, of tappers who are early, late, uneven, forgetful or in the other direction.

use crate::{TextSums, chance, rounded};
use std::fmt::Write;
use whichside::clave::{Clave, Direction, Family, PARTS};
use whichside::hands::Player;
use whichside::rhythm::notation::read_line;
use whichside::rhythm::{Grid, Hand, Tempo};
use whichside::taps::{Tap, TapLead, TapTask, counted, drifting, grade, in_ms};
use whichside::time::Seconds;

fn tasks() -> Vec<TapTask> {
    let mut tasks = Vec::new();
    for family in Family::ALL {
        for direction in Direction::ALL {
            let clave = Clave { family, direction };
            tasks.push(match direction {
                Direction::ThreeTwo => TapTask::of_clave(clave, Grid::Eighths, Tempo::new(110.0)),
                Direction::TwoThree => {
                    TapTask::of_clave(clave, Grid::ALL[1], Tempo::new(87.0)).times(3)
                }
            });
            let held = TapTask::of_clave(clave, Grid::Eighths, Tempo::new(140.0));
            tasks.push(held.times(3).without_clave(1..2));
        }
    }
    let lines = [
        "HTSTHTOO",
        "S.OOS.OO | ..OO.SOO",
        "H T S tO tO T O O | HTSTHTOO",
    ];
    for (n, row) in lines.into_iter().enumerate() {
        let part = read_line(row, Grid::Eighths).unwrap();
        let hands = part.with_each_hand(|p, _| Some(Hand::ALL[p % 2]));
        let clave = Clave {
            family: Family::ALL[0],
            direction: Direction::ALL[n % 2],
        };
        tasks.push(TapTask::new(part.clone(), Tempo::new(100.0)).by(Player::default()));
        tasks.push(
            TapTask::new(hands.clone(), Tempo::new(160.0))
                .over(clave)
                .times(3),
        );
        tasks.push(
            TapTask::new(hands, Tempo::new(90.0))
                .in_turns([1, 3])
                .with_lead(Seconds::new(-0.04)),
        );
    }
    for part in PARTS.iter().step_by(9) {
        let row = part.onsets(Direction::ALL[0]);
        tasks.extend(TapTask::of_onsets(part.grid, &row, Tempo::new(128.0)));
    }
    tasks
}

/// The taps of a task in three rounds, or in those that are set, by a tapper of each sort.
fn tapped(task: &TapTask, sort: usize, state: &mut u64) -> Vec<Tap> {
    let rounds: Vec<usize> = match task.turns() {
        Some(turns) => turns.to_vec(),
        None => (0..3).collect(),
    };
    let pulse = task.pulse_seconds().seconds();
    let mut taps = Vec::new();
    let mut drift = 0.0;
    for round in rounds {
        for (p, stroke) in task.part().strokes() {
            let at = round as f64 * task.cycle_seconds().seconds() + p as f64 * pulse;
            let noise = |state: &mut u64| chance(state, 2001) as f64 / 1000.0 - 1.0;
            let (off, keep) = match sort {
                0 => (0.02 * noise(state), true),
                1 => (0.09 + 0.05 * noise(state), true),
                2 => (-0.06 + 0.02 * noise(state), chance(state, 7) > 0),
                3 => {
                    drift += 0.002;
                    (drift + 0.01 * noise(state), true)
                }
                4 => (0.4 * pulse * noise(state), chance(state, 12) > 0),
                // A bar too soon, or late: the other direction of a clave.
                5 => (-(task.part().grid().pulses_per_bar() as f64) * pulse, true),
                6 => ((0.3 * pulse) * (p % 2) as f64, true),
                _ => (2.0 * pulse * noise(state), chance(state, 3) > 0),
            };
            if keep {
                taps.push(Tap {
                    seconds: Seconds::new(at + off),
                    hand: match sort % 3 {
                        0 => stroke.hand,
                        1 => Some(Hand::ALL[chance(state, 2) as usize]),
                        _ => None,
                    },
                });
            }
            if sort == 2 && chance(state, 9) == 0 {
                taps.push(Tap::at(Seconds::new(at + 0.6 * pulse)));
            }
        }
    }
    taps.sort_by(|a, b| a.seconds.total_cmp(&b.seconds));
    taps
}

#[test]
fn taps_are_graded_as_they_were() {
    let (mut sums, mut read) = (TextSums::default(), String::new());
    let mut state = 123_456_789_246_813_579;
    for (n, task) in tasks().into_iter().enumerate() {
        let mut lead = TapLead::default();
        for sort in 0..8 {
            let taps = tapped(&task, sort, &mut state);
            let verdict = grade(&task, &taps);
            lead = lead.after(&verdict.played);
            let mut text = format!("{verdict:#?}\n");
            writeln!(text, "{}", verdict.named(&task)).unwrap();
            writeln!(text, "{:?}", verdict.told(&task, None)).unwrap();
            let first = Some("As it was".to_string());
            writeln!(text, "{:?}", verdict.told(&task, first)).unwrap();
            let direction = task.direction();
            writeln!(
                text,
                "{direction:?} {:?} {:?}",
                task.mean_interval(),
                lead.late()
            )
            .unwrap();
            for bar in (0..task.part().bars()).filter(|_| n % 3 == 2 && sort % 2 == 0) {
                let elsewhere = task.variation_elsewhere(bar..bar + 1, &taps, &verdict);
                let place = elsewhere.map(|(what, meant)| (what, meant.correct));
                writeln!(text, "bar {bar}: {place:?}").unwrap();
            }
            let text = rounded(&text);
            sums.add(format!("task {n:02}"), &text);
            if (n + sort) % 45 == 0 {
                let count = task.part().strokes().count();
                writeln!(read, "task {n}, sort {sort}, {count} strokes\n{text}").unwrap();
            }
        }
    }
    insta::assert_snapshot!("taps_sums", sums.told());
    insta::assert_snapshot!("taps", read);
}

#[test]
fn numbers_of_taps_are_said_as_they_were() {
    let mut text = String::new();
    for (hits, missed, added) in [(5, 0, 0), (4, 1, 0), (3, 2, 1), (9, 0, 2), (0, 3, 1)] {
        writeln!(text, "{}", counted(hits, missed, added)).unwrap();
    }
    for seconds in [0.0, 0.0004, -0.0123, 0.25, 1.5] {
        writeln!(
            text,
            "{} | {}",
            in_ms(Seconds::new(seconds)),
            drifting(Seconds::new(seconds))
        )
        .unwrap();
    }
    insta::assert_snapshot!(text);
}
