//! What a mixer plays at a frame: the buffer that runs, the one that leaves and the one that comes next.

use super::join_point::Junction;
use super::loop_buffer::LoopBuffer;
use std::sync::Arc;

#[derive(Clone)]
pub(super) struct Running {
    pub buffer: Arc<LoopBuffer>,
    pub number: u64,
    pub at: i64,
}

/// How the sum of two waves is kept steady while one takes over.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Curve {
    /// The new one begins by itself.
    Cut,
    /// What both have in common stays as loud as it is.
    SamePulse,
    /// Their powers add up.
    OtherPulse,
}

impl Curve {
    /// Gains of the new and the old wave, where so much of the fade is left, 1 to 0.
    pub fn gains(self, left: f32) -> [f32; 2] {
        match self {
            Curve::Cut => [1.0, left],
            Curve::SamePulse => [1.0 - left, left],
            Curve::OtherPulse => [(1.0 - left).sqrt(), left.sqrt()],
        }
    }
}

#[derive(Clone)]
pub(super) struct Leaving {
    pub running: Running,
    pub curve: Curve,
    pub left: f32,
    pub step: f32,
    /// How loud it was when it began to leave.
    pub gain: f32,
}

#[derive(Clone)]
pub(super) struct Pending {
    pub running: Running,
    pub curve: Curve,
    pub junction: Junction,
}

/// What is mixed from a frame on: whoever kept it can go back to that frame and mix anew.
#[derive(Clone)]
pub(super) struct MixState {
    pub running: Option<Running>,
    pub leaving: Option<Leaving>,
    pub pending: Option<Pending>,
    pub junction: Option<Junction>,
    pub volume: f32,
}
