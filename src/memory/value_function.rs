//! What a review is worth, several reviews ahead.
//!
//! One item alone is a small decision problem: wait another day, or pay the seconds of a review, which moves the
//! half-life as the filter says. Its optimal value is found by value iteration at a price for a second of the
//! player's time. The price is the one at which all items together want just the minutes that there are (the
//! Lagrangian relaxation of the whole problem; Whittle 1988 for the index that follows from it). Where time is
//! scarce the price is high and only what pays is reviewed; where everything can be seen it falls, and the plan
//! becomes a rotation. A belief takes the mean of the values over its cells.

use super::belief::Belief;
use super::curve::{CELLS, HALVES, Recalls, STEP, log2};
use super::filter::Filter;

/// Days between two reviews among which the plan chooses.
pub(super) const GAPS: [u16; 18] = [
    1, 2, 3, 4, 5, 6, 8, 10, 13, 17, 22, 29, 38, 50, 66, 87, 115, 150,
];

/// What the plan works towards.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Horizon {
    /// Chance that practice ends, each day: recall counts from then on.
    pub end: f64,
    /// Recall counts this many days after the end.
    pub after: f64,
    /// Seconds of a review.
    pub review: f64,
}

/// Values at one price.
pub(super) struct ValueFunction {
    /// Just after a review: value, and seconds that will be spent (discounted).
    after: [f32; CELLS],
    spent: [f32; CELLS],
    /// At each elapsed gap: gain of a review now over waiting on, and seconds that will be spent if the best is done.
    gain: Vec<[f32; CELLS]>,
    demand: Vec<[f32; CELLS]>,
    pub price: f64,
}

/// What depends on the filter and the aim but not on the price.
pub(super) struct Mdp {
    aim: Horizon,
    /// Recall at each gap.
    recall: Vec<Recalls>,
    /// Reward gathered up to each gap, discounted; the last is without end.
    reward: Vec<[f32; HALVES]>,
    /// For each gap and cell: where a success and a failure lead, lower cell and share of the upper.
    success: Vec<Vec<(u16, f32)>>,
    failure: Vec<Vec<(u16, f32)>>,
}

impl Mdp {
    /// `odds` gives the factor on the odds of recall after some days.
    pub fn new(filter: &Filter, aim: Horizon, odds: impl Fn(f32) -> f32) -> Self {
        let discount = 1.0 - aim.end;
        let recalls = |days: f64| {
            let mut r = [0.0; HALVES];
            filter.recalls(days as f32, odds(days as f32), &mut r);
            r
        };
        let recall: Vec<Recalls> = GAPS.iter().map(|&g| recalls(f64::from(g))).collect();
        let mut reward = Vec::new();
        let mut sum = [0.0f32; HALVES];
        let mut weight = aim.end;
        let mut day = 1;
        for &gap in &GAPS {
            while day <= gap {
                let r = recalls(f64::from(day) + aim.after);
                for k in 0..HALVES {
                    sum[k] += weight as f32 * r[k];
                }
                weight *= discount;
                day += 1;
            }
            reward.push(sum);
        }
        // What is left of the weights after the last gap, at the recall of some later day.
        let r = recalls(f64::from(day) + aim.after + 0.7 / aim.end);
        for k in 0..HALVES {
            sum[k] += (weight / aim.end) as f32 * r[k];
        }
        reward.push(sum);
        let success = recall
            .iter()
            .map(|r| {
                (0..CELLS)
                    .map(|i| filter.success(i, r[i % HALVES]))
                    .collect()
            })
            .collect();
        let failure = recall
            .iter()
            .map(|r| {
                (0..CELLS)
                    .map(|i| filter.failure(i, r[i % HALVES]))
                    .collect()
            })
            .collect();
        Self {
            aim,
            recall,
            reward,
            success,
            failure,
        }
    }

