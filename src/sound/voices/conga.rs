//! The voices of the drums.

use super::super::modal::{Burst, Partial, Recipe};
use super::membrane::MODES;
use super::{AIR, Touch, pulse_spectrum, weight_contact, weight_db};
use crate::rhythm::{Drum, Hand, Stroke, Tone};

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
    let (open_hz, air_hz, t60, radius) = match drum {
        Drum::Quinto => (329.6, 98.0, 0.42, 0.140),
        Drum::Conga => (261.6, 82.0, 0.52, 0.149),
        Drum::Tumbadora => (196.0, 65.0, 0.64, 0.159),
    };
    Body {
        open_hz,
        air_hz,
        t60,
        radius,
    }
}

/// A band of the noise that hand, skin and shell make together, and that no single mode explains: lowest and highest
/// frequency, Hz; amplitude, dB over that of all modes together; seconds in which it falls by 60 dB.
struct Noise(f64, f64, f64, f64);

/// What the hand does. Places follow from how the strokes are taught. Open tone and closed slap were brought to the levels
/// of recordings band by band (`cargo bench --bench sound -- recordings`), the muffled tone to the rise, decay, brightness
/// and noise of two recordings. None was found of the others: they are reasoned from these. The noise is the hand's, and
/// the same on every drum.
struct Strike {
    /// Distance from the centre, in radii.
    place: f64,
    /// Contact of the hand, seconds.
    contact: f64,
    /// Seconds in which the modes swell: the flesh gives way first, and a hand that stays leaves late.
    attack: f64,
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
    /// Resonance of the room under a domed palm, Hz: what lies near it is loudest. Clapped hands are such a resonator,
    /// and domed ones are the lowest (Papadakis & Stavroulakis 2020, *Acoustics* 2). Where it lies is from recorded
    /// closed slaps, which are loudest at 570 to 1140 Hz on every drum. 0 where no palm is domed over the head.
    cup: f64,
    noise: &'static [Noise],
    /// LUFS of a plain hit.
    level: f64,
}

#[rustfmt::skip]
fn strike(tone: Tone) -> Strike {
    let (row, noise): ([f64; 10], &'static [Noise]) = match tone {
        //           place contact   attack  ring  dull  axial press air  cup  level
        // Of an open tone the palm is outside the head, so that little air is pushed; recordings have next to nothing
        // below the lowest mode.
        Tone::Open => ([0.72, 0.0026, 0.0030, 1.00, 0.55, 1.00, 1.00, 0.0, 0.0, -26.0], &[
            Noise(180.0, 1400.0, -19.1, 0.050),
            // The slap of skin on skin, as of clapping hands (Repp 1987, J. Acoust. Soc. Am. 81).
            Noise(2500.0, 11_000.0, -18.1, 0.035),
            // What the many high modes and the shell leave.
            Noise(700.0, 9000.0, -39.1, 0.200),
        ]),
        // No recording was found. The blow is that of the closed slap, with the palm domed a little less; then the hand is
        // gone, nearly as soon as after an open tone (from memory): nothing holds a mode down, and the head rings as it
        // does there, the high modes that the blow drives hardest a little longer.
        Tone::Slap => ([0.80, 0.0006, 0.0010, 1.00, 0.30, 1.00, 1.02, 0.0, 780.0, -26.5], &[
            Noise(500.0, 1600.0, -15.5, 0.050),
            Noise(1400.0, 11_000.0, -16.5, 0.030),
            Noise(700.0, 9000.0, -36.9, 0.200),
        ]),
        // The fingers stay on the edge: what they hold dies soon, and most of it is axial. The head is pushed in and
        // stays there for a moment, and the air with it.
        Tone::ClosedSlap => ([0.80, 0.000_70, 0.0034, 0.14, 0.08, 0.45, 1.03, 0.03, 640.0, -28.5], &[
            // Flesh on skin.
            Noise(2200.0, 11_000.0, -18.0, 0.035),
            // What is free of the head beyond the fingers, the shell, and the room between palm and head.
            Noise(450.0, 1150.0, -22.0, 0.220),
        ]),
        // The whole palm stays: it rubs and presses as long as the head moves under it.
        Tone::Muffled => ([0.70, 0.0024, 0.0042, 0.26, 0.70, 0.80, 1.05, 0.0, 0.0, -27.0], &[
            Noise(120.0, 1400.0, -9.0, 0.220),
            Noise(1400.0, 11_000.0, -6.5, 0.090),
        ]),
        Tone::Bass => ([0.05, 0.0080, 0.0020, 0.16, 0.80, 0.12, 1.00, 1.85, 0.0, -28.5], &[
            Noise(90.0, 290.0, -8.5, 0.035),
            Noise(400.0, 1200.0, -25.5, 0.020),
            Noise(1400.0, 9000.0, -33.5, 0.040),
        ]),
        Tone::Heel => ([0.30, 0.0060, 0.0020, 0.09, 0.80, 0.30, 1.08, 0.0, 0.0, -31.0], &[
            Noise(130.0, 420.0, -6.6, 0.045),
            Noise(500.0, 1600.0, -26.9, 0.025),
            Noise(1400.0, 9000.0, -34.9, 0.040),
        ]),
        Tone::Tip => ([0.48, 0.0018, 0.0009, 0.06, 0.40, 0.25, 1.10, 0.0, 0.0, -31.0], &[
            Noise(430.0, 1300.0, -5.7, 0.035),
            Noise(1100.0, 3300.0, -12.3, 0.022),
            Noise(3000.0, 11_000.0, -23.3, 0.040),
        ]),
    };
    let [place, contact, attack, ring, dullness, axial, press, air, cup, level] = row;
    Strike { place, contact, attack, ring, dullness, axial, press, air, cup, noise, level }
}

