//! The hands of the taps: as written, another sticking that works, or neither.

use super::{Tap, TapPair, TapTask};
use crate::hands;
use crate::rhythm::{Hand, Pattern};
use serde::Serialize;

/// The hands that tapped a part.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "hands")]
pub enum TappedHands {
    /// As they are written.
    AsWritten,
    /// Otherwise, and that can be played at this tempo and is what players do.
    Another,
    /// Otherwise, and that is not.
    Neither {
        /// The stroke at which it fails, a pulse of the part from 0.
        pulse: usize,
        /// Why, a sentence.
        reason: String,
    },
}

/// Judges the hands of the matched taps against the part as it was tapped. Over several rounds each stroke has the hand
/// that took it most often. `None` where no hand was told or there is nothing to judge by.
pub(super) fn judge(
    task: &TapTask,
    part: &Pattern,
    taps: &[Tap],
    matched: &[TapPair],
) -> Option<TappedHands> {
    let mut votes = vec![0i64; part.pulses()];
    let mut told = vec![false; part.pulses()];
    for pair in matched {
        let Some(hand) = taps[pair.tap].hand else {
            continue;
        };
        told[pair.place.pulse] = true;
        votes[pair.place.pulse] += if hand == Hand::Right { 1 } else { -1 };
    }
    if !told.contains(&true) {
        return None;
    }
    let tapped = |pulse: usize| match votes[pulse].signum() {
        0 => None,
        1 => Some(Hand::Right),
        _ => Some(Hand::Left),
    };
    let other = part.strokes().find(|(pulse, stroke)| {
        let written = stroke.hand;
        told[*pulse] && written.is_some() && tapped(*pulse) != written
    });
    let written = part.strokes().any(|(_, s)| s.hand.is_some());
    match (written, other) {
        (true, None) => return Some(TappedHands::AsWritten),
        (false, _) if !task.on_drums => return None,
        _ => {}
    }
    let filled = part.with_each_hand(|pulse, stroke| tapped(pulse).or(stroke.hand));
    let fails = |pulse: usize, reason: String| Some(TappedHands::Neither { pulse, reason });
    if !task.on_drums {
        let (pulse, stroke) = other?;
        let hand = stroke.hand?.name();
        return fails(pulse, format!("Here the {hand} hand is written."));
    }
    if !filled.has_full_sticking() {
        let open = filled.strokes().filter(|(_, s)| s.hand.is_none()).count();
        let some = !hands::all_right(&filled, task.tempo, &task.player).is_empty();
        return match (some, open > hands::MOST_OPEN) {
            (true, _) => Some(TappedHands::Another),
            (_, true) => None,
            _ => {
                let pulse = part.strokes().next()?.0;
                fails(
                    pulse,
                    "No sticking that works begins like this.".to_string(),
                )
            }
        };
    }
    match hands::judge(&filled, task.tempo, &task.player) {
        Ok(()) => Some(TappedHands::Another),
        Err(refusal) => fails(refusal.pulse, refusal.text),
    }
}
