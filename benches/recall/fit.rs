//! Fits the filter's constants on logs of some families: coordinate search with shrinking steps. Slow; its results
//! are kept in `fitted.rs`.

use super::learners::Family;
use super::logs::{Log, log};
use super::prediction::{FIT_SEED, ours};
use super::score::{mean, score};
use whichside::memory::constants::Constants;

/// Where the search starts: the constants of an earlier simulation of such learners, the new ones at a guess.
const START: Constants = Constants {
    psi: 0.3,
    alpha: 15.0,
    c: 0.1,
    phi: 0.6,
    taught: 0.5,
    x0: 1.0,
    s0: 0.8,
    q: 0.10,
    rho: 1.2,
    sigma_e: 1.0,
    slip: 0.03,
    mu_recall: -0.06,
    kappa: 0.14,
    mu_none: 0.46,
    sigma: 0.25,
    floor: 0.02,
    replay: (0.25, 0.5),
    slowed: (0.1, 0.25),
    first: 0.0,
    first_ease: 0.8,
    known: 1.5,
    shifts: [0.3, 0.2, 0.2, 0.2, 0.3, 0.3],
    shift_means: [0.0; 6],
    shift_kind: 0.2,
};

/// Learners of each family.
const LEARNERS: u64 = 8;
const PASSES: usize = 10;

/// Fits without the family numbered `leave` and prints the constants.
pub fn report(leave: usize) {
    let families: Vec<Family> = Family::ALL
        .into_iter()
        .enumerate()
        .filter(|(i, _)| *i != leave)
        .map(|(_, f)| f)
        .collect();
    let logs: Vec<Log> = families
        .iter()
        .flat_map(|&f| (0..LEARNERS).map(move |s| log(f, FIT_SEED + s)))
        .collect();
    let (constants, loss) = fit(START, &logs.iter().collect::<Vec<_>>(), PASSES);
    println!("log loss {loss:.5}\n{constants:#?}");
}

type Field = (
    &'static str,
    fn(&mut Constants) -> &mut f32,
    f32,
    (f32, f32),
);

/// Constant, how to reach it, first step, bounds.
const FIELDS: &[Field] = &[
    ("psi", |c| &mut c.psi, 0.08, (0.1, 0.8)),
    ("alpha", |c| &mut c.alpha, 5.0, (0.5, 80.0)),
    ("c", |c| &mut c.c, 0.05, (0.0, 0.5)),
    ("phi", |c| &mut c.phi, 0.1, (0.0, 1.0)),
    ("x0", |c| &mut c.x0, 0.5, (-6.0, 5.0)),
    // Bounded below: likelihood shrinks them, and then hard items are mispredicted.
    ("s0", |c| &mut c.s0, 0.2, (0.7, 2.5)),
    ("q", |c| &mut c.q, 0.05, (0.02, 0.3)),
    ("rho", |c| &mut c.rho, 0.3, (0.0, 2.5)),
    ("sigma_e", |c| &mut c.sigma_e, 0.2, (0.7, 2.5)),
    ("slip", |c| &mut c.slip, 0.01, (0.01, 0.1)),
    ("mu_recall", |c| &mut c.mu_recall, 0.08, (-1.0, 1.0)),
    ("kappa", |c| &mut c.kappa, 0.03, (0.0, 0.4)),
    ("mu_none", |c| &mut c.mu_none, 0.1, (-0.5, 1.5)),
    ("sigma", |c| &mut c.sigma, 0.06, (0.15, 1.0)),
    ("floor", |c| &mut c.floor, 0.03, (0.01, 0.5)),
    ("first", |c| &mut c.first, 0.4, (-4.0, 4.0)),
    ("first_ease", |c| &mut c.first_ease, 0.2, (0.0, 2.0)),
    ("known", |c| &mut c.known, 0.5, (0.0, 6.0)),
    ("shift", |c| &mut c.shifts[0], 0.1, (0.001, 2.0)),
    ("shift time", |c| &mut c.shifts[1], 0.1, (0.001, 2.0)),
    ("shift count", |c| &mut c.shifts[2], 0.1, (0.001, 2.0)),
    ("shift last", |c| &mut c.shifts[3], 0.1, (0.001, 2.0)),
    ("shift close", |c| &mut c.shifts[4], 0.1, (0.001, 2.0)),
    ("shift mean", |c| &mut c.shift_means[0], 0.1, (-1.0, 1.0)),
    (
        "shift mean time",
        |c| &mut c.shift_means[1],
        0.1,
        (-1.0, 0.25),
    ),
    (
        "shift mean count",
        |c| &mut c.shift_means[2],
        0.1,
        (-1.0, 1.0),
    ),
    (
        "shift mean last",
        |c| &mut c.shift_means[3],
        0.1,
        (-1.0, 1.0),
    ),
    (
        "shift mean close",
        |c| &mut c.shift_means[4],
        0.1,
        (-1.0, 1.0),
    ),
    ("shift kind", |c| &mut c.shift_kind, 0.1, (0.001, 2.0)),
];

fn loss(constants: &Constants, logs: &[&Log]) -> f64 {
    mean(
        &logs
            .iter()
            .map(|log| score(log, &ours(constants, log)).log_loss)
            .collect::<Vec<_>>(),
    )
}

fn fit(start: Constants, logs: &[&Log], passes: usize) -> (Constants, f64) {
    let mut best = start;
    let mut least = loss(&best, logs);
    let mut steps: Vec<f32> = FIELDS.iter().map(|f| f.2).collect();
    for _ in 0..passes {
        for (field, step) in FIELDS.iter().zip(&mut steps) {
            let mut moved = false;
            for sign in [1.0, -1.0] {
                let mut tried = best;
                let v = (field.1)(&mut tried);
                *v = (*v + sign * *step).clamp(field.3.0, field.3.1);
                let l = loss(&tried, logs);
                if l < least - 1e-6 {
                    (best, least, moved) = (tried, l, true);
                    break;
                }
            }
            *step *= if moved { 1.3 } else { 0.5 };
        }
        eprintln!("{least:.5}");
    }
    (best, least)
}
