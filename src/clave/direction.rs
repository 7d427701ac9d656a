//! The two sides of the clave and the two directions of a phrase.

use super::{NamedPart, PARTS};
use crate::rhythm::{Grid, Instrument, Line};
use serde::{Deserialize, Serialize};

/// One half of the clave cycle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    /// The bar of the clave with two strokes.
    Two,
    /// The bar of the clave with three strokes.
    Three,
}

impl Side {
    /// `two side` or `three side`.
    pub const fn name(self) -> &'static str {
        match self {
            Side::Two => "two side",
            Side::Three => "three side",
        }
    }

    /// The side that it is not.
    pub const fn other(self) -> Side {
        match self {
            Side::Two => Side::Three,
            Side::Three => Side::Two,
        }
    }
}

/// Which side comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Direction {
    /// Two side first.
    #[serde(rename = "2-3")]
    TwoThree,
    /// Three side first.
    #[serde(rename = "3-2")]
    ThreeTwo,
}

impl Direction {
    /// Both directions.
    pub const ALL: [Direction; 2] = [Direction::TwoThree, Direction::ThreeTwo];

    /// `2-3` or `3-2`.
    pub const fn name(self) -> &'static str {
        match self {
            Direction::TwoThree => "2-3",
            Direction::ThreeTwo => "3-2",
        }
    }

    /// The side of bar `bar`, counted from 0.
    pub const fn side(self, bar: usize) -> Side {
        match (self, bar % 2) {
            (Direction::TwoThree, 0) | (Direction::ThreeTwo, 1) => Side::Two,
            _ => Side::Three,
        }
    }

    /// The direction whose first bar is `side`.
    pub const fn starting(side: Side) -> Direction {
        match side {
            Side::Two => Direction::TwoThree,
            Side::Three => Direction::ThreeTwo,
        }
    }

    /// The sign of log odds of 3-2 against 2-3 that speak for it.
    pub(super) const fn sign(self) -> f64 {
        match self {
            Direction::ThreeTwo => 1.0,
            Direction::TwoThree => -1.0,
        }
    }

    /// The direction for which log odds of 3-2 against 2-3 speak.
    pub(super) fn of_sign(log_odds: f64) -> Direction {
        match log_odds < 0.0 {
            true => Direction::TwoThree,
            false => Direction::ThreeTwo,
        }
    }

    /// The direction heard when the same cycle is begun `bars` bars later.
    pub const fn begun_later(self, bars: usize) -> Direction {
        Direction::starting(self.side(bars))
    }
}

/// Which clave: son or rumba. In 6/8 these are the two forms of the 6/8 clave.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Family {
    /// In four, the last stroke of its three side lies on 4.
    Son,
    /// In four, the last stroke of its three side lies on 4&.
    Rumba,
}

impl Family {
    /// Both families.
    pub const ALL: [Family; 2] = [Family::Son, Family::Rumba];

    /// `son` or `rumba`.
    pub const fn name(self) -> &'static str {
        match self {
            Family::Son => "son",
            Family::Rumba => "rumba",
        }
    }
}

/// A clave in a direction, the reference under a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Clave {
    /// Son or rumba.
    pub family: Family,
    /// Which side comes first.
    pub direction: Direction,
}

impl Clave {
    /// Son and rumba, each in both directions.
    pub fn all() -> impl Iterator<Item = Clave> {
        let both = |family| Direction::ALL.map(|direction| Clave { family, direction });
        Family::ALL.into_iter().flat_map(both)
    }

