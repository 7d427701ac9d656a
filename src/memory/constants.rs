//! Every fitted or chosen number of the model, in one place, each with where it comes from.

/// Constants of the recall filter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Constants {
    /// Exponent of forgetting, `R = (1 + t/h (2^(1/psi) - 1))^-psi`.
    pub psi: f32,
    /// Growth of the half-life by a successful recall.
    pub alpha: f32,
    /// How much less a long half-life grows, for each doubling.
    pub c: f32,
    /// What is left of the distance to the fresh half-life after a failure.
    pub phi: f32,
    /// How much a failure, with the answer shown, teaches relative to a success. Pinned: the likelihood of daily logs
    /// is flat in it (.0005 nats from 0 to .5), and at 0 massed review would look best.
    pub taught: f32,
    /// NewItemCache half-life, log2 of days.
    pub x0: f32,
    /// Spread of the fresh half-life, log2 of days. Bounded below by .7: maximum likelihood shrinks it and then hard
    /// items are mispredicted.
    pub s0: f32,
    /// Drift of the half-life at each answer, standard deviation, log2 of days.
    pub q: f32,
    /// How much faster an easy item grows (doublings for each step of ease).
    pub rho: f32,
    /// How much longer an easy item lasts when fresh (doublings for each step of ease). Bounded below by .7.
    pub sigma_e: f32,
    /// Chance of a wrong answer in spite of recall.
    pub slip: f32,
    /// Shift of log latency by recall at even chances, relative to the player's pace of the kind.
    pub mu_recall: f32,
    /// Speeding up with the logit of recall.
    pub kappa: f32,
    /// Shift of log latency without recall.
    pub mu_none: f32,
    /// Spread of log latency.
    pub sigma: f32,
    /// Floor under the density of latencies: one odd latency never overturns an answer.
    pub floor: f32,
    /// Chance of listening once more with recall and without.
    pub replay: (f32, f32),
    /// Chance of slowing down with recall and without.
    pub slowed: (f32, f32),
    /// Log odds of recall at the first answer ever, before anything is known about the player.
    pub first: f32,
    /// Log odds by which a step of ease changes that.
    pub first_ease: f32,
    /// Doublings of the half-life for an item that was known at first sight, when that was a surprise.
    pub known: f32,
    /// Spread among players of what the curve gets wrong, log odds: see `residual`. Twice what was fitted,
    /// since players differ more than a few families of simulated learners do; that of the half-life is chosen.
    pub shifts: [f32; 6],
    /// Mean of the same.
    pub shift_means: [f32; 6],
    /// Spread of the same among kinds of question.
    pub shift_kind: f32,
}

/// Chance, each day, that practice ends: how far ahead the plan looks (a season of some four weeks to come;
/// chosen on simulated learners, see `benches/recall`).
pub const END: f64 = 0.036;

/// The plan works for recall so many days after practice ends (chosen: two months, a season without lessons).
pub const AFTER: f64 = 60.0;

/// An item rests for this share of the time that it takes to see everything once (chosen on simulated learners).
pub const REST: f64 = 0.9;

/// But for no more than so many days: where nothing waits to be met, and where much does (chosen on simulated learners).
pub const PATIENCE: (f64, f64) = (10.0, 5.0);

/// Much waits to be met where it takes so many days to meet it (chosen).
pub const CROWDED: f64 = 8.0;

/// Where everything there is can be seen once within so many days, it is seen in turn, new items first: nothing was
/// found that beats it then (chosen on simulated learners).
pub const IN_TURN: f64 = 4.0;

/// New items come in the order of the decks, give or take so many items (chosen on simulated learners: of the next
/// thirty the easiest first keeps most in memory when time is scarce).
pub const WINDOW: usize = 30;

/// What has gone unasked for more than so many days comes first in a plan, one item a plan, whatever it is worth (chosen:
/// nothing is given up for good, at the cost of one question an evening).
pub const LONGEST: f64 = 12.0;

/// New cards come in full number while the mean chance of recall a day later, of everything met, is at least the second
/// of these, not at all below the first, and in proportion between (chosen: below that more is lost than is learned).
pub const HELD: (f64, f64) = (0.35, 0.5);

/// An item whose chance of recall is below this is said to be fading (chosen).
pub const FADING: f64 = 0.7;

/// The constants used by default: fitted by `cargo bench --bench recall -- fit` on the logs of 24 simulated learners
/// of three published families (ACT-R, power law with shrinking exponent, multiscale context), rounded.
/// It was fitted in stages, so that one run of it need not end at the same digits. `taught` was set by hand: at the
/// fitted 0 the filter liked massed review. The constants of replays and slowing are chosen: the simulated learners do neither.
pub const DEFAULT: Constants = Constants {
    psi: 0.116,
    alpha: 3.9075,
    c: 0.1328,
    phi: 1.0,
    taught: 0.5,
    x0: -0.3919,
    s0: 1.7939,
    q: 0.3,
    rho: 2.159,
    sigma_e: 2.5,
    slip: 0.0357,
    mu_recall: 0.0371,
    kappa: 0.0671,
    mu_none: 0.3797,
    sigma: 0.2373,
    floor: 0.01,
    replay: (0.25, 0.5),
    slowed: (0.1, 0.25),
    first: 0.2613,
    first_ease: 0.4927,
    known: 1.5813,
    shifts: [0.8276, 0.67, 0.4194, 0.4612, 1.8266, 0.3],
    shift_means: [-0.0268, -0.0797, 0.4794, 0.2422, 0.1989, 0.0],
    shift_kind: 0.2928,
};
