//! A second classifier, with other features than the first: eight figures of a hit, and the nearest recordings in them.

use crate::features::{line, power};
use crate::recordings::{Recording, listener};

/// The figures, each on a scale on which its differences are about as large as those of the others; `None` where it is
/// not known.
pub type Eight = [Option<f64>; 8];

/// Recordings that vote.
const NEAREST: usize = 3;
/// Least level that counts, dB below the loudest moment.
const SILENT: f64 = -70.0;
/// A level is the mean power over so many seconds.
const WINDOW: f64 = 0.004;

/// Two recorded muted tones of congas that are in no bank at hand: attack, ms; ms in which the level falls by 20, 40 and
/// 60 dB; centroid, Hz; flatness, dB; as they were measured from the sounds. Their pitch was not.
const MUTES: [[f64; 6]; 2] = [
    [2.4, 36.0, 131.0, 165.0, 968.0, -12.0],
    [3.9, 54.0, 181.0, 358.0, 2287.0, -8.0],
];
/// Milliseconds after the loudest moment at which levels are taken.
const MOMENTS: [f64; 3] = [20.0, 60.0, 150.0];

fn scaled(pitch: Option<f64>, attack: f64, near: f64, later: f64, flat: f64, l: [f64; 3]) -> Eight {
    let of = |x: f64| Some(x.max(1e-6).log2());
    [
        pitch.and_then(of),
        of(near),
        of(later),
        Some(l[0] / 6.0),
        Some(l[1] / 12.0),
        Some(l[2] / 20.0),
        Some(flat / 5.0),
        of(attack.max(0.2)),
    ]
}

/// Power at the bins up to 11 kHz of a Hann window over a part of a sound, and the frequency of each, Hz.
fn spectrum(part: &[f64], rate: f64) -> Vec<(f64, f64)> {
    let size = 8192;
    let mut plan = realfft::RealFftPlanner::<f64>::new();
    let transform = plan.plan_fft_forward(size);
    let mut input = transform.make_input_vec();
    for (i, sample) in part.iter().take(size).enumerate() {
        let turn = std::f64::consts::TAU * i as f64 / part.len() as f64;
        input[i] = sample * (0.5 - 0.5 * turn.cos());
    }
    let mut output = transform.make_output_vec();
    transform
        .process(&mut input, &mut output)
        .expect("the buffers are the plan's own");
    (output.iter().enumerate())
        .map(|(i, c)| (i as f64 * rate / size as f64, c.norm_sqr() + 1e-15))
        .filter(|(hz, _)| (40.0..11_000f64.min(0.47 * rate)).contains(hz))
        .collect()
}

fn centroid(spectrum: &[(f64, f64)]) -> f64 {
    let sum: f64 = spectrum.iter().map(|(_, p)| p).sum();
    spectrum.iter().map(|(hz, p)| hz * p).sum::<f64>() / sum
}

/// Geometric over arithmetic mean of the powers, dB.
fn flatness(spectrum: &[(f64, f64)]) -> f64 {
    let count = spectrum.len() as f64;
    let log = spectrum.iter().map(|(_, p)| p.ln()).sum::<f64>() / count;
    let mean = spectrum.iter().map(|(_, p)| p).sum::<f64>() / count;
    10.0 * (log.exp() / mean).log10()
}

/// The figures of a sound, from its first sample above a hundredth of the loudest one: pitch (the strongest line); spectral
/// centroid in the first 10 ms and in the 20 after them; levels 20, 60 and 150 ms after the loudest moment; flatness in the
/// first 20 ms; rise from a tenth to nine tenths of the loudest sample.
pub fn eight(sound: &[f32], rate: f64) -> Eight {
    let loudest = sound.iter().fold(1e-9f32, |m, s| m.max(s.abs()));
    let onset = sound.iter().position(|s| s.abs() > 0.01 * loudest);
    let mut sound: Vec<f64> = sound[onset.unwrap_or(0)..]
        .iter()
        .map(|s| f64::from(s / loudest))
        .collect();
    let at = |seconds: f64| (seconds * rate) as usize;
    sound.resize(sound.len().max(at(0.4)), 0.0);
    let first = |level: f64| sound.iter().position(|s| s.abs() >= level).unwrap_or(0);
    let attack = (first(0.9) - first(0.1).min(first(0.9))) as f64 / rate * 1e3;
    let window = at(WINDOW);
    let mut sum = 0.0;
    let powers: Vec<f64> = (0..sound.len())
        .map(|i| {
            sum += sound[i].powi(2)
                - if i < window {
                    0.0
                } else {
                    sound[i - window].powi(2)
                };
            sum.max(1e-12)
        })
        .collect();
    let peak = (0..powers.len()).max_by(|a, b| powers[*a].total_cmp(&powers[*b]));
    let peak = peak.unwrap_or(0);
    let level = |ms: f64| {
        let there = powers.get(peak + at(0.001 * ms)).copied();
        (10.0 * (there.unwrap_or(1e-12) / powers[peak]).log10()).max(SILENT)
    };
    let whole: Vec<f32> = sound[..at(0.2)].iter().map(|s| *s as f32).collect();
    let size = 32_768;
    scaled(
        Some(line(
            &power(&whole, size),
            size,
            rate,
            40.0,
            11_000f64.min(0.45 * rate),
        )),
        attack,
        centroid(&spectrum(&sound[..at(0.01)], rate)),
        centroid(&spectrum(&sound[at(0.01)..at(0.03)], rate)),
        flatness(&spectrum(&sound[..at(0.02)], rate)),
        MOMENTS.map(level),
    )
}

