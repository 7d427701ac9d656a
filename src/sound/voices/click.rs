//! The voice of the click.

use super::super::modal::{Partial, Recipe};
use super::weight_db;
use crate::rhythm::Weight;

/// A beat marker that is not an instrument: two short sines, higher where the beat is marked (our own choice).
pub(super) fn recipe(weight: Weight) -> Recipe {
    let hz = if weight == Weight::Accent {
        1480.0
    } else {
        1110.0
    };
    let partial = |ratio: f64, gain, t60| Partial {
        hz: hz * ratio,
        gain,
        t60,
    };
    Recipe {
        level: -29.0 + 0.5 * weight_db(weight),
        partials: vec![partial(1.0, 1.0, 0.045), partial(2.0, 0.3, 0.025)],
        attack: 0.0004,
        longest: 0.1,
        ..Recipe::default()
    }
}
