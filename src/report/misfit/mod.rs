//! What would be recalled, with what memory's forecasts get wrong for this player.
//!
//! No law of forgetting fits everybody, and an interval that trusts one is too narrow for those whom it does not fit.
//! The log has each forecast beside what came of it. From these pairs a logistic regression on the forecasts' log odds
//! (after Cox 1958, *Biometrika* 45:562-565, from memory) with random shifts for
//! concepts and kinds learns where they go wrong: always, with the gap, of late, with one idea. How far the shifts may
//! go is weighed by how well that explains the answers, so that a player whom the law fits gets narrow intervals and
//! another one wide ones (as in a hierarchical model: Gelman et al. 2013, *Bayesian Data Analysis*, 3rd ed., ch. 5).

mod columns;
mod fit;

use super::{Input, Strength};
use crate::memory::{Candidate, Sight};
use columns::{Columns, Moment, Row};
pub(super) use columns::{chance, log_odds};
use fit::{Answer, Fit};
use nalgebra::DVector;
use std::collections::{BTreeSet, HashMap};

const DAY: f64 = 86_400.0;
/// Answers that are guessed oftener than this tell next to nothing.
const GUESSED: f64 = 0.9;
/// Factors on what every shift may be, and how much each is believed beforehand: the logarithm of a bell over the
/// doublings.
const FACTORS: [f64; 6] = [0.25, 0.5, 1.0, 2.0, 4.0, 8.0];
/// How far an item may be off by itself, as a standard deviation of its log odds, at a factor of 1.
const ITEM: f64 = 0.68;
/// Share of the variance which an item's own belief has that the answers bear out.
const BELIEF: f64 = 0.65;
/// How far the errors of items go together beyond what they share in their columns, 0 to 1.
const TOGETHER: f64 = 0.1;
// These and the spreads of the columns were tuned on simulated players who forget by six laws; `cargo bench --bench
// report` prints how often the intervals hold for other players of these laws and for laws that nothing was tuned on.

/// What is known of some items together, for each factor.
pub(super) struct Misfit {
    fits: Vec<Weighed>,
    /// By place in the list of items: the log odds that memory forecasts now.
    odds: Vec<Option<f64>>,
}

/// The fit with one factor.
struct Weighed {
    /// Probability of the factor.
    weight: f64,
    fit: Fit,
    /// By place in the list of items: what is expected of it now. Items that were never asked have none.
    items: Vec<Option<Now>>,
}

/// An item now.
struct Now {
    chance: f64,
    /// Variance by itself.
    own: f64,
    /// How the chance moves with each shift.
    slopes: Vec<(usize, f64)>,
}

