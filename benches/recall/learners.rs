//! Simulated learners of published families. None of them is the model of the program.

use super::strangers;
use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};

pub const DAY: f64 = 86_400.0;

/// What is to be learned, the same for every planner that meets the learner.
pub struct World {
    pub items: Vec<Spec>,
    pub concepts: usize,
}

pub struct Spec {
    pub name: String,
    pub kind: usize,
    pub concepts: Vec<usize>,
    pub concept_names: Vec<String>,
    /// How easy it is for this learner: a standard score.
    pub ease: f64,
}

/// Kinds of question: name, chance of a right guess, ln seconds beside the learner's own pace.
pub const KINDS: [(&str, f64, f64); 4] = [
    ("side", 0.5, -0.2),
    ("hand", 0.5, 0.0),
    ("strokes", 1.0 / 6.0, 0.1),
    ("write", 0.02, 0.5),
];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Family {
    ActR,
    Power,
    Multiscale,
    Exponential,
    Tracing,
    Chain,
    Stretched,
    Savings,
}

impl Family {
    /// Those that constants are fitted and planners tried on.
    pub const ALL: [Family; 3] = [Family::ActR, Family::Power, Family::Multiscale];
    /// Those that the memory model was not fitted on.
    pub const STRANGERS: [Family; 3] = [Family::Exponential, Family::Tracing, Family::Chain];
    /// Those that the report's intervals were not tuned on; the memory model was fitted on them too.
    pub const UNTUNED: [Family; 2] = [Family::Stretched, Family::Savings];

    pub fn name(self) -> &'static str {
        match self {
            Family::ActR => "ACT-R with spacing",
            Family::Power => "power law, shrinking exponent",
            Family::Multiscale => "multiscale context",
            Family::Exponential => "exponential, growing stability",
            Family::Tracing => "knowledge tracing that forgets",
            Family::Chain => "memory chain",
            Family::Stretched => "stretched exponential",
            Family::Savings => "logarithm of time",
        }
    }
}

