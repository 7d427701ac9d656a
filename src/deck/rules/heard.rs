//! Strokes that say a different side from the card.

use super::Rule;
use crate::clave::{Direction, PARTS, Reading, Side, SideVerdict};
use crate::deck::check::{CardMistake, CheckContext, Finding};
use crate::deck::diagnostic::Severity;
use crate::deck::{Card, States};
use crate::rhythm::Line;

/// Strokes that say a different side from the card.
pub static HEARD: Rule = Rule {
    name: "heard",
    severity: Severity::Warning,
    title: "the strokes say the other side",
    page: "\
The card declares a side or a direction, and its strokes, heard by themselves, clearly say the other one. The message
gives the reasons. The ear of the check knows the common parts and the habits behind them; it can be wrong about a new
idea. If the card is a matter of school, say so with `school = \"subject: way\"` and the check keeps quiet: it never
calls a school wrong. Otherwise see whether the bars are in the right order, and whether `clave` is turned round.",
    check: Some(check),
};

/// Probability of the other side above which the rule speaks.
const CLEAR: f64 = 0.9;

fn check(context: &CheckContext) -> Vec<Finding> {
    context.each_card(|_, parsed| {
        let card = &parsed.card;
        // Of a school on anything but the low drum the check knows nothing.
        let other_school = card.school.is_some() && card.low_drum().is_none();
        if card.score.is_empty() || other_school {
            return None;
        }
        let reading = card.classifier().score(&card.score);
        let said = against(card, &reading)?;
        let reasons: Vec<String> = reading.reasons().map(|(text, _)| text).take(3).collect();
        let message = format!("{said}: {}", reasons.join("; "));
        let mend = "turn the clave round, or name the school that plays it so";
        Some(CardMistake::new(parsed.place("states"), message, mend))
    })
}

/// What the strokes say against the card.
fn against(card: &Card, reading: &Reading) -> Option<String> {
    let clave = card.clave?;
    match card.states {
        States::Neither => None,
        States::Bar(side) => {
            let heard = reading.bars.first()?;
            let other = match side {
                Side::Two => heard.three,
                Side::Three => 1.0 - heard.three,
            };
            (other >= CLEAR && !is_half_of_a_named_part(card, side)).then(|| {
                let (other, side) = (side.other().name(), side.name());
                format!("declared as the {side}, but it sounds like the {other}")
            })
        }
        States::Direction => {
            let heard = reading.verdict.direction()?;
            let clear = reading.forward.max(1.0 - reading.forward) >= CLEAR;
            (heard != clave.direction && clear && reading.verdict != SideVerdict::Crossed).then(
                || {
                    let (declared, heard) = (clave.direction.name(), heard.name());
                    format!("declared as {declared}, but it sounds like {heard}")
                },
            )
        }
    }
}

/// Is the bar that of `side` in a named part of the same instrument? One bar alone may sound different from how it does
/// in its place.
fn is_half_of_a_named_part(card: &Card, side: Side) -> bool {
    let onsets = |line: &Line| -> Vec<bool> {
        let bar = line.cells().iter().take(card.grid.pulses_per_bar());
        bar.map(Option::is_some).collect()
    };
    let named = |line: &Line| {
        let parts = PARTS
            .iter()
            .filter(|p| p.instrument == Some(line.instrument()));
        let mut halves = parts.filter_map(|p| p.line(card.grid, Direction::starting(side)));
        halves.any(|half| onsets(&half) == onsets(line))
    };
    card.score.drums.is_none() && card.score.lines.iter().any(named)
}
