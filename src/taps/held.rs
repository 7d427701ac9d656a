//! A clave that goes away and comes back, to be held meanwhile.

use super::trend::trend;
use super::{TapTask, TappedDirection};
use crate::time::Seconds;

/// What became of a clave that was to be held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeldClave {
    /// How much later each round came than the one before while the clave was not heard, negative where earlier; `None` for
    /// too few taps.
    pub drift: Option<Seconds>,
    /// By how much the last round without it lay later than those before it went away, negative where earlier: how far off
    /// the player was when it came back. `None` where one of the two was not tapped.
    pub at_return: Option<Seconds>,
    /// The direction from where it went away on.
    pub direction: Option<TappedDirection>,
}

/// What these points say: when a stroke was due, and how much later its tap came.
pub(super) fn held(task: &TapTask, points: &[(f64, f64)]) -> HeldClave {
    let (round, pulse) = (
        task.cycle_seconds().seconds(),
        task.pulse_seconds().seconds(),
    );
    let rounds = |from: usize, to: usize| -> Vec<(f64, f64)> {
        // Strokes lie on pulses: a quarter of one before the first pulse of a round there are none.
        let edge = |nth: usize| nth as f64 * round - pulse / 4.0;
        let within = points.iter().copied();
        within
            .filter(|(due, _)| (edge(from)..edge(to)).contains(due))
            .collect()
    };
    let mean = |points: Vec<(f64, f64)>| {
        let sum: f64 = points.iter().map(|(_, late)| late).sum();
        (!points.is_empty()).then(|| sum / points.len() as f64)
    };
    let away = &task.away;
    let before = mean(rounds(0, away.start));
    let last = mean(rounds(away.end - 1, away.end));
    HeldClave {
        drift: trend(&rounds(away.start, away.end)).map(|t| Seconds::new(t.slope * round)),
        at_return: last
            .zip(before)
            .map(|(last, before)| Seconds::new(last - before)),
        direction: None,
    }
}
