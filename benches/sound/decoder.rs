//! A decoder who knows single hits, and what it hears of the strokes that are asked by ear.

use crate::features::power;
use whichside::deck::shipped;
use whichside::question::{Sense, Setup, allows, kind};
use whichside::rhythm::{Drum, Grid, Hit, Instrument, Line, Score, Stroke, Tempo, Tone, Weight};
use whichside::sound::{RATE, Take, Wave, render, single};

const SIZE: usize = 4096;
/// The listener's bands, a third of an octave each, and the moments after a pulse, milliseconds.
const LOWEST: f64 = 80.0;
const BANDS: i32 = 21;
const MOMENTS: [(usize, usize); 3] = [(0, 10), (10, 25), (25, 60)];

/// The powers of the bands in each moment of what follows an onset.
pub fn heard(sound: &[f32]) -> Vec<f64> {
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

pub fn after(wave: &Wave, pulse: usize) -> Vec<f32> {
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
pub fn tones(drum: Drum) -> Vec<Vec<f64>> {
    let hits = |tone| (50..54).map(move |touch| heard(&single(Stroke::new(drum, tone), touch)));
    Tone::ALL
        .map(|tone| mean(&hits(tone).collect::<Vec<_>>()))
        .to_vec()
}

/// Single hits of an instrument of the band, plain and accented, on both chords.
pub fn hits(instrument: Instrument) -> Vec<Vec<f64>> {
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
        score.set_line(Line::new(instrument, grid, cells).expect("whole bars"));
        let wave = render(&Take::new(score, Tempo::new(60.0), 99));
        all.extend([0, 4, 8, 12].map(|pulse| heard(&after(&wave, pulse))));
    }
    all
}

/// How much of each of the seven tones is in what was heard, as shares: the templates that add up to it with weights that
/// are not negative, by the rule of Lee & Seung (2001, NIPS 13) for the divergence.
pub fn shares(heard: &[f64], templates: &[&Vec<f64>]) -> Vec<f64> {
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

/// A stroke that was asked for by ear: its tone, and how much of each tone the decoder hears there.
pub type Asked = (Tone, Vec<f64>);

/// All strokes that the shipped cards ask for by ear, the card with number `i` at the tempos `bpm(i)`; and how many lines of
/// the band play beside them.
pub fn asked(bpm: impl Fn(usize) -> Vec<f64>) -> (Vec<Asked>, usize) {
    let strokes = kind("strokes").expect("there are questions on strokes");
    let drums = Drum::ALL.map(|drum| (drum, tones(drum)));
    let band = Instrument::ALL.map(|instrument| (instrument, hits(instrument)));
    let (mut asked, mut lines) = (Vec::new(), 0);
    let decks = shipped();
    let cards = decks.iter().flat_map(|d| &d.cards).enumerate();
    for (i, card) in cards.filter(|(_, card)| allows(card, strokes, Sense::Hear)) {
        for bpm in bpm(i) {
            let setup = Setup {
                tempo: Tempo::new(bpm),
                player: Default::default(),
                as_written: false,
                weighed: true,
                unseen: false,
            };
            let question = strokes.ask(card, Sense::Hear, i as u64, &setup);
            let question = question.expect("the kind allows this card");
            let take = Take {
                count_in: Default::default(),
                ..question.prompt.take
            };
            lines += take.score.lines.len();
            let wave = render(&take);
            for pulse in question.prompt.hidden {
                let stroke = take.score.drums.as_ref().and_then(|d| d.at(pulse));
                let stroke = stroke.expect("a stroke is asked for");
                let own = drums.iter().filter(|(drum, _)| *drum == stroke.drum);
                let beside = band.iter().filter(|(i, _)| take.score.line(*i).is_some());
                let known: Vec<_> = (own.map(|(_, tones)| tones))
                    .chain(beside.map(|(_, hits)| hits))
                    .flatten()
                    .collect();
                asked.push((stroke.tone, shares(&heard(&after(&wave, pulse)), &known)));
            }
        }
    }
    (asked, lines)
}

/// How well a tone is told from the other strokes that are asked, as the area under the curve, and how often it is asked.
pub fn told(asked: &[Asked], tone: Tone) -> (f64, usize) {
    let of = |played: bool| -> Vec<f64> {
        let those = asked.iter().filter(|(t, _)| (*t == tone) == played);
        those.map(|(_, shares)| shares[tone as usize]).collect()
    };
    let (yes, no) = (of(true), of(false));
    (area(&yes, &no), yes.len())
}

/// The least area that the issue of the mix allows, and the fewest strokes by which it is judged.
pub const LEAST: f64 = 0.95;
pub const FEWEST: usize = 20;
