//! How well memory's forecasts fit the answers: the one calibration table of the program.

use super::Strength;
use super::beta::share;
use crate::store::Fact;
use serde::Serialize;

/// Groups of forecasts, of equal width.
const GROUPS: usize = 10;

/// Sums over the forecasts of a log.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Forecasts {
    /// By forecast: how many, the sum of the forecasts, the sum of what was right.
    sums: [(usize, f64, f64); GROUPS],
}

/// Forecasts compared with what happened.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ForecastFit {
    /// Answers that were forecast.
    pub answers: usize,
    /// Mean distance of forecast and share right over the groups, weighted by their answers (expected calibration error:
    /// Naeini, Cooper & Hauskrecht 2015, *AAAI*, from memory).
    pub error: f64,
    /// Tenths of the chance for which there were forecasts, from low to high.
    pub groups: Vec<ForecastGroup>,
}

/// Forecasts of about the same chance, and what happened.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ForecastGroup {
    /// Mean forecast of being right, guessing included.
    pub forecast: f64,
    /// Share that was right, with the interval that its count allows.
    pub right: Strength,
    /// Answers in the group.
    pub answers: usize,
}

impl Forecasts {
    /// Takes in one review; one without a forecast changes nothing.
    pub fn observe(&mut self, fact: &Fact) {
        if let Some(recall) = fact.forecast {
            let expected = fact.guess + (1.0 - fact.guess) * recall;
            let group = ((expected * GROUPS as f64) as usize).min(GROUPS - 1);
            let sum = &mut self.sums[group];
            *sum = (sum.0 + 1, sum.1 + expected, sum.2 + fact.correct);
        }
    }

    /// How well they fit; `None` where nothing was forecast.
    pub fn fit(&self) -> Option<ForecastFit> {
        let answers: usize = self.sums.iter().map(|s| s.0).sum();
        let apart: f64 = self.sums.iter().map(|s| (s.1 - s.2).abs()).sum();
        let there = self.sums.iter().filter(|s| s.0 > 0);
        let groups = there.map(|(count, forecast, right)| ForecastGroup {
            forecast: forecast / *count as f64,
            right: share(*right, *count as f64),
            answers: *count,
        });
        (answers > 0).then(|| ForecastFit {
            answers,
            error: apart / answers as f64,
            groups: groups.collect(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture::answer;

    #[test]
    fn groups_add_up_and_nothing_gives_nothing() {
        assert_eq!(Forecasts::default().fit(), None);
        let mut forecasts = Forecasts::default();
        forecasts.observe(&answer(0, 2.0));
        assert_eq!(forecasts.fit(), None, "it was not forecast");
        // A guess of one half: recall of .2 is a chance of .6 to be right, recall of .9 one of .95.
        for (recall, correct) in [(0.2, 1.0), (0.2, 0.0), (0.2, 0.0), (0.2, 1.0), (0.9, 1.0)] {
            forecasts.observe(&Fact {
                forecast: Some(recall),
                correct,
                ..answer(0, 2.0)
            });
        }
        let fit = forecasts.fit().expect("there are forecasts");
        let counts: Vec<usize> = fit.groups.iter().map(|g| g.answers).collect();
        assert_eq!((fit.answers, counts), (5, vec![4, 1]));
        assert!((fit.groups[0].forecast - 0.6).abs() < 1e-12);
        // By hand: |4 x .6 - 2| + |.95 - 1| = .45, over five answers.
        assert!((fit.error - 0.09).abs() < 1e-12, "{fit:?}");
        // Jeffreys' interval of 2 in 4: 5 and 95 % points of Beta(2.5, 2.5), by summing its density in 2,000,000 steps.
        let right = fit.groups[0].right;
        assert!((right.low - 0.16528).abs() < 1e-4 && (right.high - 0.83472).abs() < 1e-4);
    }
}
