//! Rolls and rudiments: stickings by definition, known by their hands.

use crate::rhythm::{Hand, Pattern};

/// A roll or rudiment whose strokes are even and whose hands define it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rudiment {
    /// The trade's name, in small letters.
    pub name: &'static str,
    /// Its hands once round, begun with the right; begun with the left they are the mirror image.
    pub hands: &'static str,
}

/// Percussive Arts Society, International Drum Rudiments, 1984: those of its forty that are told by even single
/// strokes alone. The others need a rest at a set place, flams or drags. The last one is not on the list but a name of the trade
/// (also inward paradiddle; common practice, no source).
pub const RUDIMENTS: &[Rudiment] = &[
    of("single stroke roll", "RL"),
    of("double stroke roll", "RRLL"),
    of("triple stroke roll", "RRRLLL"),
    of("six stroke roll", "RLLRRL"),
    of("single paradiddle", "RLRRLRLL"),
    of("single paradiddle-diddle", "RLRRLL"),
    of("double paradiddle", "RLRLRRLRLRLL"),
    of("triple paradiddle", "RLRLRLRRLRLRLRLL"),
    of("inverted paradiddle", "RLLRLRRL"),
];

const fn of(name: &'static str, hands: &'static str) -> Rudiment {
    Rudiment { name, hands }
}

impl Rudiment {
    /// How many strokes it has once round.
    pub fn strokes(&self) -> usize {
        self.hands.len()
    }

    /// The hands of this many strokes, round and round, begun with `lead`.
    pub fn row(&self, lead: Hand, strokes: usize) -> Vec<Hand> {
        let of = |letter: char| match letter {
            'R' => lead,
            _ => lead.other(),
        };
        self.hands.chars().map(of).cycle().take(strokes).collect()
    }
}

/// The rudiment that a pattern's written hands are, whole times round, begun with either hand. `None` where there is
/// none: a hand is missing, the strokes are not even, lie on several drums, or heel and tip keep the time.
pub fn rudiment(pattern: &Pattern) -> Option<&'static Rudiment> {
    let hands: Option<Vec<Hand>> = pattern.hands().into_iter().collect();
    told_by(&hands.filter(|_| is_even(pattern))?)
}

/// Strokes of one drum at even distances round the cycle, no heel and no tip among them: what a roll or a rudiment
/// may be played on. False where nothing is struck.
pub fn is_even(pattern: &Pattern) -> bool {
    let strokes: Vec<_> = pattern.strokes().collect();
    let Some((_, first)) = strokes.first() else {
        return false;
    };
    let every = pattern.pulses() / strokes.len();
    every * strokes.len() == pattern.pulses()
        && strokes.windows(2).all(|w| w[1].0 - w[0].0 == every)
        && strokes
            .iter()
            .all(|(_, s)| s.drum == first.drum && !s.tone.is_heel_or_tip())
}

/// The rudiment that fills a row of hands whole times.
pub(super) fn told_by(hands: &[Hand]) -> Option<&'static Rudiment> {
    let fills = |r: &&Rudiment| {
        let lead = hands.first();
        let row = lead.map(|lead| r.row(*lead, hands.len()));
        hands.len().is_multiple_of(r.strokes()) && row.is_some_and(|row| row == hands)
    };
    RUDIMENTS.iter().find(fills)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rhythm::Grid;
    use crate::rhythm::notation::read_line;

    fn told(strokes: &str, grid: Grid, hands: &str) -> Option<&'static str> {
        let hands: Vec<Option<Hand>> = hands.chars().map(Hand::from_letter).collect();
        let pattern = read_line(strokes, grid).unwrap().with_hands(&hands);
        rudiment(&pattern).map(|r| r.name)
    }

    /// Percussive Arts Society, International Drum Rudiments, 1984.
    #[test]
    fn stickings_have_their_names_from_either_hand() {
        let eight = "OOOOOOOO";
        let twelve = "SOOOOSSOOOOS";
        let sixteen = "OOOOOOOOOOOOOOOO";
        for (strokes, grid, hands, name) in [
            (eight, Grid::Eighths, "RLRLRLRL", "single stroke roll"),
            (eight, Grid::Eighths, "LRLRLRLR", "single stroke roll"),
            (eight, Grid::Eighths, "RRLLRRLL", "double stroke roll"),
            (eight, Grid::Eighths, "RLRRLRLL", "single paradiddle"),
            (eight, Grid::Eighths, "LRLLRLRR", "single paradiddle"),
            ("SOOOSOOO", Grid::Eighths, "RLRRLRLL", "single paradiddle"),
            // Not on the list: common practice, no source.
            (eight, Grid::Eighths, "RLLRLRRL", "inverted paradiddle"),
            (twelve, Grid::Triplets, "RLLRRLRLLRRL", "six stroke roll"),
            (
                twelve,
                Grid::Triplets,
                "RLRRLLRLRRLL",
                "single paradiddle-diddle",
            ),
            (twelve, Grid::Triplets, "RLRLRRLRLRLL", "double paradiddle"),
            (twelve, Grid::Triplets, "RRRLLLRRRLLL", "triple stroke roll"),
            (
                sixteen,
                Grid::Sixteenths,
                "RLRLRLRRLRLRLRLL",
                "triple paradiddle",
            ),
        ] {
            assert_eq!(told(strokes, grid, hands), Some(name), "{hands}");
        }
    }

    #[test]
    fn what_is_no_rudiment_has_no_name() {
        for (strokes, hands) in [
            ("OOOOOOOO", "RRLRLLRL"), // a paradiddle begun elsewhere
            ("OOOOOOOO", "RRRRRRRR"),
            ("OOOOOOOO", "RLRLRLR?"),
            ("OOOOOOO.", "RLRLRLR"),
            ("HTHTHTHT", "RLRLRLRL"),
            ("OOOOtOtOtOtO", "RLRLRLRL"),
            ("........", ""),
        ] {
            assert_eq!(
                told(strokes, Grid::Eighths, hands),
                None,
                "{strokes} {hands}"
            );
        }
    }
}
