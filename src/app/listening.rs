//! Strokes found in what a microphone hears, with their moments, and what is kept of a sound check.

use crate::sound::{Levels, MicrophoneEvent, OnsetDetector};
use crate::time::Seconds;
use serde::{Deserialize, Serialize};
use std::time::{Duration, Instant};

/// What is known of a microphone of this computer.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct KnownMicrophone {
    /// What the system calls it.
    pub device: String,
    /// What its last sound check found.
    pub levels: Option<Levels>,
    /// How late it hears the program, as far as that was measured.
    pub delay: Option<HeardDelay>,
}

/// How late a microphone hears what the program plays.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HeardDelay {
    /// How long after the sound, as the system reckons both.
    pub seconds: Seconds,
    /// The sound device that it was measured on.
    pub output: String,
}

impl KnownMicrophone {
    /// How much later what `output` plays is heard than the system reckons; `None` where that was not measured.
    pub fn delay_of(&self, output: &str) -> Option<Seconds> {
        let delay = self.delay.as_ref().filter(|d| d.output == output)?;
        delay
            .seconds
            .is_finite()
            .then(|| delay.seconds.clamp(-MOST_DELAY, MOST_DELAY))
    }
}

/// What the microphone has to say.
#[derive(Clone, Debug, PartialEq)]
pub enum MicrophoneNews {
    /// It is open. `checked`: the levels of a sound check are known.
    Opened {
        /// What the system calls it.
        device: String,
        /// There are levels of a sound check.
        checked: bool,
    },
    /// A stroke was heard.
    Stroke {
        /// When it began, as the system reckons it.
        at: Instant,
    },
    /// Some of what it heard was lost: the computer did not keep up. Told after a few such gaps, once.
    Gaps,
    /// There is no microphone any more, and why.
    Lost(String),
}

impl MicrophoneNews {
    /// What a player is told of it, in words.
    pub fn told(&self) -> Option<String> {
        match self {
            MicrophoneNews::Opened { checked: true, .. } | MicrophoneNews::Stroke { .. } => None,
            MicrophoneNews::Opened { .. } => Some(
                "The microphone listens without a sound check; whichside sound --listen does one."
                    .to_string(),
            ),
            MicrophoneNews::Gaps => Some(
                "The computer cannot keep up with the microphone and may miss strokes: close other programs, or tap on \
                 the keys."
                    .to_string(),
            ),
            MicrophoneNews::Lost(why) => {
                Some(format!("The microphone hears nothing, so tap on the keys: {why}."))
            }
        }
    }
}

/// Is a stroke that was heard this long after a key was pressed, negative before it, the sound of that key?
pub fn is_keyboard(after: Seconds) -> bool {
    KEY_NOISE.contains(&after)
}

/// How long after the stamp of a key it is the keyboard that the microphone hears (chosen).
const KEY_NOISE: std::ops::Range<Seconds> = Seconds::new(-0.05)..Seconds::new(0.15);

/// No delay counts for more, nor for less than this with a minus: a measurement does not come to it.
const MOST_DELAY: Seconds = Seconds::new(1.0);

/// Gaps after which the player is told of them: one may be a moment's work of the computer (chosen).
const GAPS: usize = 3;

/// Finds strokes in what a microphone hears.
pub struct StrokeListener {
    known: Option<KnownMicrophone>,
    levels: Option<Levels>,
    rate: u32,
    detector: OnsetDetector,
    /// Samples that the detector was fed.
    fed: u64,
    /// Gaps since the microphone was opened.
    gaps: usize,
}

impl StrokeListener {
    /// With what is known of the microphone; without it, what leaks of the band is not told from strokes.
    pub fn new(known: Option<KnownMicrophone>) -> StrokeListener {
        StrokeListener {
            known,
            levels: None,
            rate: 1,
            detector: OnsetDetector::new(1, None),
            fed: 0,
            gaps: 0,
        }
    }

    fn begin(&mut self, rate: u32) {
        self.rate = rate;
        self.detector = OnsetDetector::new(rate, self.levels.as_ref());
        self.fed = 0;
    }

