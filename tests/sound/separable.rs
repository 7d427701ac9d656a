//! Nobody mixes up the strokes: the classifier of `cargo bench --bench sound -- separability` on single hits, and a
//! decoder who knows single hits on the strokes that are asked by ear.

use crate::decoder::{FEWEST, LEAST, after, asked, heard, hits, shares, told, tones};
use crate::{scores, separability};
use whichside::rhythm::{Drum, Grid, Instrument, Pattern, Stroke, Tempo, Tone, Weight};
use whichside::sound::{Take, render};

#[test]
fn nearest_neighbours_name_at_least_99_of_100_single_hits() {
    for drum in Drum::ALL {
        let right = separability::singles(drum, &[Weight::Plain]).right();
        assert!(right >= 0.99, "{drum:?}: {right}");
    }
}

/// At 60 to 240 beats a minute.
#[test]
fn every_stroke_that_is_asked_by_ear_can_be_told() {
    let (asked, lines) = asked(|card| vec![[60.0, 120.0, 180.0, 240.0][card % 4]]);
    println!(
        "{} strokes, {lines} lines of the band beside them",
        asked.len()
    );
    assert!(asked.len() > 200 && lines > 100);
    for tone in Tone::ALL {
        let (area, count) = told(&asked, tone);
        println!("{tone:?}: {area:.3} of {count}");
        assert!(count < FEWEST || area >= LEAST, "{tone:?}: {area}");
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
            let take = Take::new(score, Tempo::new(bpm), i as u64);
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
