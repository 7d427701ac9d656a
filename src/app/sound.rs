//! What is known of the sound device, a test of it, and the taps that tell how late it is.

use super::Exit;
use super::cli::DataArgs;
use super::record::{Record, TapOffset};
use super::sound_check;
use crate::clave::{Clave, Direction, Family};
use crate::rhythm::{Grid, Hit, Instrument, Line, Pattern, Score, Tempo, notation};
use crate::sound::{
    self, AudioPlayer, DeviceChange, Info, SoundError, TAPS, Take, WARM_UP, Wave, after_nearest,
    calibrate, render,
};
use crate::time::Seconds;
use anyhow::{Context, bail};
use crossterm::event::{self, Event, KeyCode, KeyEventKind, KeyModifiers};
use crossterm::terminal::{disable_raw_mode, enable_raw_mode};
use std::io::{self, IsTerminal, Write};
use std::sync::Arc;
use std::thread;
use std::time::{Duration, Instant};

/// Tempo of the test bars and of the clicks to tap with.
const TEST_TEMPO: Tempo = Tempo::new(180.0);
const TAP_TEMPO: Tempo = Tempo::new(100.0);
/// How often a set of taps may be tried.
const TRIES: usize = 3;
const GLANCE: Duration = Duration::from_millis(50);

/// Test the sound device, and measure its delay
///
/// Says which device is in use with its rate, buffer and delay, and plays two bars. With --calibrate you tap along with
/// clicks, and the delay that the device, its cable or its radio link adds is kept for this computer.
///
/// With --listen it does a sound check of the microphone for whichside drill --listen: a silence, a few claps or
/// strokes, and the band set the levels. With both, the microphone listens to the clicks, and how late it hears them is
/// kept. Nothing it hears is recorded or kept.
#[derive(Debug, clap::Args)]
#[command(after_long_help = sound::HEARING)]
pub struct Args {
    /// Tap along with clicks to measure the delay of this computer
    #[arg(long, conflicts_with = "json")]
    calibrate: bool,
    /// Do a sound check of the microphone; with --calibrate, measure how late it hears
    #[arg(long, conflicts_with = "json")]
    listen: bool,
    /// Say what is known as JSON and play nothing
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    data: DataArgs,
}

/// Shows and tests the sound device.
///
/// # Errors
/// Where there is no device, or the taps need a terminal and there is none.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let folder = args.data.folder()?;
    let opened = match AudioPlayer::open() {
        Err(error) if !args.json => return Err(error.into()),
        opened => opened,
    };
    let mut record =
        Record::for_command(&folder, args.data.clock(), args.calibrate || args.listen)?;
    if args.json {
        return as_json(opened, &record, out);
    }
    let mut player = opened?;
    if let Some(volume) = record.volume()? {
        player.set_volume(volume);
    }
    if args.listen && args.calibrate {
        let (wave, beats) = clicks()?;
        return sound_check::delay(&mut player, wave, &beats, &mut record, out);
    }
    if args.listen {
        let band = render(&Take::new(test_bars()?, TEST_TEMPO, 1));
        return sound_check::levels(&mut player, band, &mut record, out);
    }
    if args.calibrate {
        return tap_along(&mut player, &mut record, out);
    }
    writeln!(
        out,
        "Two bars of tumbao over the son clave in 2-3, at {TEST_TEMPO}."
    )?;
    out.flush()?;
    let wave = Arc::new(render(&Take::new(test_bars()?, TEST_TEMPO, 1)));
    let length = wave.length();
    player.play(wave, false);
    wait(&mut player, length)?;
    let Some(info) = player.info() else {
        bail!("the sound device was lost");
    };
    write!(out, "{}", device(&info))?;
    match record.tap_offset()? {
        Some(offset) => writeln!(
            out,
            "Taps come {} on this computer (measured on {}). {}",
            behind(offset.seconds),
            offset.device,
            use_of(&offset, &info.device)
        )?,
        None => writeln!(
            out,
            "How late taps come on this computer has not been measured yet: whichside sound --calibrate"
        )?,
    }
    Ok(Exit::Clean)
}