    /// Takes what comes from the microphone and tells what there is to tell.
    pub fn hear(&mut self, event: MicrophoneEvent, mut tell: impl FnMut(MicrophoneNews)) {
        match event {
            MicrophoneEvent::Opened(device, rate) => {
                let known = self.known.as_ref().filter(|k| k.device == device);
                self.levels = known.and_then(|k| k.levels);
                self.begin(rate);
                self.gaps = 0;
                tell(MicrophoneNews::Opened {
                    device: device.to_string(),
                    checked: self.levels.is_some(),
                });
            }
            MicrophoneEvent::Lost(why) => tell(MicrophoneNews::Lost(why.to_string())),
            MicrophoneEvent::Block(block) => {
                if block.gap {
                    // The first block follows none.
                    self.gaps += usize::from(self.fed > 0);
                    if self.fed > 0 && self.gaps == GAPS {
                        tell(MicrophoneNews::Gaps);
                    }
                    self.begin(self.rate);
                }
                let mut onsets = Vec::new();
                self.detector.feed(block.samples, block.played, &mut onsets);
                for onset in onsets {
                    let seconds = (onset.sample as f64 - self.fed as f64) / f64::from(self.rate);
                    let far = Duration::from_secs_f64(seconds.abs());
                    let at = match seconds < 0.0 {
                        true => block.at.checked_sub(far),
                        false => block.at.checked_add(far),
                    };
                    tell(MicrophoneNews::Stroke {
                        at: at.unwrap_or(block.at),
                    });
                }
                self.fed += block.samples.len() as u64;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sound::HeardBlock;

    #[test]
    fn a_stroke_has_the_moment_of_its_first_sample() {
        let start = Instant::now();
        let mut listener = StrokeListener::new(None);
        let mut news = Vec::new();
        listener.hear(MicrophoneEvent::Opened("a microphone", 48_000), |n| {
            news.push(n)
        });
        // A click 0.25 s after the start, in blocks of 10 ms.
        let mut wave = vec![0.0f32; 24_000];
        (0..96).for_each(|n| wave[12_000 + n] = if n % 8 < 4 { 0.5 } else { -0.5 });
        for (i, samples) in wave.chunks(480).enumerate() {
            let at = start + Duration::from_millis(10 * i as u64);
            let block = HeardBlock {
                samples,
                played: &[],
                at,
                gap: false,
            };
            listener.hear(MicrophoneEvent::Block(block), |n| news.push(n));
        }
        let [
            MicrophoneNews::Opened { checked: false, .. },
            MicrophoneNews::Stroke { at },
        ] = news[..]
        else {
            panic!("{news:?}");
        };
        let off = (at - start).as_secs_f64() - 0.25;
        assert!(off.abs() < 0.001, "{off}");
    }

    #[test]
    fn of_gaps_the_player_is_told_at_the_third_and_once() {
        let mut listener = StrokeListener::new(None);
        let mut told = Vec::new();
        listener.hear(MicrophoneEvent::Opened("a microphone", 48_000), |_| {});
        // The first block follows none, so that its gap is none.
        for n in 0..6 {
            let block = HeardBlock {
                samples: &[0.0; 480],
                played: &[],
                at: Instant::now(),
                gap: true,
            };
            listener.hear(MicrophoneEvent::Block(block), |news| told.push((n, news)));
        }
        assert_eq!(told, [(3, MicrophoneNews::Gaps)]);
    }

    /// As they were kept while a sound check found one share of the middle of both sides: the gains of an ear that hears so much
    /// of it are half of its root, here 0.2 and 0.1.
    #[test]
    fn an_earlier_sound_check_still_holds() {
        let kept = r#"{"device": "a microphone", "delay": {"seconds": 0.03, "output": "wire"}, "levels":
            {"noise": [0, 0, 0, 0], "leak": [0.16, 0.04, 0.04, 0.04], "leak_late": 0.1, "stroke": 0.01}}"#;
        let known: KnownMicrophone = serde_json::from_str(kept).unwrap();
        assert_eq!(known.delay_of("wire"), Some(Seconds::new(0.03)));
        let leak = known.levels.unwrap().leak;
        for (share, gain) in [(leak[0], 0.2f32), (leak[1], 0.1)] {
            for (found, due) in [
                (share.left, gain * gain),
                (share.right, gain * gain),
                (share.cross, 2.0 * gain * gain),
            ] {
                assert!((found - due).abs() < 1e-6, "{share:?}");
            }
        }
        let again = serde_json::to_string(&known).unwrap();
        assert_eq!(
            serde_json::from_str::<KnownMicrophone>(&again).unwrap(),
            known
        );
    }

    #[test]
    fn a_delay_holds_for_the_device_it_was_measured_on() {
        let known = |seconds| KnownMicrophone {
            delay: Some(HeardDelay {
                seconds,
                output: "wire".into(),
            }),
            ..KnownMicrophone::default()
        };
        assert_eq!(
            known(Seconds::new(0.03)).delay_of("wire"),
            Some(Seconds::new(0.03))
        );
        assert_eq!(known(Seconds::new(0.03)).delay_of("radio"), None);
        assert_eq!(known(Seconds::new(f64::NAN)).delay_of("wire"), None);
        assert_eq!(
            known(Seconds::new(7.0)).delay_of("wire"),
            Some(Seconds::new(1.0))
        );
    }
}
