//! Every fitted or chosen number of the model and of the plan, in one place, each with where it comes from.

use super::history::Features;
use crate::time::Seconds;

/// What is believed about a player before the first answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Constants {
    /// Mean over players of what each figure of a moment adds to the log odds of recall.
    pub means: Features,
    /// Standard deviation of the same among players.
    pub spreads: Features,
    /// Variance of log odds among items that are alike in all figures. Chosen: from .15 to .5 the fitting logs are
    /// forecast alike.
    pub item: f64,
    /// The same among kinds of question and among ideas. Chosen: from .1 to .5 they are forecast alike; at 0
    /// simulated ones lose up to .004.
    pub group: f64,
    /// Chance of a wrong answer in spite of recall. Chosen: from .015 to .03 they are forecast alike.
    pub slip: f64,
    /// Chance of listening once more with recall and without. Chosen: no log of people at hand tells of it.
    pub replay: (f64, f64),
    /// Chance of slowing down with recall and without. Chosen, as that.
    pub slowed: (f64, f64),
}

/// The constants used by default. Means and spreads are fitted by `cargo bench --bench recall -- fit`, rounded:
/// expectation and maximisation over what the regression of each learner ends with, on the people of `cloze-practice.csv`
/// of whom the hash of the name is even (weight 40) and 24 simulated learners of each of five families (weight 1 each).
///
/// Two are not as fitted. What a right answer after a rest adds is pinned: the fit is flat in it (.0008 from .1 to .8),
/// and below .8 massed review would look best for a delay of a week. And players differ more than those students do: the
/// spread of the first, fitted .6, is chosen as 1 (costs .001 on those).
pub const DEFAULT: Constants = Constants {
    means: [
        1.41, -2.38, 0.32, -2.28, -0.29, -0.41, 0.61, 0.53, 0.04, 0.8,
    ],
    spreads: [1.0, 0.36, 0.38, 0.31, 0.47, 0.19, 0.41, 0.24, 0.39, 0.43],
    item: 0.3,
    group: 0.2,
    slip: 0.02,
    replay: (0.25, 0.5),
    slowed: (0.1, 0.25),
};
/// An item is due where its chance of recall is below the second of these, and not as good as lost, below the first. Chosen
/// with [`REST`], [`PATIENCE`], [`LONGEST`] and [`WINDOW`] on simulated learners (`benches/recall`, seeds from 20000, 20500 and
/// 21000, which are not reported): a second of .5 keeps .7 % more when time is scarce and .3 % less in 90 days, .4 keeps
/// 1.4 % less and .2 % more.
pub const DUE: (f64, f64) = (0.15, 0.43);

/// An item rests for this share of the time that it takes to see everything that was met once (chosen).
pub const REST: f64 = 0.9;

/// But for no more than this many days (chosen as [`DUE`]: from 5 to 10 as much is kept when time is scarce; in 90 days 5 keeps
/// .3 % less than 10, and as much of the worst quarter of concepts as rotation does, where 10 keeps .002 less).
pub const PATIENCE: f64 = 6.0;

/// Where everything there is can be seen once within this many days, it is seen in turn, new items first: nothing was
/// found that beats it then (chosen on simulated learners).
pub const IN_TURN: f64 = 4.0;

/// New items come in the order of the decks, give or take so many items (chosen as [`DUE`]: when time is scarce, of the
/// next hundred the easiest first keeps 2 to 4 % more than of the next thirty). A composed evening has an order of its own.
pub const WINDOW: usize = 100;

/// What has gone unasked for more than this many days comes first in a plan, one item a plan, whatever it is worth: nothing is
/// given up for good, at the cost of one question an evening (chosen as [`DUE`]: 9 keeps 1 % more than 12 when time is scarce,
/// and as much in 90 days).
pub const LONGEST: Seconds = Seconds::from_days(9.0);

/// New cards come in full number while the mean chance of recall a day later, of everything met, is at least the second
/// of these, not at all below the first, and in proportion between (chosen: below that more is lost than is learned).
pub const HELD: (f64, f64) = (0.35, 0.5);

/// An item whose chance of recall is below this is said to be fading (chosen).
pub const FADING: f64 = 0.7;
