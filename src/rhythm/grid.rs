//! Grids: how a bar is divided and how its pulses are counted aloud.

use super::listed;
use serde::{Deserialize, Serialize};

/// How a bar is divided into pulses.
///
/// Tempo is always counted in the grid's own beat: quarter notes a minute in 4/4, dotted quarter notes a minute
/// in 6/8. A clave cycle is two bars in every grid.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum Grid {
    /// 4/4 in eighths: 8 pulses a bar.
    #[default]
    Eighths,
    /// 4/4 in sixteenths: 16 pulses a bar.
    Sixteenths,
    /// 4/4 in eighth-note triplets: 12 pulses a bar.
    Triplets,
    /// 6/8: 6 pulses a bar.
    SixEight,
}

impl Grid {
    /// Every grid there is.
    pub const ALL: [Grid; 4] = [
        Grid::Eighths,
        Grid::Sixteenths,
        Grid::Triplets,
        Grid::SixEight,
    ];

    /// What is counted in one bar, a syllable a pulse.
    pub(super) const fn counted(self) -> &'static str {
        match self {
            Grid::Eighths => "1&2&3&4&",
            Grid::Sixteenths => "1e&a2e&a3e&a4e&a",
            Grid::Triplets => "1&a2&a3&a4&a",
            Grid::SixEight => "123456",
        }
    }

    /// Pulses in one bar.
    pub const fn pulses_per_bar(self) -> usize {
        self.counted().len()
    }

    /// Beats in one bar: four quarters in 4/4, two dotted quarters in 6/8.
    pub const fn beats_per_bar(self) -> usize {
        match self {
            Grid::SixEight => 2,
            _ => 4,
        }
    }

    /// Pulses in one beat.
    pub const fn pulses_per_beat(self) -> usize {
        self.pulses_per_bar() / self.beats_per_bar()
    }

    /// Pulses in one clave cycle (two bars).
    pub const fn pulses_per_cycle(self) -> usize {
        2 * self.pulses_per_bar()
    }

    /// The beat's name in words.
    pub const fn beat_unit(self) -> &'static str {
        match self {
            Grid::SixEight => "dotted quarter",
            _ => "quarter",
        }
    }

    /// The name used in decks and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Grid::Eighths => "eighths",
            Grid::Sixteenths => "sixteenths",
            Grid::Triplets => "triplets",
            Grid::SixEight => "six-eight",
        }
    }

    /// The syllable counted on a pulse of the bar: `1 & 2 &` in eighths, `1 e & a` in sixteenths, `1 & a` in
    /// triplets, `1 2 3 4 5 6` in 6/8. Pulses past the bar wrap round.
    pub fn count(self, pulse: usize) -> char {
        char::from(self.counted().as_bytes()[pulse % self.pulses_per_bar()])
    }

    /// The pulse as a player says it: `4`, `2&`, `3a`; in 6/8 the number alone. Pulses past the bar wrap round.
    pub fn spoken(self, pulse: usize) -> String {
        let beat = pulse % self.pulses_per_bar() / self.pulses_per_beat() + 1;
        match self.count(pulse) {
            digit @ '1'..='6' => digit.to_string(),
            syllable => format!("{beat}{syllable}"),
        }
    }

    /// Several pulses as a player says them: `2, 2& and 4`.
    pub fn spoken_all(self, pulses: &[usize]) -> String {
        listed(pulses.iter().map(|p| self.spoken(*p)))
    }

    /// A pulse of a part of so many bars, with its bar where there are several: `2& of bar 1`.
    pub fn spoken_in(self, bars: usize, pulse: usize) -> String {
        let bar = pulse / self.pulses_per_bar() + 1;
        match bars {
            1 => self.spoken(pulse),
            _ => format!("{} of bar {bar}", self.spoken(pulse)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_are_those_said_aloud() {
        let said = |g: Grid| {
            (0..g.pulses_per_bar())
                .map(|p| g.count(p))
                .collect::<String>()
        };
        // common practice, no source
        assert_eq!(said(Grid::Eighths), "1&2&3&4&");
        assert_eq!(said(Grid::Sixteenths), "1e&a2e&a3e&a4e&a");
        assert_eq!(said(Grid::Triplets), "1&a2&a3&a4&a");
        assert_eq!(said(Grid::SixEight), "123456");
        assert_eq!(Grid::Eighths.spoken(3), "2&");
        assert_eq!(Grid::Eighths.spoken(14), "4");
    }
}
