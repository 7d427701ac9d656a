//! The voices of the drums.

use super::super::modal::{Burst, Partial, Recipe};
use super::membrane::MODES;
use super::{AIR, Touch, Voicing, pulse_spectrum, weight_contact, weight_db};
use crate::rhythm::{Drum, Hand, Tone, Weight};

/// A drum.
struct Body {
    /// The open tone, Hz: quinto E4, conga C4, low drum G3 (common practice, no source).
    open_hz: f64,
    /// The air in the shell, open at the bottom, Hz (from memory).
    air_hz: f64,
    /// Decay of the open tone, seconds (from memory).
    t60: f64,
    /// Radius of the head, metres: 11, 11 3/4 and 12 1/2 inches across (common practice, no source).
    radius: f64,
}

fn body(drum: Drum) -> Body {
    match drum {
        Drum::Quinto => Body {
            open_hz: 329.6,
            air_hz: 98.0,
            t60: 0.42,
            radius: 0.140,
        },
        Drum::Conga => Body {
            open_hz: 261.6,
            air_hz: 82.0,
            t60: 0.52,
            radius: 0.149,
        },
        Drum::Tumbadora => Body {
            open_hz: 196.0,
            air_hz: 65.0,
            t60: 0.64,
            radius: 0.159,
        },
    }
}

/// What the hand does. All values from memory, tuned by ear and by spectrogram, but for the places, which follow
/// from how the strokes are taught.
struct Strike {
    /// Distance from the centre, in radii.
    place: f64,
    /// Contact of the hand, seconds.
    contact: f64,
    /// Factor on the drum's decay.
    ring: f64,
    /// How much faster high modes die than the lowest, per multiple of its frequency.
    dullness: f64,
    /// Gain of modes without nodal diameters: a hand that lies on the head holds them down.
    axial: f64,
    /// Pitch factor: a hand that presses stretches the head.
    press: f64,
    /// Gain of the air in the shell.
    air: f64,
    /// The noise of the hand: middle of the band, width, gain, decay.
    noise: [(f64, f64, f64, f64); 2],
    /// LUFS of a plain hit.
    level: f64,
}

fn strike(tone: Tone) -> Strike {
    match tone {
        Tone::Open => Strike {
            place: 0.72,
            contact: 0.0030,
            ring: 1.0,
            dullness: 0.55,
            axial: 1.0,
            press: 1.0,
            air: 0.15,
            noise: [(450.0, 1.0, 0.10, 0.030), (2200.0, 0.9, 0.02, 0.015)],
            level: -26.0,
        },
        Tone::Slap => Strike {
            place: 0.86,
            contact: 0.0004,
            ring: 0.62,
            dullness: 0.36,
            axial: 0.35,
            press: 1.02,
            air: 0.0,
            noise: [(1900.0, 1.1, 0.22, 0.022), (4200.0, 1.0, 0.20, 0.014)],
            level: -26.5,
        },
        Tone::ClosedSlap => Strike {
            place: 0.86,
            contact: 0.0004,
            ring: 0.11,
            dullness: 0.10,
            axial: 0.20,
            press: 1.06,
            air: 0.0,
            noise: [(1500.0, 1.0, 0.35, 0.030), (3600.0, 1.0, 0.25, 0.018)],
            level: -28.5,
        },
        Tone::Muffled => Strike {
            place: 0.70,
            contact: 0.0035,
            ring: 0.22,
            dullness: 0.9,
            axial: 1.0,
            press: 1.05,
            air: 0.03,
            noise: [(420.0, 1.0, 0.22, 0.035), (1600.0, 1.0, 0.03, 0.015)],
            level: -27.5,
        },
        Tone::Bass => Strike {
            place: 0.05,
            contact: 0.0080,
            ring: 0.16,
            dullness: 0.8,
            axial: 0.12,
            press: 1.0,
            air: 2.2,
            noise: [(160.0, 0.8, 0.45, 0.035), (700.0, 0.9, 0.06, 0.020)],
            level: -28.5,
        },
        Tone::Heel => Strike {
            place: 0.30,
            contact: 0.0060,
            ring: 0.09,
            dullness: 0.8,
            axial: 0.30,
            press: 1.08,
            air: 0.0,
            noise: [(230.0, 0.8, 0.65, 0.045), (900.0, 0.8, 0.06, 0.025)],
            level: -32.0,
        },
        Tone::Tip => Strike {
            place: 0.48,
            contact: 0.0018,
            ring: 0.06,
            dullness: 0.4,
            axial: 0.25,
            press: 1.10,
            air: 0.0,
            noise: [(750.0, 0.9, 0.60, 0.035), (1900.0, 0.9, 0.28, 0.022)],
            level: -32.0,
        },
    }
}

/// Modes with more than so many turns within the contact are left out: the hand gives them less than a 250th of what
/// it gives the lowest.
const SOFT: f64 = 5.5;

pub(super) fn voicing(
    drum: Drum,
    tone: Tone,
    weight: Weight,
    hand: Hand,
    touch: &Touch,
) -> Voicing {
    let body = body(drum);
    let strike = strike(tone);
    // The two hands of one player never match; which way they differ is arbitrary here (from memory).
    let (hand_contact, hand_place) = match hand {
        Hand::Left => (1.06, -0.02),
        Hand::Right => (1.0, 0.0),
    };
    let contact = strike.contact * hand_contact * weight_contact(weight) * touch.contact;
    let place = (strike.place + hand_place + touch.place).clamp(0.02, 0.95);
    let lowest = body.open_hz * strike.press * touch.pitch;

    let mut partials: Vec<Partial> = MODES
        .iter()
        .filter(|mode| lowest * mode.ratio() * contact < SOFT)
        .map(|mode| {
            let (ratio, diameters) = (mode.ratio(), mode.diameters);
            let hz = lowest * ratio;
            let held = if diameters == 0 { strike.axial } else { 1.0 };
            Partial {
                hz,
                gain: mode.struck_at(place)
                    * held
                    * radiation(diameters, hz, body.radius)
                    * pulse_spectrum(hz, contact)
                    / ratio.sqrt(),
                t60: body.t60 * strike.ring * touch.ring / (1.0 + strike.dullness * (ratio - 1.0)),
            }
        })
        .collect();
    let loudest = partials.iter().map(|p| p.gain.abs()).fold(0.0, f64::max);
    for partial in &mut partials {
        partial.gain /= loudest;
    }
    if strike.air > 0.0 {
        partials.push(Partial {
            hz: body.air_hz * touch.pitch,
            gain: strike.air,
            t60: 0.55 * body.t60 * touch.ring,
        });
    }
    let size = body.open_hz / 261.6;
    let bursts = strike.noise.map(|(hz, q, gain, t60)| Burst {
        hz: hz * size.sqrt() * weight_contact(weight).powf(-0.5),
        q,
        gain,
        attack: 0.0004,
        t60,
    });
    Voicing {
        recipe: Recipe {
            partials,
            bursts: bursts.to_vec(),
            attack: (0.5 * contact).min(0.002),
            longest: 1.2,
            ..Recipe::default()
        },
        level: strike.level + weight_db(weight) + touch.level,
    }
}

/// How well a mode with nodal diameters sounds into the room, beside one without: the two halves of the head work
/// against each other where the head is small beside the wave (Fletcher & Rossing ch. 18: dipole and quadrupole
/// against monopole; the form that joins low and high frequencies is from memory).
fn radiation(diameters: u32, hz: f64, radius: f64) -> f64 {
    let ka = std::f64::consts::TAU * hz * radius / AIR;
    (ka * ka / (1.0 + ka * ka)).powf(0.5 * f64::from(diameters))
}
