use super::super::modal::{Burst, Partial, Recipe};
use super::{Touch, Voicing, pulse_spectrum, weight_contact, weight_db};
use crate::rhythm::{Drum, Hand, Tone, Weight};
use std::sync::LazyLock;

/// Modes of a circular membrane: nodal diameters, nodal circles and the zero of the Bessel function that gives the
/// frequency (Abramowitz & Stegun 1964, table 9.5).
const MODES: [(u32, u32, f64); 31] = [
    (0, 1, 2.404_826),
    (1, 1, 3.831_706),
    (2, 1, 5.135_622),
    (0, 2, 5.520_078),
    (3, 1, 6.380_162),
    (1, 2, 7.015_587),
    (4, 1, 7.588_342),
    (2, 2, 8.417_244),
    (0, 3, 8.653_728),
    (5, 1, 8.771_484),
    (3, 2, 9.761_023),
    (6, 1, 9.936_110),
    (1, 3, 10.173_468),
    (4, 2, 11.064_709),
    (7, 1, 11.086_370),
    (2, 3, 11.619_841),
    (0, 4, 11.791_534),
    (8, 1, 12.225_092),
    (5, 2, 12.338_604),
    (3, 3, 13.015_201),
    (1, 4, 13.323_692),
    (6, 2, 13.589_290),
    (4, 3, 14.372_537),
    (2, 4, 14.795_952),
    (7, 2, 14.821_269),
    (0, 5, 14.930_918),
    (5, 3, 15.700_174),
    (8, 2, 16.037_774),
    (3, 4, 16.223_466),
    (1, 5, 16.470_630),
    (6, 3, 17.003_820),
];

/// Mean square of each mode over the head, but for a common factor (Morse & Ingard 1968, ch. 5).
static NORMS: LazyLock<[f64; MODES.len()]> = LazyLock::new(|| {
    MODES.map(|(diameters, _, zero)| {
        let round = if diameters == 0 { 1.0 } else { 0.5 };
        round * bessel(diameters + 1, zero).powi(2)
    })
});

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
            dullness: 0.16,
            axial: 0.35,
            press: 1.02,
            air: 0.0,
            noise: [(1900.0, 1.1, 0.55, 0.070), (4200.0, 1.0, 0.40, 0.040)],
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
            noise: [(1500.0, 1.0, 0.80, 0.050), (3600.0, 1.0, 0.45, 0.030)],
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
        .zip(NORMS.iter())
        .map(|(&(diameters, _, zero), norm)| {
            let ratio = zero / MODES[0].2;
            let hz = lowest * ratio;
            // Amplitude of a mode struck at one place (Morse & Ingard 1968, ch. 5): its shape there over its norm.
            let shape = bessel(diameters, zero * place) / norm;
            let held = if diameters == 0 { strike.axial } else { 1.0 };
            Partial {
                hz,
                gain: shape.abs()
                    * held
                    * radiation(diameters, hz, body.radius)
                    * pulse_spectrum(hz, contact)
                    / ratio.sqrt(),
                t60: body.t60 * strike.ring * touch.ring / (1.0 + strike.dullness * (ratio - 1.0)),
            }
        })
        .collect();
    let loudest = partials.iter().map(|p| p.gain).fold(0.0, f64::max);
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
        },
        level: strike.level + weight_db(weight) + touch.level,
    }
}

/// How well a mode with nodal diameters sounds into the room, beside one without: the two halves of the head work
/// against each other where the head is small beside the wave (Fletcher & Rossing ch. 18: dipole and quadrupole
/// against monopole; the form that joins low and high frequencies is from memory).
fn radiation(diameters: u32, hz: f64, radius: f64) -> f64 {
    let ka = std::f64::consts::TAU * hz * radius / 343.0;
    (ka * ka / (1.0 + ka * ka)).powf(0.5 * f64::from(diameters))
}

/// Bessel function of the first kind of whole order: the mean of `cos(m t - x sin t)` over half a turn (Abramowitz &
/// Stegun 9.1.21), by the trapezoidal rule, whose error here is below 1e-9.
fn bessel(order: u32, x: f64) -> f64 {
    let steps = 24;
    let value = |i: u32| {
        let t = std::f64::consts::PI * f64::from(i) / f64::from(steps);
        (f64::from(order) * t - x * t.sin()).cos()
    };
    let inner: f64 = (1..steps).map(value).sum();
    (inner + 0.5 * (value(0) + value(steps))) / f64::from(steps)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bessel_functions_are_those_of_the_handbook() {
        // Abramowitz & Stegun, table 9.1: J0(1), J1(1), J2(1) and J0(5).
        for (order, x, value) in [
            (0, 1.0, 0.765_197_686_6),
            (1, 1.0, 0.440_050_585_7),
            (2, 1.0, 0.114_903_484_9),
            (0, 5.0, -0.177_596_771_3),
        ] {
            assert!((bessel(order, x) - value).abs() < 1e-9, "J{order}({x})");
        }
    }

    #[test]
    fn every_mode_is_a_zero_of_its_bessel_function() {
        for (diameters, circles, zero) in MODES {
            assert!(
                bessel(diameters, zero).abs() < 1e-6,
                "({diameters},{circles})"
            );
        }
    }
}
