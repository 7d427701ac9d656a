//! Hands that do not get there in time.

use super::{PRACTISED, Rule};
use crate::deck::check::{CardMistake, CheckContext, Finding};
use crate::deck::diagnostic::Severity;
use crate::deck::show::letters;
use crate::hands::stick;

/// A sticking that cannot be played at the stated tempo.
pub static TOO_FAST: Rule = Rule {
    name: "too-fast",
    severity: Severity::Mistake,
    title: "hands that do not get there in time",
    page: "\
The fastest tempo of the card is more than the written hands can do, or the hands cross. The message names the stroke
where they get stuck, the reason and the fastest tempo of this sticking, worked out for a practised right-handed player.
Mend it with a slower tempo, other hands, or a thinner form: light strokes named in `thin` become rests from the tempo
at which the hands no longer get through every stroke, and then only what is left has to be playable. With `thin_from`,
all strokes have to be playable up to that tempo, and what is left from there on. The figures are estimates that were
not tried on players. If the hands are left open (no hand row), there has to be some sticking that works.",
    check: Some(check),
};

fn check(context: &CheckContext) -> Vec<Finding> {
    context.each_card(|deck, parsed| {
        let card = &parsed.card;
        let drums = card.score.drums.as_ref()?;
        let top = card.tempo.1;
        let thin = card.thinned();
        let thin_plays = thin.is_some_and(|t| !stick(&t, top, &PRACTISED).too_fast);
        // The tempo up to which every stroke is played.
        let fastest = match (thin_plays, card.thin_from) {
            (true, Some(from)) => from,
            (true, None) => return None,
            (false, _) => top,
        };
        let full = stick(drums, fastest, &PRACTISED);
        if !full.too_fast {
            return None;
        }
        let pulse = full.tightest.unwrap_or(0);
        let drum = drums.at(pulse).map_or("conga", |s| s.drum.name());
        // The reasons tell first how the hands share the strokes, last where they get stuck.
        let texts = full.reasons.iter().map(|r| r.text.as_str());
        let stuck: Vec<&str> = texts.skip_while(|t| !t.starts_with("Too fast")).collect();
        let message = match stuck.is_empty() {
            true => format!("too fast at {fastest} for these hands"),
            false => stuck.join(" "),
        };
        let ceiling = full.works_to.floor();
        let mut mend = match thin_plays {
            true => format!("write `thin_from = {ceiling}` or slower"),
            false => format!("end the tempo range at {ceiling} or slower"),
        };
        if let Some(hands) = full.instead.as_ref().filter(|h| **h != full.hands) {
            let hands: Vec<_> = drums.strokes().map(|(p, _)| hands[p]).collect();
            mend += &format!(", or play it {}", letters(&hands));
        }
        let span = context.pulse(deck, parsed, drum, pulse);
        Some(CardMistake::new(span, message, mend))
    })
}