/// Standard normal by Box and Muller.
pub fn normal(rng: &mut ChaCha8Rng) -> f64 {
    let u: f64 = 1.0 - rng.random::<f64>();
    let v: f64 = rng.random();
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

impl World {
    /// `count` items of 4 kinds with 1 to 3 of some `count / 12` concepts.
    pub fn new(count: usize, rng: &mut ChaCha8Rng) -> Self {
        let concepts = (count / 12).max(6);
        let ability = 0.45 * normal(rng);
        let by_concept: Vec<f64> = (0..concepts).map(|_| normal(rng)).collect();
        let by_kind: Vec<f64> = KINDS.iter().map(|_| 0.3 * normal(rng)).collect();
        let items = (0..count)
            .map(|i| {
                let mut own = vec![rng.random_range(0..concepts)];
                while own.len() < 3 && rng.random::<f64>() < 0.5 {
                    let other = rng.random_range(0..concepts);
                    if !own.contains(&other) {
                        own.push(other);
                    }
                }
                let kind = rng.random_range(0..KINDS.len());
                let concept =
                    own.iter().map(|&c| by_concept[c]).sum::<f64>() / (own.len() as f64).sqrt();
                let ease = ability + 0.6 * concept + by_kind[kind] + 0.6 * normal(rng);
                Spec {
                    name: format!("i{i}"),
                    kind,
                    concept_names: own.iter().map(|c| format!("k{c}")).collect(),
                    concepts: own,
                    ease,
                }
            })
            .collect();
        Self { items, concepts }
    }
}

/// One simulated learner with all items unseen.
pub struct Learner {
    pub family: Family,
    pub world: World,
    traces: Vec<Trace>,
    pace: f64,
    /// Items are shown before they are first asked.
    pub shown_first: bool,
    parameters: Parameters,
    rng: ChaCha8Rng,
}

#[derive(Clone, Copy)]
pub struct Parameters {
    /// Each learner's own forgetting, beside the ease of items: a factor.
    pub forgetting: f64,
    pub learning: f64,
}

#[derive(Clone, Default)]
struct Trace {
    last: f64,
    seen: u32,
    /// ACT-R: (time on the slowed clock, decay) of each exposure. The clock of item-free time runs at .025.
    uses: Vec<(f64, f64)>,
    /// Power law: exponent.
    psi: f64,
    /// Multiscale: activations. Strangers: their state.
    pools: Vec<f64>,
}

pub struct Answer {
    /// True chance of recall when asked.
    pub recall: f64,
    pub correct: bool,
    pub guess: f64,
    pub seconds: f64,
}

pub const SLIP: f64 = 0.03;

// Pavlik & Anderson 2005/2008, from memory. Time between sessions runs slower by `BETWEEN`.
const ACTR_C: f64 = 0.217;
const ACTR_A: f64 = 0.177;
const ACTR_TAU: f64 = -0.704;
const ACTR_S: f64 = 0.255;
const BETWEEN: f64 = 0.025;

// After Mozer et al. 2009; the number of pools and their constants are ours.
const POOLS: usize = 20;
const POOL_FASTEST: f64 = 0.002;
const POOL_RATIO: f64 = 2.0;
const POOL_SHARE: f64 = 0.93;
const POOL_RECALLED: f64 = 1.6;

impl Learner {
    pub fn new(family: Family, count: usize, shown_first: bool, seed: u64) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let world = World::new(count, &mut rng);
        let parameters = Parameters {
            forgetting: (0.25 * normal(&mut rng)).exp(),
            learning: (0.25 * normal(&mut rng)).exp(),
        };
        let pace = 0.25 * normal(&mut rng);
        let traces = world.items.iter().map(|_| Trace::default()).collect();
        let mut learner = Self {
            family,
            world,
            traces,
            pace,
            shown_first,
            parameters,
            rng,
        };
        if !shown_first {
            // Some items are known from elsewhere.
            for i in 0..count {
                if learner.rng.random::<f64>() < 0.15 {
                    learner.expose(i, -20.0 * DAY, false);
                    learner.expose(i, -10.0 * DAY, true);
                    learner.traces[i].seen = 0;
                }
            }
        }
        learner
    }

    /// The slowed clock: within a day time runs in full, nights count little.
    fn clock(at: f64) -> f64 {
        let day = (at / DAY).floor();
        let within = at - day * DAY;
        // Sessions lie in the first hour of a day.
        day * BETWEEN * DAY
            + if within < 3600.0 {
                within
            } else {
                3600.0 + (within - 3600.0) * BETWEEN
            }
    }

    /// True chance of recall.
    pub fn recall(&self, item: usize, at: f64) -> f64 {
        let trace = &self.traces[item];
        let ease = self.world.items[item].ease;
        let p = match self.family {
            Family::ActR => {
                if trace.uses.is_empty() {
                    return 0.0;
                }
                let m = self.activation(item, at);
                1.0 / (1.0 + ((ACTR_TAU - m) / ACTR_S).exp())
            }
            Family::Power => {
                if trace.psi == 0.0 {
                    return 0.0;
                }
                let days = (at - trace.last).max(1.0) / DAY;
                0.98 * (1.0 + 8.0 * self.parameters.forgetting * days).powf(-trace.psi)
            }
            Family::Multiscale => {
                if trace.pools.is_empty() {
                    return 0.0;
                }
                let (sum, weight) = self
                    .pools(trace, ease, at)
                    .fold((0.0, 0.0), |(s, w), (x, g)| (s + g * x, w + g));
                sum / weight
            }
            _ => {
                let days = (at - trace.last).max(1.0) / DAY;
                strangers::recall(self.family, &trace.pools, days, ease, &self.parameters)
            }
        };
        p.clamp(0.0, 0.985)
    }

    fn activation(&self, item: usize, at: f64) -> f64 {
        let trace = &self.traces[item];
        let now = Self::clock(at);
        let base =
            0.20 + 0.42 * self.world.items[item].ease + 0.3 * (self.parameters.learning - 1.0);
        let sum: f64 = trace
            .uses
            .iter()
            .map(|&(t, d)| (now - t).max(1.0).powf(-d))
            .sum();
        base + sum.ln()
    }

    /// Activation and weight of each pool at a moment.
    fn pools<'a>(
        &self,
        trace: &'a Trace,
        ease: f64,
        at: f64,
    ) -> impl Iterator<Item = (f64, f64)> + 'a {
        let days = (at - trace.last).max(1.0) / DAY;
        let scale = (1.1 * ease).exp() / self.parameters.forgetting;
        trace.pools.iter().enumerate().map(move |(i, &x)| {
            let tau = POOL_FASTEST * scale * POOL_RATIO.powi(i as i32);
            (x * (-days / tau).exp(), POOL_SHARE.powi(i as i32))
        })
    }

    /// The item is seen with its answer.
    fn expose(&mut self, item: usize, at: f64, recalled: bool) {
        let recall = self.recall(item, at);
        let ease = self.world.items[item].ease;
        match self.family {
            Family::ActR => {
                let m = if self.traces[item].uses.is_empty() {
                    f64::NEG_INFINITY
                } else {
                    self.activation(item, at)
                };
                // The decay of a use follows from the activation without the item's base.
                let base = 0.20 + 0.42 * ease + 0.3 * (self.parameters.learning - 1.0);
                let d = (ACTR_C * (m - base).exp() + ACTR_A) * self.parameters.forgetting.powf(0.3);
                self.traces[item].uses.push((Self::clock(at), d));
            }
            Family::Power => {
                let trace = &mut self.traces[item];
                if trace.psi == 0.0 {
                    trace.psi = 0.42 * (-0.5 * ease).exp();
                } else {
                    let gain = if recalled { 0.5 } else { 0.25 }
                        * (0.4 * ease).exp()
                        * self.parameters.learning;
                    trace.psi *= 1.0 - (gain * (1.0 - recall)).min(0.8);
                }
                trace.psi = trace.psi.clamp(0.02, 2.0);
            }
            Family::Multiscale => {
                let mut now: Vec<(f64, f64)> = self.pools(&self.traces[item], ease, at).collect();
                if now.is_empty() {
                    now = (0..POOLS)
                        .map(|i| (0.0, POOL_SHARE.powi(i as i32)))
                        .collect();
                }
                let strength =
                    if recalled { POOL_RECALLED } else { 1.0 } * 0.65 * self.parameters.learning;
                let (mut sum, mut weight) = (0.0, 0.0);
                let pools = now
                    .iter()
                    .map(|&(x, g)| {
                        sum += g * x;
                        weight += g;
                        x + strength * (1.0 - sum / weight).max(0.0)
                    })
                    .collect();
                self.traces[item].pools = pools;
            }
            _ => {
                let trace = &mut self.traces[item];
                let days = (at - trace.last).max(1.0) / DAY;
                strangers::expose(
                    self.family,
                    &mut trace.pools,
                    days,
                    recalled,
                    ease,
                    &self.parameters,
                );
            }
        }
        let trace = &mut self.traces[item];
        trace.last = at;
        trace.seen += 1;
    }

    /// True chance of recall at `then` if the item is asked at these times, each answer being the likelier one.
    pub fn recall_after(
        &mut self,
        item: usize,
        times: impl Iterator<Item = f64>,
        then: f64,
    ) -> f64 {
        let kept = self.traces[item].clone();
        for at in times {
            self.show(item, at);
            let recalled = self.recall(item, at) >= 0.5;
            self.expose(item, at, recalled);
        }
        let recall = self.recall(item, then);
        self.traces[item] = kept;
        recall
    }

    /// Seconds that an answer usually takes.
    pub fn usual(&self, item: usize) -> f64 {
        (1.25 + self.pace + KINDS[self.world.items[item].kind].2).exp()
    }

    /// A first meeting before the question, where there is one.
    fn show(&mut self, item: usize, at: f64) {
        if !self.seen(item) && self.shown_first {
            self.expose(item, at - 10.0, false);
        }
    }

    pub fn seen(&self, item: usize) -> bool {
        self.traces[item].seen > 0
    }

    /// Asks an item; the answer is shown afterwards.
    pub fn ask(&mut self, item: usize, at: f64) -> Answer {
        self.show(item, at);
        let recall = self.recall(item, at);
        let (kind, own) = (
            self.world.items[item].kind,
            &KINDS[self.world.items[item].kind],
        );
        debug_assert!(kind < KINDS.len());
        let guess = own.1;
        let recalled = self.rng.random::<f64>() < recall;
        let correct = if recalled {
            self.rng.random::<f64>() >= SLIP
        } else {
            self.rng.random::<f64>() < guess
        };
        let logit = (recall.max(1e-4) / (1.0 - recall)).ln();
        let noise = normal(&mut self.rng);
        // Each family has its own law of latency.
        let ln = match (self.family, recalled) {
            // Anderson's F e^-m + t0.
            (Family::ActR, true) => {
                (1.3 + 0.7 * (-self.activation(item, at)).exp()).ln() + 0.25 * noise
            }
            (Family::ActR, false) => (1.3 + 0.7 * (-ACTR_TAU).exp()).ln() + 0.35 + 0.3 * noise,
            (Family::Power, true) => 1.1 - 0.12 * logit.clamp(-3.0, 4.0) + 0.28 * noise,
            (Family::Power, false) => 1.55 + 0.3 * noise,
            (Family::Multiscale, true) => 1.25 - 0.5 * recall + 0.3 * noise,
            (Family::Multiscale, false) => 1.45 + 0.35 * noise,
            // Recalled or not, whatever the strength.
            (_, true) => 1.0 + 0.4 * noise,
            (_, false) => 1.4 + 0.4 * noise,
        };
        let seconds = (ln + self.pace + own.2).exp();
        self.expose(item, at, recalled);
        Answer {
            recall,
            correct,
            guess,
            seconds,
        }
    }
}
