//! Nobody mixes up the strokes: the classifier of `cargo bench --bench sound -- separability` on single hits, and a
//! decoder who knows single hits on the strokes that are asked by ear.

use crate::features::power;
use crate::{scores, separability};
use whichside::deck::shipped;
use whichside::question::{Sense, Setup, allows, kind};
use whichside::rhythm::{Drum, Grid, Hit, Instrument, Line, Pattern, Score, Stroke, Tone, Weight};
use whichside::sound::{RATE, Take, Wave, render, single};

#[test]
fn nearest_neighbours_name_at_least_99_of_100_single_hits() {
    for drum in Drum::ALL {
        let right = separability::singles(drum, &[Weight::Plain]).right();
        assert!(right >= 0.99, "{drum:?}: {right}");
    }
}

const SIZE: usize = 4096;
/// The listener's bands, a third of an octave each, and the moments after a pulse, milliseconds.
const LOWEST: f64 = 80.0;
const BANDS: i32 = 21;
const MOMENTS: [(usize, usize); 3] = [(0, 10), (10, 25), (25, 60)];

/// The powers of the bands in each moment of what follows an onset.
fn heard(sound: &[f32]) -> Vec<f64> {
    let ms = |n: usize| (n * RATE as usize / 1000).min(sound.len());
    let bin = |i: i32| {
        let hz = LOWEST * 2f64.powf(f64::from(i) / 3.0);
        (hz * SIZE as f64 / f64::from(RATE)) as usize
    };
    let moment = |(from, to): (usize, usize)| {
        let power = power(&sound[ms(from)..ms(to)], SIZE);
        let band = |i| {
            power[bin(i)..bin(i + 1).max(bin(i) + 1)]
                .iter()
                .sum::<f64>()
                + 1e-6
        };
        (0..BANDS).map(band).collect::<Vec<f64>>()
    };
    MOMENTS.into_iter().flat_map(moment).collect()
}

fn after(wave: &Wave, pulse: usize) -> Vec<f32> {
    let at = wave.pulse_frames()[pulse];
    let next = wave.pulse_frames().get(pulse + 1).copied();
    let end = next
        .unwrap_or(wave.body_end())
        .min(at + RATE as usize * 60 / 1000);
    wave.frames()[at..end].iter().map(|f| f[0] + f[1]).collect()
}

fn mean(hits: &[Vec<f64>]) -> Vec<f64> {
    let sum = |i: usize| hits.iter().map(|h| h[i]).sum::<f64>();
    (0..hits[0].len())
        .map(|i| sum(i) / hits.len() as f64)
        .collect()
}

/// Single hits of the seven tones of a drum.
fn tones(drum: Drum) -> Vec<Vec<f64>> {
    let hits = |tone| (50..54).map(move |touch| heard(&single(Stroke::new(drum, tone), touch)));
    Tone::ALL
        .map(|tone| mean(&hits(tone).collect::<Vec<_>>()))
        .to_vec()
}

/// Single hits of an instrument of the band, plain and accented, on both chords.
fn hits(instrument: Instrument) -> Vec<Vec<f64>> {
    let mut all = Vec::new();
    for weight in [Weight::Plain, Weight::Accent] {
        let grid = Grid::Eighths;
        let mut cells = vec![None; 16];
        for pulse in [0, 4, 8, 12] {
            cells[pulse] = Some(Hit {
                weight,
                degree: None,
            });
        }
        let mut score = Score::empty(grid);
        score.set_line(Line::new(instrument, grid, cells).unwrap());
        let wave = render(&Take::new(score, 60.0, 99));
        all.extend([0, 4, 8, 12].map(|pulse| heard(&after(&wave, pulse))));
    }
    all
}

/// How much of each of the seven tones is in what was heard, as shares: the templates that add up to it with weights that
/// are not negative, by the rule of Lee & Seung (2001, NIPS 13) for the divergence.
fn shares(heard: &[f64], templates: &[&Vec<f64>]) -> Vec<f64> {
    let sums: Vec<f64> = templates.iter().map(|t| t.iter().sum()).collect();
    let mut weights: Vec<f64> = sums.iter().map(|s| heard.iter().sum::<f64>() / s).collect();
    for _ in 0..300 {
        let made: Vec<f64> = (0..heard.len())
            .map(|i| weights.iter().zip(templates).map(|(w, t)| w * t[i]).sum())
            .collect();
        for ((weight, template), sum) in weights.iter_mut().zip(templates).zip(&sums) {
            let fit = (0..heard.len())
                .map(|i| template[i] * heard[i] / made[i])
                .sum::<f64>();
            *weight *= fit / sum;
        }
    }
    let tones = &weights[..7];
    let all: f64 = tones.iter().sum();
    tones.iter().map(|w| w / all.max(1e-30)).collect()
}

