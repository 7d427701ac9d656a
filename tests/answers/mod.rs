//! Answers as memory takes them in.

use whichside::memory::Outcome;
use whichside::time::{Moment, Seconds};

/// A written answer at `at` (seconds UTC), without anything that speaks of its speed or of listening.
pub fn outcome(item: &str, at: f64, correct: f64, guess: f64) -> Outcome {
    Outcome {
        item: item.into(),
        concepts: vec![],
        kind: "write".into(),
        at: Moment::new(at),
        correct,
        guess,
        seconds: Seconds::ZERO,
        limit: Seconds::ZERO,
        replays: 0,
        slowed: false,
    }
}
