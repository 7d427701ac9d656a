//! Answers that are tapped: as text, graded, and told in words.

use super::{Answer, Form, Mark, Question, Reason, Verdict};
use crate::rhythm::{Hand, spaced};
use crate::taps::{
    self, HeldClave, Played, StrokePlace, Tap, TapLead, TapTask, TapVerdict, TappedDirection,
    counted, drifting, in_ms,
};
use std::ops::Range;

/// Taps as text, as [`taps::read_taps`] reads them: seconds to a thousandth, with the hand where it is known.
pub fn taps_text(taps: &[Tap]) -> String {
    let text = |tap: &Tap| {
        let hand = tap
            .hand
            .map_or(String::new(), |h: Hand| h.letter().to_string());
        format!("{:.3}{hand}", tap.seconds)
    };
    spaced(taps.iter().map(text))
}

/// Taps that are exact, so many times round or in the turns that are set.
pub(super) fn exact(task: &TapTask, cycles: usize) -> Vec<Tap> {
    let strokes = |cycle: usize| {
        let from = cycle as f64 * task.cycle_seconds();
        let part = task.part().strokes();
        part.map(move |(pulse, stroke)| Tap {
            seconds: from + pulse as f64 * task.pulse_seconds(),
            hand: stroke.hand,
        })
    };
    match task.turns() {
        Some(turns) => turns.iter().copied().flat_map(strokes).collect(),
        None => (0..cycles).flat_map(strokes).collect(),
    }
}

/// Chance of tapping it right without knowing it, with so many keys to choose from at each stroke.
pub(super) fn guess(task: &TapTask, keys: usize) -> f64 {
    let strokes = task.part().strokes().count() as i32;
    taps::grade(task, &[]).guess / (keys.max(1) as f64).powi(strokes)
}

/// What was tapped, in a word or two: `son 2-3`, `15 of 16 strokes`.
pub(super) fn named(task: &TapTask, taps: &[Tap]) -> String {
    taps::grade(task, taps).named(task)
}

impl Question {
    /// The same for a player who is known to tap so much ahead or behind, where taps are asked for.
    pub fn with_lead(mut self, lead: TapLead) -> Question {
        if let Form::Taps { task, .. } = &mut self.form {
            *task = task.clone().with_lead(lead.seconds());
        }
        self
    }

    /// What is known of the player's lead after this answer.
    pub fn lead_after(&self, lead: TapLead, answer: &Answer) -> TapLead {
        match (&self.form, answer) {
            (Form::Taps { task, .. }, Answer::Taps(taps)) => {
                lead.after(&taps::grade(task, taps).played)
            }
            _ => lead,
        }
    }
}

/// Grades taps that were over `seconds` after the clock of the question started.
pub(super) fn graded(question: &Question, task: &TapTask, taps: &[Tap], seconds: f64) -> Verdict {
    let found = taps::grade(task, taps);
    let played = &found.played;
    let first = match (&played.held, question.prompt.mark) {
        (Some(held), _) => Some(while_away(task, &found, held)),
        (None, Mark::Bar(bar)) => Some(own_bars(task, played, bar..bar + 1)),
        (None, Mark::Bars(from, to)) => Some(own_bars(task, played, from..to + 1)),
        (None, Mark::Whole | Mark::Pulse(_)) => None,
    };
    let text = found.told(task, first).join("; ") + ".";
    let given = Answer::Taps(taps.to_vec());
    Verdict {
        correct: found.correct,
        hits: played.matched.len() - played.displaced,
        of: played.matched.len() + played.missed.len().max(played.added.len()),
        right: found.right,
        partly: found.partly,
        in_time: found.in_time && seconds <= question.limit(),
        given: question.form.words(&given),
        nearest: question.nearest(&given).unwrap_or(given),
        why: Some(Reason {
            text,
            pulses: Vec::new(),
        }),
    }
}

/// The strokes of these bars, which are those of the variation.
fn own_bars(task: &TapTask, played: &Played, bars: Range<usize>) -> String {
    let per = task.part().grid().pulses_per_bar();
    let own = |place: &StrokePlace| bars.contains(&(place.pulse / per));
    let pairs = played.matched.iter().filter(|pair| own(&pair.place));
    let leans: Vec<i8> = pairs
        .map(|pair| played.lean(pair, task.pulse_seconds()))
        .collect();
    let missed = played.missed.iter().filter(|place| own(place)).count();
    let added = played
        .added
        .iter()
        .filter(|added| own(&added.place))
        .count();
    let bars = match bars.len() {
        1 => format!("bar {}", bars.start + 1),
        _ => format!("bars {} and {}", bars.start + 1, bars.end),
    };
    let mut strokes = counted(leans.len(), missed, added);
    for (way, word) in [(-1, "early"), (1, "late")] {
        match leans.iter().filter(|lean| **lean == way).count() {
            0 => {}
            n => strokes += &format!(", {n} {word}"),
        }
    }
    format!("In {bars}, the variation: {strokes}")
}

/// What became of a clave that was to be held.
fn while_away(task: &TapTask, found: &TapVerdict, held: &HeldClave) -> String {
    let mut said = vec![match held.direction {
        Some(TappedDirection::AsWritten) => "the direction held".to_string(),
        Some(TappedDirection::Other) => "the direction turned over".to_string(),
        Some(TappedDirection::Unclear) | None => "no direction could be told".to_string(),
    }];
    let missed = found
        .played
        .missed
        .iter()
        .filter(|place| task.away().contains(&place.cycle));
    match missed.count() {
        0 => {}
        1 => said.push("a stroke left out".into()),
        n => said.push(format!("{n} strokes left out")),
    }
    let least = found.least_told();
    let told = held.direction == Some(TappedDirection::AsWritten);
    match held.drift.filter(|_| told) {
        Some(drift) if drift.abs() >= least => said.push(drifting(drift)),
        Some(_) => said.push("no drift".into()),
        None => {}
    }
    if let Some(off) = held.at_return.filter(|off| told && off.abs() >= least) {
        let way = if off < 0.0 { "early" } else { "late" };
        said.push(format!("{} {way} when it came back", in_ms(off)));
    }
    format!("While the clave was away: {}", said.join(", "))
}
