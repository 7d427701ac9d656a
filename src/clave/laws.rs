//! Laws of readings over patterns drawn at random.

use super::{Cue, CueKind, Direction, Reading, SalientOnsets, SideClassifier, SideVerdict};
use crate::rhythm::{Grid, Hit, Instrument, Line, Weight};
use proptest::prelude::*;

fn line(grid: Grid, cells: &[u8]) -> Line {
    let hit = |c: &u8| match c {
        1 => Some(Weight::Plain),
        2 => Some(Weight::Accent),
        _ => None,
    };
    let cells = cells.iter().map(|c| {
        hit(c).map(|weight| Hit {
            weight,
            degree: None,
        })
    });
    Line::new(Instrument::Bell, grid, cells.collect()).expect("whole bars")
}

/// Of a pattern without a name, every pulse of the cue moves the free score the way that the cue says. Of one with a name, every
/// pulse is a stroke of the part (`tests/side.rs` looks at them one by one). And no cue that speaks for a side is as
/// true of all bars of the other side.
fn is_true(cue: &Cue, reading: &Reading, grid: Grid, cells: &[u8]) -> Result<(), TestCaseError> {
    let Some(direction) = cue.pulls else {
        return Ok(());
    };
    let sign = direction.sign();
    let bars = cells.len() / grid.pulses_per_bar();
    if let Some((bar, side)) = cue.bar {
        prop_assert_eq!(direction.side(bar), side);
        let per = grid.pulses_per_bar();
        let holds = |other: usize| {
            let there = |p: &usize| cells[other * per + p % per] != 0;
            cue.pulses.iter().all(there) && !cue.empty.iter().any(there)
        };
        let mut others = (0..bars).filter(|b| b % 2 != bar % 2);
        prop_assert!(
            grid == Grid::Triplets || bars < 2 || !others.all(holds),
            "{}",
            cue.text(grid)
        );
    }
    let free =
        |cells: &[u8]| SideClassifier::default().free(&SalientOnsets::of_line(&line(grid, cells)));
    let margin = free(cells);
    for (pulses, struck) in [(&cue.pulses, true), (&cue.empty, false)] {
        for pulse in pulses {
            let mut other = cells.to_vec();
            prop_assert_eq!(other[*pulse] != 0, struck, "{}", cue.text(grid));
            if reading.known.is_some()
                || matches!(cue.kind, CueKind::Half(..))
                || named_bar(reading)
            {
                prop_assert_eq!(
                    Some(direction),
                    reading_direction(reading),
                    "{}",
                    cue.text(grid)
                );
                continue;
            }
            other[*pulse] = u8::from(!struck);
            let moved = free(&other);
            prop_assert!(
                sign * (margin - moved) > 0.0,
                "{} at {}: {} to {}",
                cue.text(grid),
                pulse,
                margin,
                moved
            );
        }
    }
    Ok(())
}

/// Is it a single bar that is half of a named part?
fn named_bar(reading: &Reading) -> bool {
    let half = |cue: &Cue| matches!(cue.kind, CueKind::Half(..));
    reading.cues.iter().any(half)
}

/// The direction of a named part, or that which begins with the side of a single bar.
fn reading_direction(reading: &Reading) -> Option<Direction> {
    match reading.bars[..] {
        [bar] => bar.side.map(Direction::starting),
        _ => reading.known.and_then(|k| k.direction),
    }
}

fn holds(grid: Grid, cells: &[u8]) -> Result<(), TestCaseError> {
    let reading = SideClassifier::default().line(&line(grid, cells));
    for cue in &reading.cues {
        is_true(cue, &reading, grid, cells)?;
    }
    let c = reading.classes;
    let all = [c.three_two, c.two_three, c.neutral, c.crossed];
    prop_assert!(all.iter().all(|p| (0.0..=1.0).contains(p)));
    prop_assert!((all.iter().sum::<f64>() - 1.0).abs() < 1e-9);
    prop_assert!((0.0..=1.0).contains(&reading.forward));
    prop_assert!(!reading.cues.is_empty() || reading.verdict.direction().is_some());
    for (text, pulses) in reading.reasons() {
        let filled = !text.contains(['{', '}']);
        prop_assert!(filled, "a blank was left in a reason");
        prop_assert!(pulses.iter().all(|p| *p < cells.len()));
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]

    #[test]
    fn reasons_are_true_in_two_bars(cells in proptest::collection::vec(0u8..2, 16)) {
        holds(Grid::Eighths, &cells)?;
    }

    #[test]
    fn reasons_are_true_with_accents(cells in proptest::collection::vec(0u8..3, 16)) {
        holds(Grid::Eighths, &cells)?;
    }

    #[test]
    fn reasons_are_true_on_every_grid_and_length(
        grid in 0..4usize, bars in 1..6usize, cells in proptest::collection::vec(0u8..3, 96),
    ) {
        let grid = Grid::ALL[grid];
        holds(grid, &cells[..bars * grid.pulses_per_bar()])?;
    }

    #[test]
    fn swapping_the_bars_turns_everything(cells in proptest::collection::vec(0u8..3, 16)) {
        let a = SideClassifier::default().line(&line(Grid::Eighths, &cells));
        let b = SideClassifier::default().line(&line(Grid::Eighths, &cells).rotated(8));
        prop_assert!((a.margin + b.margin).abs() < 1e-9);
        prop_assert!((a.classes.three_two - b.classes.two_three).abs() < 1e-9);
        prop_assert!((a.classes.neutral - b.classes.neutral).abs() < 1e-9);
        let turned = match a.verdict {
            SideVerdict::ThreeTwo => SideVerdict::TwoThree,
            SideVerdict::TwoThree => SideVerdict::ThreeTwo,
            same => same,
        };
        prop_assert_eq!(b.verdict, turned);
    }

    #[test]
    fn more_rounds_of_the_same_say_the_same(cells in proptest::collection::vec(0u8..3, 16), rounds in 2..5usize) {
        let once = SideClassifier::default().line(&line(Grid::Eighths, &cells));
        let more = SideClassifier::default().line(&line(Grid::Eighths, &cells.repeat(rounds)));
        prop_assert_eq!(once.verdict, more.verdict);
        prop_assert!((once.margin - more.margin).abs() < 1e-9);
    }
}
