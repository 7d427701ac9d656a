//! The sound check of the microphone, and how late it hears what the program plays.

use super::Exit;
use super::listening::{HeardDelay, KnownMicrophone, MicrophoneNews, StrokeListener};
use super::record::Record;
use super::sound::tend;
use crate::sound::{
    AudioPlayer, HeardOnset, Microphone, MicrophoneEvent, OnsetDetector, PowerMeter, SoundCheck,
    TAPS, WARM_UP, Wave, after_nearest,
};
use crate::time::Seconds;
use anyhow::bail;
use std::io::Write;
use std::sync::Arc;
use std::sync::mpsc::{self, Receiver, RecvTimeoutError};
use std::time::{Duration, Instant};

/// How long the microphone may take to open.
const OPENING: Duration = Duration::from_secs(4);
/// The silence, and how long it may take until the player is still.
const STILL: Duration = Duration::from_millis(700);
const SILENCE: Duration = Duration::from_secs(3);
/// Strokes that are waited for, and how long.
const STROKES: usize = 8;
const PATIENCE: Duration = Duration::from_secs(20);
/// How long the microphone may give nothing.
const STALLED: Duration = Duration::from_secs(5);

/// The stamps of a device that was just opened wander: wait this long for them to settle.
const SETTLING: Duration = Duration::from_secs(6);
/// How often the clicks are played at most, and how far the middles of the first and of the second half may lie
/// apart for one time to be enough: the reckoning of a sound server wanders for seconds at a time, and most at its start, so that
/// the last time counts (chosen).
const PASSES: usize = 3;
const STEADY: Seconds = Seconds::new(0.001);
/// Clicks lie so close where the machine keeps up: chosen, twice what was seen on one that hardly did.
const EVEN: Seconds = Seconds::new(0.015);

/// Sound is heard after it was played, and so much later in the middle of what is likely (chosen): of clicks that come
/// every 0.6 s one is heard up to 0.1 s before it is reckoned, where the system reckons badly, and up to 0.5 s after.
const LIKELY: Seconds = Seconds::new(0.2);

/// More decibels are not told: nothing is as still as that.
const MOST_DB: f32 = 80.0;

/// What goes before.
const PRIVATE: &str = "Nothing the microphone hears is recorded or kept, only the levels.";

/// What a microphone gives, on its way to the thread that asks for it.
enum CheckEvent {
    Opened(String, u32),
    Block {
        heard: Vec<f32>,
        played: Vec<[f32; 2]>,
    },
    Lost(String),
}

/// A microphone whose samples are taken one after another.
struct CheckedMicrophone {
    events: Receiver<CheckEvent>,
    name: String,
    rate: u32,
    _open: Microphone,
}

impl CheckedMicrophone {
    fn open(player: &mut AudioPlayer) -> anyhow::Result<CheckedMicrophone> {
        let (to, events) = mpsc::channel();
        let open = player.listen(Seconds::ZERO, move |event| {
            let event = match event {
                MicrophoneEvent::Opened(name, rate) => CheckEvent::Opened(name.to_string(), rate),
                MicrophoneEvent::Lost(why) => CheckEvent::Lost(why.to_string()),
                MicrophoneEvent::Block(block) => CheckEvent::Block {
                    heard: block.samples.to_vec(),
                    played: block.played.to_vec(),
                },
            };
            // Where the check is over nobody takes it any more.
            let _ = to.send(event);
        });
        match events.recv_timeout(OPENING) {
            Ok(CheckEvent::Opened(name, rate)) => Ok(CheckedMicrophone {
                events,
                name,
                rate,
                _open: open,
            }),
            Ok(CheckEvent::Lost(why)) => bail!(why),
            _ => bail!("the microphone cannot be opened"),
        }
    }

    /// Hears for so long, or until `enough`.
    fn hear(
        &self,
        patience: Duration,
        mut enough: impl FnMut(&[f32], &[[f32; 2]]) -> anyhow::Result<bool>,
    ) -> anyhow::Result<()> {
        let end = Instant::now() + patience;
        while Instant::now() < end {
            match self.events.recv_timeout(STALLED) {
                Ok(CheckEvent::Block { heard, played }) => {
                    if enough(&heard, &played)? {
                        return Ok(());
                    }
                }
                Ok(CheckEvent::Lost(why)) => bail!("the microphone was lost: {why}"),
                Ok(CheckEvent::Opened(..)) => {
                    bail!("the microphone was lost for a moment; start again")
                }
                Err(_) => bail!("the microphone gives no sound"),
            }
        }
        Ok(())
    }

    /// Mean powers over so long.
    fn powers(&self, patience: Duration) -> anyhow::Result<PowerMeter> {
        let mut meter = PowerMeter::new(self.rate);
        self.hear(patience, |heard, played| {
            meter.feed(heard, played);
            Ok(false)
        })?;
        Ok(meter)
    }