/// What is known of the device, or why there is none.
fn as_json(
    opened: Result<AudioPlayer, SoundError>,
    record: &Record,
    out: &mut dyn Write,
) -> anyhow::Result<Exit> {
    let (device, reason) = match &opened {
        Ok(player) => {
            // The delay is known once a few buffers have gone out.
            thread::sleep(Duration::from_millis(300));
            (player.info(), None)
        }
        Err(error) => (None, Some(error.to_string())),
    };
    let known = serde_json::json!({
        "device": device,
        "reason": reason,
        "volume": record.volume()?.unwrap_or(AudioPlayer::MODERATE),
        "tap_offset": record.tap_offset()?,
        "microphone": record.microphone()?,
    });
    writeln!(out, "{known:#}")?;
    Ok(if reason.is_none() {
        Exit::Clean
    } else {
        Exit::Failed
    })
}

/// A tap's distance from the sound in words.
fn behind(late: Seconds) -> String {
    let side = if late < Seconds::ZERO {
        "before"
    } else {
        "after"
    };
    format!("{:.0} ms {side} the sound", late.abs().millis())
}

/// What the program does with the offset of the taps on a device, in words.
fn use_of(offset: &TapOffset, device: &str) -> String {
    let late = offset.late_on(device).as_millis();
    if offset.device != device {
        "A different device is in use now, so this is not used; measure again: whichside sound --calibrate".into()
    } else if late == 0 {
        "People tap a little ahead of the beat, so nothing needs to be allowed for.".into()
    } else {
        format!("The mark on the grid and the timing of answers by ear allow for {late} ms.")
    }
}

/// How soon a change should be heard after its key: our choice.
const AT_ONCE: Seconds = Seconds::new(0.060);

/// What is known of the device, in lines.
fn device(info: &Info) -> String {
    let buffer = match info.buffer {
        Some(frames) => {
            let ms = 1000.0 * f64::from(frames) / f64::from(info.rate);
            format!("{frames} frames ({ms:.0} ms)")
        }
        None => "not known".to_string(),
    };
    let late = match info.key_to_sound > AT_ONCE {
        false => "",
        // What a sound server's device has taken is out of reach, as a radio link's.
        true if info.host == "PulseAudio" => " (the device takes that much at a time)",
        true => {
            " (a smaller buffer would leave gaps; with a PulseAudio or PipeWire server about 40 ms)"
        }
    };
    format!(
        "Device: {} ({})\nRate: {} Hz, {} channels\nBuffer: {buffer}\nDelay reported by the system: {:.0} ms\nFrom a \
         key to the change you hear: about {:.0} ms{late}\nTimes it ran out of sound: {}\n",
        info.device,
        info.host,
        info.rate,
        info.channels,
        info.latency.millis(),
        info.key_to_sound.millis(),
        info.underruns
    )
}

fn test_bars() -> anyhow::Result<Score> {
    let grid = Grid::Eighths;
    let clave = Clave {
        family: Family::Son,
        direction: Direction::TwoThree,
    };
    let tumbao: Pattern = notation::read_line("H T S T H T O O | H T S T H T O O", grid)?;
    let mut score = Score::empty(grid);
    score.drums = Some(tumbao);
    score.set_line(clave.line(grid));
    Ok(score)
}

/// Looks after the device.
///
/// # Errors
/// Where it is lost.
pub fn tend(player: &mut AudioPlayer) -> anyhow::Result<()> {
    match player.tend() {
        Some(DeviceChange::Lost(why)) => bail!("the sound stopped: {why}"),
        _ => Ok(()),
    }
}

/// How much longer than a wave lasts it is waited for its end.
const SPARE: Seconds = Seconds::new(3.0);

/// Waits until what plays is over.
fn wait(player: &mut AudioPlayer, length: Seconds) -> anyhow::Result<()> {
    let start = Instant::now();
    let longest = Duration::from_secs_f64((length + SPARE).seconds());
    let mut begun = false;
    while start.elapsed() < longest {
        thread::sleep(GLANCE);
        tend(player)?;
        let heard = player.heard().is_some();
        if begun && !heard {
            return Ok(());
        }
        begun |= heard;
    }
    Ok(())
}

