//! Loudness of finished samples, measured with the `ebur128` library (ITU-R BS.1770).

use crate::{features::power, levels, scores};
use ebur128::{EbuR128, Mode};
use whichside::rhythm::{Drum, Grid, Instrument, Pattern, Score, Stroke, Tone};
use whichside::sound::{CEILING_LUFS, RATE, Take, render};

#[test]
fn no_loop_is_louder_than_the_ceiling_at_full_volume() {
    let mut alone = scores::with_drums();
    alone.lines.clear();
    let mut slaps = Score::empty(Grid::Sixteenths);
    let cells = vec![Some(Stroke::new(Drum::Quinto, Tone::Slap)); 32];
    slaps.drums = Some(Pattern::new(Grid::Sixteenths, cells).unwrap());
    for score in [scores::with_drums(), scores::full_band(), alone, slaps] {
        for bpm in [60.0, 180.0, 300.0, Take::FASTEST] {
            let (lufs, peak) = levels::integrated(&Take::new(score.clone(), bpm, 1)).unwrap();
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
    let of = |seed| highest(&Take::new(score.clone(), 60.0, seed));
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

/// The issue's own margins: 2 LU over the tempo; EBU R 128: true peak at most -1 dBTP.
#[test]
fn a_loop_is_as_loud_at_every_tempo_and_keeps_its_peaks() {
    let mut drums = scores::with_drums();
    drums.lines.clear();
    let mut clave = scores::full_band();
    clave.lines.truncate(1);
    for score in [scores::with_drums(), scores::full_band(), drums, clave] {
        let all: Vec<f64> = [60.0, 110.0, 180.0, 240.0]
            .into_iter()
            .map(|bpm| {
                let take = Take::new(score.clone(), bpm, 1);
                let mut meter = EbuR128::new(2, RATE, Mode::TRUE_PEAK).unwrap();
                let wave = render(&take);
                meter.add_frames_f32(wave.frames().as_flattened()).unwrap();
                for side in 0..2 {
                    let peak = 20.0 * meter.true_peak(side).unwrap().log10();
                    assert!(peak < -1.0, "{peak} dBTP at {bpm}");
                }
                levels::integrated(&take).unwrap().0
            })
            .collect();
        let most = all.iter().copied().fold(f64::MIN, f64::max);
        let least = all.iter().copied().fold(f64::MAX, f64::min);
        assert!(most - least < 2.0, "{all:?}");
    }
}

/// On a loudspeaker that gives nothing below 200 Hz. A sound is heard in noise from some -4 dB in its critical band on
/// (Zwicker & Fastl 1999, *Psychoacoustics*, ch. 4); a third of an octave is near to that band. At this tempo a take is
/// neither raised nor lowered, so that a part is as loud alone as it is in the band.
#[test]
fn bombo_and_ponche_are_heard_on_a_small_loudspeaker() {
    const SIZE: usize = 4096;
    let band = scores::with_drums();
    let bass = band.line(Instrument::Bass).unwrap().clone();
    let (mut alone, mut rest) = (Score::empty(band.grid), band.clone());
    alone.set_line(bass.clone());
    rest.remove(Instrument::Bass);
    let [all, alone, rest] = [band, alone, rest].map(|s| render(&Take::new(s, 120.0, 1)));
    for (frame, sum) in alone.frames().iter().zip(rest.frames()).zip(all.frames()) {
        assert!((frame.0[0] + frame.1[0] - sum[0]).abs() < 0.02);
    }
    for pulse in (0..16).filter(|p| bass.at(*p).is_some()) {
        let from = all.pulse_frames()[pulse];
        let heard = |wave: &whichside::sound::Wave| {
            let part = &wave.frames()[from..from + RATE as usize * 60 / 1000];
            power(&part.iter().map(|f| f[0] + f[1]).collect::<Vec<_>>(), SIZE)
        };
        let (bass, rest) = (heard(&alone), heard(&rest));
        let over = (0..16).map(|i| {
            let bin = |i: i32| {
                (200.0 * 2f64.powf(f64::from(i) / 3.0) * SIZE as f64 / f64::from(RATE)) as usize
            };
            let sum = |power: &[f64]| power[bin(i)..bin(i + 1)].iter().sum::<f64>();
            10.0 * (sum(&bass) / sum(&rest)).log10()
        });
        let most = over.fold(f64::MIN, f64::max);
        println!("bass on pulse {pulse}: {most:.1} dB over the rest in its best band above 200 Hz");
        assert!(most >= 0.0, "pulse {pulse}: {most}");
    }
}

#[test]
fn no_hit_is_the_one_before_it() {
    let mut score = Score::empty(Grid::Eighths);
    let cells = vec![Some(Stroke::new(Drum::Conga, Tone::ClosedSlap)); 16];
    score.drums = Some(Pattern::new(Grid::Eighths, cells).unwrap());
    let wave = render(&Take::new(score, 60.0, 1));
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
