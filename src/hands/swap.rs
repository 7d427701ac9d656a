//! What it takes to give one stroke to the other hand.

use super::Player;
use super::moves::role;
use super::stick::{DEFAULT, Solver};
use crate::rhythm::Pattern;

/// Limits closer than this share of each other are the same.
const ROUNDING: f64 = 1e-9;

/// One stroke of a pattern given to the other hand, every other hand as written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Swap {
    /// Where the stroke is, from 0 in the pattern.
    pub pulse: usize,
    /// How much dearer the sticking gets tempo apart, in the model's cost: habit, effort, changes of place. Negative
    /// where it gets easier.
    pub dearer: f64,
    /// Fastest tempo of the whole pattern with it, beats a minute, an estimate.
    pub limit: f64,
    /// What limits it is that the hands cross, not that one of them is too slow.
    pub crossed: bool,
}

/// Every stroke of a pattern given to the other hand in turn. `None` where a hand is missing in the pattern.
pub fn swaps(pattern: &Pattern, player: &Player) -> Option<Vec<Swap>> {
    DEFAULT.swaps(pattern, player)
}

impl Solver {
    /// See [`swaps`].
    pub fn swaps(&self, pattern: &Pattern, player: &Player) -> Option<Vec<Swap>> {
        let Some(case) = self.case(pattern, player.level, player.handed) else {
            return Some(Vec::new());
        };
        let written: Option<Vec<usize>> = pattern
            .strokes()
            .map(|(_, s)| s.hand.map(|h| role(h, player.handed)))
            .collect();
        let written = written?;
        let usual = case.measure(written.clone()).total_habit();
        let swap = |(i, (pulse, _)): (usize, (usize, _))| {
            let mut roles = written.clone();
            roles[i] = 1 - roles[i];
            let form = case.measure(roles);
            Swap {
                pulse,
                dearer: form.total_habit() - usual,
                limit: form.limit,
                crossed: form.limit < form.ceiling * (1.0 - ROUNDING),
            }
        };
        Some(pattern.strokes().enumerate().map(swap).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hands::{Level, ceiling};
    use crate::rhythm::notation::read_line;
    use crate::rhythm::{Grid, Hand};

    fn pattern(strokes: &str, hands: &str) -> Pattern {
        let hands: Vec<Option<Hand>> = hands.chars().map(Hand::from_letter).collect();
        read_line(strokes, Grid::Eighths)
            .unwrap()
            .with_hands(&hands)
    }

    #[test]
    fn the_tumbao_as_it_is_written_is_the_easiest() {
        // Encyclopedia articles Tumbao and Conga: `LLRLLLRR`. The heel-tip rocking stays in one hand, the strokes
        // that carry in the other (common practice, no source).
        for level in Level::ALL {
            let player = Player {
                level,
                ..Player::default()
            };
            let swaps = swaps(&pattern("HTSTHTOO", "LLRLLLRR"), &player).unwrap();
            assert_eq!(swaps.len(), 8);
            let dear = swaps.iter().filter(|s| s.dearer > 0.0).count();
            assert!(dear >= 7, "{swaps:?}");
        }
    }

    #[test]
    fn the_limit_is_the_ceiling_of_the_changed_hands() {
        let player = Player::default();
        let swaps = swaps(&pattern("HTSTHTOO", "LLRLLLRR"), &player).unwrap();
        let changed = pattern("HTSTHTOO", "LLLLLLRR");
        let ceiling = ceiling(&changed, &player).unwrap();
        assert!((swaps[2].limit / ceiling - 1.0).abs() < 1e-9);
        assert!(!swaps[2].crossed);
    }

    #[test]
    fn a_missing_hand_and_no_stroke_are_told_apart() {
        let found = |p: &Pattern| swaps(p, &Player::default()).map(|s| s.len());
        let open = read_line("HTSTHTOO", Grid::Eighths).unwrap();
        assert_eq!(found(&open), None);
        assert_eq!(found(&pattern("........", "")), Some(0));
    }
}
