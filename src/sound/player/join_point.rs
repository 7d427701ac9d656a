//! Where one wave takes over from another.

use super::loop_buffer::LoopBuffer;

/// Where a wave takes over from the one that plays.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct JoinPoint {
    /// It takes over where the next group of this many pulses begins: 1, those of a bar, or those of a cycle. With 0 at
    /// once, for waves whose pulses are equally far apart: both sound together for a moment.
    pub line: usize,
    /// The pulse that the new wave begins with; otherwise it goes on with the same pulse.
    pub pulse: Option<usize>,
    /// Pulses from the start of the clave's cycle to the start of the wave. Two waves whose phases differ are as many
    /// pulses apart when one goes on after the other.
    pub phase: usize,
}

impl JoinPoint {
    /// Where `new` takes over from `old`, not before place `from` of the old one: the place of that moment in each.
    pub(super) fn places(
        self,
        old: &LoopBuffer,
        new: &LoopBuffer,
        from: i64,
        fade: i64,
    ) -> (i64, i64) {
        let to = |pulse: usize| self.pulse.unwrap_or(pulse + self.phase.abs_diff(old.phase));
        let last = old.pulse_from(from + 1).checked_sub(1);
        if let (Some(last), 0) = (last, self.line) {
            return (from, new.place(to(last)) + from - old.place(last));
        }
        let line = match self.line {
            // Not before the count-in is over.
            0 => 0,
            group => old.pulse_from(from + fade).div_ceil(group) * group,
        };
        // The new wave is there in full when its pulse begins.
        let (when, at) = (old.place(line) - fade, new.place(to(line)) - fade);
        (when.max(from), at + (from - when).max(0))
    }
}

/// Place `when` of buffer `old` is place `at` of buffer `new`: from there on the new one is heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Junction {
    pub old: u64,
    pub when: i64,
    pub new: u64,
    pub at: i64,
}