    fn strokes(&self, out: &mut dyn Write) -> anyhow::Result<Vec<HeardOnset>> {
        let mut detector = OnsetDetector::new(self.rate, None);
        let mut strokes = Vec::new();
        let mut told = 0;
        self.hear(PATIENCE, |heard, _| {
            detector.feed(heard, &[], &mut strokes);
            if strokes.len() > told {
                told = strokes.len();
                write!(out, "{told} ")?;
                out.flush()?;
            }
            Ok(told >= STROKES)
        })?;
        writeln!(out)?;
        Ok(strokes)
    }
}

/// The sound check: a silence, some strokes, the band. `band` is what is played.
///
/// # Errors
/// Where there is no microphone, or what it hears says too little.
pub fn levels(
    player: &mut AudioPlayer,
    band: Wave,
    record: &mut Record,
    out: &mut dyn Write,
) -> anyhow::Result<Exit> {
    let known = record.microphone()?.unwrap_or_default();
    let microphone = CheckedMicrophone::open(player)?;
    writeln!(out, "Microphone: {}. {PRIVATE}", microphone.name)?;
    writeln!(
        out,
        "Put your headphones on, at a level at which you could talk over the band."
    )?;
    writeln!(out, "1. Be still for {} seconds.", SILENCE.as_secs())?;
    out.flush()?;
    microphone.hear(STILL, |_, _| Ok(false))?;
    let silence = microphone.powers(SILENCE)?;
    writeln!(
        out,
        "2. Clap, or strike your drum, {STROKES} times, as loud as you play, with loose hands."
    )?;
    out.flush()?;
    let strokes = microphone.strokes(out)?;
    // Last: by now the stamps of a sound device that was just opened wander no more.
    writeln!(out, "3. The band plays for a moment: be still once more.")?;
    out.flush()?;
    microphone.hear(STILL, |_, _| Ok(false))?;
    let length = Duration::from_secs_f64(band.length().seconds());
    player.play(Arc::new(band), false);
    let band = microphone.powers(length)?;
    player.hush();
    tend(player)?;
    let check = SoundCheck::of(&silence, &band, &strokes)?;
    record.keep_microphone(&KnownMicrophone {
        delay: known.delay.filter(|_| known.device == microphone.name),
        device: microphone.name.clone(),
        levels: Some(check.levels),
    })?;
    writeln!(
        out,
        "The room is {:.0} dB below your strokes, what the microphone hears of the band {:.0} dB. The levels are set: \
         whichside drill --listen",
        check.above_noise.min(MOST_DB),
        check.above_leak.min(MOST_DB)
    )?;
    Ok(Exit::Clean)
}

/// How late the microphone hears clicks of the program, which are played now. The beats are counted from its start.
///
/// # Errors
/// Where there is no microphone, or it does not hear the clicks.
pub fn delay(
    player: &mut AudioPlayer,
    clicks: Wave,
    beats: &[Seconds],
    record: &mut Record,
    out: &mut dyn Write,
) -> anyhow::Result<Exit> {
    writeln!(
        out,
        "Hold one side of your headphones to the microphone, or play the clicks through a loudspeaker. {PRIVATE}"
    )?;
    out.flush()?;
    let (to, news) = mpsc::channel();
    // Without levels: what is to be heard now is what the program plays.
    let mut listener = StrokeListener::new(None);
    let _microphone = player.listen(Seconds::ZERO, move |event| {
        listener.hear(event, |news| drop(to.send(news)))
    });
    let device = match news.recv_timeout(OPENING) {
        Ok(MicrophoneNews::Opened { device, .. }) => device,
        Ok(MicrophoneNews::Lost(why)) => bail!(why),
        _ => bail!("the microphone cannot be opened"),
    };
    std::thread::sleep(SETTLING);
    let clicks = Arc::new(clicks);
    let (mut late, mut told) = (Vec::new(), 0);
    for _ in 0..PASSES {
        late = heard_clicks(player, &clicks, beats, &news, told, out)?;
        told += late.len();
        if late.len() < TAPS {
            bail!(
                "of {} clicks the microphone heard {} clearly: turn the volume up a little, move closer, close other \
                 programs, and start again",
                beats.len(),
                late.len()
            );
        }
        late.drain(..WARM_UP);
        let (a, b) = late.split_at(late.len() / 2);
        if (Lateness::of(a).middle - Lateness::of(b).middle).abs() <= STEADY {
            break;
        }
    }
    writeln!(out)?;
    let heard = Lateness::of(&late);
    if heard.spread > EVEN {
        bail!(
            "the clicks came unevenly, {:.0} ms apart: the computer cannot keep up, or there were other sounds. Close \
             other programs, be still, and start again",
            heard.spread.millis()
        );
    }
    let output = player.info().map_or_else(String::new, |info| info.device);
    let known = record.microphone()?.filter(|known| known.device == device);
    record.keep_microphone(&KnownMicrophone {
        device,
        levels: known.and_then(|known| known.levels),
        delay: Some(HeardDelay {
            seconds: heard.middle,
            output,
        }),
    })?;
    writeln!(
        out,
        "By the system's reckoning the microphone hears the clicks {:.1} ms {} the sound, within {:.1} ms. Your claps \
         are measured against the sound as it is heard.",
        heard.middle.abs().millis(),
        if heard.middle < Seconds::ZERO {
            "before"
        } else {
            "after"
        },
        heard.spread.millis()
    )?;
    Ok(Exit::Clean)
}

