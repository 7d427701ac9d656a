//! What `played --json` writes.

use super::{rounds, word};
use crate::clave::{Clave, Direction};
use crate::rhythm::notation::write_line;
use crate::rhythm::{Grid, Tempo};
use crate::taps::{
    PerformanceLevel, Steadiness, StrokePlace, TapTask, TapVerdict, TappedDirection, TappedHands,
};
use crate::time::Seconds;
use serde::Serialize;

/// What `--json` writes. Times in milliseconds.
#[derive(Serialize)]
pub(super) struct PlayedData {
    pattern: String,
    grid: Grid,
    #[serde(rename = "bpm")]
    asked: Tempo,
    cycles: usize,
    strokes: usize,
    taps: usize,
    matched: usize,
    missed: usize,
    added: usize,
    displaced: usize,
    bounced: usize,
    wrong: usize,
    early: usize,
    late: usize,
    shift: Option<f64>,
    mean: Option<f64>,
    spread: Option<f64>,
    unevenness: Option<f64>,
    swing: Option<f64>,
    drift: Option<f64>,
    hesitations: usize,
    tempo: Option<Tempo>,
    direction: Option<TappedDirection>,
    tapped: Option<Direction>,
    tapped_clave: Option<String>,
    hands: Option<&'static str>,
    hands_reason: Option<String>,
    correct: f64,
    guess: f64,
    score: f64,
    verdict: &'static str,
    in_time: bool,
    level: PerformanceLevel,
    steadiness: Option<Steadiness>,
    pairs: Vec<PairData>,
    missed_strokes: Vec<StrokePlace>,
    added_taps: Vec<AddedData>,
}

#[derive(Serialize)]
struct PairData {
    #[serde(flatten)]
    place: StrokePlace,
    tap: usize,
    late: f64,
}

#[derive(Serialize)]
struct AddedData {
    #[serde(flatten)]
    place: StrokePlace,
    tap: usize,
    seconds: Seconds,
}

/// Milliseconds to a thousandth.
fn ms(length: Seconds) -> f64 {
    (length.seconds() * 1e6).round() / 1e3
}

pub(super) fn data(asked: Tempo, task: &TapTask, verdict: &TapVerdict) -> PlayedData {
    let played = &verdict.played;
    PlayedData {
        pattern: write_line(task.part()),
        grid: task.part().grid(),
        asked,
        cycles: rounds(played).map_or(0, |(first, last)| last - first + 1),
        strokes: played.matched.len() + played.missed.len(),
        taps: played.taps.len(),
        matched: played.matched.len(),
        missed: played.missed.len(),
        added: played.added.len(),
        displaced: played.displaced,
        bounced: played.bounced,
        wrong: played.wrong,
        early: played.early,
        late: played.late,
        shift: played.shift.map(ms),
        mean: played.mean.map(ms),
        spread: played.spread.map(ms),
        unevenness: played.unevenness.map(ms),
        swing: played.swing.map(ms),
        drift: played.drift.map(ms),
        hesitations: played.hesitations,
        tempo: match verdict.level {
            PerformanceLevel::Off => task.tempo_of(&played.taps),
            _ => None,
        },
        direction: played.direction,
        tapped: played.tapped,
        tapped_clave: played
            .family
            .zip(played.tapped)
            .map(|(family, direction)| Clave { family, direction }.to_string()),
        hands: played.hands.as_ref().map(|h| match h {
            TappedHands::AsWritten => "as-written",
            TappedHands::Another => "another",
            TappedHands::Neither { .. } => "neither",
        }),
        hands_reason: match &played.hands {
            Some(TappedHands::Neither { reason, .. }) => Some(reason.clone()),
            _ => None,
        },
        correct: verdict.correct,
        guess: verdict.guess,
        score: verdict.score,
        verdict: word(verdict),
        in_time: verdict.in_time,
        level: verdict.level,
        steadiness: verdict.steadiness,
        pairs: played
            .matched
            .iter()
            .map(|p| PairData {
                place: p.place,
                tap: p.tap,
                late: ms(p.late),
            })
            .collect(),
        missed_strokes: played.missed.clone(),
        added_taps: played
            .added
            .iter()
            .map(|a| AddedData {
                place: a.place,
                tap: a.tap,
                seconds: played.taps[a.tap].seconds,
            })
            .collect(),
    }
}
