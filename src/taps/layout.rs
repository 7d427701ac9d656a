//! A part laid out in time as it may have been tapped: turned by some bars, in some rounds.

use super::task::TapRounds;
use super::track::{Track, track};
use super::{COMMON, MOST_CYCLES, StrokePlace, TapTask};
use crate::rhythm::Pattern;

/// A part as it may have been tapped, laid out in time.
pub(super) struct Layout {
    /// The part, turned by some bars.
    pub part: Pattern,
    /// Its strokes, round by round.
    pub places: Vec<StrokePlace>,
    /// When each is due, seconds from the first pulse.
    pub times: Vec<f64>,
    /// How far the taps are off from moment to moment.
    pub track: Track,
}

/// The rounds that the taps may belong to.
pub(super) fn rounds(task: &TapTask, taps: &[f64]) -> Vec<usize> {
    match &task.rounds {
        TapRounds::Open => {}
        TapRounds::Times(cycles) => return (0..*cycles).collect(),
        TapRounds::Turns(turns) => return turns.clone(),
    }
    let around = (COMMON + task.pulse_seconds() / 2.0).seconds();
    let round = task.cycle_seconds().seconds();
    let of = |seconds: f64| (seconds / round).max(0.0) as usize;
    let first = taps.first().map_or(0, |t| of(t - around));
    let last = taps.last().map_or(0, |t| of(t + around));
    (first..(last + 1).min(first + MOST_CYCLES)).collect()
}

/// By how many bars the part may be turned to lie on the other side. None where it goes round in an odd number of bars, or is
/// the same on both.
pub(super) fn turns(task: &TapTask) -> Vec<usize> {
    let (part, bars) = (&task.part, task.part.bars());
    let bar = part.grid().pulses_per_bar();
    let same = |turn: usize| {
        let struck = |p: usize| part.at(p).is_some();
        (0..part.pulses()).all(|p| struck(p) == struck(p + turn * bar))
    };
    let odd = || (1..bars).step_by(2);
    match bars.is_multiple_of(2) && !odd().any(same) {
        true => odd().collect(),
        false => Vec::new(),
    }
}

/// Lays out the part, turned by this many bars, in these rounds, and follows the taps along it.
pub(super) fn layout(task: &TapTask, turned: usize, taps: &[f64], rounds: &[usize]) -> Layout {
    let part = task
        .part
        .rotated(turned * task.part.grid().pulses_per_bar());
    let struck: Vec<usize> = part.strokes().map(|(pulse, _)| pulse).collect();
    let place = |cycle, pulse| StrokePlace { cycle, pulse };
    let round = |cycle: &usize| {
        let cycle = *cycle;
        struck.iter().map(move |pulse| place(cycle, *pulse))
    };
    let places: Vec<StrokePlace> = rounds.iter().flat_map(round).collect();
    let pulse = task.pulse_seconds().seconds();
    let time = |p: &StrokePlace| (p.cycle * part.pulses() + p.pulse) as f64 * pulse;
    let times: Vec<f64> = places.iter().map(time).collect();
    let bar = pulse * part.grid().pulses_per_bar() as f64;
    let span = rounds.last().map_or(0, |last| last + 1 - rounds[0]);
    let filled = (span, task.cycle_seconds().seconds());
    let track = track(&times, taps, (pulse / 2.0, bar), filled);
    Layout {
        part,
        places,
        times,
        track,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rhythm::{Grid, Tempo};

    /// At 120 quarter notes a minute a bar of eighths lasts 2 s and a pulse 0.25 s: taps count for a round from 0.275 s
    /// before it (the common delay and half a pulse).
    #[test]
    fn rounds_begin_half_a_pulse_and_a_common_delay_before_their_first_pulse() {
        let onsets = [true, false, false, false, true, false, false, false];
        let task = TapTask::of_onsets(Grid::Eighths, &onsets, Tempo::new(120.0)).unwrap();
        assert_eq!(rounds(&task, &[2.28, 3.0]), [1]);
        assert_eq!(rounds(&task, &[2.27, 3.0]), [0, 1]);
        assert_eq!(rounds(&task, &[2.28, 3.72]), [1]);
        assert_eq!(rounds(&task, &[2.28, 3.73]), [1, 2]);
    }
}