/// By how much the microphone hears each click of the wave later than it is reckoned. `told`: how many it heard before.
fn heard_clicks(
    player: &mut AudioPlayer,
    clicks: &Arc<Wave>,
    beats: &[Seconds],
    news: &Receiver<MicrophoneNews>,
    told: usize,
    out: &mut dyn Write,
) -> anyhow::Result<Vec<Seconds>> {
    let rate = f64::from(clicks.rate());
    let end = Instant::now() + Duration::from_secs_f64(clicks.length().seconds() + 2.0);
    player.play(clicks.clone(), false);
    let mut late = Vec::new();
    // All of them: stamps wander for seconds at a time.
    while late.len() < beats.len() && Instant::now() < end {
        match news.recv_timeout(Duration::from_millis(100)) {
            Ok(MicrophoneNews::Stroke { at }) => {
                if let Some(heard) = player.heard_at(at)
                    && let Some(after) = after_click(Seconds::new(heard.since_start / rate), beats)
                {
                    late.push(after);
                    write!(out, "{} ", told + late.len())?;
                    out.flush()?;
                }
            }
            Ok(MicrophoneNews::Gaps) => write!(out, "(sound was lost: the computer is busy) ")?,
            Ok(MicrophoneNews::Lost(why)) => bail!("the microphone was lost: {why}"),
            Ok(MicrophoneNews::Opened { .. }) | Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => bail!("the microphone gives no sound"),
        }
        tend(player)?;
    }
    player.hush();
    Ok(late)
}

/// By how much what was heard then comes after the click that it most likely is; `None` without clicks.
fn after_click(heard: Seconds, clicks: &[Seconds]) -> Option<Seconds> {
    after_nearest(heard - LIKELY, clicks).map(|after| after + LIKELY)
}

/// How late clicks were heard.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Lateness {
    /// The median.
    middle: Seconds,
    /// How far apart those lie that are left without the earliest tenth and the latest.
    spread: Seconds,
}

impl Lateness {
    /// Of at least one click.
    fn of(late: &[Seconds]) -> Lateness {
        let mut sorted = late.to_vec();
        sorted.sort_by(Seconds::total_cmp);
        let (count, tenth) = (sorted.len(), sorted.len() / 10);
        Lateness {
            middle: 0.5 * (sorted[(count - 1) / 2] + sorted[count / 2]),
            spread: sorted[count - 1 - tenth] - sorted[tenth],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_radio_link_is_late_and_not_early() {
        // The clicks of calibration, one every 0.6 s.
        let clicks: Vec<Seconds> = (0..32).map(|n| Seconds::new(0.6 * f64::from(n))).collect();
        for late in [-0.09, 0.0, 0.002, 0.25, 0.31, 0.49] {
            for click in &clicks {
                let late = Seconds::new(late);
                let after = after_click(*click + late, &clicks).unwrap();
                assert!(
                    (after - late).abs().seconds() < 1e-9,
                    "{late} {click} {after}"
                );
            }
        }
        assert_eq!(after_click(Seconds::new(1.0), &[]), None);
    }

    #[test]
    fn lateness_is_the_median_and_the_spread_of_the_inner_eight_tenths() {
        // By hand: 1 to 20 ms in any order, the outer two at both ends left out: 3 to 18.
        let late: Vec<Seconds> = (0..20)
            .map(|n| Seconds::new(f64::from(n * 7 % 20 + 1) / 1000.0))
            .collect();
        let of = Lateness::of(&late);
        let (middle, spread) = (of.middle.seconds(), of.spread.seconds());
        assert!((middle - 0.0105).abs() < 1e-12 && (spread - 0.015).abs() < 1e-12);
        assert_eq!(
            Lateness::of(&[Seconds::new(0.3)]),
            Lateness {
                middle: Seconds::new(0.3),
                spread: Seconds::ZERO
            }
        );
    }
}
