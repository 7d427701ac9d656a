//! How fast the player answers: one pace for each kind of question, learned as answers come.

/// Pace of a kind: a running mean of ln seconds that looks back over some 60 answers, so that a player who gets
/// faster is measured against the new pace.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pace {
    /// Answers so far.
    pub count: f32,
    /// Mean of ln seconds.
    pub mean: f32,
    /// Mean absolute distance from the mean.
    pub spread: f32,
}

/// ln seconds of an answer before any was seen (chosen: four seconds).
const START: f32 = 1.386_294_4;
/// Weight of [`START`] in answers.
const WEIGHT: f32 = 1.0;
const MEMORY: f32 = 60.0;

impl Default for Pace {
    fn default() -> Self {
        Self {
            count: 0.0,
            mean: START,
            spread: 0.4,
        }
    }
}

impl Pace {
    /// ln of `seconds` relative to the pace, where it was measured. Within ±3.
    pub fn relative(&self, seconds: f64) -> Option<f32> {
        measured(seconds).map(|s| {
            if self.count < 1.0 {
                0.0
            } else {
                (s - self.mean).clamp(-3.0, 3.0)
            }
        })
    }

    pub fn observe(&mut self, seconds: f64) {
        let Some(s) = measured(seconds) else { return };
        self.count += 1.0;
        let rate = 1.0 / (self.count + WEIGHT).min(MEMORY);
        // A step is bounded: one walk to the door is not a new pace.
        let step = (s - self.mean).clamp(-2.0, 2.0);
        self.mean += rate * step;
        self.spread += rate * (step.abs() - self.spread);
    }

    pub fn seconds(&self) -> f64 {
        // The mean of a log-normal answer time is above its median.
        f64::from(self.mean).exp() * (0.5 * f64::from(self.spread * 1.25).powi(2)).exp()
    }
}

fn measured(seconds: f64) -> Option<f32> {
    (seconds.is_finite() && seconds > 0.0).then(|| seconds.clamp(0.05, 3600.0).ln() as f32)
}

/// How this player's latencies depart from the constants: learned from each answer by how likely it was recalled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Habit {
    /// Answers with recall and without (as shares of belief), and mean departure of ln seconds of each.
    pub with: (f32, f32),
    pub without: (f32, f32),
    /// Sum of squared departures over the variance expected, and answers behind it.
    pub squares: f32,
    pub count: f32,
}

/// Weight of the constants in answers (chosen).
const CONSTANTS: f32 = 20.0;

impl Default for Habit {
    fn default() -> Self {
        Self {
            with: (0.0, 0.0),
            without: (0.0, 0.0),
            squares: 0.0,
            count: 0.0,
        }
    }
}

impl Habit {
    /// Spread of ln seconds relative to the constants' spread.
    pub fn spread(&self) -> f32 {
        ((CONSTANTS + self.squares) / (CONSTANTS + self.count))
            .sqrt()
            .clamp(0.5, 3.0)
    }

    /// Learns from ln seconds less what was expected with recall and without (the constants' values plus the
    /// departures so far), in an answer that was recalled with probability `recalled`.
    pub fn observe(&mut self, with: f32, without: f32, recalled: f32, sigma: f32) {
        let step = |state: &mut (f32, f32), weight: f32, error: f32| {
            state.0 += weight;
            state.1 += weight * error.clamp(-1.0, 1.0) / (CONSTANTS + state.0);
        };
        step(&mut self.with, recalled, with);
        step(&mut self.without, 1.0 - recalled, without);
        let square = recalled * with * with + (1.0 - recalled) * without * without;
        self.squares += (square / (sigma * sigma)).min(6.0);
        self.count += 1.0;
    }
}