/// The chance that one of `yes` is above one of `no`.
fn area(yes: &[f64], no: &[f64]) -> f64 {
    let above = |y: &f64| {
        no.iter()
            .map(|n| {
                if y > n {
                    1.0
                } else if y == n {
                    0.5
                } else {
                    0.0
                }
            })
            .sum::<f64>()
    };
    yes.iter().map(above).sum::<f64>() / (yes.len() * no.len()) as f64
}

/// The margin is the issue's: an area of .95 under the curve, at 60 to 240 beats a minute.
#[test]
fn every_stroke_that_is_asked_by_ear_can_be_told() {
    let strokes = kind("strokes").unwrap();
    let mut asked: Vec<(Tone, Vec<f64>)> = Vec::new();
    let drums = Drum::ALL.map(|drum| (drum, tones(drum)));
    let band = Instrument::ALL.map(|instrument| (instrument, hits(instrument)));
    let mut bands = 0;
    for (i, card) in shipped().iter().flat_map(|d| &d.cards).enumerate() {
        if !allows(card, strokes, Sense::Hear) {
            continue;
        }
        let setup = Setup {
            bpm: [60.0, 120.0, 180.0, 240.0][i % 4],
            player: Default::default(),
            as_written: false,
            weighed: true,
        };
        let q = strokes.ask(card, Sense::Hear, i as u64, &setup).unwrap();
        let take = Take {
            count_in: Default::default(),
            ..q.prompt.take
        };
        bands += take.score.lines.len();
        let wave = render(&take);
        let joins = |i: &Instrument| take.score.line(*i).is_some();
        for pulse in q.prompt.hidden {
            let stroke = take.score.drums.as_ref().unwrap().at(pulse).unwrap();
            let own = drums.iter().filter(|(drum, _)| *drum == stroke.drum);
            let beside = band.iter().filter(|(i, _)| joins(i)).map(|(_, hits)| hits);
            let known: Vec<_> = own
                .map(|(_, tones)| tones)
                .chain(beside)
                .flatten()
                .collect();
            asked.push((stroke.tone, shares(&heard(&after(&wave, pulse)), &known)));
        }
    }
    println!(
        "{} strokes, {bands} lines of the band beside them",
        asked.len()
    );
    assert!(asked.len() > 200 && bands > 100);
    for tone in Tone::ALL {
        let of = |played: bool| -> Vec<f64> {
            let those = asked.iter().filter(|(t, _)| (*t == tone) == played);
            those.map(|(_, shares)| shares[tone as usize]).collect()
        };
        let (yes, no) = (of(true), of(false));
        let area = area(&yes, &no);
        println!("{tone:?}: {area:.3} of {}", yes.len());
        assert!(yes.len() < 20 || area >= 0.95, "{tone:?}: {area}");
    }
}

/// The measure that questions use, against the decoder: under the whole band, with strokes of every tone and ghosts.
#[test]
fn what_stands_out_is_named_right_and_not_all_does() {
    let grid = Grid::Eighths;
    let drum = tones(Drum::Conga);
    let band = Instrument::ALL.map(hits);
    let known: Vec<_> = drum.iter().chain(band.iter().flatten()).collect();
    let (mut told, mut hidden) = ((0, 0), (0, 0));
    for (i, tone) in Tone::ALL.into_iter().cycle().take(28).enumerate() {
        let bpm = [60.0, 120.0, 180.0, 240.0][i / 7];
        for weight in [Weight::Ghost, Weight::Plain] {
            let stroke = Stroke {
                weight,
                ..Stroke::new(Drum::Conga, tone)
            };
            let cells = (0..16)
                .map(|p| (p % 4 == i % 4).then_some(stroke))
                .collect();
            let mut score = scores::full_band();
            score.drums = Some(Pattern::new(grid, cells).unwrap());
            let take = Take::new(score, bpm, i as u64);
            let wave = render(&take);
            for pulse in (0..16).filter(|p| p % 4 == i % 4) {
                let shares = shares(&heard(&after(&wave, pulse)), &known);
                let most = (0..7).max_by(|a, b| shares[*a].total_cmp(&shares[*b]));
                let is_right = most == Some(tone as usize);
                let count = if take.tells(&[pulse]) {
                    &mut told
                } else {
                    &mut hidden
                };
                count.0 += usize::from(is_right);
                count.1 += 1;
            }
        }
    }
    println!("named right, of those that stand out: {told:?}; of the others: {hidden:?}");
    assert!(told.1 > 50 && hidden.1 > 20);
    assert!(told.0 as f64 >= 0.95 * told.1 as f64);
    assert!(told.0 * hidden.1 > hidden.0 * told.1);
}
