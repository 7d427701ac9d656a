//! Drums that the player does not have.

use super::Rule;
use crate::deck::check::{CardMistake, CheckContext, Finding};
use crate::deck::diagnostic::Severity;
use crate::rhythm::Drum;
use crate::rhythm::listed;

/// A drum that the player does not have.
pub static DRUMS: Rule = Rule {
    name: "drum",
    severity: Severity::Mistake,
    title: "a drum that the player does not have",
    page: "\
A deck may say which drums it is for: `drums = [\"conga\"]` for one drum, `drums = [\"conga\", \"tumba\"]` for two. A card that
strikes another drum cannot be played there. Without that line a deck is for every drum that the player has.",
    check: Some(check),
};

fn check(context: &CheckContext) -> Vec<Finding> {
    context.each_card(|deck, card| {
        let declared = &context.decks[deck].drums;
        let (there, whose) = match declared.is_empty() {
            true => (&context.setting.drums, "the player has"),
            false => (declared, "the deck is for"),
        };
        let drums = card.card.score.drums.iter();
        let mut strokes: Vec<_> = drums.flat_map(|d| d.strokes()).collect();
        // The first stroke on each drum is enough.
        let mut told = Vec::new();
        strokes.retain(|(_, s)| {
            let first = !there.contains(&s.drum) && !told.contains(&s.drum);
            told.push(s.drum);
            first
        });
        let flaws = strokes.into_iter().map(|(pulse, stroke)| {
            let name = stroke.drum.name();
            let message = format!("this strikes the {name}, but {whose} {}", names(there));
            let mend =
                format!("write it for those drums, or add {name} to the `drums` of the deck");
            CardMistake::new(context.pulse(deck, card, name, pulse), message, mend)
        });
        flaws.collect::<Vec<_>>()
    })
}

fn names(drums: &[Drum]) -> String {
    match drums.is_empty() {
        true => "no drum".into(),
        false => listed(drums.iter().map(|d| d.name())),
    }
}
