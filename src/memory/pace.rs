//! How fast the player answers: one pace for each kind of question, learned as answers come.

use crate::time::Seconds;

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

/// ln seconds of an answer where nothing is known of it (chosen: four seconds).
const START: f32 = 1.386_294_4;
/// Weight of the start in answers.
const WEIGHT: f32 = 1.0;
const MEMORY: f32 = 60.0;
/// What was measured to be shorter counts as this long.
const SHORTEST: Seconds = Seconds::new(0.05);

impl Pace {
    /// Before any answer was seen: likely to take this long.
    pub fn starting(seconds: Seconds) -> Pace {
        Pace {
            count: 0.0,
            mean: measured(seconds).unwrap_or(START),
            spread: 0.4,
        }
    }

    /// ln of `seconds` relative to the pace, where it was measured. Within ±3.
    pub fn relative(&self, seconds: Seconds) -> Option<f32> {
        measured(seconds).map(|s| {
            if self.count < 1.0 {
                0.0
            } else {
                (s - self.mean).clamp(-3.0, 3.0)
            }
        })
    }

    pub fn observe(&mut self, seconds: Seconds) {
        let Some(s) = measured(seconds) else { return };
        self.count += 1.0;
        let rate = 1.0 / (self.count + WEIGHT).min(MEMORY);
        // A step is bounded: one walk to the door is not a new pace.
        let step = (s - self.mean).clamp(-2.0, 2.0);
        self.mean += rate * step;
        self.spread += rate * (step.abs() - self.spread);
    }

    /// How long an answer is likely to take.
    pub fn length(&self) -> Seconds {
        // The mean of a log-normal answer time is above its median.
        let seconds =
            f64::from(self.mean).exp() * (0.5 * f64::from(self.spread * 1.25).powi(2)).exp();
        Seconds::new(seconds)
    }
}

fn measured(seconds: Seconds) -> Option<f32> {
    (seconds.is_finite() && seconds > Seconds::ZERO).then(|| {
        let bounded = seconds.clamp(SHORTEST, Seconds::HOUR);
        bounded.seconds().ln() as f32
    })
}
