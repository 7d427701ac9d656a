//! Loudness of finished samples, measured with the `ebur128` library (ITU-R BS.1770).

use crate::{levels, mix, scores};
use ebur128::{EbuR128, Mode};
use whichside::rhythm::{Drum, Grid, Instrument, Pattern, Score, Stroke, Tempo, Tone};
use whichside::sound::{CEILING_LUFS, RATE, Take, render};

#[test]
fn no_loop_is_louder_than_the_ceiling_at_full_volume() {
    let mut alone = scores::with_drums();
    alone.lines.clear();
    let mut slaps = Score::empty(Grid::Sixteenths);
    let cells = vec![Some(Stroke::new(Drum::Quinto, Tone::Slap)); 32];
    slaps.drums = Some(Pattern::new(Grid::Sixteenths, cells).unwrap());
    for score in [scores::with_drums(), scores::full_band(), alone, slaps] {
        for bpm in [60.0, 180.0, 300.0, Take::FASTEST.bpm()] {
            let (lufs, peak) =
                levels::integrated(&Take::new(score.clone(), Tempo::new(bpm), 1)).unwrap();
            assert!(lufs <= CEILING_LUFS, "{lufs} LUFS at {bpm}");
            assert!(
                lufs > CEILING_LUFS - 14.0,
                "{lufs} LUFS at {bpm} is hardly there"
            );
            assert!(peak <= 1.0);
        }
    }
}

/// Highest momentary loudness of a take, LUFS, as the mean over ten seeds, since no hit is as strong as the next.
fn momentary(score: Score) -> f64 {
    let of = |seed| highest(&Take::new(score.clone(), Tempo::new(60.0), seed));
    (0..10).map(of).sum::<f64>() / 10.0
}

fn highest(take: &Take) -> f64 {
    let wave = render(take);
    let mut meter = EbuR128::new(2, RATE, Mode::M).unwrap();
    let mut most = f64::NEG_INFINITY;
    for part in wave.frames().chunks(480) {
        meter.add_frames_f32(part.as_flattened()).unwrap();
        most = most.max(meter.loudness_momentary().unwrap());
    }
    most
}

#[test]
fn a_loop_is_as_loud_at_every_tempo_and_keeps_its_peaks() {
    for (name, score) in mix::takes() {
        let all = mix::TEMPOS.map(|bpm| {
            let levels = mix::measure(&Take::new(score.clone(), Tempo::new(bpm), 1)).unwrap();
            assert!(
                levels.true_peak < mix::TRUE_PEAK,
                "{name} at {bpm}: {}",
                levels.true_peak
            );
            assert!(
                levels.most_bent <= mix::BENT,
                "{name} at {bpm}: {}",
                levels.most_bent
            );
            assert!(
                levels.bent <= mix::BENT_SHARE,
                "{name} at {bpm}: {}",
                levels.bent
            );
            levels.lufs
        });
        let most = all.iter().copied().fold(f64::MIN, f64::max);
        let least = all.iter().copied().fold(f64::MAX, f64::min);
        assert!(most - least < mix::STEADY, "{name}: {all:?}");
    }
}

#[test]
fn bombo_and_ponche_are_heard_on_a_small_loudspeaker() {
    let all = mix::bass_over_the_rest();
    assert_eq!(all.len(), 4);
    for (pulse, over) in all {
        assert!(over >= mix::HEARD, "pulse {pulse}: {over}");
    }
}

#[test]
fn nothing_but_the_bass_stands_where_the_conga_stands() {
    let (conga, band) = mix::places();
    assert!((conga - 0.5).abs() <= mix::MIDDLE, "{conga}");
    for (instrument, at) in band {
        let apart = (at - conga).abs() >= mix::APART;
        assert!(
            apart || instrument == Instrument::Bass,
            "{instrument:?} at {at}"
        );
    }
}

#[test]
fn no_hit_is_the_one_before_it() {
    let mut score = Score::empty(Grid::Eighths);
    let cells = vec![Some(Stroke::new(Drum::Conga, Tone::ClosedSlap)); 16];
    score.drums = Some(Pattern::new(Grid::Eighths, cells).unwrap());
    let wave = render(&Take::new(score, Tempo::new(60.0), 1));
    let hit = |pulse: usize| {
        let from = wave.pulse_frames()[pulse];
        &wave.frames()[from..from + 2_000]
    };
    for one in 0..16 {
        for other in 0..one {
            assert_ne!(hit(one), hit(other), "{one} and {other}");
        }
    }
}

fn alone(drum: Drum, tone: Tone) -> Score {
    let mut cells = vec![None; 8];
    cells[4] = Some(Stroke::new(drum, tone));
    let mut score = Score::empty(Grid::Eighths);
    score.drums = Some(Pattern::new(Grid::Eighths, cells).unwrap());
    score
}

#[test]
fn strokes_are_balanced_by_loudness_on_every_drum() {
    for drum in Drum::ALL {
        let level = |tone| momentary(alone(drum, tone));
        let open = level(Tone::Open);
        // Open tones and slaps lead, within 3 LU; heel and tip stay within 9 LU of them, so that they are heard.
        for tone in [Tone::Slap, Tone::ClosedSlap, Tone::Muffled, Tone::Bass] {
            assert!(
                (level(tone) - open).abs() <= 4.0,
                "{drum:?} {tone:?}: {}",
                level(tone) - open
            );
        }
        for tone in [Tone::Heel, Tone::Tip] {
            let below = open - level(tone);
            assert!((3.0..=9.0).contains(&below), "{drum:?} {tone:?}: {below}");
        }
    }
}