impl Misfit {
    /// Learns from the answers of `input`. `items` are the items of the decks, in the order of `input.items`: what is
    /// believed of each now, and its concepts.
    pub fn new<'a>(input: &Input<'a>, items: &[(Option<Sight>, Vec<&'a str>)]) -> Misfit {
        let mut columns = Columns::new();
        let names: Vec<Vec<&str>> = (input.words.concepts.iter())
            .map(|set| set.iter().map(String::as_str).collect())
            .collect();
        let answers = answers(input, &names, &mut columns);
        let seen = input.items.iter().zip(items);
        let rows: Vec<Option<(Row, Sight)>> = seen
            .map(|(candidate, (sight, concepts))| {
                let sight = (*sight)?;
                Some((columns.row(&moment(candidate, &sight, concepts)), sight))
            })
            .collect();
        let mut fits: Vec<Weighed> = Vec::new();
        for factor in FACTORS {
            let spreads: Vec<f64> = columns.spreads().iter().map(|s| s * factor).collect();
            let from = fits.last().map(|f| &f.fit.shifts);
            let Some(fit) = Fit::new(&answers, &spreads, from) else {
                continue;
            };
            let now = |row: &Option<(Row, Sight)>| {
                let (row, sight) = row.as_ref()?;
                Some(now(row, sight, &fit, ITEM * factor))
            };
            let items = rows.iter().map(now).collect();
            fits.push(Weighed {
                weight: fit.evidence - 0.5 * factor.log2().powi(2),
                fit,
                items,
            });
        }
        let top = fits.iter().map(|f| f.weight).fold(f64::MIN, f64::max);
        fits.iter_mut()
            .for_each(|f| f.weight = (f.weight - top).exp());
        let total: f64 = fits.iter().map(|f| f.weight).sum();
        fits.iter_mut().for_each(|f| f.weight /= total);
        let odds = rows.iter().map(|r| r.as_ref().map(|(row, _)| row.odds));
        Misfit {
            fits,
            odds: odds.collect(),
        }
    }

    /// By how much the log odds of an item's chance of recall are off now, by its place in the list of items; `None`
    /// where it was never asked.
    pub fn shift(&self, item: usize) -> Option<f64> {
        let chance = |f: &Weighed| Some(f.weight * f.items[item].as_ref()?.chance);
        let chance: f64 = self.fits.iter().map(chance).sum::<Option<f64>>()?;
        Some(log_odds(chance) - self.odds[item]?)
    }

    /// Mean chance of recalling these items now (places in the list of items), with its interval; `None` where none of
    /// them was ever asked.
    pub fn now(&self, items: &BTreeSet<usize>) -> Option<Strength> {
        let (mut first, mut second) = (0.0, 0.0);
        for weighed in &self.fits {
            let (mean, variance) = weighed.mean(items)?;
            first += weighed.weight * mean;
            second += weighed.weight * (variance + mean * mean);
        }
        let some = !self.fits.is_empty();
        some.then(|| Strength::of_moments(first, second - first * first))
    }
}

impl Weighed {
    /// Mean and variance.
    fn mean(&self, items: &BTreeSet<usize>) -> Option<(f64, f64)> {
        let (mut n, mut mean, mut own, mut roots) = (0.0, 0.0, 0.0, 0.0);
        let mut slopes = DVector::zeros(self.fit.shifts.len());
        for now in items.iter().filter_map(|at| self.items[*at].as_ref()) {
            n += 1.0;
            mean += now.chance;
            own += now.own;
            roots += now.own.sqrt();
            for (at, slope) in &now.slopes {
                slopes[*at] += slope;
            }
        }
        let shared = own + TOGETHER * (roots * roots - own);
        (n > 0.0).then(|| (mean / n, (self.fit.variance(&slopes) + shared) / (n * n)))
    }
}

fn now(row: &Row, sight: &Sight, fit: &Fit, item: f64) -> Now {
    let chance = row.chance(fit.shifts.as_slice());
    let most = chance * (1.0 - chance);
    let believed = (sight.chance * (1.0 - sight.chance)).max(1e-6);
    // What is sure to be known or not known by itself is moved less.
    let slope = most * (sight.slope / believed).clamp(0.05, 1.0);
    Now {
        chance,
        own: BELIEF * sight.variance * most / believed + (slope * item).powi(2),
        slopes: row.entries.iter().map(|(at, x)| (*at, slope * x)).collect(),
    }
}

fn moment<'m, 'a>(
    candidate: &'a Candidate,
    sight: &Sight,
    concepts: &'m [&'a str],
) -> Moment<'m, 'a> {
    Moment {
        forecast: sight.chance,
        days: sight.days,
        last: sight.last,
        ago: 0.0,
        kind: &candidate.kind,
        concepts,
    }
}

/// The answers that have a forecast and whose item was asked before among those given.
fn answers<'a>(
    input: &Input<'a>,
    names: &[Vec<&'a str>],
    columns: &mut Columns<'a>,
) -> Vec<Answer> {
    let mut before: HashMap<usize, (i64, f64)> = HashMap::new();
    let mut answers = Vec::new();
    for (n, fact) in input.recent.iter().enumerate() {
        let before = before.insert(fact.item, (fact.at, fact.correct));
        let (Some((at, last)), Some(forecast)) = (before, fact.forecast) else {
            continue;
        };
        if fact.guess > GUESSED {
            continue;
        }
        answers.push(Answer {
            row: columns.row(&Moment {
                forecast,
                days: (fact.at - at) as f64 / 1000.0 / DAY,
                last,
                ago: (input.recent.len() - 1 - n) as f64,
                kind: &input.words.items[fact.item].kind,
                concepts: &names[fact.concepts],
            }),
            right: fact.correct,
            guess: fact.guess,
        });
    }
    answers
}

#[cfg(test)]
mod tests;
