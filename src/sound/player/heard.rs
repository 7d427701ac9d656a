//! What is heard at a moment: a clock that follows the time stamps of the device.

use super::AudioPlayer;
use std::time::Instant;

/// Where the sound that is heard at a moment lies in its wave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heard {
    /// Frame of [`Wave::frames`](crate::sound::Wave::frames), with a share of a frame; in a loop folded back into the passes.
    pub frame: f64,
    /// Frames since the start of the wave, not folded; where it took over from another, since then.
    pub since_start: f64,
    /// How often a loop has gone back to the start of the passes.
    pub rounds: usize,
    /// The pulse, counted from the first one of the first pass; `None` in the count-in and after the passes.
    pub pulse: Option<usize>,
    /// The same with a share of a pulse.
    pub place: Option<f64>,
    /// It is the wave that was given last.
    pub latest: bool,
}

impl AudioPlayer {
    /// What is heard now; `None` when nothing is, or not yet, or no longer.
    pub fn heard(&self) -> Option<Heard> {
        self.heard_at(Instant::now())
    }

    /// What was heard at a moment in the last seconds, as when a key was pressed. Follows the time stamps of the
    /// stream, not the time since the start.
    pub fn heard_at(&self, when: Instant) -> Option<Heard> {
        let line = self.line()?;
        let stamp = (*line.link.shared.stamp.lock().ok()?)?;
        let later = (line.card.at(when) as f64 - stamp.nanos as f64) / 1e9;
        let rate = f64::from(line.card.rate());
        // Where the card ran out of sound, nothing later than what it was given is heard.
        let at = stamp.at as f64 + (later * rate).min(stamp.frames as f64);
        let (mut number, mut at, mut since) = (stamp.buffer, at, None);
        if let Some(j) = stamp.junction {
            let (old, new) = (j.when as f64, j.at as f64);
            if number == j.new && at < new {
                (number, at) = (j.old, old + at - new);
            } else if number == j.old && at >= old {
                (number, at) = (j.new, new + at - old);
            }
            since = (number == j.new).then_some(at - new);
        }
        let (_, buffer) = self.playing.iter().find(|p| p.0 == number)?;
        let heard = buffer.heard(at)?;
        Some(Heard {
            since_start: since.map_or(heard.since_start, |s| {
                s / rate * f64::from(buffer.wave.rate())
            }),
            latest: number == self.number,
            ..heard
        })
    }
}
