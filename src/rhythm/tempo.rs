//! Tempo: beats a minute.

use super::Grid;
use crate::time::Seconds;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::ops::{Div, Mul};

/// Beats a minute, in the beat of a [`Grid`]: a number above 0, infinite where no tempo is too fast.
#[derive(Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Tempo(f64);

impl Tempo {
    /// Where no tempo is too fast.
    pub const UNLIMITED: Tempo = Tempo(f64::INFINITY);

    /// This many beats a minute. What is not a number above 0 counts as 1.
    pub const fn new(bpm: f64) -> Tempo {
        match bpm > 0.0 {
            true => Tempo(bpm),
            false => Tempo(1.0),
        }
    }

    /// Beats a minute.
    pub const fn bpm(self) -> f64 {
        self.0
    }

    /// How long a beat lasts.
    pub const fn beat(self) -> Seconds {
        Seconds::new(60.0 / self.0)
    }

    /// How long a pulse of a grid lasts.
    pub const fn pulse(self, grid: Grid) -> Seconds {
        Seconds::new(self.beat().seconds() / grid.pulses_per_beat() as f64)
    }

    /// How long a clave cycle on a grid lasts.
    pub const fn cycle(self, grid: Grid) -> Seconds {
        Seconds::new(self.pulse(grid).seconds() * grid.pulses_per_cycle() as f64)
    }

    /// The nearest whole number of beats a minute, at least 1.
    pub fn round(self) -> Tempo {
        Tempo::new(self.0.round())
    }

    /// The whole number of beats a minute at or below it, at least 1.
    pub fn floor(self) -> Tempo {
        Tempo::new(self.0.floor())
    }

    /// The tempo that lies a `share` of the way, 0 to 1, from this one to another.
    pub fn toward(self, other: Tempo, share: f64) -> Tempo {
        Tempo::new(self.0 + (other.0 - self.0) * share)
    }
}

/// A beat a second.
impl Default for Tempo {
    fn default() -> Tempo {
        Tempo(60.0)
    }
}

impl Eq for Tempo {}

impl PartialOrd for Tempo {
    fn partial_cmp(&self, other: &Tempo) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Tempo {
    fn cmp(&self, other: &Tempo) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}

/// This many times as fast.
impl Mul<f64> for Tempo {
    type Output = Tempo;

    fn mul(self, times: f64) -> Tempo {
        Tempo::new(self.0 * times)
    }
}

/// This many times as slow.
impl Div<f64> for Tempo {
    type Output = Tempo;

    fn div(self, times: f64) -> Tempo {
        Tempo::new(self.0 / times)
    }
}

/// How many times as fast.
impl Div for Tempo {
    type Output = f64;

    fn div(self, other: Tempo) -> f64 {
        self.0 / other.0
    }
}

impl From<Tempo> for f64 {
    fn from(tempo: Tempo) -> f64 {
        tempo.0
    }
}

impl TryFrom<f64> for Tempo {
    type Error = String;

    fn try_from(bpm: f64) -> Result<Tempo, String> {
        match bpm > 0.0 {
            true => Ok(Tempo(bpm)),
            false => Err(format!("tempo {bpm} must be above 0")),
        }
    }
}

impl fmt::Display for Tempo {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.0, f)
    }
}

impl fmt::Debug for Tempo {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(&self.0, f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cut_time_cycle_at_180_lasts_two_and_two_thirds_seconds() {
        // 8 quarter notes at 180 a minute: 8 * 60 / 180 s.
        assert!((Tempo::new(180.0).cycle(Grid::Eighths).seconds() - 8.0 / 3.0).abs() < 1e-12);
        assert!((Tempo::new(120.0).cycle(Grid::SixEight).seconds() - 2.0).abs() < 1e-12);
        // By hand: half a second a beat, of which a sixteenth is a quarter.
        assert_eq!(Tempo::new(120.0).beat(), Seconds::new(0.5));
        assert_eq!(
            Tempo::new(120.0).pulse(Grid::Sixteenths),
            Seconds::new(0.125)
        );
    }

    #[test]
    fn what_is_no_tempo_counts_as_one_beat_a_minute_and_is_not_read() {
        for wrong in [0.0, -0.0, -120.0, f64::NAN, f64::NEG_INFINITY] {
            assert_eq!(Tempo::new(wrong).bpm(), 1.0);
            assert!(Tempo::try_from(wrong).is_err());
        }
        assert_eq!((Tempo::new(120.0) * f64::NAN).bpm(), 1.0);
        assert_eq!(Tempo::try_from(0.5), Ok(Tempo::new(0.5)));
    }
}