    /// Its row in the table of parts: those that fit a grid stand there son first. In triplets the strokes of 6/8 fall on the
    /// triplet grid, two pulses of it to one of 6/8, as the 6/8 clave is played over a 4/4 bar (common practice, no source).
    pub(super) fn part(self, grid: Grid) -> Option<&'static NamedPart> {
        let plays = |p: &&NamedPart| p.instrument == Some(Instrument::Clave) && p.fits(grid);
        PARTS.iter().filter(plays).nth(self.family as usize)
    }

    /// The clave's cycle as onsets on `grid`, two bars long.
    pub fn onsets(self, grid: Grid) -> Vec<bool> {
        self.line(grid)
            .cells()
            .iter()
            .map(Option::is_some)
            .collect()
    }

    /// Those of these pulses that it strikes, counted from where it begins.
    pub fn struck(self, grid: Grid, pulses: impl IntoIterator<Item = usize>) -> Vec<usize> {
        let onsets = self.onsets(grid);
        let pulses = pulses.into_iter();
        pulses.filter(|p| onsets[p % onsets.len()]).collect()
    }

    /// The clave as a line of the band.
    pub fn line(self, grid: Grid) -> Line {
        let part = self.part(grid).and_then(|p| p.line(grid, self.direction));
        part.expect("each clave is in the table, on every grid")
    }

    /// The same clave heard from `bars` bars later.
    pub fn begun_later(self, bars: usize) -> Clave {
        Clave {
            direction: self.direction.begun_later(bars),
            ..self
        }
    }
}

impl std::fmt::Display for Clave {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}", self.family.name(), self.direction.name())
    }
}

/// Can a phrase of `bars` bars over `clave` be repeated: does it end where the clave comes round, or is there none? An odd
/// number of bars would turn the clave over the second time. A single bar is repeated by itself, the same on either
/// side.
pub const fn goes_round(clave: Option<Clave>, bars: usize) -> bool {
    clave.is_none() || bars == 1 || bars.is_multiple_of(2)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(family: Family, direction: Direction, grid: Grid) -> String {
        let onsets = Clave { family, direction }.onsets(grid);
        onsets
            .iter()
            .map(|on| if *on { 'x' } else { '.' })
            .collect()
    }

    #[test]
    fn claves_are_the_published_strings() {
        use Direction::*;
        // Toussaint 2013, ch. 7
        assert_eq!(
            text(Family::Son, ThreeTwo, Grid::Eighths),
            "x..x..x...x.x..."
        );
        assert_eq!(
            text(Family::Son, TwoThree, Grid::Eighths),
            "..x.x...x..x..x."
        );
        assert_eq!(
            text(Family::Rumba, ThreeTwo, Grid::Eighths),
            "x..x...x..x.x..."
        );
        assert_eq!(
            text(Family::Rumba, TwoThree, Grid::Eighths),
            "..x.x...x..x...x"
        );
        // 6/8, son form: Wikipedia, Clave (rhythm); rumba form: common practice, no source
        assert_eq!(text(Family::Son, ThreeTwo, Grid::SixEight), "x.x.x..x.x..");
        assert_eq!(
            text(Family::Rumba, TwoThree, Grid::SixEight),
            ".x.x..x.x..x"
        );
        // one pulse of these is two of the finer grid
        for (coarse, fine) in [
            (Grid::Eighths, Grid::Sixteenths),
            (Grid::SixEight, Grid::Triplets),
        ] {
            for family in Family::ALL {
                let wide: String = text(family, TwoThree, coarse)
                    .chars()
                    .flat_map(|c| [c, '.'])
                    .collect();
                assert_eq!(text(family, TwoThree, fine), wide);
            }
        }
    }

    #[test]
    fn odd_bars_of_a_two_three_phrase_are_the_two_side() {
        // Bar 7 of an eight-bar phrase in 2-3 (common practice, no source).
        assert_eq!(Direction::TwoThree.side(6), Side::Two);
        assert_eq!(Direction::ThreeTwo.side(6), Side::Three);
        assert_eq!(Direction::TwoThree.begun_later(9), Direction::ThreeTwo);
    }

    #[test]
    fn an_odd_phrase_turns_the_clave_over_and_does_not_go_round() {
        // Counted by hand: the second time, a phrase of three bars would begin on the other side.
        let son = Clave {
            family: Family::Son,
            direction: Direction::TwoThree,
        };
        let round = |bars| goes_round(Some(son), bars);
        assert_eq!(
            [1, 2, 3, 4, 5, 16].map(round),
            [true, true, false, true, false, true]
        );
        assert!(goes_round(None, 3));
    }
}
