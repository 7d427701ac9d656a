//! The voice of the shaker.

use super::super::modal::{Rattle, Recipe};
use super::{Touch, weight_db};
use crate::rhythm::Weight;

/// The rate at which Cook's published numbers count samples, a second.
const COOK: f64 = 22_050.0;
/// Beads on a gourd: his shekere has the wall (poles at 0.6; he has them at 5500 Hz, where recorded shakers, cabasas and
/// maracas lie at 8000 and more), his cabasa the beads (512, a collision in a
/// sample where a number below 1024 is below theirs) and how they come to rest (0.997 a sample); one collision falls by
/// 0.96 a sample (Cook 1997, *Computer Music Journal* 21(3), and Cook & Scavone 1999, ICMC, for the numbers).
const WALL_HZ: f64 = 8600.0;
const WALL_POLE: f64 = 0.6;
const BEADS: f64 = 512.0;
const COLLISION_FALL: f64 = 0.96;
const ENERGY_FALL: f64 = 0.997;

/// The beads lie at one side and gather on the way to the other: a recorded shake swells over 8 to 21 ms (`cargo bench
/// --bench sound -- recordings`).
const RISE: f64 = 0.020;
/// Where in the swell its pulse lies. A sound that rises slowly is felt to come between its start and its loudest moment
/// (Danielsen and others 2019, *J. Exp. Psychol. Hum. Percept. Perform.* 45); how far into it is from memory.
const PULSE: f64 = 0.7;

/// Seconds in which something falls by 60 dB that shrinks by `fall` a sample.
fn t60(fall: f64) -> f64 {
    -3.0 / (COOK * fall.log10())
}

pub(super) fn recipe(weight: Weight, touch: &Touch) -> Recipe {
    // A wider throw takes longer to come to rest (from memory).
    let length = match weight {
        Weight::Ghost => 0.8,
        Weight::Plain => 1.0,
        Weight::Accent => 1.3,
    };
    // Poles at a radius r lie -ln(r) / pi of the sample rate apart in frequency.
    let width = -WALL_POLE.ln() / std::f64::consts::PI * COOK;
    Recipe {
        level: -36.0 + weight_db(weight) + touch.level,
        rattle: Some(Rattle {
            hz: WALL_HZ * touch.pitch,
            q: WALL_HZ / width,
            collisions: COOK * BEADS / 1024.0,
            sound_t60: t60(COLLISION_FALL),
            energy_t60: t60(ENERGY_FALL) * length * touch.ring,
            rise: RISE,
        }),
        lead: RISE * PULSE,
        longest: 0.25,
        ..Recipe::default()
    }
}
