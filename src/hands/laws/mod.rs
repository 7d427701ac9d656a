//! Laws of the solver, held against a slow second reckoning that shares no code with it: every sticking of a pattern
//! is written out and priced from the definitions.

mod judge;
mod price;
mod reasons;

use super::moves::{STRONG, WEAK};
use super::problem::HABIT;
use super::solve::{Aim, solve};
use super::stick::DEFAULT;
use super::{Handed, Level, Player, fastest, stick};
use crate::rhythm::{Drum, Grid, Hand, Pattern, Stroke, Tempo, Tone, Weight};
use price::{Priced, priced};
use proptest::prelude::*;
use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};

const PRACTISED: Player = Player {
    level: Level::Practised,
    handed: Handed::Right,
};

/// Every way to give the strokes to two hands.
fn stickings(n: usize) -> impl Iterator<Item = Vec<Hand>> {
    (0..1u32 << n).map(move |bits| {
        (0..n)
            .map(|i| {
                if bits >> i & 1 == 1 {
                    Hand::Right
                } else {
                    Hand::Left
                }
            })
            .collect()
    })
}

fn any_stroke(rng: &mut ChaCha8Rng) -> Stroke {
    let weights = [Weight::Plain, Weight::Plain, Weight::Ghost, Weight::Accent];
    Stroke {
        weight: weights[rng.random_range(0..4)],
        ..Stroke::new(
            // Mostly the conga, as in life.
            [Drum::Conga, Drum::Conga, Drum::Tumbadora, Drum::Quinto][rng.random_range(0..4)],
            Tone::ALL[rng.random_range(0..7)],
        )
    }
}

fn pattern(grid: Grid, onsets: impl IntoIterator<Item = bool>, rng: &mut ChaCha8Rng) -> Pattern {
    let cells = onsets.into_iter().map(|on| on.then(|| any_stroke(rng)));
    Pattern::new(grid, cells.collect()).unwrap()
}

/// The solver's cost for a pattern under an aim, checked to be the price of the sticking that it names.
fn solved(p: &Pattern, tempo: Tempo, aim: Aim) -> f64 {
    let case = DEFAULT.case(p, Level::Practised, Handed::Right).unwrap();
    let w = case.weights(tempo, aim, &case.moves.allowed);
    let Some((cost, roles)) = solve(&w) else {
        return f64::INFINITY;
    };
    let hands: Vec<Hand> = roles
        .iter()
        .map(|r| {
            assert!(*r == STRONG || *r == WEAK);
            if *r == STRONG {
                Hand::Right
            } else {
                Hand::Left
            }
        })
        .collect();
    let own = priced(p, &hands, tempo).under(aim);
    assert!((own - cost).abs() < 1e-6, "{p:?} {hands:?}: {cost} {own}");
    cost
}

fn never_beaten(p: &Pattern, tempo: Tempo) {
    let all: Vec<Priced> = stickings(p.strokes().count())
        .map(|h| priced(p, &h, tempo))
        .collect();
    for aim in [Aim::Works(1.0), HABIT, Aim::Whatever] {
        let best = all
            .iter()
            .map(|x| x.under(aim))
            .fold(f64::INFINITY, f64::min);
        let ours = solved(p, tempo, aim);
        assert!(
            ours == best || (ours - best).abs() < 1e-6,
            "{p:?} at {tempo}: {ours}, but {best} is possible"
        );
    }
}

#[test]
fn never_beaten_on_any_rhythm_of_one_bar() {
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    for grid in [Grid::Eighths, Grid::SixEight] {
        let n = grid.pulses_per_bar();
        for bits in 1u32..1 << n {
            for _ in 0..2 {
                let p = pattern(grid, (0..n).map(|i| bits >> i & 1 == 1), &mut rng);
                never_beaten(&p, Tempo::new(rng.random_range(50.0..320.0)));
            }
        }
    }
}