fn tap_along(
    player: &mut AudioPlayer,
    record: &mut Record,
    out: &mut dyn Write,
) -> anyhow::Result<Exit> {
    if !io::stdin().is_terminal() {
        bail!("tapping along needs a terminal");
    }
    writeln!(
        out,
        "Tap the space bar with each click, {TAPS} times; the first {WARM_UP} do not count. Keep the hand loose. Esc \
         stops."
    )?;
    out.flush()?;
    for attempt in 1..=TRIES {
        let Some(late) = taps(player, out)? else {
            writeln!(out, "Nothing was changed.")?;
            return Ok(Exit::Clean);
        };
        match calibrate(&late) {
            Ok(found) => {
                let device = player.info().map_or_else(String::new, |i| i.device);
                let kept = TapOffset {
                    seconds: found.offset,
                    spread: found.spread,
                    device,
                };
                record.keep_tap_offset(&kept)?;
                writeln!(
                    out,
                    "By the system's reckoning your taps come {}, within {:.0} ms of each other. {}",
                    behind(found.offset),
                    found.spread * 1000.0,
                    use_of(&kept, &kept.device)
                )?;
                return Ok(Exit::Clean);
            }
            Err(error) if attempt < TRIES => {
                writeln!(out, "{error}")?;
                out.flush()?;
            }
            Err(error) => bail!(error),
        }
    }
    Ok(Exit::Mistakes)
}

/// The terminal in raw mode for as long as this value lives.
struct RawMode;

impl RawMode {
    fn on() -> io::Result<RawMode> {
        enable_raw_mode().map(|()| RawMode)
    }
}

impl Drop for RawMode {
    fn drop(&mut self) {
        // There is no better place to go with an error here.
        let _ = disable_raw_mode();
    }
}

/// Clicks to tap with, and when each comes from the start.
fn clicks() -> anyhow::Result<(Wave, Vec<Seconds>)> {
    let grid = Grid::Eighths;
    let on_the_beat = |p: usize| {
        p.is_multiple_of(grid.pulses_per_beat())
            .then_some(Hit::default())
    };
    let cells = (0..grid.pulses_per_bar()).map(on_the_beat).collect();
    let mut score = Score::empty(grid);
    score.set_line(Line::new(Instrument::Click, grid, cells)?);
    let mut take = Take::new(score, TAP_TEMPO, 1);
    // More clicks than taps, since nobody starts with the first.
    take.cycles = 2 * TAPS as u32 / grid.beats_per_bar() as u32;
    let wave = render(&take);
    let beats: Vec<Seconds> = wave
        .pulse_frames()
        .iter()
        .step_by(grid.pulses_per_beat())
        .map(|f| Seconds::new(*f as f64 / f64::from(wave.rate())))
        .collect();
    Ok((wave, beats))
}

/// By how much each tap came after its click; `None` where the player stopped.
fn taps(player: &mut AudioPlayer, out: &mut dyn Write) -> anyhow::Result<Option<Vec<Seconds>>> {
    let (wave, beats) = clicks()?;
    let length = wave.length();
    let rate = f64::from(wave.rate());
    let raw = RawMode::on().context("the terminal cannot read single keys")?;
    player.play(Arc::new(wave), false);
    let start = Instant::now();
    let mut late = Vec::new();
    let done = loop {
        if late.len() == TAPS || Seconds::of(start.elapsed()) > length + SPARE {
            break true;
        }
        tend(player)?;
        if !event::poll(GLANCE)? {
            continue;
        }
        let event = event::read()?;
        let at = Instant::now();
        let Event::Key(key) = event else { continue };
        let stop = key.modifiers.contains(KeyModifiers::CONTROL) && key.code == KeyCode::Char('c');
        if stop || key.code == KeyCode::Esc {
            break false;
        }
        // A key that is held down sends more than one tap.
        if key.kind != KeyEventKind::Press {
            continue;
        }
        if let Some(heard) = player.heard_at(at)
            && let Some(after) = after_nearest(Seconds::new(heard.since_start / rate), &beats)
        {
            late.push(after);
            write!(out, "{} ", late.len())?;
            out.flush()?;
        }
    };
    player.hush();
    drop(raw);
    writeln!(out)?;
    Ok(done.then_some(late))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_done_with_the_offset_names_its_milliseconds_and_its_device() {
        let offset = |late: f64| TapOffset {
            seconds: Seconds::new(late),
            spread: Seconds::new(0.01),
            device: "headphones".into(),
        };
        assert!(use_of(&offset(0.042), "headphones").contains("42 ms"));
        assert!(use_of(&offset(-0.03), "headphones").contains("ahead of the beat"));
        assert!(use_of(&offset(0.042), "loudspeaker").contains("different device"));
    }
}
