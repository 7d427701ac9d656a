//! The free score: what a pattern that has no name says about the clave.
//!
//! A bar is eight eighths, cut into two halves of four pulses. Each half casts a vote for *this bar is the three
//! side*, read from a table of the sixteen ways in which four pulses can be struck. The margin is the vote of the
//! odd bars less that of the even ones, so that swapping the bars turns its sign by construction. It is the log
//! odds of 3-2 against 2-3. Whether a direction is stated at all is a second step over how the votes agree; it is
//! the same for a pattern and for its bars swapped.
//!
//! The idea that the halves of the bars are on or off the beat relative to each other is that of Vurkaç 2012,
//! *Current Musicology* 94, DOI 10.7916/D8X34W0Q. [`super::WEIGHTS`] says how the
//! numbers were got.

/// Pulses of one bar in eighths: bit 0 is beat 1, bit 7 the and of 4.
pub type OnsetBits = u8;

/// Number of [`Votes::features`], the constant left out.
pub const FEATURES: usize = 12;

/// The numbers of the score.
#[derive(Clone, Debug, PartialEq)]
pub struct SalienceWeights {
    /// Vote of the first and of the second half of a bar, by its four pulses (bit 0 the first). Log odds; each
    /// table sums to zero.
    pub halves: [[f64; 16]; 2],
    /// Log odds of `neutral` and of `crossed` against a stated direction: a weight a feature, the constant last.
    pub classes: [[f64; FEATURES + 1]; 2],
    /// Log odds that a single bar is the three side, per unit of its vote.
    pub bar_slope: f64,
}

/// How the halves of the bars vote, and what else the second step looks at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Votes {
    /// Mean vote of the first and second halves of the odd bars (bar 1, 3, ...), then of the even ones with the
    /// sign turned: all four speak for 3-2 where positive.
    pub for_three_two: [f64; 4],
    /// Sum of what speaks for 3-2, positive, averaged over cycles.
    pub pro: f64,
    /// Sum of what speaks for 2-3, positive, averaged over cycles.
    pub contra: f64,
    /// Are the first halves of all bars the same? And the second halves?
    pub alike: [bool; 2],
    /// Strokes a bar, and share of bars struck on 1, 1& and 2&: odd bars, then even bars.
    pub struck: [Struck; 2],
}

/// What is struck in the odd or in the even bars, averaged over them.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Struck {
    /// Strokes a bar.
    pub strokes: f64,
    /// Share of bars struck on 1, 0 to 1.
    pub on_1: f64,
    /// Share of bars struck on 1&, 0 to 1.
    pub on_1_and: f64,
    /// Share of bars struck on 2&, 0 to 1.
    pub on_2_and: f64,
}

impl SalienceWeights {
    /// Vote of half `half` (0 or 1) of a bar for the three side.
    pub fn half(&self, bar: OnsetBits, half: usize) -> f64 {
        self.halves[half][usize::from(bar >> (4 * half) & 15)]
    }

    /// Vote of a whole bar for the three side.
    pub fn bar(&self, bar: OnsetBits) -> f64 {
        self.half(bar, 0) + self.half(bar, 1)
    }

    /// The votes of a phrase of at least two bars.
    pub fn votes(&self, bars: &[OnsetBits]) -> Votes {
        let mut votes = Votes {
            for_three_two: [0.0; 4],
            pro: 0.0,
            contra: 0.0,
            alike: [0x0f, 0xf0].map(|half| bars.iter().all(|b| (b ^ bars[0]) & half == 0)),
            struck: [Struck::default(); 2],
        };
        let odd = bars.len().div_ceil(2);
        let shares = [odd, bars.len() - odd].map(|n| 1.0 / n.max(1) as f64);
        for (i, bar) in bars.iter().enumerate() {
            let share = shares[i % 2];
            for half in 0..2 {
                let sign = if i % 2 == 0 { share } else { -share };
                let vote = sign * self.half(*bar, half);
                votes.for_three_two[2 * (i % 2) + half] += vote;
                if vote > 0.0 {
                    votes.pro += vote;
                } else {
                    votes.contra -= vote;
                }
            }
            let on = |pulse: u8| share * f64::from(bar >> pulse & 1);
            let struck = &mut votes.struck[i % 2];
            struck.strokes += share * f64::from(bar.count_ones());
            struck.on_1 += on(0);
            struck.on_1_and += on(1);
            struck.on_2_and += on(3);
        }
        votes
    }

    /// Log odds of 3-2 against 2-3 for a phrase of at least two bars: the mean vote of its odd bars less that of
    /// its even bars.
    pub fn margin(&self, bars: &[OnsetBits]) -> f64 {
        let mean = |first: usize| {
            let bars = bars.iter().skip(first).step_by(2);
            let count = bars.len().max(1) as f64;
            bars.map(|bar| self.bar(*bar)).sum::<f64>() / count
        };
        mean(0) - mean(1)
    }

    /// Probabilities that a direction is stated, that the phrase is neutral, and that it is crossed; they sum to 1.
    pub fn stated(&self, votes: &Votes) -> [f64; 3] {
        let features = votes.features();
        let odds = |class: usize| {
            let w = &self.classes[class];
            let sum: f64 = features.iter().zip(w).map(|(x, w)| x * w).sum();
            (sum + w[FEATURES]).clamp(-30.0, 30.0).exp()
        };
        let (neutral, crossed) = (odds(0), odds(1));
        let all = 1.0 + neutral + crossed;
        [1.0 / all, neutral / all, crossed / all]
    }
}

impl Votes {
    /// Log odds of 3-2 against 2-3.
    pub fn margin(&self) -> f64 {
        self.pro - self.contra
    }

    /// What the second step looks at; every one of them stays as it is when the bars are swapped. They were picked
    /// one by one out of some eighty by the log loss on rows held back.
    pub fn features(&self) -> [f64; FEATURES] {
        let [a, b, c, d] = self.for_three_two;
        let (first, second) = (a + c, b + d);
        let [odd, even] = self.struck;
        let flag = |yes: bool| f64::from(u8::from(yes));
        [
            // how clear the direction is
            self.margin().abs(),
            // how much speaks against it
            self.pro.min(self.contra),
            // first halves of the bars against second halves
            if first * second < 0.0 {
                first.abs().min(second.abs())
            } else {
                0.0
            },
            // do second halves speak at all, much or little
            (soft(b, 3.0) + soft(d, 3.0)).abs(),
            // do the halves stand two against two, or all together, rather than one against three
            soft(a, 6.0) * soft(b, 6.0) * soft(c, 6.0) * soft(d, 6.0),
            // the same bar over and over, and the same half of it
            flag(self.alike[0] && self.alike[1]),
            flag(self.alike[0]),
            flag(self.alike[1]),
            // is one bar fuller than the other
            (odd.strokes - even.strokes).abs(),
            // do all bars state the downbeat, and how many start off the beat
            odd.on_1 * even.on_1,
            odd.on_1_and + even.on_1_and,
            odd.on_2_and + even.on_2_and,
        ]
    }
}

/// `x` held between -1 and 1; half way at `scale`.
fn soft(x: f64, scale: f64) -> f64 {
    x / (scale + x.abs())
}

/// The logistic function: log odds to probability.
pub fn logistic(log_odds: f64) -> f64 {
    1.0 / (1.0 + (-log_odds).exp())
}
