//! The voice of the bell.

use super::super::modal::{Burst, Partial, Recipe};
use super::{Touch, Voicing, weight_db};
use crate::rhythm::Weight;

/// A hand bell of sheet metal without a clapper, flat in section. No measured modes of one were found; of its next of
/// kin there are: bells of oval section have every mode twice, an antinode on the wide or on the narrow side, the lowest
/// pair 1.11 to 1.31 apart, the next at 2.32 to 3.29 times the lowest mode (Rossing and others 1988, *J. Acoust. Soc.
/// Am.* 83, and their spectra of ten such bells), higher pairs 3 to 10 % apart. The flattest of them is taken; higher
/// pairs follow the power of their nodal lines that the lower two give, as in the law of Chladni in the form that
/// Rossing & Perrin give for bells (1987, *Applied Acoustics* 20). Modes with a nodal circle, gains and decays are from
/// memory.
struct BellMode {
    /// To the lowest mode.
    ratio: f64,
    /// Struck on the mouth, and near the closed end, which the low modes hardly move.
    mouth: f64,
    neck: f64,
    /// Seconds.
    t60: f64,
}

const fn mode(ratio: f64, mouth: f64, neck: f64, t60: f64) -> BellMode {
    BellMode {
        ratio,
        mouth,
        neck,
        t60,
    }
}

const MODES: [BellMode; 11] = [
    // Four nodal lines from crown to mouth.
    mode(1.00, 1.00, 0.10, 0.42),
    mode(1.31, 0.80, 0.16, 0.36),
    // Six.
    mode(2.57, 0.40, 0.90, 0.24),
    mode(3.04, 0.32, 1.00, 0.21),
    // Four and a circle.
    mode(4.12, 0.22, 0.75, 0.16),
    // Eight.
    mode(5.11, 0.20, 0.60, 0.13),
    mode(5.43, 0.17, 0.50, 0.12),
    // Six and a circle.
    mode(6.60, 0.12, 0.40, 0.10),
    // Ten.
    mode(8.41, 0.09, 0.26, 0.07),
    mode(8.87, 0.07, 0.20, 0.06),
    // Twelve.
    mode(12.5, 0.03, 0.08, 0.04),
];

/// Pitch of the lowest mode, Hz, of a large bell (from memory).
const LOWEST_HZ: f64 = 590.0;
/// The hand holds the bell near its closed end, and a stroke there is drier (from memory).
const HELD: f64 = 0.6;

pub(super) fn voicing(weight: Weight, touch: &Touch) -> Voicing {
    // On this instrument an accent is the low sound of the mouth, everything else the high sound of the neck.
    let mouth = weight == Weight::Accent;
    let (level, ring) = match weight {
        Weight::Accent => (-27.0, 1.0),
        other => (-29.5 + weight_db(other), HELD),
    };
    let partials = MODES.iter().map(|mode| Partial {
        hz: LOWEST_HZ * mode.ratio * touch.pitch,
        gain: if mouth { mode.mouth } else { mode.neck } * (1.0 + touch.place * mode.ratio),
        t60: mode.t60 * ring * touch.ring,
    });
    Voicing {
        recipe: Recipe {
            partials: partials.collect(),
            bursts: vec![Burst {
                hz: 2600.0,
                q: 0.9,
                gain: 0.22,
                attack: 0.0003,
                t60: 0.012,
            }],
            attack: 0.0003,
            longest: 0.6,
            ..Recipe::default()
        },
        level: level + touch.level,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lowest_pairs_lie_where_those_of_oval_bells_were_measured() {
        let [a, b, c, d, ..] = MODES.map(|mode| mode.ratio);
        assert!((1.11..=1.31).contains(&(b / a)));
        assert!([c, d].iter().all(|r| (2.32..=3.29).contains(r)));
        // Rossing and others 1988: the members of other pairs are 3 to 10 % apart.
        for (low, high) in [(5, 6), (8, 9)] {
            let apart = MODES[high].ratio / MODES[low].ratio;
            assert!((1.03..=1.10).contains(&apart), "{apart}");
        }
    }
}
