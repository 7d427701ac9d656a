//! Can a place be heard? A listener made of filters takes the waves of place questions by ear, as the player gets
//! them, and has to find the bars that are not the tumbao and the side on which the clave lies there.

use crate::features::power;
use std::collections::BTreeMap;
use whichside::clave::{Clave, Direction, Side};
use whichside::deck::{Card, shipped};
use whichside::question::{Question, Sense, Setup, allows, kind, plain_tumbao};
use whichside::rhythm::{Grid, Instrument, Score, Tempo};
use whichside::sound::{RATE, Take, Wave, render};

/// What is listened to after each pulse, frames: about 50 ms, less than an eighth at 300 to the minute.
const EAR: usize = RATE as usize / 20;
const SIZE: usize = 4096;
/// The claves' own band, Hz: wood sticks ring there, and the drums hardly do.
const STICKS: (f64, f64) = (2200.0, 2900.0);
/// Bands for the drums, Hz, the sticks' own left out.
const BANDS: [(f64, f64); 6] = [
    (50.0, 150.0),
    (150.0, 350.0),
    (350.0, 700.0),
    (700.0, 1300.0),
    (1300.0, 2000.0),
    (4500.0, 9000.0),
];

/// The samples after a pulse, both sides together.
fn after(wave: &Wave, pulse: usize) -> Vec<f64> {
    let from = wave.pulse_frames()[pulse];
    let frames = &wave.frames()[from..(from + EAR).min(wave.frames().len())];
    let mono: Vec<f32> = frames.iter().map(|f| f[0] + f[1]).collect();
    power(&mono, SIZE)
}

/// Loudness of a band, decibels over a floor that is well below any stroke.
fn band(power: &[f64], (from, to): (f64, f64)) -> f64 {
    let bin = |hz: f64| (hz * SIZE as f64 / f64::from(RATE)) as usize;
    let sum: f64 = power[bin(from)..bin(to)].iter().sum();
    10.0 * (sum + 1e-2).log10()
}

/// How a bar sounds: the bands of the drums after each of its eighths.
fn sound_of(wave: &Wave, grid: Grid, bar: usize) -> Vec<f64> {
    let per = grid.pulses_per_bar();
    let eighths = (0..per).step_by(per / 8).map(|p| bar * per + p);
    eighths
        .flat_map(|p| {
            let power = after(wave, p);
            BANDS.map(|b| band(&power, b))
        })
        .collect()
}

/// How far two bars are apart, decibels: in the eighth where they differ most, since one stroke makes a variation.
fn distance(a: &[f64], b: &[f64]) -> f64 {
    let eighths = a.chunks(BANDS.len()).zip(b.chunks(BANDS.len()));
    let apart = eighths.map(|(a, b)| {
        let squares = a.iter().zip(b).map(|(x, y)| (x - y).powi(2));
        (squares.sum::<f64>() / BANDS.len() as f64).sqrt()
    });
    apart.fold(0.0, f64::max)
}

/// The side of a bar by the sticks alone: louder on 2 and 3, or on 1 and the and of 2.
fn side(wave: &Wave, grid: Grid, bar: usize) -> Side {
    let per = grid.pulses_per_bar();
    let sticks = |eighth: usize| band(&after(wave, bar * per + eighth * per / 8), STICKS);
    match sticks(2) + sticks(4) > sticks(0) + sticks(3) {
        true => Side::Two,
        false => Side::Three,
    }
}

/// The bars that sound least like the tumbao over the clave as the listener knows it, as many as there are to be
/// found, and how far they stand out from the others.
fn odd_bars(q: &Question, wave: &Wave, many: usize) -> (usize, f64) {
    let score = &q.prompt.take.score;
    let grid = score.grid;
    let clave = Clave {
        direction: Direction::TwoThree,
        ..q.reveal.clave.unwrap()
    };
    let mut plain = Score::empty(grid);
    plain.drums = plain_tumbao(grid).map(|p| p.tiled(4));
    plain.set_line(clave.line(grid));
    let known = render(&Take::new(plain, q.prompt.take.tempo, 4711));
    let known = [2, 3].map(|bar| sound_of(&known, grid, bar));
    let off = |bar: usize| {
        let known = match side(wave, grid, bar) {
            Side::Two => &known[0],
            Side::Three => &known[1],
        };
        distance(&sound_of(wave, grid, bar), known)
    };
    let off: Vec<f64> = (0..score.bars()).map(off).collect();
    let stands = |from: usize| {
        off[from..from + many]
            .iter()
            .copied()
            .fold(f64::MAX, f64::min)
    };
    let from = (0..=off.len() - many).max_by(|a, b| stands(*a).total_cmp(&stands(*b)));
    let from = from.unwrap();
    let others = (0..off.len()).filter(|b| !(from..from + many).contains(b));
    let next = others.map(|b| off[b]).fold(0.0, f64::max);
    (from, stands(from) / next)
}

