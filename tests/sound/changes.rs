//! A change while the band plays: when it is heard, that the place is kept, and that nothing clicks or stops.
//!
//! Where a pulse lies is counted by hand: at N quarter notes a minute an eighth lasts 48000 * 30 / N frames.

use crate::scores;
use std::sync::Arc;
use whichside::clave::{Clave, Direction, Family};
use whichside::rhythm::{Grid, Instrument, Score, Tempo};
use whichside::sound::{AudioPlayer, CountIn, Feel, JoinPoint, Take, Wave, joined, render};

/// Frames in which one wave gives way to another: 12 ms.
const FADE: usize = 576;

fn take(instruments: &[Instrument], bpm: f64) -> Take {
    let mut score = scores::with_drums();
    score
        .lines
        .retain(|l| instruments.contains(&l.instrument()));
    let mut take = Take::new(score, Tempo::new(bpm), 5);
    take.cycles = 4;
    take
}

fn wave(instruments: &[Instrument], bpm: f64) -> Arc<Wave> {
    Arc::new(render(&take(instruments, bpm)))
}

fn offline() -> AudioPlayer {
    let mut player = AudioPlayer::offline(48_000);
    player.set_volume(1.0);
    pull(&mut player, 48_000);
    player
}

/// The next frames, asked for as a card with a small buffer does.
fn pull(player: &mut AudioPlayer, frames: usize) -> Vec<[f32; 2]> {
    let mut out = vec![0.0; 2 * frames];
    for part in out.chunks_mut(2 * 500) {
        player.pull(part);
    }
    out.chunks(2).map(|f| [f[0], f[1]]).collect()
}

/// What a looped wave gives from a frame on.
fn from(wave: &Wave, at: usize) -> impl Iterator<Item = [f32; 2]> + '_ {
    let once = &wave.frames()[..wave.body_end()];
    once.iter()
        .chain(wave.ring().iter().cycle())
        .skip(at)
        .copied()
}

#[track_caller]
fn assert_same(found: &[[f32; 2]], expected: impl Iterator<Item = [f32; 2]>) {
    for (i, (a, b)) in found.iter().zip(expected).enumerate() {
        let off = (a[0] - b[0]).abs().max((a[1] - b[1]).abs());
        assert!(off < 1e-4, "frame {i} is off by {off}");
    }
}

/// The widest step from one sample to the next.
fn step(frames: &[[f32; 2]]) -> f32 {
    let steps = frames.windows(2).map(|w| (w[1][0] - w[0][0]).abs());
    steps.fold(0.0, f32::max)
}

const BAND: [Instrument; 3] = [Instrument::Clave, Instrument::Bass, Instrument::Bell];

#[test]
fn an_instrument_comes_and_goes_at_once_while_the_rest_plays_on() {
    for (before, after) in [(&BAND[..1], &BAND[..]), (&BAND[..], &BAND[..1])] {
        let (old, new) = (wave(before, 150.0), wave(after, 150.0));
        for at in [10_000, 33_333, 76_800, 400_001, 900_000] {
            let mut player = offline();
            player.play(old.clone(), true);
            let mut out = pull(&mut player, at);
            player.take_over(new.clone(), JoinPoint::default());
            out.extend(pull(&mut player, 20_000));
            assert_same(&out[..at], from(&old, 0));
            assert_same(&out[at + FADE..], from(&new, at + FADE));
            // While both sound, each frame lies between theirs: neither louder nor softer than either.
            let both = from(&old, at).zip(from(&new, at)).take(FADE);
            for (frame, (a, b)) in out[at..].iter().zip(both) {
                let (low, high) = (a[0].min(b[0]), a[0].max(b[0]));
                assert!((low - 1e-4..=high + 1e-4).contains(&frame[0]));
            }
            // No step is wider than what the waves have by themselves and the fade of their difference.
            let near = |wave: &Wave| {
                let frames: Vec<_> = from(wave, at - 1).take(FADE + 2).collect();
                step(&frames)
            };
            let widest = near(&old).max(near(&new)) + 2.0 / FADE as f32;
            assert!(step(&out[at - 1..at + FADE + 1]) <= widest);
        }
    }
}

