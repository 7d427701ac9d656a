//! The real path: through the player, a sound server and the microphone.

use super::material::{Instruments, LeakPath, Performance, STROKES, noise, rms, scaled};
use super::score::{Tally, pairs};
use super::{BELOW, delay};
use rand::SeedableRng;
use rand::rngs::ChaCha8Rng;
use std::io::{Read, Seek, SeekFrom};
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};
use whichside::sound::{
    AudioPlayer, Microphone, MicrophoneEvent, OnsetDetector, PowerMeter, RATE, SoundCheck, Take,
    render,
};
use whichside::time::Seconds;

/// How often a performance is tried in which the loop slipped or the player ran dry.
const TRIES: usize = 5;
/// Frames by which the loop may differ before and after a performance, 1 ms.
const SLIP: usize = RATE as usize / 1000;
/// Seconds of the recording in which it is looked for.
const LOOKED_AT: f64 = 1.0;

/// What is played through the device.
pub struct DeviceRun {
    /// Performances of each material.
    pub runs: u64,
    /// The seed of the first.
    pub seed: u64,
    /// The recording of both, see [`super::delay`]: it tells whether the loop slipped.
    pub recording: Option<String>,
}

/// What comes from the microphone of this machine: samples, what was played, and when the first was heard, and
/// whether some were lost before.
type Heard = (Vec<f32>, Vec<[f32; 2]>, Instant, bool);

/// Hears for so many seconds.
fn hear(blocks: &Receiver<Heard>, seconds: f64, mut take: impl FnMut(&Heard)) {
    let end = Instant::now() + Duration::from_secs_f64(seconds);
    while Instant::now() < end {
        if let Ok(block) = blocks.recv_timeout(Duration::from_millis(100)) {
            take(&block);
        }
    }
}

/// Plays a wave into the room, by a program of the sound server.
fn into_room(wave: &[f32], name: &str) -> std::process::Child {
    let file = std::env::temp_dir().join(name);
    let spec = hound::WavSpec {
        // Both: what is written as one counts as the left.
        channels: 2,
        sample_rate: RATE,
        bits_per_sample: 32,
        sample_format: hound::SampleFormat::Float,
    };
    let mut writer = hound::WavWriter::create(&file, spec).expect("a file");
    wave.iter()
        .flat_map(|s| [s, s])
        .for_each(|s| writer.write_sample(*s).expect("a sample"));
    writer.finalize().expect("a file");
    let mut command = std::process::Command::new("paplay");
    command
        .arg("--device=room")
        .arg(&file)
        .spawn()
        .expect("paplay")
}

/// The time that most onsets have in common with real ones, and the pairs then. A player that starts has no time of its own.
fn aligned(found: &[f64], real: &[f64]) -> (f64, Vec<(f64, f64)>) {
    let mut best = (0, 0.0);
    for f in found.iter().take(24) {
        for r in real.iter().take(24) {
            let count = pairs(&moved(found, f - r), real).len();
            if count > best.0 {
                best = (count, f - r);
            }
        }
    }
    let mut off: Vec<f64> = pairs(&moved(found, best.1), real)
        .iter()
        .map(|(f, r)| f - r)
        .collect();
    off.sort_by(f64::total_cmp);
    let middle = off.get(off.len() / 2).copied().unwrap_or(0.0);
    let by = best.1 + middle;
    (by, pairs(&moved(found, by), real))
}

/// These times so much earlier.
fn moved(times: &[f64], by: f64) -> Vec<f64> {
    times.iter().map(|time| time - by).collect()
}

/// Listens to a microphone that hears so many seconds later than the system reckons.
fn listen(player: &mut AudioPlayer, late: f64) -> (Microphone, Receiver<Heard>) {
    let (to, blocks) = channel();
    let microphone = player.listen(Seconds::new(late), move |event| match event {
        MicrophoneEvent::Block(b) => {
            drop(to.send((b.samples.to_vec(), b.played.to_vec(), b.at, b.gap)))
        }
        MicrophoneEvent::Opened(..) => {}
        MicrophoneEvent::Lost(why) => println!("lost: {why}"),
    });
    (microphone, blocks)
}

