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
    /// Fresh half-life, log2 of days.
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
}

/// The constants used by default.
pub const DEFAULT: Constants = Constants {
    psi: 0.30,
    alpha: 15.0,
    c: 0.10,
    phi: 0.60,
    x0: 1.0,
    s0: 0.8,
    q: 0.10,
    rho: 1.2,
    sigma_e: 1.0,
    slip: 0.03,
    mu_recall: -0.12,
    kappa: 0.14,
    mu_none: 0.40,
    sigma: 0.25,
    floor: 0.02,
    replay: (0.25, 0.50),
    slowed: (0.10, 0.25),
    first: 0.0,
    first_ease: 0.8,
    known: 1.5,
};
