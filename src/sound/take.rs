//! What is to be heard: a score, a tempo, a count-in.

use super::{Feel, Vamp};
use crate::rhythm::{Score, Tempo};
use crate::time::Seconds;

/// Clicks on the beat before the score begins.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum CountIn {
    /// None: the score begins at once.
    #[default]
    None,
    /// The two beats before it, or the one where two last longer than [`CountIn::LONGEST`].
    PickUp,
    /// A whole clave cycle.
    Cycle,
}

impl CountIn {
    /// The longest that a pick-up of two beats may last: our choice. Nobody should wait for a band.
    pub const LONGEST: Seconds = Seconds::new(2.0);
}

/// What is to be heard: everything that decides the wave.
#[derive(Clone, Debug, PartialEq)]
pub struct Take {
    /// The parts that sound together.
    pub score: Score,
    /// How fast; played from [`Take::SLOWEST`] to [`Take::FASTEST`].
    pub tempo: Tempo,
    /// How often the whole score goes round; at least once.
    pub cycles: u32,
    /// Clicks before the score begins.
    pub count_in: CountIn,
    /// How the pulses lie between the beats.
    pub feel: Feel,
    /// The chords under bass and piano.
    pub vamp: Vamp,
    /// Varies the strokes a little, as hands do; the same seed gives the same wave.
    pub seed: u64,
}

impl Take {
    /// The slowest tempo that is played. Slower takes are played at this tempo.
    pub const SLOWEST: Tempo = Tempo::new(20.0);
    /// The fastest tempo that is played. Faster takes are played at this tempo.
    pub const FASTEST: Tempo = Tempo::new(400.0);
    /// The longest wave. A take that would last longer goes round less often, but at least once.
    pub const LONGEST: Seconds = Seconds::from_minutes(10.0);

    /// The score once, straight, over the usual chords, with no count-in.
    pub fn new(score: Score, tempo: Tempo, seed: u64) -> Take {
        Take {
            score,
            tempo,
            cycles: 1,
            count_in: CountIn::None,
            feel: Feel::Straight,
            vamp: Vamp::default(),
            seed,
        }
    }

    /// The tempo within what can be played.
    pub fn playable_tempo(&self) -> Tempo {
        self.tempo.clamp(Take::SLOWEST, Take::FASTEST)
    }

    /// How many pulses the count-in lasts.
    pub fn count_in_pulses(&self) -> usize {
        let grid = self.score.grid;
        let beat = grid.pulses_per_beat();
        match self.count_in {
            CountIn::None => 0,
            CountIn::Cycle => grid.pulses_per_cycle(),
            CountIn::PickUp => {
                let two = 2 * beat;
                let seconds = two as f64 * self.playable_tempo().pulse(grid);
                if seconds <= CountIn::LONGEST {
                    two
                } else {
                    beat
                }
            }
        }
    }

    /// How long the score lasts once.
    fn once(&self) -> Seconds {
        self.score.pulses() as f64 * self.playable_tempo().pulse(self.score.grid)
    }

    /// How often the score goes round in the wave.
    pub(super) fn passes(&self) -> usize {
        let most = (Take::LONGEST / self.once()).max(1.0);
        f64::from(self.cycles.max(1)).min(most) as usize
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rhythm::{Grid, Pattern};

    /// Reckoned by hand: two bars of eighths at 20 quarter notes a minute last 24 s, so that 25 rounds are ten minutes.
    #[test]
    fn a_wave_lasts_ten_minutes_at_most() {
        let drums = Pattern::new(Grid::Eighths, vec![None; 16]).unwrap();
        let mut take = Take::new(Score::of(drums), Tempo::new(20.0), 1);
        for (cycles, passes) in [(0, 1), (3, 3), (25, 25), (26, 25), (4_000, 25)] {
            take.cycles = cycles;
            assert_eq!(take.passes(), passes, "{cycles}");
        }
    }
}
