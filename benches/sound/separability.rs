//! Can the strokes be told apart? Distances between them, and a nearest-neighbour classifier on single hits and
//! within a mix.

use crate::features::{Features, features};
use crate::scores;
use whichside::rhythm::{Drum, Hand, Pattern, Stroke, Tempo, Tone, Weight};
use whichside::sound::{RATE, Take, Wave, render, single};

/// Different hits used to train the classifier, and as many others to test it.
const HITS: u32 = 24;

fn stroke(drum: Drum, tone: Tone, weight: Weight, hand: Hand) -> Stroke {
    Stroke {
        weight,
        hand: Some(hand),
        ..Stroke::new(drum, tone)
    }
}

/// Features of single hits, both hands, by tone.
fn hits(drum: Drum, weights: &[Weight], touches: std::ops::Range<u32>) -> Vec<(Tone, Features)> {
    let mut all = Vec::new();
    for tone in Tone::ALL {
        for weight in weights {
            for hand in Hand::ALL {
                for touch in touches.clone() {
                    let samples = single(stroke(drum, tone, *weight, hand), touch);
                    all.push((tone, features(&samples, f64::from(RATE))));
                }
            }
        }
    }
    all
}

fn name(known: &[(Tone, Features)], sound: &Features) -> Tone {
    let near = known
        .iter()
        .min_by(|a, b| a.1.distance(sound).total_cmp(&b.1.distance(sound)));
    near.map(|n| n.0).expect("the classifier was trained")
}

/// How often a stroke (row) is called each name (column).
pub struct Confusion(pub [[usize; 7]; 7]);

impl Confusion {
    fn of(known: &[(Tone, Features)], heard: &[(Tone, Features)]) -> Confusion {
        let mut table = [[0; 7]; 7];
        for (tone, sound) in heard {
            table[*tone as usize][name(known, sound) as usize] += 1;
        }
        Confusion(table)
    }

    /// Share called by their right name.
    pub fn right(&self) -> f64 {
        let right: usize = (0..7).map(|i| self.0[i][i]).sum();
        let all: usize = self.0.as_flattened().iter().sum();
        right as f64 / all.max(1) as f64
    }

    fn print(&self) {
        let letters: String = Tone::ALL
            .iter()
            .map(|t| format!("{:>6}", t.letter()))
            .collect();
        println!("    played   named {letters}");
        for tone in Tone::ALL {
            let row: String = self.0[tone as usize]
                .iter()
                .map(|n| format!("{n:>6}"))
                .collect();
            println!("    {:<15}{row}", tone.name());
        }
    }
}

/// Single hits, trained on some and tested on others of the same drum.
pub fn singles(drum: Drum, weights: &[Weight]) -> Confusion {
    let known = hits(drum, weights, 0..HITS);
    Confusion::of(&known, &hits(drum, weights, HITS..2 * HITS))
}

/// A stroke on every quarter note while the band plays, cut out of the mix.
fn in_a_mix(drum: Drum, seeds: std::ops::Range<u64>) -> Vec<(Tone, Features)> {
    let mut all = Vec::new();
    for tone in Tone::ALL {
        for seed in seeds.clone() {
            let mut score = scores::full_band();
            let grid = score.grid;
            let cells = (0..grid.pulses_per_cycle())
                .map(|p| (p % 4 == 2 * (seed as usize % 2)).then_some(Stroke::new(drum, tone)))
                .collect();
            score.drums = Some(Pattern::new(grid, cells).expect("whole bars"));
            let wave = render(&Take::new(score, Tempo::new(180.0), seed));
            for p in (2 * (seed as usize % 2)..16).step_by(4) {
                all.push((tone, features(&cut(&wave, p, 2), f64::from(RATE))));
            }
        }
    }
    all
}

/// The middle of both sides from a pulse on, `pulses` long.
fn cut(wave: &Wave, pulse: usize, pulses: usize) -> Vec<f32> {
    let at = wave.pulse_frames()[pulse];
    let end = wave.pulse_frames().get(pulse + pulses).copied();
    let end = end.unwrap_or(wave.frames().len()).min(wave.frames().len());
    wave.frames()[at..end]
        .iter()
        .map(|f| 0.5 * (f[0] + f[1]))
        .collect()
}

pub fn report() {
    println!(
        "Separability of the strokes in (pitch, centroid, decay), octaves between the means of plain hits"
    );
    let mut least = f64::INFINITY;
    for drum in Drum::ALL {
        println!("\n{}", drum.name());
        let all = hits(drum, &[Weight::Plain], 0..HITS);
        let mean = |tone| {
            let of: Vec<&Features> = all.iter().filter(|h| h.0 == tone).map(|h| &h.1).collect();
            let mean = |get: fn(&Features) -> f64| {
                of.iter().map(|f| get(f)).sum::<f64>() / of.len() as f64
            };
            Features {
                pitch: mean(|f| f.pitch),
                centroid: mean(|f| f.centroid),
                decay: mean(|f| f.decay),
            }
        };
        for tone in Tone::ALL {
            let m = mean(tone);
            let far: String = Tone::ALL
                .iter()
                .map(|other| format!("{:>6.2}", m.distance(&mean(*other))))
                .collect();
            for other in Tone::ALL.iter().filter(|o| **o != tone) {
                least = least.min(m.distance(&mean(*other)));
            }
            println!(
                "    {:<14}{:>6.0} Hz  centroid {:>5.0} Hz  20 dB in {:>4.0} ms {far}",
                tone.name(),
                m.pitch.exp2(),
                m.centroid.exp2(),
                m.decay.exp2() * 1000.0
            );
        }
        for (title, weights) in [
            ("plain hits", &[Weight::Plain][..]),
            (
                "ghosts, plain hits and accents",
                &[Weight::Ghost, Weight::Plain, Weight::Accent][..],
            ),
        ] {
            let confusion = singles(drum, weights);
            println!(
                "  single {title}, nearest neighbour: {:.1} % right",
                100.0 * confusion.right()
            );
            if confusion.right() < 1.0 {
                confusion.print();
            }
        }
        let mix = Confusion::of(&in_a_mix(drum, 0..6), &in_a_mix(drum, 100..106));
        println!(
            "  under the full band at 180, trained in the same band: {:.1} % right",
            100.0 * mix.right()
        );
        mix.print();
        let mix = Confusion::of(
            &hits(drum, &[Weight::Plain], 0..HITS),
            &in_a_mix(drum, 100..106),
        );
        println!(
            "  under the full band at 180, trained on single hits only: {:.1} % right",
            100.0 * mix.right()
        );
    }
    println!("\nnearest pair on any drum: {least:.2} octaves apart");
}
