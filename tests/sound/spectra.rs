//! Spectra of rendered strokes, measured with the `realfft` library, against published mode ratios.

use crate::features::{line, power};
use whichside::clave::{Clave, Direction, Family};
use whichside::rhythm::{Drum, Grid, Score, Stroke, Tempo, Tone};
use whichside::sound::{RATE, Take, render, single};

const SIZE: usize = 65_536;

/// Frequencies of the strongest lines within 4 % of the lowest line times each ratio.
fn ratios(samples: &[f32], lowest: (f64, f64), expected: &[f64]) -> Vec<f64> {
    let rate = f64::from(RATE);
    let power = power(samples, SIZE);
    let first = line(&power, SIZE, rate, lowest.0, lowest.1);
    expected
        .iter()
        .map(|r| line(&power, SIZE, rate, first * r * 0.96, first * r * 1.04) / first)
        .collect()
}

#[test]
fn an_open_tone_rings_in_the_modes_of_a_circular_membrane() {
    // Zeros of the Bessel functions over the first, Abramowitz & Stegun 1964, table 9.5: modes (0,1), (1,1), (2,1),
    // (3,1); within 1 %.
    let published = [1.0, 1.5933, 2.1355, 2.6531];
    for (drum, hz) in [
        (Drum::Quinto, 329.6),
        (Drum::Conga, 261.6),
        (Drum::Tumbadora, 196.0),
    ] {
        let samples = single(Stroke::new(drum, Tone::Open), 0);
        let found = ratios(&samples, (hz * 0.97, hz * 1.03), &published);
        for (found, published) in found.iter().zip(published) {
            assert!(
                (found / published - 1.0).abs() < 0.01,
                "{drum:?}: {found} for {published}"
            );
        }
    }
}

#[test]
fn lines_of_an_open_tone_stand_out_of_what_lies_between_them() {
    // Without this the ratios above could be read off noise: each line is at least 10 dB above the gap half way to
    // the next.
    let samples = single(Stroke::new(Drum::Conga, Tone::Open), 0);
    let power = power(&samples, SIZE);
    let around = |hz: f64| {
        let bin = (hz * SIZE as f64 / f64::from(RATE)) as usize;
        power[bin - 8..bin + 8].iter().copied().fold(0.0, f64::max)
    };
    for (mode, gap) in [(1.0, 1.3), (1.5933, 1.86), (2.1355, 1.86), (2.6531, 2.78)] {
        assert!(
            around(261.6 * mode) > 10.0 * around(261.6 * gap),
            "mode {mode}"
        );
    }
}

#[test]
fn a_clave_rings_in_the_modes_of_a_free_bar() {
    // Fletcher & Rossing, The Physics of Musical Instruments, ch. 2: 1 : 2.756 : 5.404; within 1 %.
    let clave = Clave {
        family: Family::Son,
        direction: Direction::TwoThree,
    };
    let mut score = Score::empty(Grid::Eighths);
    score.set_line(clave.line(Grid::Eighths));
    let wave = render(&Take::new(score, Tempo::new(120.0), 1));
    let at = wave.pulse_frames()[2];
    let stroke: Vec<f32> = wave.frames()[at..at + 9_600].iter().map(|f| f[0]).collect();
    let published = [1.0, 2.756, 5.404];
    let found = ratios(&stroke, (2000.0, 3000.0), &published);
    for (found, published) in found.iter().zip(published) {
        assert!(
            (found / published - 1.0).abs() < 0.01,
            "{found} for {published}"
        );
    }
}

#[test]
fn high_modes_die_before_low_ones_in_an_open_tone() {
    let samples = single(Stroke::new(Drum::Tumbadora, Tone::Open), 0);
    let share = |part: &[f32]| {
        let power = power(part, SIZE);
        let bin = |hz: f64| (hz * SIZE as f64 / f64::from(RATE)) as usize;
        power[bin(400.0)..].iter().sum::<f64>() / power.iter().sum::<f64>()
    };
    assert!(share(&samples[9_600..]) < 0.5 * share(&samples[..9_600]));
}