#[test]
fn never_beaten_on_any_rhythm_of_up_to_ten_strokes_in_two_bars_of_six_eight() {
    let mut rng = ChaCha8Rng::seed_from_u64(2);
    for bits in (1u32..1 << 12).filter(|b| b.count_ones() <= 10) {
        let p = pattern(
            Grid::SixEight,
            (0..12).map(|i| bits >> i & 1 == 1),
            &mut rng,
        );
        never_beaten(&p, Tempo::new(rng.random_range(50.0..320.0)));
    }
}

#[test]
fn never_beaten_on_any_choice_of_up_to_three_strokes() {
    let kinds: Vec<Option<Stroke>> = Drum::ALL
        .into_iter()
        .flat_map(|d| Tone::ALL.map(|t| Some(Stroke::new(d, t))))
        .collect();
    for (i, a) in kinds.iter().enumerate() {
        for (j, b) in kinds.iter().enumerate() {
            for c in &kinds {
                let cells = vec![*a, *b, None, *c, None, None];
                let p = Pattern::new(Grid::SixEight, cells).unwrap();
                never_beaten(&p, Tempo::new(90.0 + 10.0 * ((i + j) % 20) as f64));
            }
        }
    }
}

/// Every set of up to ten onsets in two bars of eighths, one draw of strokes and tempo each.
fn never_beaten_in_two_bars(one_in: u32) {
    let mut rng = ChaCha8Rng::seed_from_u64(3);
    let mut tried = 0;
    for bits in (1u32..1 << 16).filter(|b| b.count_ones() <= 10) {
        if rng.random_range(0..one_in) > 0 {
            continue;
        }
        let p = pattern(Grid::Eighths, (0..16).map(|i| bits >> i & 1 == 1), &mut rng);
        never_beaten(&p, Tempo::new(rng.random_range(60.0..260.0)));
        tried += 1;
    }
    println!("{tried} rhythms tried");
    assert!(tried > 40_000 / one_in);
}

#[test]
fn never_beaten_on_a_draw_of_rhythms_of_up_to_ten_strokes_in_two_bars_of_eighths() {
    never_beaten_in_two_bars(60);
}

#[test]
#[ignore = "takes half a minute; the draw above is the same with one rhythm in sixty"]
fn never_beaten_on_all_rhythms_of_up_to_ten_strokes_in_two_bars_of_eighths() {
    never_beaten_in_two_bars(1);
}

#[test]
fn no_sticking_is_faster_than_the_fastest() {
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    for _ in 0..300 {
        let on: Vec<bool> = (0..8).map(|_| rng.random_range(0..4) > 0).collect();
        let p = pattern(Grid::Eighths, on, &mut rng);
        let top = fastest(&p, &PRACTISED);
        let any =
            |tempo: Tempo| stickings(p.strokes().count()).any(|h| priced(&p, &h, tempo).works());
        assert!(any(top * (1.0 - 1e-6)) && !any(top * (1.0 + 1e-6)), "{p:?}");
    }
}

fn arbitrary() -> impl Strategy<Value = Pattern> {
    (0..4usize, 1..3usize, any::<u64>(), 0.2..1.0f64).prop_map(|(grid, bars, seed, density)| {
        let grid = Grid::ALL[grid];
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let on: Vec<bool> = (0..bars * grid.pulses_per_bar())
            .map(|_| rng.random_bool(density))
            .collect();
        pattern(grid, on, &mut rng)
    })
}

