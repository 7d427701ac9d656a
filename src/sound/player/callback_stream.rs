//! A stream of a card that asks for a buffer at a time, and when each is heard.

use super::mixer::CallbackMixer;
use super::origin;
use super::output_device::{SoundError, StreamErrors};
use super::sample_clock::SampleClock;
use rodio::cpal::traits::{DeviceTrait, StreamTrait};
use rodio::cpal::{self, FromSample, SampleFormat, SizedSample, StreamConfig};
use std::sync::Arc;

/// Does an error of this kind mean that the device is gone?
pub(super) fn is_gone(kind: cpal::ErrorKind) -> bool {
    matches!(
        kind,
        cpal::ErrorKind::DeviceNotAvailable
            | cpal::ErrorKind::HostUnavailable
            | cpal::ErrorKind::StreamInvalidated
            | cpal::ErrorKind::PermissionDenied
    )
}

/// Brings the stamps of a stream, which has a clock of its own, to a clock of the program. The stream is not asked for its
/// time: that may take for ever where a sound server hangs.
#[derive(Default)]
struct StampClock {
    /// How far the program's clock was before the stream's at the last stamps, nanoseconds.
    ahead: [i64; 8],
    count: usize,
}

impl StampClock {
    /// `there` on the stream's clock was just read, `now` on the program's: how far that one is before it. A thread that
    /// was held up in between reads too late, so the least of some readings counts.
    fn ahead(&mut self, now: u64, there: u64) -> i64 {
        let places = self.ahead.len();
        self.ahead[self.count % places] = now as i64 - there as i64;
        self.count += 1;
        let read = &self.ahead[..self.count.min(places)];
        read.iter().copied().min().unwrap_or(0)
    }
}

/// A mixer with what its stamps need.
struct StampedMixer {
    mixer: CallbackMixer,
    clock: StampClock,
    frames: SampleClock,
    /// Frames that the card was given.
    taken: u64,
    /// When the last of them is over by its stamp, nanoseconds.
    over: u64,
}

impl StampedMixer {
    /// When the next `count` frames are heard, which a stamp that was read at `now` puts at `heard`. After the card ran out
    /// of sound the stamps before say nothing.
    fn heard(&mut self, now: u64, heard: u64, count: usize, rate: u32) -> u64 {
        if now > self.over {
            self.frames.restart();
        }
        let nanos = self.frames.heard(self.taken, heard).nanos;
        self.taken += count as u64;
        self.over = heard + count as u64 * 1_000_000_000 / u64::from(rate.max(1));
        nanos
    }
}

/// Begins a stream that asks the mixer for sound.
///
/// # Errors
/// Where the card refuses, or takes samples in no form that is made here.
pub(super) fn begin(
    device: &cpal::Device,
    config: StreamConfig,
    format: SampleFormat,
    mixer: CallbackMixer,
    trouble: &Arc<StreamErrors>,
) -> Result<cpal::Stream, SoundError> {
    let mixer = StampedMixer {
        mixer,
        clock: StampClock::default(),
        frames: SampleClock::new(config.sample_rate),
        taken: 0,
        over: u64::MAX,
    };
    match format {
        SampleFormat::F32 => stream::<f32>(device, config, mixer, trouble),
        SampleFormat::F64 => stream::<f64>(device, config, mixer, trouble),
        SampleFormat::I16 => stream::<i16>(device, config, mixer, trouble),
        SampleFormat::I32 => stream::<i32>(device, config, mixer, trouble),
        SampleFormat::U16 => stream::<u16>(device, config, mixer, trouble),
        SampleFormat::U8 => stream::<u8>(device, config, mixer, trouble),
        other => Err(SoundError::Format(other.to_string())),
    }
}

fn stream<T: SizedSample + FromSample<f32>>(
    device: &cpal::Device,
    config: StreamConfig,
    mut mixer: StampedMixer,
    trouble: &Arc<StreamErrors>,
) -> Result<cpal::Stream, SoundError> {
    let trouble = trouble.clone();
    let channels = usize::from(config.channels.max(1));
    let rate = config.sample_rate;
    let sound = move |out: &mut [T], info: &cpal::OutputCallbackInfo| {
        let now = origin().elapsed().as_nanos() as u64;
        let stamp = info.timestamp();
        let ahead = mixer.clock.ahead(now, stamp.callback.as_nanos() as u64);
        let stamped = (stamp.playback.as_nanos() as u64).saturating_add_signed(ahead);
        let heard = mixer.heard(now, stamped, out.len() / channels, rate);
        let latency = heard.saturating_sub(now);
        mixer.mixer.serve(out, channels, heard, latency);
    };
    let failed = move |e: cpal::Error| trouble.see(&e);
    let stream = device.build_output_stream(config, sound, failed, None)?;
    stream.play()?;
    Ok(stream)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stamp_that_is_read_late_does_not_move_the_clock() {
        let mut clock = StampClock::default();
        // The stream began 700 ns after the program's clock; each reading takes 5 ns, and two take longer.
        let took = [5, 5, 5, 90, 5, 5, 4000, 5, 5, 5];
        let ahead = took.map(|took| {
            let there = clock.count as u64 * 1000;
            clock.ahead(there + 700 + took, there)
        });
        assert_eq!(ahead, [705; 10]);
        // A stream whose clock begins anew is followed after eight stamps.
        let after: Vec<_> = (0..9).map(|n| clock.ahead(20_000 + n, n)).collect();
        assert_eq!((after[6], after[7]), (705, 20_000));
    }
}
