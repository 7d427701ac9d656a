//! The voice of the bell.

use super::super::modal::{Burst, Partial, Recipe};
use super::{Touch, pulse_spectrum, weight_contact, weight_db};
use crate::rhythm::Weight;

/// A hand bell of sheet metal without a clapper, flat in section. No measured modes of one were found; of its next of
/// kin there are: bells of oval section have every mode twice, an antinode on the wide or on the narrow side, the lowest
/// pair 1.11 to 1.31 apart, the next at 2.32 to 3.29 times the lowest mode (Rossing and others 1988, *J. Acoust. Soc.
/// Am.* 83, and their spectra of ten such bells), higher pairs 3 to 10 % apart. The flattest of them is taken; higher
/// pairs follow the power of their nodal lines that the lower two give, as in the law of Chladni in the form that
/// Rossing & Perrin give for bells (1987, *Applied Acoustics* 20). Modes with a nodal circle, gains and decays are from
/// memory.
///
/// Of each mode its ratio to the lowest; how strongly it is driven by a stroke on the mouth, and by one near the closed end,
/// which the low modes hardly move; and its decay, seconds.
const MODES: [(f64, f64, f64, f64); 7] = [
    // Four nodal lines from crown to mouth.
    (1.00, 1.00, 0.80, 0.50),
    (1.31, 0.45, 0.30, 0.36),
    // Six. Near the closed end a stroke on the flat side drives the one of the pair that has its antinode there.
    (2.57, 0.35, 0.20, 0.30),
    (3.04, 0.30, 0.70, 0.28),
    // Four and a circle.
    (4.12, 0.26, 0.60, 0.26),
    // Eight.
    (5.11, 0.24, 0.35, 0.24),
    (5.43, 0.22, 0.30, 0.23),
];

/// Above the modes that can be named the four sides ring as the plates that they are. The modes of a plate lie evenly
/// over the frequencies, one in every `thickness * speed / (sqrt(3) * area)` hertz (Fletcher & Rossing, ch. 3: bending
/// waves in a plate; the count of modes is Cremer, Heckl & Petersson 2005, *Structure-Borne Sound*, ch. 5): 1.5 mm of
/// steel, four sides of 10 by 12 cm (common practice, no source) make 94 Hz. Where each lies is arbitrary, as the welds
/// and the hammer make it.
const SPACING_HZ: f64 = 0.0015 * 5200.0 / (1.732 * 4.0 * 0.10 * 0.12);
const PLATES_FROM: f64 = 3000.0;
const PLATES_TO: f64 = 11_500.0;
/// Amplitude of a plate mode at the lowest of them beside the lowest mode of all, struck on the mouth and near the closed
/// end, where the hand holds the plates (from memory), and its decay there, seconds: from the recordings in `cargo bench
/// --bench sound -- recordings`.
const PLATES: f64 = 0.16;
const NECK_PLATES: f64 = 0.10;
const PLATES_T60: f64 = 0.20;
/// Contact of the stick with the metal, seconds (from memory, as on the shell).
const CONTACT: f64 = 0.000_12;

/// Pitch of the lowest mode, Hz, of a large bell (from memory; recorded bells lie from 417 to 668).
const LOWEST_HZ: f64 = 520.0;
/// The hand holds the bell near its closed end, and a stroke there is drier (from memory).
const HELD: f64 = 0.9;

pub(super) fn recipe(weight: Weight, touch: &Touch) -> Recipe {
    // On this instrument an accent is the low sound of the mouth, everything else the high sound of the neck.
    let mouth = weight == Weight::Accent;
    let (level, ring) = match weight {
        Weight::Accent => (-29.0, 1.0),
        other => (-31.5 + weight_db(other), HELD),
    };
    let contact = CONTACT * weight_contact(weight) * touch.contact;
    let named = MODES.iter().map(|(ratio, on_mouth, on_neck, t60)| Partial {
        hz: LOWEST_HZ * ratio * touch.pitch,
        gain: if mouth { on_mouth } else { on_neck } * (1.0 + touch.place * ratio),
        t60: t60 * ring * touch.ring,
    });
    let (plate, knock) = match mouth {
        true => (PLATES, 0.8),
        false => (NECK_PLATES, 1.1),
    };
    let count = ((PLATES_TO - PLATES_FROM) / SPACING_HZ) as u32;
    let plates = (0..count).map(|i| {
        // Squares by the golden ratio strew evenly, and no two distances are alike: even ones would flutter together.
        let strewn = |step: f64| (f64::from(i * i) * step).fract();
        let hz = PLATES_FROM + SPACING_HZ * (f64::from(i) + strewn(0.618_034));
        Partial {
            hz: hz * touch.pitch,
            gain: plate
                * (0.4 + 1.2 * strewn(0.381_966 + touch.place))
                * pulse_spectrum(hz, contact)
                / pulse_spectrum(PLATES_FROM, contact),
            // Losses grow with the frequency (from memory).
            t60: PLATES_T60 * touch.ring * (PLATES_FROM / hz).powf(0.6),
        }
    });
    Recipe {
        level: level + touch.level,
        partials: named.chain(plates).collect(),
        bursts: vec![Burst::new(
            5000.0,
            0.7,
            knock * 10f64.powf(touch.noise / 20.0),
            0.0003,
            0.012,
        )],
        attack: 0.001,
        scattered: true,
        longest: 0.6,
        ..Recipe::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lowest_pairs_lie_where_those_of_oval_bells_were_measured() {
        let [a, b, c, d, ..] = MODES.map(|mode| mode.0);
        assert!((1.11..=1.31).contains(&(b / a)));
        assert!([c, d].iter().all(|r| (2.32..=3.29).contains(r)));
        // Rossing and others 1988: the members of other pairs are 3 to 10 % apart.
        let apart = MODES[6].0 / MODES[5].0;
        assert!((1.03..=1.10).contains(&apart), "{apart}");
    }
}