fn mirrored(hands: &[Option<Hand>]) -> Vec<Option<Hand>> {
    hands.iter().map(|h| h.map(Hand::other)).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn a_left_handed_player_is_the_mirror_image(p in arbitrary(), tempo in (40.0..300.0f64).prop_map(Tempo::new), level in 0..3usize) {
        let level = Level::ALL[level];
        let right = stick(&p, tempo, &Player { level, handed: Handed::Right });
        let left = stick(&p, tempo, &Player { level, handed: Handed::Left });
        prop_assert_eq!(&left.hands, &mirrored(&right.hands));
        prop_assert_eq!(left.load, right.load);
        prop_assert_eq!(left.ceiling, right.ceiling);
        prop_assert_eq!(left.too_fast, right.too_fast);
    }

    #[test]
    fn a_sticking_says_what_it_is(p in arbitrary(), tempo in (40.0..300.0f64).prop_map(Tempo::new)) {
        let s = stick(&p, tempo, &PRACTISED);
        let hands: Vec<Hand> = s.hands.iter().flatten().copied().collect();
        prop_assert_eq!(s.hands.len(), p.pulses());
        prop_assert_eq!(hands.len(), p.strokes().count());
        if hands.is_empty() {
            prop_assert!(s.ceiling == Tempo::UNLIMITED && !s.too_fast);
            return Ok(());
        }
        let own = priced(&p, &hands, tempo);
        prop_assert!((own.peak - s.load).abs() < 1e-9);
        prop_assert_eq!(s.too_fast, !own.works(), "{:?}", s);
        // The closed form: at the ceiling the peak load is 1.
        prop_assert!((priced(&p, &hands, s.ceiling).peak - 1.0).abs() < 1e-9);
        let written = p.with_hands(&hands.iter().map(|h| Some(*h)).collect::<Vec<_>>());
        let given = stick(&written, tempo, &PRACTISED).ceiling;
        prop_assert!((given / s.ceiling - 1.0).abs() < 1e-9);
        prop_assert!(s.works_to <= s.ceiling);
        prop_assert_eq!(s.too_fast, tempo > s.works_to, "{:?}", s);
        prop_assert!(priced(&p, &hands, s.works_to * (1.0 - 1e-6)).works());
        prop_assert!(!priced(&p, &hands, s.works_to * (1.0 + 1e-6)).works());
        for reason in &s.reasons {
            for pulse in &reason.pulses {
                prop_assert!(p.at(*pulse).is_some(), "{}", reason.text);
            }
        }
    }

    #[test]
    fn written_hands_stay_and_always_count(p in arbitrary(), tempo in (40.0..300.0f64).prop_map(Tempo::new), bits in any::<u64>()) {
        let n = p.strokes().count();
        let hands: Vec<Option<Hand>> = (0..n).map(|i| match bits >> (2 * i % 64) & 3 {
            0 => Some(Hand::Left),
            1 => Some(Hand::Right),
            _ => None,
        }).collect();
        let p = p.with_hands(&hands);
        let s = stick(&p, tempo, &PRACTISED);
        for (pulse, stroke) in p.strokes() {
            if let Some(h) = stroke.hand {
                prop_assert_eq!(s.hands[pulse], Some(h));
            }
        }
    }

    #[test]
    fn training_never_slows_a_sticking(p in arbitrary(), tempo in (40.0..300.0f64).prop_map(Tempo::new)) {
        let s = stick(&p, tempo, &PRACTISED);
        let hands: Vec<Option<Hand>> = s.hands.iter().filter(|h| h.is_some()).copied().collect();
        let p = p.with_hands(&hands);
        let top = |level| fastest(&p, &Player { level, handed: Handed::Right });
        prop_assert!(top(Level::Learner) <= top(Level::Practised));
        prop_assert!(top(Level::Practised) <= top(Level::Expert));
    }

    #[test]
    fn a_cycle_begun_a_bar_later_has_the_same_load(p in arbitrary(), tempo in (40.0..300.0f64).prop_map(Tempo::new)) {
        let later = p.rotated(p.grid().pulses_per_bar());
        let case = |p: &Pattern| (p.strokes().next().is_some()).then(|| solved(p, tempo, Aim::Whatever));
        match (case(&p), case(&later)) {
            (Some(a), Some(b)) => prop_assert!((a - b).abs() < 1e-6),
            (a, b) => prop_assert_eq!(a, b),
        }
    }

    #[test]
    fn no_tempo_panics(p in arbitrary(), tempo in prop::num::f64::ANY.prop_map(Tempo::new)) {
        let s = stick(&p, tempo, &PRACTISED);
        prop_assert_eq!(s.hands.len(), p.pulses());
    }
}
