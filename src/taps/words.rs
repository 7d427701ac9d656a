//! What was tapped, in words: the same for a question and for the command `played`.

use super::{PerformanceLevel, Steadiness, TapTask, TapVerdict, TappedDirection, TappedHands};
use crate::clave::Clave;
use crate::rhythm::uncapital;
use crate::time::Seconds;

/// A mean or a drift below this is not told: a computer keyboard is no finer (chosen).
const TOLD: Seconds = Seconds::new(0.005);
/// A drift from round to round below this share of the spread may be scatter (chosen).
const DRIFTS: f64 = 0.5;

/// `12 ms`.
pub fn in_ms(length: Seconds) -> String {
    format!("{:.0} ms", length.abs().millis())
}

/// `14 of 16 strokes, 2 left out, 1 too many`.
pub fn counted(matched: usize, missed: usize, added: usize) -> String {
    let mut strokes = format!("{matched} of {} strokes", matched + missed);
    for (n, what) in [(missed, "left out"), (added, "too many")] {
        if n > 0 {
            strokes += &format!(", {n} {what}");
        }
    }
    strokes
}

impl TapVerdict {
    /// The least drift or distance that is told: a computer keyboard or scatter makes less.
    pub fn least_told(&self) -> Seconds {
        TOLD.max(DRIFTS * self.played.spread.unwrap_or(Seconds::ZERO))
    }

    /// What was tapped, in a word or two: `son 2-3`, `15 of 16 strokes`.
    pub fn named(&self, task: &TapTask) -> String {
        let played = &self.played;
        match (played.family, played.tapped) {
            (Some(family), Some(direction)) => format!("{} {}", family.name(), direction.name()),
            _ if task.is_clave() => "neither direction".to_string(),
            _ => {
                let matched = played.matched.len();
                format!("{matched} of {} strokes", matched + played.missed.len())
            }
        }
    }

    /// Strokes, direction or clave, tempo, how tight, ahead or behind apart from the player's own lead, drift, stops, hands: a
    /// clause each, the first with a capital, none with a stop at its end. `first`: what was asked above all, told before the
    /// rest where the direction is right.
    pub fn told(&self, task: &TapTask, first: Option<String>) -> Vec<String> {
        let played = &self.played;
        if played.taps.is_empty() {
            return vec!["Nothing was tapped".into()];
        }
        let off = self.level == PerformanceLevel::Off;
        let tempo = off.then(|| task.tempo_of(&played.taps)).flatten();
        let mut said = Vec::new();
        if played.direction == Some(TappedDirection::Other) {
            let way = played
                .tapped
                .map_or(String::new(), |d| format!(", {}", d.name()));
            said.push(format!(
                "The direction is the other one{way}: tapped like this, each bar lies on the wrong side"
            ));
        } else {
            let all = counted(
                played.matched.len(),
                played.missed.len(),
                played.added.len(),
            );
            said.push(first.map_or(all.clone(), |first| format!("{first}. In all, {all}")));
        }
        said.extend(self.another_clave(task));
        if let Some(tempo) = tempo {
            let asked = task.tempo();
            said.push(format!(
                "the tempo was about {tempo:.0} instead of {asked:.0}: the strokes come apart from the band"
            ));
        }
        if played.bounced > 0 {
            said.push(format!(
                "{} came right after another and did not count: does the key or the drum bounce?",
                played.bounced
            ));
        }
        if task.is_clave() && played.direction == Some(TappedDirection::Unclear) && !self.right {
            said.push("the direction cannot be told".into());
        }
        // At another tempo, where each stroke lies beside the one that was due says nothing.
        if tempo.is_none() {
            said.extend(self.manner(task));
        }
        match &played.hands {
            None => {}
            Some(TappedHands::AsWritten) => said.push("the hands are as written".into()),
            Some(TappedHands::Another) if task.part().hands().iter().all(Option::is_none) => {
                said.push("the hands work".into());
            }
            Some(TappedHands::Another) => {
                said.push("the hands are not as written, but they work".into());
            }
            Some(TappedHands::Neither { .. }) if tempo.is_some() => {}
            Some(TappedHands::Neither { reason, .. }) => {
                let reason = uncapital(reason.trim_end_matches('.'));
                said.push(format!("the hands: {reason}"));
            }
        }
        said
    }

