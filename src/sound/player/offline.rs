//! A player without a sound device, for tests and measurements.

use super::connection::Connection;
use super::{AudioPlayer, Device};
use std::sync::Arc;

impl AudioPlayer {
    /// A player without a sound device, for tests and measurements: [`AudioPlayer::pull`] takes the sound, and the clock
    /// counts the frames taken at `rate` a second.
    pub fn offline(rate: u32) -> AudioPlayer {
        let opener = Arc::new(move || Ok(Connection::to_program(rate)));
        let mut player = AudioPlayer::on(Device::Open(Connection::to_program(rate)), opener);
        player.set_volume(AudioPlayer::MODERATE);
        player
    }

    /// Takes the next frames from a player made with [`AudioPlayer::offline`], interleaved left and right; with any other
    /// player nothing happens.
    pub fn pull(&mut self, out: &mut [f32]) {
        if let Device::Open(line) = &mut self.device {
            line.card.pull(out, 2);
        }
    }
}