/// The real path: the band is played by the player of the program, leaks into the room at -20 dB by the sound server, strokes
/// and pink noise at 20 dB SNR are played into the room, and the microphone is listened to.
pub fn through(device: &DeviceRun) -> ExitCode {
    let (runs, first) = (device.runs, device.seed);
    println!("  {runs} performances each, seeds from {first}");
    let mut player = AudioPlayer::open().expect("a sound device");
    player.set_volume(1.0);
    let mut good = true;
    for (what, words) in STROKES {
        let mut all = Tally::default();
        for run in 0..runs {
            let seed = first + 1000 * what as u64 + run;
            let mut tried = (0..TRIES).map(|_| heard(&mut player, what, seed, device, &mut all));
            let went = tried.find(|went| !matches!(went, Ok(None)));
            match went {
                Some(Ok(Some(how))) => println!("    {how}"),
                Some(Err(error)) => {
                    println!("  {words:<36} {error}");
                    return ExitCode::FAILURE;
                }
                _ => {
                    println!(
                        "  {words:<36} {TRIES} times the loop slipped or the player ran dry: no test"
                    );
                    return ExitCode::FAILURE;
                }
            }
        }
        println!(
            "  {words:<36} F {:.4}  missed {}  added {}  of {}  median error {:.1} ms",
            all.f(),
            all.real - all.hits,
            all.found - all.hits,
            all.real,
            all.median()
        );
        good &= all.f() >= 0.98 && all.median() <= 3.0;
    }
    match good {
        true => ExitCode::SUCCESS,
        false => {
            println!("missed (F at least 0.98, median error at most 3 ms)");
            ExitCode::FAILURE
        }
    }
}

/// Bytes of the recording so far.
fn recorded(device: &DeviceRun) -> usize {
    let file = device.recording.as_ref();
    let length = file.and_then(|file| std::fs::metadata(file).ok());
    length.map_or(0, |file| file.len() as usize)
}

/// By how many frames the band leaks later in the recording before the one place than before the other; `None` where it cannot
/// be told.
fn slipped(device: &DeviceRun, places: [usize; 2]) -> Option<usize> {
    let mut file = std::fs::File::open(device.recording.as_ref()?).ok()?;
    let mut before = |to: usize| {
        let count = delay::WITHIN + (LOOKED_AT * f64::from(RATE)) as usize;
        let from = (to / delay::FRAME).checked_sub(count)? * delay::FRAME;
        let mut bytes = vec![0; count * delay::FRAME];
        file.seek(SeekFrom::Start(from as u64)).ok()?;
        file.read_exact(&mut bytes).ok()?;
        delay::late(&delay::frames(&bytes, 0, bytes.len()))
    };
    let [a, b] = [before(places[0]), before(places[1])];
    Some(a?.abs_diff(b?))
}

