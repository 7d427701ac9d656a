//! Answers that are tapped: as text, graded, and told in words.

use super::{Answer, Form, Question, Reason, Verdict};
use crate::rhythm::Hand;
use crate::taps::{self, Steadiness, Tap, TapLead, TapTask, TapVerdict, TappedDirection, TappedHands};

/// A mean or a drift below this is not told, seconds: a computer keyboard is no finer (chosen).
const TOLD: f64 = 0.005;
/// A drift from cycle to cycle below this share of the spread may be scatter (chosen).
const DRIFTS: f64 = 0.5;

/// Taps as text, as [`taps::read_taps`] reads them: seconds to a thousandth, with the hand where it is known.
pub fn taps_text(taps: &[Tap]) -> String {
    let text = |tap: &Tap| {
        let hand = tap.hand.map_or(String::new(), |h: Hand| h.letter().to_string());
        format!("{:.3}{hand}", tap.seconds)
    };
    taps.iter().map(text).collect::<Vec<_>>().join(" ")
}

/// Taps that are exact, so many times round.
pub(super) fn exact(task: &TapTask, cycles: usize) -> Vec<Tap> {
    let strokes = |cycle: usize| {
        let from = cycle as f64 * task.cycle_seconds();
        let part = task.part().strokes();
        part.map(move |(pulse, stroke)| Tap {
            seconds: from + pulse as f64 * task.pulse_seconds(),
            hand: stroke.hand,
        })
    };
    (0..cycles).flat_map(strokes).collect()
}

/// Chance of tapping it right without knowing it, with so many keys to choose from at each stroke.
pub(super) fn guess(task: &TapTask, keys: usize) -> f64 {
    let strokes = task.part().strokes().count() as i32;
    taps::grade(task, &[]).guess / (keys.max(1) as f64).powi(strokes)
}

/// What was tapped, in a word or two: `son 2-3`, `15 of 16 strokes`.
pub(super) fn named(task: &TapTask, taps: &[Tap]) -> String {
    let played = taps::grade(task, taps).played;
    match (played.family, played.tapped) {
        (Some(family), Some(direction)) => format!("{} {}", family.name(), direction.name()),
        _ if task.is_clave() => "neither direction".to_string(),
        _ => {
            let matched = played.matched.len();
            format!("{matched} of {} strokes", matched + played.missed.len())
        }
    }
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
            (Form::Taps { task, .. }, Answer::Taps(taps)) => lead.after(&taps::grade(task, taps).played),
            _ => lead,
        }
    }
}

/// Grades taps that were over `seconds` after the clock of the question started.
pub(super) fn graded(question: &Question, task: &TapTask, taps: &[Tap], seconds: f64) -> Verdict {
    let found = taps::grade(task, taps);
    let played = &found.played;
    let text = account(&found, task.lead());
    let given = Answer::Taps(taps.to_vec());
    Verdict {
        correct: found.correct,
        hits: played.matched.len() - played.displaced,
        of: (played.matched.len() + played.missed.len()).max(taps.len()),
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

/// What the taps were: direction, strokes, how tight, ahead or behind apart from the player's own `lead`, drift.
fn account(found: &TapVerdict, lead: f64) -> String {
    let played = &found.played;
    let ms = |seconds: f64| format!("{:.0} ms", seconds.abs() * 1000.0);
    let (matched, missed) = (played.matched.len(), played.missed.len());
    let mut said = Vec::new();
    if played.direction == Some(TappedDirection::Other) {
        said.push("The direction is the other one: so tapped, each bar lies on the wrong side".into());
    } else {
        let mut strokes = format!("{matched} of {} strokes", matched + missed);
        for (n, what) in [(missed, "left out"), (played.added.len(), "too many")] {
            if n > 0 {
                strokes += &format!(", {n} {what}");
            }
        }
        said.push(strokes);
        for (n, way) in [(played.early, "early"), (played.late, "late")] {
            if n > 0 {
                said.push(format!("{n} {way}"));
            }
        }
    }
    if let (Some(spread), Some(steady)) = (played.spread, found.steadiness) {
        let as_who = match steady {
            Steadiness::Musician => "as steady as musicians tap",
            Steadiness::Untrained => "as steady as people without training tap",
            Steadiness::Loose => "less steady than people without training tap",
        };
        said.push(format!("they spread by {}, {as_who}", ms(spread)));
    }
    let off = played.shift.or(played.mean.map(|mean| mean - lead));
    if let Some(off) = off.filter(|off| off.abs() >= TOLD) {
        let way = if off < 0.0 { "ahead of" } else { "behind" };
        let usual = if lead.abs() < TOLD { "the band" } else { "where you usually are" };
        said.push(format!("on average {} {way} {usual}", ms(off)));
    }
    let drifts = TOLD.max(DRIFTS * played.spread.unwrap_or(0.0));
    if let Some(drift) = played.drift.filter(|d| d.abs() >= drifts) {
        let way = if drift < 0.0 { "earlier" } else { "later" };
        said.push(format!("each cycle {} {way} than the one before", ms(drift)));
    }
    match played.hesitations {
        0 => {}
        1 => said.push("once you stopped and went on elsewhere".into()),
        n => said.push(format!("{n} times you stopped and went on elsewhere")),
    }
    let hands = match &played.hands {
        None => "",
        Some(TappedHands::AsWritten) => " The hands are those that are written.",
        Some(TappedHands::Another) => " The hands are not those that are written, and work.",
        Some(TappedHands::Neither { reason, .. }) => &format!(" The hands: {reason}"),
    };
    said.join("; ") + "." + hands
}