#[test]
fn a_tempo_comes_with_the_next_pulse_and_the_place_is_kept() {
    // Eighths of 9,600 and 8,000 frames; the change is asked for in the eleventh eighth of the second round.
    let (old, new) = (wave(&BAND, 150.0), wave(&BAND, 180.0));
    let round = 4 * 16 * 9_600;
    let at = round + 10 * 9_600 + 2_000;
    let next = round + 11 * 9_600;
    let mut player = offline();
    player.play(old.clone(), true);
    let mut out = pull(&mut player, at);
    let line = JoinPoint {
        line: 1,
        ..JoinPoint::default()
    };
    player.take_over(new.clone(), line);
    assert_eq!(player.heard().unwrap().pulse, Some(64 + 10));
    out.extend(pull(&mut player, next - at));
    let heard = player.heard().unwrap();
    assert_eq!((heard.pulse, heard.latest), (Some(64 + 11), true));
    assert_eq!(heard.since_start, FADE as f64);
    out.extend(pull(&mut player, 100_000));
    assert_same(&out[..next - FADE], from(&old, 0));
    assert_same(&out[next..], from(&new, 64 * 8_000 + 11 * 8_000));
    assert!(
        step(&out[next - FADE - 1..next]) < 0.1,
        "{}",
        step(&out[next - FADE - 1..next])
    );
}

#[test]
fn a_change_asked_for_too_late_for_a_line_waits_for_the_next() {
    let (old, new) = (wave(&BAND, 150.0), wave(&BAND, 180.0));
    let mut player = offline();
    player.play(old, true);
    // 100 frames before a pulse there is no room to fade.
    pull(&mut player, 9_600 * 5 - 100);
    let bar = JoinPoint {
        line: 8,
        ..JoinPoint::default()
    };
    player.take_over(new, JoinPoint { line: 1, ..bar });
    pull(&mut player, 9_600 + 100 - FADE);
    assert_eq!(player.heard().unwrap().pulse, Some(5));
    let out = pull(&mut player, FADE);
    assert_eq!(out.len(), FADE);
    assert_eq!(player.heard().unwrap().pulse, Some(6));
}

#[test]
fn at_a_bar_a_clave_that_begins_on_its_other_side_stays_on_its_side() {
    // The same clave, written from its other bar: a bar further on in the wave, the same sound to the ear.
    let score = |direction| {
        let mut score = Score::empty(Grid::Eighths);
        let family = Family::Son;
        score.set_line(Clave { family, direction }.line(Grid::Eighths));
        let mut take = Take::new(score, Tempo::new(240.0), 1);
        take.cycles = 2;
        Arc::new(render(&take))
    };
    let (old, new) = (score(Direction::TwoThree), score(Direction::ThreeTwo));
    let mut player = offline();
    player.play(old.clone(), true);
    let eighth = 6_000;
    let mut out = pull(&mut player, 9 * eighth);
    let entry = JoinPoint {
        line: 8,
        pulse: None,
        phase: 8,
    };
    player.take_over(new.clone(), entry);
    out.extend(pull(&mut player, 40 * eighth));
    // Bar 3 of the old wave is a two side; of the new one it is bar 4 then.
    assert_same(&out[16 * eighth..], from(&new, 24 * eighth));
    let loud = |p: usize| step(&out[p * eighth..p * eighth + 480]) > 0.01;
    let strokes = |bar: usize| (8 * bar..8 * bar + 8).filter(|p| loud(*p)).count();
    assert_eq!([0, 1, 2, 3, 4, 5].map(strokes), [2, 3, 2, 3, 2, 3]);
}

#[test]
fn a_change_in_the_count_in_is_heard_when_it_is_over() {
    let mut counted = take(&BAND, 150.0);
    counted.count_in = CountIn::Cycle;
    let (old, new) = (Arc::new(render(&counted)), wave(&BAND[..1], 150.0));
    let one = 16 * 9_600;
    for (line, at) in [(0, 0), (0, one - 100), (1, 50_000), (8, one - FADE)] {
        let mut player = offline();
        player.play(old.clone(), true);
        let mut out = pull(&mut player, at.max(1));
        let entry = JoinPoint {
            line,
            ..JoinPoint::default()
        };
        player.take_over(new.clone(), entry);
        out.extend(pull(&mut player, 2 * one));
        let clicks = one - FADE;
        assert_same(&out[..clicks.min(at.max(clicks))], from(&old, 0));
        assert_same(&out[one + FADE..], from(&new, FADE));
    }
}

