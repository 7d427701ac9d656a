//! The player with devices that hang, refuse and come back.

use super::*;
use crate::rhythm::Tempo;
use crate::sound::{Take, render};
use std::sync::Mutex;
use std::sync::mpsc::{Sender, channel};

/// A device that opens, or does not, when it is told to, and hangs until then.
fn hanging() -> (AudioPlayer, Sender<Result<(), SoundError>>) {
    let (tell, told) = channel();
    let told = Mutex::new(told);
    let opener: Opener = Arc::new(move || {
        let told = told.lock().unwrap();
        told.recv().unwrap_or(Err(SoundError::NoAnswer))?;
        Ok(Connection::to_program(48_000))
    });
    (AudioPlayer::through(opener), tell)
}

fn next_change(player: &mut AudioPlayer) -> DeviceChange {
    for _ in 0..2000 {
        if let Some(change) = player.tend() {
            return change;
        }
        std::thread::sleep(Duration::from_millis(5));
    }
    panic!("nothing changed in ten seconds");
}

fn wave() -> Arc<Wave> {
    let mut score = crate::rhythm::Score::empty(crate::rhythm::Grid::Eighths);
    let beats = [true, false, true, false, true, false, true, false];
    let cells = beats.map(|b| b.then(crate::rhythm::Hit::default)).to_vec();
    let click = crate::rhythm::Instrument::Click;
    score.set_line(crate::rhythm::Line::new(click, score.grid, cells).unwrap());
    Arc::new(render(&Take::new(score, Tempo::new(240.0), 1)))
}

#[test]
fn a_device_that_hangs_is_lost_and_is_back_when_it_opens_after_all() {
    let (mut player, tell) = hanging();
    assert!(player.is_opening());
    player.set_volume(1.0);
    player.play(wave(), true);
    assert_eq!((player.heard(), player.info()), (None, None));
    let why = "the sound server does not answer".to_string();
    assert_eq!(next_change(&mut player), DeviceChange::Lost(why));
    // Once is enough, and nothing waits for it any more.
    assert_eq!((player.tend(), player.is_opening()), (None, false));
    assert_eq!(player.settle(Duration::MAX), Ok(()));
    tell.send(Ok(())).unwrap();
    assert_eq!(next_change(&mut player), DeviceChange::Back);
    player.play(wave(), true);
    let mut out = [0.0; 2 * 4800];
    player.pull(&mut out);
    assert!(player.heard().is_some() && out.iter().any(|s| s.abs() > 0.01));
}

#[test]
fn a_device_that_refuses_is_tried_again() {
    let (mut player, tell) = hanging();
    tell.send(Err(SoundError::NoDevice)).unwrap();
    let why = SoundError::NoDevice.to_string();
    assert_eq!(next_change(&mut player), DeviceChange::Lost(why));
    tell.send(Ok(())).unwrap();
    assert_eq!(next_change(&mut player), DeviceChange::Back);
}

#[test]
fn whoever_waits_for_the_device_is_told_what_came_of_it() {
    let (mut player, tell) = hanging();
    assert_eq!(player.settle(Duration::ZERO), Ok(()));
    assert!(player.is_opening());
    tell.send(Err(SoundError::NoDevice)).unwrap();
    assert_eq!(
        player.settle(Duration::from_secs(10)),
        Err(SoundError::NoDevice)
    );
    let (mut player, tell) = hanging();
    tell.send(Ok(())).unwrap();
    assert_eq!(player.settle(Duration::from_secs(10)), Ok(()));
    assert!(player.info().is_some() && !player.is_opening());
}

#[test]
fn closing_waits_for_nobody_who_hangs() {
    let (player, tell) = hanging();
    drop(player);
    // What opens too late has nobody to go to, and is closed where it was opened.
    tell.send(Ok(())).unwrap();
}

#[test]
fn a_device_is_gone_where_the_system_says_so_and_not_at_any_error() {
    use rodio::cpal::ErrorKind;
    assert!(super::callback_stream::is_gone(
        ErrorKind::DeviceNotAvailable
    ));
    assert!(!super::callback_stream::is_gone(ErrorKind::Other));
}

/// What both sides have in common keeps its level: our choice.
#[test]
fn a_device_of_one_channel_gets_the_mean_of_both_sides() {
    let pull = |channels: usize| {
        let mut player = AudioPlayer::offline(48_000);
        player.play(wave(), true);
        let mut out = vec![0.0f32; channels * 9_600];
        let Device::Open(connection) = &mut player.device else {
            panic!("it has no device");
        };
        connection.card.pull(&mut out, channels);
        out
    };
    let (one, two) = (pull(1), pull(2));
    assert!(one.iter().any(|s| s.abs() > 0.01));
    for (mean, sides) in one.iter().zip(two.chunks(2)) {
        assert!((mean - (sides[0] + sides[1]) / 2.0).abs() < 1e-6);
    }
}
