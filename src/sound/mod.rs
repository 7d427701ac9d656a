//! From a score to samples, and from samples to the sound card.

mod audible;
mod bank;
mod calibrate;
mod caution;
mod events;
mod feel;
#[cfg(test)]
mod frozen;
mod listen;
mod loudness;
mod modal;
mod player;
mod render;
#[cfg(any(test, feature = "internals"))]
mod single;
mod take;
mod vamp;
mod voices;
mod wave;

pub use calibrate::{
    Calibration, CalibrationError, TAPS, WARM_UP, WIDEST, after_nearest, calibrate,
};
pub use caution::HEARING;
pub use feel::{Feel, FeelError};
pub use listen::{HeardOnset, Levels, OnsetDetector, PowerMeter, SoundCheck};
pub use player::{
    AudioPlayer, DeviceChange, Heard, HeardBlock, Info, JoinPoint, Microphone, MicrophoneEvent,
    SoundError, joined,
};
#[cfg(any(test, feature = "internals"))]
pub use render::unbent;
pub use render::{CEILING_LUFS, RATE, render};
#[cfg(any(test, feature = "internals"))]
pub use single::single;
pub use take::{CountIn, Take};
pub use vamp::{KeyError, Mode, Vamp};
pub use wave::{WavError, Wave};