#[test]
fn the_last_of_several_changes_counts() {
    let waves = [120.0, 150.0, 160.0, 180.0].map(|bpm| wave(&BAND, bpm));
    let mut player = offline();
    player.play(waves[0].clone(), true);
    // Eighths of 12,000 frames.
    let mut out = pull(&mut player, 3_000);
    for wave in &waves[1..] {
        let line = JoinPoint {
            line: 1,
            ..JoinPoint::default()
        };
        player.take_over(wave.clone(), line);
        out.extend(pull(&mut player, 1_000));
    }
    out.extend(pull(&mut player, 50_000));
    assert_same(&out[12_000..], from(&waves[3], 8_000));
}

#[test]
fn what_comes_in_over_a_change_still_fading_makes_no_step() {
    let waves = [&BAND[..], &BAND[..1], &BAND[..2]].map(|b| wave(b, 150.0));
    let mut player = offline();
    player.play(waves[0].clone(), true);
    let mut out = pull(&mut player, 30_000);
    for wave in [&waves[1], &waves[2], &waves[0]] {
        player.take_over(wave.clone(), JoinPoint::default());
        out.extend(pull(&mut player, 100));
    }
    out.extend(pull(&mut player, 3_000));
    let own = waves.iter().map(|w| {
        let frames: Vec<_> = from(w, 29_999).take(3_300).collect();
        step(&frames)
    });
    let widest = own.fold(0.0, f32::max) + 3.0 / FADE as f32;
    assert!(step(&out[29_999..]) <= widest);
    assert_same(&out[33_000..], from(&waves[0], 33_000));
}

#[test]
fn it_never_falls_silent_over_a_hundred_changes() {
    let waves: Vec<_> = [100.0, 150.0, 155.0, 240.0]
        .iter()
        .flat_map(|bpm| [wave(&BAND, *bpm), wave(&BAND[..1], *bpm)])
        .collect();
    let mut player = offline();
    player.play(waves[0].clone(), true);
    let mut pulse = 0;
    for n in 0..100 {
        let entry = JoinPoint {
            line: [1, 8, 16][n % 3],
            ..JoinPoint::default()
        };
        player.take_over(waves[(3 * n + 1) % waves.len()].clone(), entry);
        for _ in 0..40 {
            pull(&mut player, 1_111);
            let now = player.heard().unwrap().pulse.unwrap();
            assert!(now == pulse || now == pulse + 1, "{now} after {pulse}");
            pulse = now;
        }
    }
}

#[test]
fn takes_joined_in_a_file_are_what_the_player_lets_be_heard() {
    let mut first = take(&BAND, 150.0);
    first.count_in = CountIn::Cycle;
    let mut second = take(&BAND[..2], 180.0);
    second.feel = Feel::Swing(1.5);
    // Eighths of 9,600 and 8,000 frames: a cycle counted in, two cycles, and one.
    let whole = joined(&[(first.clone(), 32), (second.clone(), 48)]);
    let line = 3 * 16 * 9_600;
    let mut player = offline();
    player.play(Arc::new(render(&first)), true);
    let mut out = pull(&mut player, line - 9_000);
    let cycle = JoinPoint {
        line: 16,
        ..JoinPoint::default()
    };
    player.take_over(Arc::new(render(&second)), cycle);
    let end = line + 16 * 8_000;
    out.extend(pull(&mut player, end - line + 9_000));
    assert_eq!(whole.lead_in(), 16 * 9_600);
    assert_same(&whole.frames()[..end - FADE], out.into_iter());
    // After the last stroke it rings out and ends.
    assert!(whole.frames().len() > end + 4_800);
    assert!(whole.frames().last().unwrap()[0].abs() < 1e-3);
    let alone = joined(&[(first.clone(), 64)]);
    assert_eq!(alone.frames().len(), render(&first).frames().len());
    assert_same(alone.frames(), render(&first).frames().iter().copied());
}

#[test]
fn a_card_with_another_rate_changes_at_the_same_pulse() {
    let mut player = AudioPlayer::offline(44_100);
    player.play(wave(&BAND, 150.0), true);
    // 8,820 frames of the card an eighth; seven rounds and five eighths in.
    pull(&mut player, (7 * 64 + 5) * 8_820 + 100);
    let line = JoinPoint {
        line: 1,
        ..JoinPoint::default()
    };
    player.take_over(wave(&BAND, 180.0), line);
    pull(&mut player, 8_820 - 101);
    assert_eq!(player.heard().unwrap().pulse, Some(7 * 64 + 5));
    pull(&mut player, 2);
    assert_eq!(player.heard().unwrap().pulse, Some(7 * 64 + 6));
    // And 7,350 frames from there on.
    pull(&mut player, 7_350);
    assert_eq!(player.heard().unwrap().pulse, Some(7 * 64 + 7));
}
