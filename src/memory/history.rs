//! What is kept of the answers to one item, and the figures of the moment when it is asked.

use crate::time::{Moment, Seconds};

/// Figures of a moment.
pub const FEATURES: usize = 10;

/// A moment in figures, in the order of [`NAMES`].
pub type Features = [f64; FEATURES];

/// What the figures are, in their order.
#[cfg(any(test, feature = "internals"))]
pub const NAMES: [&str; FEATURES] = [
    "any question",
    "first question of an item",
    "ideas practised lately before it",
    "minutes since the last answer",
    "hours since the last answer",
    "nights since the last answer",
    "last answer right",
    "right answers",
    "wrong answers",
    "right answers after a rest",
];

/// The places of those that grow with the time since the last answer: within a session, within a day, over nights.
pub(super) const GAPS: std::ops::Range<usize> = 3..6;

/// Answers closer than this count as this far apart.
const CLOSEST: Seconds = Seconds::new(1.0);
/// Where forgetting within a session ends and that of the hours begins (chosen on the fitting logs: 10 or 20 minutes,
/// they are forecast alike; one curve for minutes and hours costs people .003 after a night).
const SESSION: Seconds = Seconds::from_minutes(10.0);
/// Where that ends and nights begin; a right answer after as much counts as given after a rest (chosen: 8 hours; from 2
/// to 24 the logs of people and of simulated learners are forecast alike).
const RESTED: Seconds = Seconds::from_hours(8.0);

/// The answers to one item so far. An answer counts as right by how likely it was recalled, now that it is known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct History {
    /// Answers.
    pub reviews: u32,
    /// When the first came, and the last.
    pub begun: Moment,
    pub last: Moment,
    /// How likely the item was recalled then.
    pub shown: f64,
    right: f64,
    wrong: f64,
    /// Right answers, each times ln(1 + gap / [`RESTED`]).
    rested: f64,
    /// ln(1 + v) of the three above: taken at an answer, and not each time that one is forecast.
    logs: [f64; 3],
}

impl History {
    /// A question at `now` about an item that was asked before.
    pub fn features(&self, now: Moment) -> Features {
        self.features_after(&gaps(now - self.last))
    }

    /// The same where the figures of the time since the last answer are known.
    pub fn features_after(&self, [minutes, hours, nights]: &[f64; 3]) -> Features {
        let [right, wrong, rested] = self.logs;
        [
            1.0, 0.0, 0.0, *minutes, *hours, *nights, self.shown, right, wrong, rested,
        ]
    }

    /// A first question: `practised` is the mean over its ideas of ln(1 + answers), each divided by
    /// (1 + days since the last).
    pub fn first(practised: f64) -> Features {
        let mut x = [0.0; FEATURES];
        (x[0], x[1], x[2]) = (1.0, 1.0, practised);
        x
    }

    /// The same with one more answer at `at`, recalled with probability `recalled`.
    pub fn with(mut self, at: Moment, recalled: f64) -> Self {
        if self.reviews == 0 {
            self.begun = at;
        } else if recalled > 0.0 {
            self.rested += recalled * log((at - self.last).max(Seconds::ZERO) / RESTED);
        }
        self.reviews += 1;
        self.last = at;
        self.shown = recalled;
        if recalled > 0.0 {
            self.right += recalled;
            (self.logs[0], self.logs[2]) = (log(self.right), log(self.rested));
        }
        if recalled < 1.0 {
            self.wrong += 1.0 - recalled;
            self.logs[1] = log(self.wrong);
        }
        self
    }
}

/// The figures at [`GAPS`] of a time since the last answer.
pub(super) fn gaps(since: Seconds) -> [f64; 3] {
    let gap = since.max(CLOSEST);
    [
        log(gap.min(SESSION) / Seconds::MINUTE) / 4.0,
        (gap.clamp(SESSION, RESTED) / SESSION).ln() / 3.0,
        log(gap / Seconds::DAY),
    ]
}

/// ln(1 + v): near 0 less exact than `ln_1p`, and faster (a prediction .11 µs for .18).
fn log(v: f64) -> f64 {
    (1.0 + v).ln()
}
