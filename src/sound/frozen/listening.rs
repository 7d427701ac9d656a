//! Frozen: what is heard of strokes, a band that leaks and noise, and what a sound check says of it.

use super::short;
use crate::rhythm::{
    Drum, Grid, Hit, Instrument, Line, Pattern, Score, Stroke, Tempo, Tone, Weight,
};
use crate::sound::{HeardOnset, OnsetDetector, PowerMeter, RATE, SoundCheck, Take, render};
use std::fmt::Write;

/// Xorshift (Marsaglia 2003), evenly from -1 to 1.
struct Xorshift(u32);

impl Xorshift {
    fn next(&mut self) -> f32 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 17;
        self.0 ^= self.0 << 5;
        self.0 as f32 / u32::MAX as f32 * 2.0 - 1.0
    }
}

fn strokes() -> Vec<[f32; 2]> {
    let cells = (0..16).map(|p| {
        (p % 4 != 3).then(|| Stroke {
            weight: [Weight::Plain, Weight::Accent, Weight::Ghost][p % 3],
            ..Stroke::new(Drum::Conga, Tone::ALL[p % Tone::ALL.len()])
        })
    });
    let drums = Pattern::new(Grid::Eighths, cells.collect()).unwrap();
    let mut take = Take::new(Score::of(drums), Tempo::new(110.0), 3);
    take.cycles = 2;
    render(&take).frames().to_vec()
}

fn band() -> Vec<[f32; 2]> {
    let mut score = Score::empty(Grid::Eighths);
    for (n, instrument) in [Instrument::Bell, Instrument::Piano, Instrument::Shaker]
        .into_iter()
        .enumerate()
    {
        let cells = (0..16).map(|p| (p % (n + 2) == 1).then(Hit::default));
        let line = Line::new(instrument, Grid::Eighths, cells.collect());
        score.set_line(line.unwrap());
    }
    let mut take = Take::new(score, Tempo::new(123.0), 4);
    take.cycles = 3;
    render(&take).frames().to_vec()
}

/// What a microphone hears: strokes and what leaks, the one side more than the other, `late` frames after it was played.
fn heard(
    strokes: &[[f32; 2]],
    band: &[[f32; 2]],
    late: usize,
    noise: f32,
    count: usize,
) -> Vec<f32> {
    let mut random = Xorshift(0x1234_5678);
    (0..count)
        .map(|n| {
            let stroke = strokes.get(n).map_or(0.0, |f| 0.5 * (f[0] + f[1]));
            let leak = n.checked_sub(late).and_then(|n| band.get(n));
            let leak = leak.map_or(0.0, |f| 0.08 * f[0] + 0.03 * f[1]);
            stroke + leak + noise * random.next()
        })
        .collect()
}

fn told(onsets: &[HeardOnset]) -> String {
    let told = onsets
        .iter()
        .map(|o| format!("{} {}", o.sample, short(f64::from(o.power))));
    told.collect::<Vec<_>>().join(", ")
}

#[test]
fn strokes_are_heard_as_they_were() {
    let mut text = String::new();
    let (strokes, band) = (strokes(), band());
    let count = strokes.len();
    let mut played = band.clone();
    played.resize(count, [0.0; 2]);

    let hiss = heard(&[], &[], 0, 0.002, 2 * RATE as usize);
    let leaks = heard(&[], &band, 480, 0.002, band.len());
    let (mut silence, mut leak) = (PowerMeter::new(RATE), PowerMeter::new(RATE));
    silence.feed(&hiss, &[]);
    leak.feed(&leaks, &band);
    for rate in [RATE, 44_100] {
        let quiet = heard(&strokes, &[], 0, 0.002, count);
        let mut onsets = Vec::new();
        OnsetDetector::new(rate, None).feed(&quiet, &[], &mut onsets);
        writeln!(text, "{rate}, without a check: {}", told(&onsets)).unwrap();
        let check = SoundCheck::of(&silence, &leak, &onsets).unwrap();
        writeln!(text, "{check:?}").unwrap();
        let mut onsets = Vec::new();
        let mut detector = OnsetDetector::new(rate, Some(&check.levels));
        let mixed = heard(&strokes, &band, 480, 0.002, count);
        // Block by block, as a device gives them.
        for (heard, played) in mixed.chunks(240).zip(played.chunks(240)) {
            detector.feed(heard, played, &mut onsets);
        }
        writeln!(text, "with one, the band leaks: {}", told(&onsets)).unwrap();
        let loud = heard(&strokes, &[], 0, 0.05, count);
        let mut onsets = Vec::new();
        OnsetDetector::new(rate, None).feed(&loud, &[], &mut onsets);
        writeln!(text, "in noise: {}", told(&onsets)).unwrap();
    }
    insta::assert_snapshot!(text);
}
