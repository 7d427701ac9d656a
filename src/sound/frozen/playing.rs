//! Frozen: what the player gives a device while sounds begin, join, change and stop, block by block.

use super::{level, short, sides};
use crate::rhythm::{Grid, Hit, Instrument, Line, Score, Tempo};
use crate::sound::{AudioPlayer, CountIn, JoinPoint, Take, Wave, joined, render};
use std::fmt::Write;
use std::sync::Arc;

fn take(instrument: Instrument, bpm: f64, count_in: CountIn) -> Take {
    let mut score = Score::empty(Grid::Eighths);
    let cells = (0..8).map(|p| (p % 3 == 0).then(Hit::default)).collect();
    score.set_line(Line::new(instrument, Grid::Eighths, cells).unwrap());
    Take {
        count_in,
        ..Take::new(score, Tempo::new(bpm), 5)
    }
}

fn wave(instrument: Instrument, bpm: f64, count_in: CountIn) -> Arc<Wave> {
    Arc::new(render(&take(instrument, bpm, count_in)))
}

fn pulled(player: &mut AudioPlayer, blocks: usize, text: &mut String) {
    let mut out = [0.0f32; 2 * 1111];
    for _ in 0..blocks {
        player.pull(&mut out);
        let sides = [0, 1].map(|n| level(out.iter().skip(n).step_by(2)));
        let heard = player.heard().map(|h| {
            format!(
                "frame {} since start {} round {} pulse {:?} place {:?} latest {}",
                short(h.frame),
                short(h.since_start),
                h.rounds,
                h.pulse,
                h.place.map(short),
                h.latest
            )
        });
        let spot = (f64::from(out[1000]) * 1e6).round();
        writeln!(text, "{} {spot} {heard:?}", sides.join(" ")).unwrap();
    }
}

#[test]
fn a_player_gives_what_it_gave() {
    for rate in [48_000, 44_100] {
        let mut text = String::new();
        let mut player = AudioPlayer::offline(rate);
        let slow = wave(Instrument::Bass, 200.0, CountIn::PickUp);
        let same = wave(Instrument::Clave, 200.0, CountIn::PickUp);
        let fast = wave(Instrument::Bell, 311.0, CountIn::None);
        player.play(slow.clone(), true);
        pulled(&mut player, 30, &mut text);
        writeln!(text, "another at the same tempo joins").unwrap();
        player.take_over(same.clone(), JoinPoint::default());
        pulled(&mut player, 30, &mut text);
        player.set_volume(0.3);
        writeln!(text, "softer, and another at another tempo").unwrap();
        let bar = JoinPoint {
            line: 8,
            pulse: Some(0),
            phase: 2,
        };
        player.take_over(fast.clone(), bar);
        pulled(&mut player, 40, &mut text);
        writeln!(text, "a new one at once").unwrap();
        let ringing = JoinPoint {
            line: 4,
            pulse: Some(4),
            phase: 0,
        };
        player.take_over(slow.clone(), ringing);
        writeln!(text, "another in the middle of its ring").unwrap();
        pulled(&mut player, 16, &mut text);
        player.play(same, false);
        pulled(&mut player, 12, &mut text);
        player.hush();
        writeln!(text, "hush").unwrap();
        pulled(&mut player, 4, &mut text);
        player.play(fast, false);
        writeln!(text, "once, to its end").unwrap();
        pulled(&mut player, 70, &mut text);
        insta::assert_snapshot!(format!("playing_{rate}"), text);
    }
}

#[test]
fn takes_that_follow_one_another_are_what_they_were() {
    let parts = [
        (take(Instrument::Bass, 200.0, CountIn::PickUp), 6),
        (take(Instrument::Clave, 200.0, CountIn::PickUp), 11),
        (take(Instrument::Bell, 311.0, CountIn::PickUp), 24),
    ];
    let wave = joined(&parts);
    let ends = (wave.frames().len(), wave.lead_in());
    insta::assert_snapshot!(format!("{ends:?}\n{}", sides(wave.frames(), 60)));
}
