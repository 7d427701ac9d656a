//! Frozen: on which side of the clave rows of strokes and onsets are read, and why.

use crate::{TextSums, chance, rounded};
use std::fmt::Write;
use whichside::clave::{Clave, Direction, Family, LowDrum, PARTS, SideClassifier, locks, meets};
use whichside::deck::shipped;
use whichside::rhythm::{Drum, Grid, Pattern, Stroke, Tone, Weight};

fn classifiers() -> [SideClassifier; 4] {
    let classifier = SideClassifier::default();
    [
        classifier,
        SideClassifier {
            named_parts: false,
            ..classifier
        },
        SideClassifier {
            low_drum: Some(LowDrum::OnTwoSide),
            ..classifier
        },
        SideClassifier {
            low_drum: Some(LowDrum::OnThreeSide),
            ..classifier
        },
    ]
}

fn onsets(grid: Grid, bars: usize, state: &mut u64) -> Vec<bool> {
    let pulses = grid.pulses_per_bar() * bars;
    (0..pulses).map(|_| chance(state, 5) < 2).collect()
}

fn drums(grid: Grid, bars: usize, state: &mut u64) -> Pattern {
    let pulses = grid.pulses_per_bar() * bars;
    let cells = (0..pulses).map(|_| {
        (chance(state, 4) > 0).then(|| Stroke {
            weight: [Weight::Plain, Weight::Accent, Weight::Ghost, Weight::Plain]
                [chance(state, 4) as usize],
            ..Stroke::new(
                Drum::ALL[chance(state, 3) as usize],
                Tone::ALL[chance(state, Tone::ALL.len() as u64) as usize],
            )
        })
    });
    Pattern::new(grid, cells.collect()).unwrap()
}

#[test]
fn rows_are_read_as_they_were() {
    let (mut sums, mut read) = (TextSums::default(), String::new());
    let mut state = 362_436_069_123_456_789;
    for grid in Grid::ALL {
        for n in 0..48 {
            let bars = [2, 2, 1, 4, 2, 3][n % 6];
            let (row, part) = (
                onsets(grid, bars, &mut state),
                drums(grid, bars, &mut state),
            );
            for (i, classifier) in classifiers().into_iter().enumerate() {
                let heard = rounded(&format!("{:#?}", classifier.onsets(grid, &row)));
                let struck = rounded(&format!("{:#?}", classifier.pattern(&part)));
                sums.add(format!("{grid:?} onsets {i}"), &heard);
                sums.add(format!("{grid:?} strokes {i}"), &struck);
                if n % 24 == 3 && i == 0 {
                    writeln!(read, "{row:?}\n{heard}\n{struck}").unwrap();
                }
            }
            for family in Family::ALL {
                for direction in Direction::ALL {
                    let clave = Clave { family, direction };
                    let meets = meets(&row, clave, grid, 3..11);
                    sums.add(format!("{grid:?} meets"), &format!("{meets:?}"));
                    let locks = locks(&row, clave, grid);
                    sums.add(format!("{grid:?} locks"), &format!("{locks:?}"));
                }
            }
        }
    }
    for part in PARTS {
        for direction in Direction::ALL {
            let mut row = part.onsets(direction);
            for _ in 0..3 {
                let heard = SideClassifier::default().onsets(part.grid, &row);
                sums.add("named parts", &rounded(&format!("{heard:?}")));
                row.rotate_left(1);
            }
            let at = chance(&mut state, row.len() as u64) as usize;
            row[at] = !row[at];
            let heard = SideClassifier::default().onsets(part.grid, &row);
            sums.add("named parts", &rounded(&format!("{heard:?}")));
        }
    }
    for deck in shipped() {
        for card in &deck.cards {
            let heard = card.classifier().score(&card.score);
            sums.add(format!("deck {}", deck.id), &rounded(&format!("{heard:?}")));
        }
    }
    insta::assert_snapshot!("readings_sums", sums.told());
    insta::assert_snapshot!("readings", read);
}
