//! The player: with no card, offline, and through ALSA into a file.

use std::path::Path;
use std::process::{Command, Output};
use std::sync::Arc;
use std::time::Duration;
use whichside::clave::{Clave, Direction, Family};
use whichside::rhythm::{Grid, Score, Tempo};
use whichside::sound::{AudioPlayer, CountIn, SoundError, Take, Wave, render};

fn clave(cycles: u32) -> Arc<Wave> {
    let clave = Clave {
        family: Family::Rumba,
        direction: Direction::ThreeTwo,
    };
    let mut score = Score::empty(Grid::Eighths);
    score.set_line(clave.line(Grid::Eighths));
    let mut take = Take::new(score, Tempo::new(240.0), 1);
    take.cycles = cycles;
    take.count_in = CountIn::Cycle;
    Arc::new(render(&take))
}

fn pull(player: &mut AudioPlayer, frames: usize) -> Vec<[f32; 2]> {
    let mut out = vec![0.0; 2 * frames];
    for part in out.chunks_mut(2 * 512) {
        player.pull(part);
    }
    out.chunks(2).map(|f| [f[0], f[1]]).collect()
}

fn offline() -> AudioPlayer {
    let mut player = AudioPlayer::offline(48_000);
    player.set_volume(1.0);
    // Let the volume settle.
    pull(&mut player, 48_000);
    player
}

fn assert_same(found: &[[f32; 2]], expected: &[[f32; 2]]) {
    assert_eq!(found.len(), expected.len());
    for (i, (a, b)) in found.iter().zip(expected).enumerate() {
        let off = (a[0] - b[0]).abs().max((a[1] - b[1]).abs());
        assert!(off < 1e-4, "frame {i} is off by {off}");
    }
}

#[test]
fn a_wave_comes_out_as_it_was_rendered() {
    let mut player = offline();
    let wave = clave(1);
    player.play(wave.clone(), false);
    let out = pull(&mut player, wave.frames().len() + 1000);
    assert_same(&out[..wave.frames().len()], wave.frames());
    assert!(out[wave.frames().len()..].iter().all(|f| *f == [0.0; 2]));
    assert_eq!(player.heard(), None);
}

#[test]
fn a_loop_goes_round_its_second_form_and_the_position_follows() {
    let mut player = offline();
    let wave = clave(2);
    player.play(wave.clone(), true);
    let (end, round) = (wave.body_end(), wave.ring().len());
    let out = pull(&mut player, end + 3 * round);
    assert_same(&out[..end], &wave.frames()[..end]);
    for n in 0..3 {
        let from = end + n * round;
        assert_same(&out[from..from + round], wave.ring());
    }
    pull(&mut player, 512);
    let heard = player.heard().unwrap();
    assert!((heard.since_start - (end + 3 * round + 512) as f64).abs() < 1.0);
    assert!((heard.frame - (wave.lead_in() + 512) as f64).abs() < 1.0);
    assert_eq!(heard.rounds, 4);
}

#[test]
fn hush_and_change_fade_without_a_jump() {
    let mut player = offline();
    player.play(clave(1), true);
    pull(&mut player, 400);
    player.hush();
    let out = pull(&mut player, 4_800);
    assert_eq!(player.heard(), None);
    assert!(out[480..].iter().all(|f| *f == [0.0; 2]));
    let mut player = offline();
    player.set_volume(0.0);
    pull(&mut player, 48_000);
    player.play(clave(1), false);
    assert!(pull(&mut player, 48_000).iter().all(|f| f[0].abs() < 1e-4));
}

#[test]
fn volume_stays_between_nothing_and_full() {
    let mut player = AudioPlayer::offline(48_000);
    assert!((player.volume() - AudioPlayer::MODERATE).abs() < 1e-6);
    for (set, got) in [(7.0, 1.0), (-1.0, 0.0), (f32::NAN, AudioPlayer::MODERATE)] {
        player.set_volume(set);
        assert!((player.volume() - got).abs() < 1e-6);
    }
}

