//! What a rendered take must hold for every score.

use whichside::clave::{Clave, Direction, Family};
use whichside::rhythm::{
    Drum, Grid, Hit, Instrument, Line, Pattern, Score, Stroke, Tempo, Tone, Weight,
};
use whichside::sound::{CountIn, Feel, RATE, Take, Wave, render};
use whichside::time::Seconds;

/// A score with one sound on the pulses given.
fn one_sound(grid: Grid, pulses: &[usize], sound: Sound) -> Score {
    let on = |p| pulses.contains(&p);
    let mut score = Score::empty(grid);
    let cells = 0..grid.pulses_per_cycle();
    match sound {
        Sound::Drum(stroke) => {
            let cells = cells.map(|p| on(p).then_some(stroke)).collect();
            score.drums = Some(Pattern::new(grid, cells).unwrap());
        }
        Sound::Band(instrument, hit) => {
            let cells = cells.map(|p| on(p).then_some(hit)).collect();
            score.set_line(Line::new(instrument, grid, cells).unwrap());
        }
    }
    score
}

#[derive(Clone, Copy, Debug)]
enum Sound {
    Drum(Stroke),
    Band(Instrument, Hit),
}

fn every_sound() -> Vec<Sound> {
    let weights = [Weight::Ghost, Weight::Plain, Weight::Accent];
    let mut all = Vec::new();
    for weight in weights {
        for drum in Drum::ALL {
            for tone in Tone::ALL {
                all.push(Sound::Drum(Stroke {
                    weight,
                    ..Stroke::new(drum, tone)
                }));
            }
        }
        for instrument in Instrument::ALL {
            all.push(Sound::Band(
                instrument,
                Hit {
                    weight,
                    degree: None,
                },
            ));
        }
    }
    all
}

fn loudest(wave: &Wave) -> f32 {
    wave.frames()
        .as_flattened()
        .iter()
        .fold(0.0, |m, s| m.max(s.abs()))
}

#[test]
fn every_sound_starts_on_its_frame_and_stays_within_one() {
    for sound in every_sound() {
        for bpm in [60.0, 180.0, 300.0] {
            let take = Take::new(one_sound(Grid::Eighths, &[3], sound), Tempo::new(bpm), 1);
            let wave = render(&take);
            // Pulse 3 of eighths: 1.5 quarter notes.
            let start = (1.5 * 60.0 / bpm * f64::from(RATE)).round() as usize;
            assert_eq!(wave.pulse_frames()[3], start);
            // A shaker swells before its pulse: its beads take 20 ms to gather, of which at most 15 lie before it.
            let shaker = matches!(sound, Sound::Band(Instrument::Shaker, _));
            let swell = if shaker { RATE as usize * 15 / 1000 } else { 0 };
            let before = &wave.frames()[..start - swell];
            assert!(before.iter().all(|f| *f == [0.0; 2]), "{sound:?} is early");
            let peak = loudest(&wave);
            assert!(peak > 0.0 && peak <= 1.0, "{sound:?}: {peak}");
            let first = &wave.frames()[start..start + 96];
            let near = first.as_flattened().iter().map(|s| s.abs());
            assert!(
                near.fold(0.0, f32::max) > 0.01 * peak,
                "{sound:?} is not there after 2 ms"
            );
            let last = wave.frames().last().unwrap();
            assert!(last.iter().all(|s| s.abs() < 1e-3), "{sound:?} is cut off");
        }
    }
}

#[test]
fn pulses_lie_on_the_nearest_frame_and_rounding_never_adds_up() {
    for (grid, bpm) in [
        (Grid::Eighths, 60.0),
        (Grid::Eighths, 187.3),
        (Grid::Sixteenths, 133.1),
        (Grid::Triplets, 97.7),
        (Grid::SixEight, 300.0),
    ] {
        let mut take = Take::new(Score::empty(grid), Tempo::new(bpm), 1);
        take.cycles = 40;
        take.count_in = CountIn::Cycle;
        let wave = render(&take);
        for (p, frame) in wave.pulse_frames().iter().enumerate() {
            let exact = p as f64 * 60.0 / bpm / grid.pulses_per_beat() as f64 * f64::from(RATE);
            let off = *frame as f64 - wave.lead_in() as f64 - exact;
            assert!(off.abs() <= 0.5, "pulse {p} is {off} frames away");
            assert_eq!(wave.pulse_at(*frame), Some(p));
        }
        assert_eq!(wave.pulse_at(wave.lead_in() - 1), None);
    }
}

fn clave() -> Clave {
    Clave {
        family: Family::Son,
        direction: Direction::TwoThree,
    }
}

#[test]
fn the_same_take_gives_the_same_wave_and_another_seed_another() {
    let stroke = Sound::Drum(Stroke::new(Drum::Conga, Tone::Open));
    let mut score = one_sound(Grid::Eighths, &[0, 3, 6, 8, 11, 14], stroke);
    score.set_line(clave().line(Grid::Eighths));
    let take = Take::new(score, Tempo::new(180.0), 5);
    assert_eq!(render(&take), render(&take));
    let other = Take {
        seed: 6,
        ..take.clone()
    };
    assert_ne!(render(&take), render(&other));
}