/// One performance, with a sound check before it; how it went, in words. `None` where the loop slipped meanwhile, or the player ran
/// dry: then the band, by which the strokes are timed, came later than they did.
fn heard(
    player: &mut AudioPlayer,
    what: Instruments,
    seed: u64,
    device: &DeviceRun,
    all: &mut Tally,
) -> Result<Option<String>, String> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let performance = Performance::new(what, &mut random);
    // As loud as the band before it leaks.
    let band = rms(&LeakPath::MIDDLE.hears(&performance.played));
    let gain = (band / performance.level()) as f32;
    let below = band * 10f64.powf(-BELOW / 20.0);
    let in_room = |wave: &[f32], random: &mut ChaCha8Rng| -> Vec<f32> {
        let hiss = scaled(&noise(wave.len(), true, random), below);
        wave.iter().zip(hiss).map(|(s, n)| gain * s + n).collect()
    };
    let (microphone, blocks) = listen(player, 0.0);
    hear(&blocks, 1.0, |_| {});
    let mut silence = into_room(
        &in_room(&vec![0.0; 2 * RATE as usize], &mut random),
        "silence.wav",
    );
    hear(&blocks, 0.5, |_| {});
    let mut quiet = PowerMeter::new(RATE);
    hear(&blocks, 1.3, |(heard, played, ..)| {
        quiet.feed(heard, played)
    });
    let _ = silence.wait();
    let others = Performance::new(what, &mut random);
    let some = &others.strokes[..others.strokes.len().min(6 * RATE as usize)];
    let mut playing = into_room(&in_room(some, &mut random), "check.wav");
    let mut detector = OnsetDetector::new(RATE, None);
    let mut strokes = Vec::new();
    hear(&blocks, 6.0, |(heard, ..)| {
        detector.feed(heard, &[], &mut strokes)
    });
    let _ = playing.wait();
    let mut take = Take::new(performance.band.clone(), performance.tempo, 1);
    take.cycles = 2;
    let mut hiss = into_room(
        &in_room(&vec![0.0; 6 * RATE as usize], &mut random),
        "hiss.wav",
    );
    player.play(Arc::new(render(&take)), true);
    hear(&blocks, 1.0, |_| {});
    let mut band = PowerMeter::new(RATE);
    hear(&blocks, 4.0, |(heard, played, ..)| band.feed(heard, played));
    player.hush();
    let _ = hiss.wait();
    hear(&blocks, 1.0, |_| {});
    let check = SoundCheck::of(&quiet, &band, &strokes).map_err(|e| e.to_string())?;
    drop(microphone);
    let (_microphone, blocks) = listen(player, check.levels.leak_late.seconds());
    player.play(Arc::new(render(&take)), true);
    // The band alone before the strokes and after them, so that the recording shows how late it leaks.
    let mut alone = PowerMeter::new(RATE);
    hear(&blocks, 2.0, |(heard, played, ..)| {
        alone.feed(heard, played)
    });
    let before = recorded(device);
    let mut playing = into_room(&in_room(&performance.strokes, &mut random), "strokes.wav");
    let mut detector = OnsetDetector::new(RATE, Some(&check.levels));
    let (mut fed, mut found, mut gaps) = (0u64, Vec::new(), 0);
    let dry = player.info().map_or(0, |info| info.underruns);
    let seconds = performance.strokes.len() as f64 / f64::from(RATE);
    hear(&blocks, seconds + 2.0, |(heard, played, at, gap)| {
        let mut onsets = Vec::new();
        detector.feed(heard, played, &mut onsets);
        for onset in onsets {
            let since = (onset.sample as f64 - fed as f64) / f64::from(RATE);
            let far = Duration::from_secs_f64(since.abs());
            let when = if since < 0.0 { *at - far } else { *at + far };
            // As taps are: against the sound heard, whose clock is that of the server.
            if let Some(heard) = player.heard_at(when) {
                found.push(heard.since_start / f64::from(RATE));
            }
        }
        gaps += u32::from(*gap && fed > 0);
        fed += heard.len() as u64;
    });
    let _ = playing.wait();
    let slip = slipped(device, [before, recorded(device)]);
    player.hush();
    if let Some(frames) = slip.filter(|frames| *frames > SLIP) {
        let ms = 1000 * frames as u32 / RATE;
        println!("    the loop slipped by {ms} ms: no test, again");
        return Ok(None);
    }
    let dry = player.info().map_or(0, |info| info.underruns) - dry;
    if dry > 0 {
        println!(
            "    the player ran dry, and the band came later than the strokes: no test, again"
        );
        return Ok(None);
    }
    let mut real = performance.onsets.clone();
    real.sort_by(f64::total_cmp);
    let (by, pairs) = aligned(&found, &real);
    all.hits += pairs.len();
    all.found += found.len();
    all.real += real.len();
    all.errors.extend(pairs.iter().map(|(f, r)| f - r));
    let missed = real.iter().filter(|r| pairs.iter().all(|p| p.1 != **r));
    let missed: Vec<String> = missed.map(|r| format!("{r:.1}")).collect();
    let added = moved(&found, by);
    let added = added.iter().filter(|f| pairs.iter().all(|p| p.0 != **f));
    let added: Vec<String> = added.map(|f| format!("{f:.1}")).collect();
    let wrong = [("missed", missed), ("added", added)].map(|(word, at)| match at.is_empty() {
        true => String::new(),
        false => format!("; {word} at {} s", at.join(", ")),
    });
    // By how much it leaks later than the sound check found, as far as the second before the strokes says.
    let later =
        SoundCheck::of(&quiet, &alone, &strokes).map_or(f64::NAN, |c| c.levels.leak_late.seconds());
    Ok(Some(format!(
        "{} of {} found, {} added; strokes {:.0} dB above noise, {:.0} dB above leak ({:.0} ms late, \
         {:.0} more before the strokes); the microphone lost samples {gaps} times{}",
        pairs.len(),
        real.len(),
        found.len() - pairs.len(),
        check.above_noise,
        check.above_leak,
        1000.0 * check.levels.leak_late,
        1000.0 * later,
        wrong.concat()
    )))
}