/// The muted tones: levels on straight lines between the times in which they fall.
fn mutes() -> Vec<(String, Eight)> {
    let of = |[attack, t20, t40, t60, centroid, flat]: [f64; 6]| {
        let level = |ms: f64| {
            let corners = [
                (0.0, 0.0),
                (t20, -20.0),
                (t40, -40.0),
                (t60, -60.0),
                (9e3, -9e3),
            ];
            let i = corners.windows(2).position(|w| ms < w[1].0).unwrap_or(3);
            let [(t0, l0), (t1, l1)] = [corners[i], corners[i + 1]];
            (l0 + (ms - t0) / (t1 - t0) * (l1 - l0)).max(SILENT)
        };
        let eight = scaled(None, attack, centroid, centroid, flat, MOMENTS.map(level));
        ("muffled".to_string(), eight)
    };
    MUTES.map(of).to_vec()
}

/// What the recordings teach: the name of each and its figures, brought to the same spread.
pub struct Second {
    known: Vec<(String, String, Eight)>,
    middle: [f64; 8],
    spread: [f64; 8],
}

impl Second {
    pub fn new(recordings: &[Recording]) -> Second {
        let taught = recordings.iter().filter_map(|r| {
            let bank = r.name.split('-').next().unwrap_or_default().to_string();
            // The rim of a bongo is no stroke of the hand on the head.
            let called = listener(&r.kind).filter(|_| !r.name.contains("rim"))?;
            Some((called.to_string(), bank, eight(&r.sound, r.rate)))
        });
        let mut known: Vec<_> = taught.collect();
        let of = |known: &[(String, String, Eight)], i: usize| -> Vec<f64> {
            known.iter().filter_map(|k| k.2[i]).collect()
        };
        let mean = |all: &[f64]| all.iter().sum::<f64>() / all.len().max(1) as f64;
        let middle = std::array::from_fn(|i| mean(&of(&known, i)));
        let spread = std::array::from_fn(|i| {
            let squares: Vec<f64> = of(&known, i)
                .iter()
                .map(|x| (x - middle[i]).powi(2))
                .collect();
            mean(&squares).sqrt().max(1e-6)
        });
        known.extend(
            mutes()
                .into_iter()
                .map(|(name, e)| (name, "mutes".into(), e)),
        );
        Second {
            known,
            middle,
            spread,
        }
    }

    /// The name that the nearest give, each by how near it is, but for those of one bank. What is not known of a recording is
    /// taken to lie in the middle.
    pub fn name(&self, sound: &Eight, without: &str) -> &str {
        let z = |e: &Eight, i: usize| {
            (e[i].unwrap_or(self.middle[i]) - self.middle[i]) / self.spread[i]
        };
        let mut near: Vec<(f64, &str)> = (self.known.iter())
            .filter(|(_, bank, _)| bank != without)
            .map(|(name, _, e)| {
                let squares = (0..8).map(|i| (z(sound, i) - z(e, i)).powi(2));
                (squares.sum::<f64>().sqrt(), name.as_str())
            })
            .collect();
        near.sort_by(|a, b| a.0.total_cmp(&b.0));
        near.truncate(NEAREST);
        let votes = |name: &str| -> f64 {
            near.iter()
                .filter(|n| n.1 == name)
                .map(|n| 1.0 / n.0.max(1e-9))
                .sum()
        };
        let best = near
            .iter()
            .map(|n| n.1)
            .max_by(|a, b| votes(a).total_cmp(&votes(b)));
        best.unwrap_or("nothing")
    }

    /// How many recordings are named right by those of the other banks, and how many there are.
    pub fn leave_one_bank_out(&self) -> (usize, usize) {
        let heard: Vec<_> = self.known.iter().filter(|k| k.1 != "mutes").collect();
        let right = heard.iter().filter(|k| self.name(&k.2, &k.1) == k.0);
        (right.count(), heard.len())
    }
}
