//! Laws of patterns, lines and scores: turning, tiling and hands lose nothing.

use super::{Drum, Grid, Hand, Hit, Instrument, Line, Pattern, Score, Stroke, Tone, Weight};
use proptest::prelude::*;

fn any_weight() -> impl Strategy<Value = Weight> {
    prop_oneof![
        Just(Weight::Ghost),
        Just(Weight::Plain),
        Just(Weight::Accent)
    ]
}

fn any_hand() -> impl Strategy<Value = Option<Hand>> {
    proptest::option::of(prop_oneof![Just(Hand::Left), Just(Hand::Right)])
}

fn any_cell() -> impl Strategy<Value = Option<Stroke>> {
    let stroke = (0..3usize, 0..7usize, any_weight(), any_hand());
    proptest::option::of(stroke.prop_map(|(drum, tone, weight, hand)| Stroke {
        weight,
        hand,
        ..Stroke::new(Drum::ALL[drum], Tone::ALL[tone])
    }))
}

fn any_grid() -> impl Strategy<Value = Grid> {
    (0..Grid::ALL.len()).prop_map(|g| Grid::ALL[g])
}

fn any_pattern() -> impl Strategy<Value = Pattern> {
    (any_grid(), 1..5usize).prop_flat_map(|(grid, bars)| {
        proptest::collection::vec(any_cell(), bars * grid.pulses_per_bar())
            .prop_map(move |cells| Pattern::new(grid, cells).unwrap())
    })
}

fn any_line(grid: Grid, instrument: Instrument) -> impl Strategy<Value = Line> {
    (1..4usize).prop_flat_map(move |bars| {
        let hit = any_weight().prop_map(|weight| Hit {
            weight,
            degree: None,
        });
        let cells =
            proptest::collection::vec(proptest::option::of(hit), bars * grid.pulses_per_bar());
        cells.prop_map(move |cells| Line::new(instrument, grid, cells).unwrap())
    })
}

fn any_score() -> impl Strategy<Value = Score> {
    any_pattern().prop_flat_map(|pattern| {
        let grid = pattern.grid();
        let lines = (
            any_line(grid, Instrument::Bell),
            any_line(grid, Instrument::Clave),
        );
        lines.prop_map(move |(bell, clave)| {
            let mut score = Score::empty(grid);
            score.drums = Some(pattern.clone());
            score.set_line(bell);
            score.set_line(clave);
            score
        })
    })
}

proptest! {
    #[test]
    fn a_turned_pattern_is_the_same_cycle_begun_later(p in any_pattern(), by in 0..200usize, more in 0..200usize) {
        let turned = p.rotated(by);
        prop_assert_eq!(turned.pulses(), p.pulses());
        prop_assert_eq!(turned.grid(), p.grid());
        for pulse in 0..2 * p.pulses() {
            prop_assert_eq!(turned.at(pulse), p.at(pulse + by));
        }
        prop_assert_eq!(turned.rotated(more), p.rotated(by + more));
        prop_assert_eq!(&p.rotated(p.pulses()), &p);
        prop_assert_eq!(turned.drums(), p.drums());
        prop_assert_eq!(turned.has_full_sticking(), p.has_full_sticking());
    }

    #[test]
    fn tiles_repeat_the_cycle(p in any_pattern(), bars in 1..12usize, times in 1..4usize) {
        let tiled = p.tiled(bars);
        prop_assert_eq!(tiled.bars(), bars);
        for pulse in 0..tiled.pulses() {
            prop_assert_eq!(tiled.at(pulse), p.at(pulse));
        }
        prop_assert_eq!(&p.tiled(p.bars()), &p);
        // Whole repeats cannot be told from the cycle itself.
        let whole = p.tiled(times * p.bars());
        prop_assert_eq!(&whole.rotated(p.pulses()), &whole);
        prop_assert_eq!(&whole.tiled(p.bars()), &p);
        prop_assert_eq!(p.tiled(0).bars(), 1);
    }

    #[test]
    fn bars_in_a_row_are_the_pattern(p in any_pattern()) {
        let row: Vec<Option<Stroke>> = (0..p.bars()).flat_map(|b| p.bar(b).to_vec()).collect();
        prop_assert_eq!(row.as_slice(), p.cells());
        prop_assert_eq!(p.bar(p.bars()), p.bar(0));
        prop_assert_eq!(p.strokes().count(), p.cells().iter().flatten().count());
    }

    #[test]
    fn hands_change_and_nothing_else_does(p in any_pattern(), hands in proptest::collection::vec(any_hand(), 0..80)) {
        prop_assert_eq!(&p.with_hands(&p.hands()), &p);
        let given = p.with_hands(&hands);
        for (i, ((at, before), (pulse, after))) in p.strokes().zip(given.strokes()).enumerate() {
            prop_assert_eq!(at, pulse);
            prop_assert_eq!(after.hand, hands.get(i).copied().flatten());
            prop_assert_eq!(Stroke { hand: before.hand, ..after }, before);
        }
        prop_assert_eq!(given.hands().len(), p.strokes().count());
        let full = given.hands().iter().all(Option::is_some) && !given.hands().is_empty();
        prop_assert_eq!(given.has_full_sticking(), full);
        prop_assert!(!p.with_hands(&[]).has_full_sticking());
    }

    #[test]
    fn only_whole_bars_are_patterns_and_lines(grid in any_grid(), cells in 0..100usize) {
        let whole = cells > 0 && cells % grid.pulses_per_bar() == 0;
        prop_assert_eq!(Pattern::new(grid, vec![None; cells]).is_ok(), whole);
        prop_assert_eq!(Line::new(Instrument::Bell, grid, vec![None; cells]).is_ok(), whole);
    }

    #[test]
    fn a_turned_score_keeps_its_parts_together(score in any_score(), by in 0..200usize) {
        let turned = score.rotated(by);
        prop_assert_eq!(turned.pulses(), score.pulses());
        let (drums, before) = (turned.drums.as_ref().unwrap(), score.drums.as_ref().unwrap());
        for pulse in 0..score.pulses() {
            prop_assert_eq!(drums.at(pulse), before.at(pulse + by));
            for line in &score.lines {
                let after = turned.line(line.instrument()).unwrap();
                prop_assert_eq!(after.at(pulse), line.at(pulse + by));
            }
        }
    }

    #[test]
    fn a_score_is_as_long_as_its_longest_part_and_has_one_line_an_instrument(
        mut score in any_score(),
        bars in 1..6usize,
    ) {
        let grid = score.grid;
        let longest = score.lines.iter().map(Line::pulses).max().unwrap();
        let drums = score.drums.as_ref().unwrap().pulses();
        prop_assert_eq!(score.pulses(), longest.max(drums));
        prop_assert_eq!(score.bars() * grid.pulses_per_bar(), score.pulses());
        let silent = Line::new(Instrument::Bell, grid, vec![None; bars * grid.pulses_per_bar()]).unwrap();
        score.set_line(silent.clone());
        prop_assert_eq!(score.lines.len(), 2);
        prop_assert_eq!(score.line(Instrument::Bell), Some(&silent));
        score.remove(Instrument::Bell);
        prop_assert_eq!(score.line(Instrument::Bell), None);
        prop_assert!(score.line(Instrument::Clave).is_some());
    }
}