/// Heard questions about a place over the clave, with their cards.
fn heard(seeds: std::ops::Range<u64>) -> Vec<(Card, Question)> {
    let place = kind("place").unwrap();
    let mut all = Vec::new();
    for card in shipped().iter().flat_map(|d| d.cards.clone()) {
        for seed in seeds.clone().filter(|_| allows(&card, place, Sense::Hear)) {
            let (low, high) = card.tempo;
            let setup = Setup {
                tempo: low.toward(high, (seed % 4) as f64 / 3.0),
                player: Default::default(),
                as_written: false,
                weighed: false,
                unseen: false,
            };
            let q = place.ask(&card, Sense::Hear, seed, &setup).unwrap();
            if q.prompt.take.score.line(Instrument::Clave).is_some() {
                all.push((card.clone(), q));
            }
        }
    }
    all
}

#[test]
fn the_bars_of_a_variation_and_their_side_can_be_heard() {
    let mut by_card: BTreeMap<String, (usize, usize)> = BTreeMap::new();
    let mut faint = f64::MAX;
    for (card, q) in heard(0..4) {
        let take = &q.prompt.take;
        let wave = render(take);
        // The pick-up goes before, two beats of it, or one where two last longer than two seconds; then bar 1 begins.
        let beats = if take.tempo >= Tempo::new(60.0) {
            2.0
        } else {
            1.0
        };
        let lead = beats * 60.0 / take.tempo.bpm() * f64::from(RATE);
        assert!(
            (wave.pulse_frames()[0] as f64 - lead).abs() < 2.0,
            "{}",
            q.item
        );
        let plain = plain_tumbao(take.score.grid).unwrap();
        let drums = take.score.drums.as_ref().unwrap();
        let own: Vec<usize> = (0..drums.bars())
            .filter(|b| drums.bar(*b) != plain.bar(0))
            .collect();
        let (from, stands_out) = odd_bars(&q, &wave, own.len());
        let clave = q.reveal.clave.unwrap();
        let sides =
            (0..drums.bars()).all(|b| side(&wave, take.score.grid, b) == clave.direction.side(b));
        let found = from == own[0] && own.len() == card.score.bars() && sides;
        if !found {
            println!(
                "{} at {}: {from} for {own:?}, sides {sides}, {stands_out:.2}",
                q.item, take.tempo
            );
        }
        faint = faint.min(stands_out);
        let entry = by_card.entry(card.id).or_default();
        entry.0 += usize::from(found);
        entry.1 += 1;
    }
    let (found, of) = by_card.values().fold((0, 0), |a, b| (a.0 + b.0, a.1 + b.1));
    println!(
        "{found} of {of} heard right, {} cards, faintest {faint:.2}",
        by_card.len()
    );
    assert!(of >= 200 && found * 100 >= of * 97, "{found} of {of}");
    for (card, (found, of)) in by_card {
        assert!(found * 4 >= of * 3, "{card}: {found} of {of}");
    }
}

#[test]
fn a_clave_that_stops_can_be_told_before_it_stops() {
    let kind = kind("side").unwrap();
    let (mut found, mut of) = (0, 0);
    let decks = shipped();
    for card in decks
        .iter()
        .filter(|d| d.id == "clave")
        .flat_map(|d| &d.cards)
    {
        for seed in (0..16).filter(|_| allows(card, kind, Sense::Hear)) {
            let setup = Setup {
                tempo: card.tempo.0.toward(card.tempo.1, (seed % 4) as f64 / 3.0),
                player: Default::default(),
                as_written: false,
                weighed: false,
                unseen: false,
            };
            let q = kind.ask(card, Sense::Hear, seed, &setup).unwrap();
            if q.prompt.text.contains("stops") {
                let wave = render(&q.prompt.take);
                let begun = q.reveal.clave.unwrap().direction.side(0);
                of += 1;
                found += usize::from(side(&wave, card.grid, 0) == begun);
            }
        }
    }
    println!("{found} of {of} told from the first bar");
    assert!(of > 80 && found * 100 >= of * 97, "{found} of {of}");
}
