//! What a wooden body adds to its strings.

/// How strongly a body takes up a frequency, around 1: its many modes lie close together, and what it gives goes up
/// and down by some 10 dB from one to the next (Fletcher & Rossing, ch. 10 and 12). Where the modes lie differs from
/// one instrument to the next and is arbitrary here.
pub(super) fn response(hz: f64, spacing: f64) -> f64 {
    let turns = [(1.0, 0.0), (1.7, 1.1), (3.6, 2.3)];
    let wave =
        |(wide, phase): (f64, f64)| (std::f64::consts::TAU * hz / (spacing * wide) + phase).sin();
    let sum: f64 = turns.into_iter().map(wave).sum();
    10f64.powf(sum * SWING / 20.0 / 3.0)
}

/// Greatest rise or fall, dB (from memory).
const SWING: f64 = 6.0;

/// Frequency of harmonic `n` of a string with stiffness (Fletcher 1964, *J. Acoust. Soc. Am.* 36).
pub(super) fn harmonic(lowest: f64, n: f64, stiffness: f64) -> f64 {
    lowest * n * (1.0 + stiffness * n * n).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_body_moves_by_its_swing_and_no_more() {
        let all: Vec<f64> = (1..5000).map(|hz| response(f64::from(hz), 40.0)).collect();
        let db = |x: f64| 20.0 * x.log10();
        let most = all.iter().copied().fold(0.0, f64::max);
        let least = all.iter().copied().fold(9.0, f64::min);
        assert!((4.0..=6.0).contains(&db(most)) && (-6.0..=-4.0).contains(&db(least)));
    }
}