    /// How the strokes lay in time: early and late, how tight, ahead or behind, drift, stops; a clause each. Where a drift
    /// took strokes from their place, it alone is told: the rest follows from it.
    pub fn manner(&self, task: &TapTask) -> Vec<String> {
        let played = &self.played;
        let mut said = Vec::new();
        let drift = played.drift.filter(|d| d.abs() >= self.least_told());
        let drift = drift.filter(|_| played.held.is_none());
        let apart = drift.is_some() && played.displaced > 0;
        let leans = [
            (played.early, "early"),
            (played.late, "late"),
            (
                played.displaced,
                "more than half a pulse from where they belong",
            ),
        ];
        for (n, way) in leans.into_iter().filter(|(n, _)| *n > 0 && !apart) {
            said.push(format!("{n} {way}"));
        }
        if let (Some(spread), Some(steady)) = (played.spread, self.steadiness) {
            let as_who = match steady {
                Steadiness::Musician => "as steady as musicians tap",
                Steadiness::Untrained => "as steady as people without training tap",
                Steadiness::Loose => "less steady than people without training tap",
            };
            said.push(format!("the taps spread by {}, {as_who}", in_ms(spread)));
        }
        if let Some(swing) = played.swing {
            let swing_in_ms = in_ms(swing);
            let (way, style) = way(swing, ("earlier", "pushed"), ("later", "swung"));
            said.push(format!(
                "the second of two pulses comes {swing_in_ms} {way} than even: that is {style}"
            ));
        }
        let off = played.shift.or(played.mean.map(|mean| mean - task.lead()));
        if let Some(off) = off.filter(|off| off.abs() >= TOLD && !apart) {
            let way = way(off, "ahead of", "behind");
            let usual = match (played.shift, task.lead().abs() < TOLD) {
                (Some(_), _) => "the beat, more than any machine's delay",
                (None, true) => "the beat",
                (None, false) => "where you usually are",
            };
            said.push(format!("on average {} {way} {usual}", in_ms(off)));
        }
        if let Some(drift) = drift {
            said.push(drifting(drift));
        }
        match played.hesitations {
            0 => {}
            1 => said.push("you stopped once and went on elsewhere".into()),
            n => said.push(format!("you stopped {n} times and went on elsewhere")),
        }
        said
    }

    /// The clave that was clapped, where it is another than the one that was due, and what sets it apart.
    fn another_clave(&self, task: &TapTask) -> Option<String> {
        let due = task.own_clave()?;
        let tapped = Clave {
            family: self.played.family.filter(|f| *f != due.family)?,
            ..due
        };
        let grid = task.part().grid();
        let [due, other] = [due, tapped].map(|clave| clave.onsets(grid));
        let alone = |a: &[bool], b: &[bool]| {
            let pulse = (0..a.len()).find(|p| a[*p] && !b[*p]);
            pulse.map(|p| grid.spoken(p))
        };
        Some(format!(
            "this is the {} clave, with {} instead of {}",
            tapped.family.name(),
            alone(&other, &due)?,
            alone(&due, &other)?
        ))
    }
}

/// What is said of what lies before, or after.
fn way<T>(length: Seconds, before: T, after: T) -> T {
    if length < Seconds::ZERO {
        before
    } else {
        after
    }
}

/// `each round 12 ms later than the one before`.
pub fn drifting(drift: Seconds) -> String {
    let way = way(drift, "earlier", "later");
    format!("each round {} {way} than the one before", in_ms(drift))
}