#[test]
fn a_card_with_another_rate_gets_the_same_sound_in_the_same_time() {
    let mut player = AudioPlayer::offline(44_100);
    let wave = clave(1);
    player.play(wave.clone(), true);
    pull(&mut player, 44_100);
    let heard = player.heard().unwrap();
    assert!((heard.since_start - 48_000.0).abs() < 2.0, "{heard:?}");
}

/// Runs one of the ignored tests below in a process of its own with another ALSA configuration.
fn with_alsa(config: &Path, test: &str, file: &Path) -> Output {
    Command::new(std::env::current_exe().unwrap())
        .args([
            "--exact",
            test,
            "--ignored",
            "--nocapture",
            "--test-threads=1",
        ])
        .env("ALSA_CONFIG_PATH", config)
        .env("PULSE_SERVER", "unix:/none")
        .env("SOUND_OUT", file)
        .output()
        .unwrap()
}

#[test]
#[cfg(target_os = "linux")]
fn without_a_card_opening_fails_in_words_and_nothing_reaches_standard_error() {
    let folder = tempfile::tempdir().unwrap();
    let config = folder.path().join("none.conf");
    std::fs::write(&config, "pcm.!default { type hw card 77 }\n").unwrap();
    let run = with_alsa(&config, "player::inner_no_card", &config);
    let errors = String::from_utf8_lossy(&run.stderr);
    assert!(run.status.success(), "{errors}");
    assert!(!errors.contains("ALSA"), "{errors}");
}

#[test]
#[ignore = "run by the test above in a process of its own"]
fn inner_no_card() {
    match AudioPlayer::open() {
        Ok(_) => panic!("there is no card 77"),
        Err(SoundError::NoAnswer) => panic!("that there is none is known at once"),
        Err(SoundError::NoDevice | SoundError::Open(_) | SoundError::Format(_)) => {}
    }
}

#[test]
#[cfg(target_os = "linux")]
fn what_goes_through_alsa_into_a_file_is_what_was_rendered() {
    let folder = tempfile::tempdir().unwrap();
    let config = folder.path().join("file.conf");
    let out = folder.path().join("out.raw");
    let text = format!(
        "pcm.null {{ type null }}\npcm.!default {{ type file slave.pcm null file {} format raw }}\n",
        out.display()
    );
    std::fs::write(&config, text).unwrap();
    let run = with_alsa(&config, "player::inner_play_once", &out);
    let errors = String::from_utf8_lossy(&run.stderr);
    let printed = String::from_utf8_lossy(&run.stdout);
    assert!(run.status.success(), "{printed}{errors}");
    if printed.contains("skipped:") {
        println!("{printed}");
        return;
    }
    let bytes = std::fs::read(&out).unwrap();
    let samples: Vec<f32> = bytes
        .chunks_exact(4)
        .map(|b| f32::from_le_bytes([b[0], b[1], b[2], b[3]]))
        .collect();
    let frames: Vec<[f32; 2]> = samples.chunks_exact(2).map(|f| [f[0], f[1]]).collect();
    let wave = clave(1);
    // The wave begins with the first frame that is not silent.
    let first = |f: &[[f32; 2]]| f.iter().position(|f| f[0].abs() > 1e-5).unwrap();
    let start = first(&frames) - first(wave.frames());
    assert_same(&frames[start..start + wave.frames().len()], wave.frames());
}

#[test]
#[ignore = "run by the test above in a process of its own"]
fn inner_play_once() {
    let mut player = match AudioPlayer::open() {
        Ok(player) => player,
        Err(error) => {
            println!("skipped: this ALSA has no file plugin ({error})");
            return;
        }
    };
    let info = player.info().unwrap();
    assert_eq!((info.rate, info.channels), (48_000, 2));
    player.set_volume(1.0);
    // The file takes sound faster than it lasts: wait for the sound, not for a time.
    let wave = clave(1);
    std::thread::sleep(Duration::from_millis(100));
    player.play(wave, false);
    std::thread::sleep(Duration::from_millis(500));
}
