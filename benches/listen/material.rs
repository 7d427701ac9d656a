//! What is played: strokes, the band, rooms and noise.

use rand::RngExt;
use rand::rngs::ChaCha8Rng;
use whichside::rhythm::{Grid, Hit, Instrument, Line, Score, Stroke, Tempo, Weight, notation};
use whichside::sound::{RATE, Take, render, single};

/// Cycles of a performance.
const CYCLES: usize = 8;

pub fn normal(random: &mut ChaCha8Rng) -> f64 {
    let (u, v): (f64, f64) = (random.random(), random.random());
    (-2.0 * (1.0 - u).ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Instruments {
    Claps,
    Clave,
    Tumbao,
    Open,
    Slaps,
}

pub const STROKES: [(Instruments, &str); 5] = [
    (Instruments::Claps, "claps, son clave"),
    (Instruments::Clave, "clave, son clave"),
    (Instruments::Open, "conga, open tones and slaps"),
    (Instruments::Slaps, "conga, slaps and bass tones"),
    (Instruments::Tumbao, "conga, tumbao with heel and tip"),
];

/// A clap: a burst of noise through one resonance.
pub fn clap(random: &mut ChaCha8Rng) -> Vec<f32> {
    let rate = f64::from(RATE);
    let hz = random.random_range(500.0..2500.0);
    let seconds = random.random_range(0.006..0.020);
    let (radius, turn) = (
        (-std::f64::consts::PI * hz / 1.5 / rate).exp(),
        std::f64::consts::TAU * hz / rate,
    );
    let (mut a, mut b) = (0.0, 0.0);
    let wave: Vec<f64> = (0..(0.12 * rate) as usize)
        .map(|n| {
            let t = n as f64 / rate;
            let burst = (t / 0.0005).min(1.0) * (-t / seconds).exp() * normal(random);
            let out = burst + 2.0 * radius * turn.cos() * a - radius * radius * b;
            (a, b) = (out, a);
            out
        })
        .collect();
    let top = wave.iter().fold(0.0f64, |top, s| top.max(s.abs()));
    wave.iter().map(|s| (s / top) as f32).collect()
}

pub fn clave(random: &mut ChaCha8Rng) -> Vec<f32> {
    let mut score = Score::empty(Grid::Eighths);
    let cells = (0..16).map(|p| (p == 0).then(Hit::default)).collect();
    score.set_line(Line::new(Instrument::Clave, Grid::Eighths, cells).expect("two bars"));
    let wave = render(&Take::new(score, Tempo::new(120.0), random.random()));
    wave.frames()[..RATE as usize / 4]
        .iter()
        .map(|f| f[0] + f[1])
        .collect()
}

/// Places of strokes in two bars of eighths, with the sound of each.
pub fn strokes(what: Instruments, random: &mut ChaCha8Rng) -> Vec<(usize, Vec<f32>)> {
    let drums = |text: &str, random: &mut ChaCha8Rng| {
        let pattern = notation::read_line(text, Grid::Eighths).expect("two bars");
        let strokes: Vec<(usize, Stroke)> = pattern.strokes().collect();
        strokes
            .iter()
            .map(|(p, s)| (*p, single(*s, random.random_range(0..4))))
            .collect()
    };
    let son = [0, 3, 6, 10, 12];
    match what {
        Instruments::Claps => son.map(|p| (p, clap(random))).into(),
        Instruments::Clave => son.map(|p| (p, clave(random))).into(),
        Instruments::Open => drums("O . S O . O O . | O O . S . O . S", random),
        Instruments::Slaps => drums("B . S . B . S S | . S B . S . B S", random),
        Instruments::Tumbao => drums("H T S T H T O O | H T S T H T O O", random),
    }
}

/// A score of the band: no drums.
pub fn band(random: &mut ChaCha8Rng) -> Score {
    let line = |instrument, text: &str| {
        let cells = text.chars().map(|c| {
            let weight = if c == 'X' {
                Weight::Accent
            } else {
                Weight::Plain
            };
            (c != '.').then_some(Hit {
                weight,
                degree: None,
            })
        });
        Line::new(instrument, Grid::Eighths, cells.collect()).expect("two bars")
    };
    let lines = [
        (Instrument::Bell, "X.xxX.xxX.xxX.xx"),
        (Instrument::Shell, "x.x.xx.xx.xx.x.x"),
        (Instrument::Bass, "...x..x....x..x."),
        (Instrument::Piano, "x.xx.x.x.x.x.x.x"),
        (Instrument::Shaker, "XxxxXxxxXxxxXxxx"),
        (Instrument::Clave, "x..x..x...x.x..."),
    ];
    let mut score = Score::empty(Grid::Eighths);
    for (instrument, text) in lines {
        if random.random_range(0..4u32) > 0 {
            score.set_line(line(instrument, text));
        }
    }
    if score.lines.is_empty() {
        score.set_line(line(Instrument::Piano, "x.xx.x.x.x.x.x.x"));
    }
    score
}

/// One performance: what is played by the strokes alone, their onsets (seconds), and what the program plays on both sides.
pub struct Performance {
    pub strokes: Vec<f32>,
    pub onsets: Vec<f64>,
    pub band: Score,
    pub tempo: Tempo,
    pub played: Vec<[f32; 2]>,
}

impl Performance {
    pub fn new(what: Instruments, random: &mut ChaCha8Rng) -> Performance {
        let tempo = Tempo::new(f64::from(random.random_range(90..=190u32)));
        let band = band(random);
        let mut take = Take::new(band.clone(), tempo, random.random());
        take.cycles = CYCLES as u32;
        let wave = render(&take);
        let mut played = wave.frames().to_vec();
        let pulse = tempo.pulse(Grid::Eighths).seconds();
        let mut mix = vec![0.0f32; played.len() + RATE as usize];
        let mut onsets = Vec::new();
        for cycle in 0..CYCLES {
            for (pulses, sound) in strokes(what, random) {
                let at = 0.1 + (16 * cycle + pulses) as f64 * pulse + 0.012 * normal(random);
                let from = (at * f64::from(RATE)) as usize;
                // Hands are no machines: some 2 dB.
                let gain = 10f64.powf(2.0 * normal(random) / 20.0) as f32;
                for (into, s) in mix[from..].iter_mut().zip(&sound) {
                    *into += gain * s;
                }
                onsets.push(from as f64 / f64::from(RATE));
            }
        }
        played.resize(mix.len(), [0.0; 2]);
        Performance {
            strokes: mix,
            onsets,
            band,
            tempo,
            played,
        }
    }

    /// Root mean square of the strokes in the 50 ms after each onset.
    pub fn level(&self) -> f64 {
        let count = RATE as usize / 20;
        let mut sum = 0.0;
        for onset in &self.onsets {
            let from = (onset * f64::from(RATE)).round() as usize;
            sum += self.strokes[from..]
                .iter()
                .take(count)
                .map(|s| f64::from(*s).powi(2))
                .sum::<f64>();
        }
        (sum / (count * self.onsets.len()) as f64).sqrt()
    }
}

/// What one ear hears of both sides.
#[derive(Clone, Copy, Debug)]
pub struct LeakPath {
    /// Gains of left and right.
    pub gains: [f32; 2],
    /// Seconds by which the right comes later.
    pub right_late: f64,
}

impl LeakPath {
    /// The middle of both.
    pub const MIDDLE: LeakPath = LeakPath {
        gains: [0.5, 0.5],
        right_late: 0.0,
    };

    pub fn hears(self, played: &[[f32; 2]]) -> Vec<f32> {
        let late = (self.right_late * f64::from(RATE)) as usize;
        let right = |n: usize| n.checked_sub(late).map_or(0.0, |n| played[n][1]);
        let [l, r] = self.gains;
        (0..played.len())
            .map(|n| l * played[n][0] + r * right(n))
            .collect()
    }
}

pub fn rms(wave: &[f32]) -> f64 {
    (wave.iter().map(|s| f64::from(*s).powi(2)).sum::<f64>() / wave.len().max(1) as f64).sqrt()
}

/// The wave in a room that rings 0.3 s, 12 dB below what comes straight: four combs and two all-passes (Schroeder 1962,
/// *Natural sounding artificial reverberation*, JAES 10:219-223; the delays, from memory, varied by a tenth).
pub fn in_room(wave: &[f32], random: &mut ChaCha8Rng) -> Vec<f32> {
    let mut delay = |seconds: f64| {
        let varied = seconds * random.random_range(0.9..1.1);
        (varied * f64::from(RATE)) as usize
    };
    let combs = [0.0297, 0.0371, 0.0411, 0.0437].map(&mut delay);
    let passes = [0.0050, 0.0017].map(&mut delay);
    let mut wet = vec![0.0f32; wave.len()];
    for late in combs {
        let back = 10f64.powf(-3.0 * late as f64 / (0.3 * f64::from(RATE))) as f32;
        let mut comb = wave.to_vec();
        for n in late..comb.len() {
            comb[n] += back * comb[n - late];
        }
        wet[late..].iter_mut().zip(&comb).for_each(|(w, c)| *w += c);
    }
    for late in passes {
        let mut out = vec![0.0f32; wet.len()];
        for n in 0..wet.len() {
            let (before, fed) = match n.checked_sub(late) {
                Some(m) => (wet[m], out[m]),
                None => (0.0, 0.0),
            };
            out[n] = -0.7 * wet[n] + before + 0.7 * fed;
        }
        wet = out;
    }
    let gain = (0.25 * rms(wave) / rms(&wet).max(1e-12)) as f32;
    wave.iter().zip(wet).map(|(s, w)| s + gain * w).collect()
}

pub fn noise(count: usize, pink: bool, random: &mut ChaCha8Rng) -> Vec<f32> {
    // Pink by the sum of leaky integrators (Voss's way, with one pole each).
    let poles = [0.99765, 0.96300, 0.57000];
    let gains = [0.0990460, 0.2965164, 1.0526913];
    let mut states = [0.0; 3];
    (0..count)
        .map(|_| {
            let white = normal(random);
            if !pink {
                return white as f32;
            }
            for ((state, pole), gain) in states.iter_mut().zip(poles).zip(gains) {
                *state = pole * *state + gain * white;
            }
            (states.iter().sum::<f64>() + 0.1848 * white) as f32
        })
        .collect()
}

pub fn scaled(wave: &[f32], level: f64) -> Vec<f32> {
    let gain = (level / rms(wave).max(1e-12)) as f32;
    wave.iter().map(|s| s * gain).collect()
}

/// A wave of other strokes, as loud as these.
pub fn scaled_like(other: &Performance, level: f64, wave: &[f32]) -> Vec<f32> {
    let gain = (level / other.level()) as f32;
    wave.iter().map(|s| s * gain).collect()
}