/// Two beats at 120 are one second; at 59 they would last longer than two, so that it is one beat.
#[test]
fn a_pick_up_is_two_beats_and_never_longer_than_two_seconds() {
    for (bpm, seconds) in [(120.0, 1.0), (60.0, 2.0), (59.0, 60.0 / 59.0)] {
        let mut take = Take::new(Score::empty(Grid::Eighths), Tempo::new(bpm), 1);
        take.count_in = CountIn::PickUp;
        let lead_in = render(&take).lead_in() as f64 / f64::from(RATE);
        assert!((lead_in - seconds).abs() < 1e-4, "{bpm}: {lead_in}");
    }
}

#[test]
fn the_count_in_is_one_clave_cycle_of_beats() {
    let mut take = Take::new(
        one_sound(Grid::Eighths, &[], every_sound()[0]),
        Tempo::new(120.0),
        1,
    );
    take.count_in = CountIn::Cycle;
    let wave = render(&take);
    // Two bars of 4/4 at 120: 4 seconds. Two beats: 1 second; at 59 one beat.
    assert_eq!(wave.lead_in(), 4 * RATE as usize);
    for beat in 0..8 {
        let at = beat * RATE as usize / 2;
        let loud = |from: usize, to: usize| {
            let part = wave.frames()[from..to].as_flattened();
            part.iter().fold(0.0f32, |m, s| m.max(s.abs()))
        };
        assert!(loud(at, at + 480) > 0.01, "no click on beat {beat}");
        assert_eq!(loud(at + 12_000, at + 24_000), 0.0);
    }
}

#[test]
fn a_loop_begins_with_the_ring_of_its_end() {
    // One low open tone on the last pulse of a fast bar: most of its ring falls into the next time round.
    let stroke = Sound::Drum(Stroke::new(Drum::Tumbadora, Tone::Open));
    let take = Take::new(
        one_sound(Grid::Eighths, &[15], stroke),
        Tempo::new(240.0),
        1,
    );
    let wave = render(&take);
    let end = wave.body_end();
    let ring = wave.ring();
    assert_eq!(ring.len(), end - wave.lead_in());
    assert!(wave.frames()[..100].iter().all(|f| *f == [0.0; 2]));
    // The ring goes on at the start of the loop exactly as it does after the last pass.
    for (i, frame) in ring[..1000].iter().enumerate() {
        let after = wave.frames()[end + i];
        assert!((frame[0] - after[0]).abs() < 1e-6 && (frame[1] - after[1]).abs() < 1e-6);
    }
    let start: f32 = ring[..1000].iter().map(|f| f[0].abs()).sum();
    assert!(start > 1.0, "nothing rings into the loop: {start}");
}

#[test]
fn a_hand_that_stays_on_the_head_takes_the_ring_away() {
    let grid = Grid::Eighths;
    let power_after = |second: Option<Tone>| {
        let mut cells = vec![None; 16];
        cells[0] = Some(Stroke::new(Drum::Conga, Tone::Open));
        cells[2] = second.map(|t| Stroke::new(Drum::Conga, t));
        let mut score = Score::empty(grid);
        score.drums = Some(Pattern::new(grid, cells).unwrap());
        let wave = render(&Take::new(score, Tempo::new(240.0), 1));
        // From 100 ms after the second stroke, which is past the heel's own sound.
        let from = wave.pulse_frames()[2] + 4_800;
        let part = wave.frames()[from..from + 4_800].as_flattened();
        part.iter().map(|s| s * s).sum::<f32>()
    };
    assert!(power_after(Some(Tone::Heel)) < 0.01 * power_after(None));
}

#[test]
fn tempos_out_of_range_and_absurd_counts_are_brought_into_range() {
    for bpm in [f64::NAN, -3.0, 0.0, 1e9, f64::INFINITY] {
        let mut take = Take::new(
            one_sound(Grid::Eighths, &[0], every_sound()[0]),
            Tempo::new(bpm),
            1,
        );
        take.cycles = 2;
        assert!(render(&take).length() > Seconds::ZERO);
    }
    let mut take = Take::new(Score::empty(Grid::Eighths), Tempo::new(300.0), 1);
    take.cycles = u32::MAX;
    assert!(render(&take).length() <= Take::LONGEST + Seconds::new(1.0));
}

#[test]
fn a_swing_moves_only_the_second_of_each_pair() {
    let mut take = Take::new(Score::empty(Grid::Eighths), Tempo::new(60.0), 1);
    take.feel = Feel::Swing(2.0);
    let wave = render(&take);
    // A quarter note at 60 lasts 48,000 frames; 2:1 puts its second eighth on frame 32,000.
    assert_eq!(wave.pulse_frames()[..4], [0, 32_000, 48_000, 80_000]);
}

#[test]
fn a_wav_file_holds_exactly_the_wave() {
    let mut score = Score::empty(Grid::Eighths);
    score.set_line(clave().line(Grid::Eighths));
    let wave = render(&Take::new(score, Tempo::new(180.0), 1));
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("clave.wav");
    wave.write_wav(&path).unwrap();
    let mut reader = hound::WavReader::open(&path).unwrap();
    assert_eq!(reader.spec().sample_rate, 48_000);
    assert_eq!(reader.spec().channels, 2);
    let samples: Vec<f32> = reader.samples::<f32>().map(Result::unwrap).collect();
    assert_eq!(samples, wave.frames().as_flattened());
    let bad = wave.write_wav(&folder.path().join("no/such/folder.wav"));
    assert!(bad.unwrap_err().to_string().contains("no/such/folder.wav"));
}
