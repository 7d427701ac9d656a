//! Concepts that only one card has.

use super::{GUESSES, Rule};
use crate::deck::check::{CardMistake, CheckContext, Finding};
use crate::deck::diagnostic::Severity;
use crate::rhythm::nearest;
use std::cell::Cell;
use std::collections::BTreeMap;

/// A concept that no other card has.
pub static CONCEPT: Rule = Rule {
    name: "lonely-concept",
    severity: Severity::Warning,
    title: "a concept that no other card shares",
    page: "\
Concepts tie cards together: what you do on one card tells something about the others, and the report says which concepts
are weak. A concept on one card alone tells nothing, and is often a slip of the pen. The check counts the cards of the
files it was given and of the decks that come with the program.",
    check: Some(check),
};

fn check(context: &CheckContext) -> Vec<Finding> {
    let mut cards: BTreeMap<&str, usize> = BTreeMap::new();
    let all = context.all_decks().flat_map(|s| &s.deck.cards);
    for concept in all.flat_map(|c| &c.concepts) {
        *cards.entry(concept).or_default() += 1;
    }
    let shared = cards.iter().filter(|(_, n)| **n > 1);
    let shared: Vec<&str> = shared.map(|(c, _)| *c).collect();
    let told = Cell::new(0);
    context.each_card(|_, card| {
        let concepts = card.card.concepts.iter();
        let alone = concepts.filter(|c| cards[c.as_str()] == 1);
        let flaws = alone.map(|concept| {
            told.set(told.get() + 1);
            let known = if told.get() <= GUESSES {
                &shared[..]
            } else {
                &[]
            };
            let mend = match nearest(concept, known.iter().map(|k| (k, k)), 0.8) {
                Some(near) => {
                    format!("did you mean `{near}`? Otherwise give it to another card too")
                }
                None => "give it to another card too, or take it out".into(),
            };
            let message = format!("only this card has `{concept}`");
            CardMistake::new(card.place("concepts"), message, mend)
        });
        flaws.collect::<Vec<_>>()
    })
}
