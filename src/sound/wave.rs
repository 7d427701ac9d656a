//! A rendered wave with its loop.

use crate::time::Seconds;
use std::path::Path;

/// A rendered take: stereo samples within ±1 and where the pulses lie in them.
///
/// The frames hold the count-in, the passes through the score, and the ring after the last stroke. For playing
/// round and round there is a second version of the passes into which the ring of the last strokes is already
/// mixed at the start, so that a loop has no seam: play the frames up to [`Wave::body_end`] once, then
/// [`Wave::ring`] for ever.
#[derive(Clone, Debug, PartialEq)]
pub struct Wave {
    pub(super) rate: u32,
    pub(super) frames: Vec<[f32; 2]>,
    pub(super) ring: Vec<[f32; 2]>,
    pub(super) lead_in: usize,
    pub(super) pulse_frames: Vec<usize>,
}

/// A WAV file that could not be written.
#[derive(Debug, thiserror::Error)]
#[error("cannot write {}: {source}", path.display())]
pub struct WavError {
    path: std::path::PathBuf,
    source: hound::Error,
}

impl Wave {
    /// Frames a second.
    pub fn rate(&self) -> u32 {
        self.rate
    }

    /// Left and right samples: count-in, passes, last ring.
    pub fn frames(&self) -> &[[f32; 2]] {
        &self.frames
    }

    /// The passes once more, with the ring of the pass before mixed in: what sounds from the second time round.
    pub fn ring(&self) -> &[[f32; 2]] {
        &self.ring
    }

    /// Frames of the count-in: the first pulse of the score lies on this frame.
    pub fn lead_in(&self) -> usize {
        self.lead_in
    }

    /// The frame after the last pass; a loop goes back to [`Wave::lead_in`] here.
    pub fn body_end(&self) -> usize {
        self.lead_in + self.ring.len()
    }

    /// The frame of each pulse of all passes, in time order, the first of them [`Wave::lead_in`].
    pub fn pulse_frames(&self) -> &[usize] {
        &self.pulse_frames
    }

    /// How long it sounds, from the start to the end of the last ring.
    pub fn length(&self) -> Seconds {
        Seconds::new(self.frames.len() as f64 / f64::from(self.rate))
    }

    /// The pulse that sounds or has just sounded at `frame`, counted from the first pulse of the first pass;
    /// `None` in the count-in and after the last pass.
    pub fn pulse_at(&self, frame: usize) -> Option<usize> {
        if frame < self.lead_in || frame >= self.body_end() {
            return None;
        }
        self.pulse_frames
            .partition_point(|f| *f <= frame)
            .checked_sub(1)
    }

    /// The same wave after `frames` frames of silence.
    #[cfg(any(test, feature = "internals"))]
    pub fn after_silence(mut self, frames: usize) -> Wave {
        self.frames
            .splice(..0, std::iter::repeat_n([0.0; 2], frames));
        self.lead_in += frames;
        for frame in &mut self.pulse_frames {
            *frame += frames;
        }
        self
    }

    /// Writes the frames as a WAV file: stereo, 32-bit float, the exact samples that would be played at full
    /// volume.
    ///
    /// # Errors
    /// [`WavError`] where the file cannot be written.
    pub fn write_wav(&self, path: &Path) -> Result<(), WavError> {
        let wrap = |source| WavError {
            path: path.to_path_buf(),
            source,
        };
        let spec = hound::WavSpec {
            channels: 2,
            sample_rate: self.rate,
            bits_per_sample: 32,
            sample_format: hound::SampleFormat::Float,
        };
        let mut writer = hound::WavWriter::create(path, spec).map_err(wrap)?;
        for sample in self.frames.as_flattened() {
            writer.write_sample(*sample).map_err(wrap)?;
        }
        writer.finalize().map_err(wrap)
    }
}