    /// Value iteration at a price (value for each second), from the values at another price where there are any.
    pub fn solve(&self, price: f64, start: Option<&ValueFunction>) -> ValueFunction {
        let n = GAPS.len();
        let cost = (price * self.aim.review) as f32;
        let discount = 1.0 - self.aim.end;
        let powers: Vec<f32> = GAPS
            .iter()
            .map(|&g| discount.powi(i32::from(g)) as f32)
            .collect();
        let mut after = [0.0f32; CELLS];
        match start {
            Some(start) => after = start.after,
            None => after
                .iter_mut()
                .enumerate()
                .for_each(|(i, v)| *v = self.reward[n][i % HALVES]),
        }
        let mut spent = start.map_or([0.0f32; CELLS], |start| start.spent);
        let mut best = [n; CELLS];
        for _ in 0..200 {
            let mut change = 0.0f32;
            for i in (0..CELLS).rev() {
                let k = i % HALVES;
                let (mut most, mut at) = (self.reward[n][k], n);
                for (g, &power) in powers.iter().enumerate() {
                    let v = self.reward[g][k] + power * (self.reviewed(&after, g, i) - cost);
                    if v > most {
                        (most, at) = (v, g);
                    }
                }
                change = change.max((most - after[i]).abs());
                after[i] = most;
                best[i] = at;
            }
            if change < 1e-4 {
                break;
            }
        }
        for _ in 0..30 {
            for i in (0..CELLS).rev() {
                let g = best[i];
                spent[i] = if g == n {
                    0.0
                } else {
                    powers[g] * (self.aim.review as f32 + self.reviewed(&spent, g, i))
                };
            }
        }
        let (mut gain, mut demand) = (Vec::with_capacity(n), Vec::with_capacity(n));
        for now in 0..n {
            let (mut gains, mut demands) = ([0.0f32; CELLS], [0.0f32; CELLS]);
            for i in 0..CELLS {
                let k = i % HALVES;
                // Waiting until a later gap, or for ever; discounted to now.
                let back = 1.0 / powers[now];
                let mut wait = (self.reward[n][k] - self.reward[now][k]) * back;
                let mut seconds = 0.0;
                for (g, &power) in powers.iter().enumerate().skip(now + 1) {
                    let v = (self.reward[g][k] - self.reward[now][k]) * back
                        + power * back * (self.reviewed(&after, g, i) - cost);
                    if v > wait {
                        wait = v;
                        seconds =
                            power * back * (self.aim.review as f32 + self.reviewed(&spent, g, i));
                    }
                }
                let reviewed = self.reviewed(&after, now, i);
                gains[i] = reviewed - wait;
                demands[i] = if reviewed - cost > wait {
                    self.aim.review as f32 + self.reviewed(&spent, now, i)
                } else {
                    seconds
                };
            }
            gain.push(gains);
            demand.push(demands);
        }
        ValueFunction {
            after,
            spent,
            gain,
            demand,
            price,
        }
    }

    /// Mean of `values` after a review of cell `i` at gap `g`.
    #[inline]
    fn reviewed(&self, values: &[f32; CELLS], g: usize, i: usize) -> f32 {
        let at = |(low, part): (u16, f32)| {
            let low = usize::from(low);
            values[low] + part * (values[low + 1] - values[low])
        };
        let r = self.recall[g][i % HALVES];
        r * at(self.success[g][i]) + (1.0 - r) * at(self.failure[g][i])
    }
}

impl ValueFunction {
    /// Gain of reviewing now over waiting, for an item last seen `days` ago.
    pub fn gain(&self, belief: &Belief, days: f64) -> f64 {
        between(&self.gain, belief, days)
    }

    /// Seconds that it will take from now on, discounted.
    pub fn demand(&self, belief: &Belief, days: f64) -> f64 {
        between(&self.demand, belief, days)
    }

    /// Value of having met an item with this belief, and the seconds that follow.
    pub fn new_item(&self, belief: &Belief) -> (f64, f64) {
        (mean(&self.after, belief), mean(&self.spent, belief))
    }
}

fn between(table: &[[f32; CELLS]], belief: &Belief, days: f64) -> f64 {
    let (low, part) = place(days);
    let a = mean(&table[low], belief);
    if part == 0.0 {
        return a;
    }
    a + part * (mean(&table[low + 1], belief) - a)
}

/// The gap at or before `days` and how far on the way to the next one, on a scale of ratios.
fn place(days: f64) -> (usize, f64) {
    let after = GAPS.partition_point(|&g| f64::from(g) <= days);
    if after == 0 || after == GAPS.len() {
        return (after.min(GAPS.len() - 1), 0.0);
    }
    let (low, high) = (f64::from(GAPS[after - 1]), f64::from(GAPS[after]));
    (after - 1, (days / low).ln() / (high / low).ln())
}

fn mean(values: &[f32; CELLS], belief: &Belief) -> f64 {
    let mut lanes = [0.0f32; 8];
    for (v, b) in values.chunks_exact(8).zip(belief.chunks_exact(8)) {
        for i in 0..8 {
            lanes[i] += v[i] * b[i];
        }
    }
    f64::from(lanes.iter().sum::<f32>())
}

impl Filter {
    /// Where a success at recall `r` takes cell `i`.
    fn success(&self, i: usize, r: f32) -> (u16, f32) {
        cell(
            i,
            (i % HALVES) as f32 + log2(1.0 + self.growth[i] * (1.0 - r)) / STEP,
        )
    }

    /// Where a failure at recall `r` takes cell `i`.
    fn failure(&self, i: usize, r: f32) -> (u16, f32) {
        cell(
            i,
            self.fall[i] + log2(1.0 + self.constants.taught * self.growth[i] * (1.0 - r)) / STEP,
        )
    }
}

/// Place `to` within the ease of cell `i`: lower cell and share of the upper.
fn cell(i: usize, to: f32) -> (u16, f32) {
    let to = to.min(HALVES as f32 - 1.001);
    ((i / HALVES * HALVES + to as usize) as u16, to - to.floor())
}