/// Modes with more than this many turns within the contact are left out: the hand gives them less than a 250th of what
/// it gives the lowest.
const SOFT: f64 = 5.5;

pub(super) fn recipe(stroke: Stroke, hand: Hand, touch: &Touch) -> Recipe {
    let (body, strike, weight) = (body(stroke.drum), strike(stroke.tone), stroke.weight);
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
                    * cupped(hz, strike.cup)
                    / ratio.sqrt(),
                t60: body.t60 * strike.ring * touch.ring / (1.0 + strike.dullness * (ratio - 1.0)),
            }
        })
        .collect();
    let all = partials.iter().map(|p| p.gain * p.gain).sum::<f64>();
    for partial in &mut partials {
        partial.gain /= all.sqrt();
    }
    if strike.air > 0.0 {
        partials.push(Partial {
            hz: body.air_hz * touch.pitch,
            gain: strike.air,
            t60: 0.55 * body.t60 * touch.ring,
        });
    }
    let bright = weight_contact(weight).powf(-0.5);
    // Where the hand stays it slides on and presses while the head gives way; elsewhere its noise is the blow's alone.
    let slide = if strike.ring < 0.5 {
        0.5 * strike.attack
    } else {
        0.0004
    };
    let bursts = strike.noise.iter().map(|Noise(from, to, db, t60)| Burst {
        hz: (from * to).sqrt() * bright,
        q: (from * to).sqrt() / (to - from),
        gain: 10f64.powf((db + touch.noise) / 20.0),
        attack: slide,
        t60: t60 * touch.ring,
    });
    Recipe {
        level: strike.level + weight_db(weight) + touch.level,
        partials,
        bursts: bursts.collect(),
        attack: strike.attack * weight_contact(weight) * touch.contact,
        scattered: true,
        longest: 1.2,
        ..Recipe::default()
    }
}

/// The share of a frequency that the room under the palm lets through: a resonance, and soft walls damp it (quality 2.5,
/// as wide as the loudest band of recorded closed slaps).
fn cupped(hz: f64, resonance: f64) -> f64 {
    if resonance == 0.0 {
        return 1.0;
    }
    let off = 2.5 * (hz / resonance - resonance / hz);
    (1.0 + off * off).sqrt().recip()
}

/// How well a mode with nodal diameters sounds into the room, beside one without: the two halves of the head work
/// against each other where the head is small beside the wave (Fletcher & Rossing ch. 18: dipole and quadrupole
/// against monopole; the form that joins low and high frequencies is from memory).
fn radiation(diameters: u32, hz: f64, radius: f64) -> f64 {
    let ka = std::f64::consts::TAU * hz * radius / AIR;
    (ka * ka / (1.0 + ka * ka)).powf(0.5 * f64::from(diameters))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cupped_palm_is_a_resonator_of_its_quality() {
        // By definition half the power is left where the band that is 1 / quality wide ends, and all of it in the middle.
        let end = 740.0 * (0.2 + (1.0f64 + 0.04).sqrt());
        assert_eq!(cupped(740.0, 740.0), 1.0);
        assert!((cupped(end, 740.0).powi(2) - 0.5).abs() < 1e-9);
        assert!((cupped(740.0 * 740.0 / end, 740.0).powi(2) - 0.5).abs() < 1e-9);
        assert_eq!(cupped(100.0, 0.0), 1.0);
    }

    #[test]
    fn a_stroke_that_stays_is_drier_than_the_same_one_that_leaves() {
        for drum in Drum::ALL {
            let longest = |tone| {
                let touch = Touch::new(1);
                let recipe = recipe(Stroke::new(drum, tone), Hand::Right, &touch);
                recipe.partials.iter().map(|p| p.t60).fold(0.0, f64::max)
            };
            assert!(longest(Tone::ClosedSlap) < 0.7 * longest(Tone::Slap));
            assert!(longest(Tone::Muffled) < 0.7 * longest(Tone::Open));
        }
    }
}
