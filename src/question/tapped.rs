//! Answers that are tapped: as text, graded, and put into words.

use super::{Answer, Form, Question, Reason, Verdict, words};
use crate::clave::SideClassifier;
use crate::rhythm::{Hand, spaced};
use crate::taps::{
    self, HeldClave, Played, StrokePlace, Tap, TapLead, TapTask, TapVerdict, TappedDirection,
    VariationElsewhere, counted, drifting, in_ms,
};
use crate::time::Seconds;
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

/// Taps that are exact, this many times round or in the turns that are set.
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

/// Chance of tapping it right without knowing it, with this many keys to choose from at each stroke.
pub(super) fn guess(task: &TapTask, keys: usize) -> f64 {
    let strokes = task.part().strokes().count() as i32;
    taps::grade(task, &[]).guess / (keys.max(1) as f64).powi(strokes)
}

/// What was tapped, in a word or two: `son 2-3`, `15 of 16 strokes`.
pub(super) fn named(task: &TapTask, taps: &[Tap]) -> String {
    taps::grade(task, taps).named(task)
}

impl Question {
    /// The same for a player whose lead is known, where taps are asked for.
    pub fn with_lead(mut self, lead: TapLead) -> Question {
        if let Form::Taps { task, .. } = &mut self.form {
            *task = task.clone().with_lead(lead.late());
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
///
/// Of a variation in bars of its own no more is right than in these bars, however well the bars around it went, and it is partly
/// right from half of it on (half is our choice). In another bar on the same side it counts half, on the other
/// side, or left out, nothing.
pub(super) fn graded(
    question: &Question,
    task: &TapTask,
    taps: &[Tap],
    seconds: Seconds,
) -> Verdict {
    let found = taps::grade(task, taps);
    let played = &found.played;
    let own = question.prompt.mark.bars();
    let given = Answer::Taps(taps.to_vec());
    let mut verdict = Verdict {
        correct: found.correct,
        hits: played.matched.len() - played.displaced,
        of: played.matched.len() + played.missed.len().max(played.added.len()),
        right: found.right,
        partly: found.partly,
        in_time: found.in_time && seconds <= question.limit(),
        given: question.form.words(&given),
        nearest: question.nearest(&given).unwrap_or(given),
        why: None,
    };
    let mut first = played
        .held
        .as_ref()
        .map(|held| while_away(task, &found, held));
    let mut told = None;
    if let Some(own) = own {
        let bars = OwnBars::new(task, played, own.clone());
        verdict.correct = verdict.correct.min(bars.share());
        verdict.partly &= bars.share() >= HALF;
        if bars.share() < HALF {
            verdict.given = bars.strokes();
        }
        first = Some(bars.told());
        if let Some((what, meant)) = task.variation_elsewhere(own.clone(), taps, &found) {
            told = Some(elsewhere(task, own, what, &meant, &mut verdict));
        }
    }
    let told = told.unwrap_or_else(|| found.told(task, first));
    verdict.why = Some(Reason::of(told.join("; ") + "."));
    verdict
}

/// The share of a variation from which it is partly right, and what it is worth in another bar on its side (chosen).
const HALF: f64 = 0.5;

/// What is said about a variation that was played in another bar or left out; the verdict becomes what that is worth.
fn elsewhere(
    task: &TapTask,
    own: Range<usize>,
    what: VariationElsewhere,
    meant: &TapVerdict,
    verdict: &mut Verdict,
) -> Vec<String> {
    let due = words::bars(&own);
    let (worth, given, said) = match what {
        VariationElsewhere::LeftOut => (
            0.0,
            "the plain tumbao all through".to_string(),
            format!("The plain tumbao went on through {due}: the variation was left out"),
        ),
        VariationElsewhere::InBar(start) => {
            let there = words::bars(&(start..start + own.len()));
            let other_side = own.start.abs_diff(start) % 2 == 1;
            let states = SideClassifier::default()
                .pattern(task.part())
                .verdict
                .direction();
            let side = match other_side && states.is_some() {
                true => ", on the wrong side of the clave",
                false => "",
            };
            (
                if side.is_empty() { HALF } else { 0.0 },
                format!("it in {there}"),
                format!("The variation came in {there}{side}: it belonged in {due}"),
            )
        }
    };
    verdict.correct = worth;
    verdict.partly = worth > 0.0;
    verdict.hits = (worth * verdict.of as f64) as usize;
    verdict.given = given;
    let mut told = vec![said];
    told.extend(meant.manner(task));
    told
}

/// What became of the strokes of these bars, which are those of the variation.
struct OwnBars {
    bars: Range<usize>,
    leans: Vec<i8>,
    missed: usize,
    added: usize,
    /// All that was added lies where the part rests.
    in_rests: bool,
}

impl OwnBars {
    fn new(task: &TapTask, played: &Played, bars: Range<usize>) -> OwnBars {
        let per = task.part().grid().pulses_per_bar();
        let own = |place: &StrokePlace| bars.contains(&(place.pulse / per));
        let pairs = played.matched.iter().filter(|pair| own(&pair.place));
        let added = played.added.iter().filter(|added| own(&added.place));
        let rests = |added: &taps::AddedTap| played.part.at(added.place.pulse).is_none();
        OwnBars {
            in_rests: added.clone().all(rests),
            leans: pairs
                .map(|pair| played.lean(pair, task.pulse_seconds()))
                .collect(),
            missed: played.missed.iter().filter(|place| own(place)).count(),
            added: added.count(),
            bars,
        }
    }

    /// The share of them that is right, 0 to 1.
    fn share(&self) -> f64 {
        let of = self.leans.len() + self.missed.max(self.added);
        self.leans.len() as f64 / of.max(1) as f64
    }

    fn strokes(&self) -> String {
        let mut strokes = counted(self.leans.len(), self.missed, self.added);
        if self.added > 0 && self.in_rests {
            strokes += " where it rests";
        }
        strokes
    }

    fn told(&self) -> String {
        let mut strokes = self.strokes();
        for (way, word) in [(-1, "early"), (1, "late")] {
            match self.leans.iter().filter(|lean| **lean == way).count() {
                0 => {}
                n => strokes += &format!(", {n} {word}"),
            }
        }
        format!("In {}, the variation: {strokes}", words::bars(&self.bars))
    }
}

/// What became of a clave that was to be held.
fn while_away(task: &TapTask, found: &TapVerdict, held: &HeldClave) -> String {
    let mut said = vec![match held.direction {
        Some(TappedDirection::AsWritten) => "the direction held".to_string(),
        Some(TappedDirection::Other) => "the direction turned over".to_string(),
        Some(TappedDirection::Unclear) | None => "the direction could not be told".to_string(),
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
        let way = if off < Seconds::ZERO { "early" } else { "late" };
        said.push(format!("{} {way} when it came back", in_ms(off)));
    }
    format!("While the clave was away: {}", said.join(", "))
}
