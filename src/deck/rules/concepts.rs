use super::Rule;
use crate::deck::check::{Desk, Finding};
use crate::deck::diagnostic::Severity;
use crate::deck::keys::nearest;
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

fn check(desk: &Desk) -> Vec<Finding> {
    let mut cards: BTreeMap<&str, usize> = BTreeMap::new();
    for concept in desk
        .all_sheets()
        .flat_map(|s| &s.deck.cards)
        .flat_map(|c| &c.concepts)
    {
        *cards.entry(concept).or_default() += 1;
    }
    let shared: Vec<&str> = cards
        .iter()
        .filter(|(_, n)| **n > 1)
        .map(|(c, _)| *c)
        .collect();
    let mut found = Vec::new();
    for (sheet, card, draft) in desk.cards() {
        for concept in draft
            .card
            .concepts
            .iter()
            .filter(|c| cards[c.as_str()] == 1)
        {
            let mend = match nearest(concept, &shared) {
                Some(near) => {
                    format!("did you mean `{near}`? Otherwise give it to another card too")
                }
                None => "give it to another card too, or take it out".into(),
            };
            found.push(Finding {
                sheet,
                card: Some(card),
                span: draft.place("concepts"),
                message: format!("only this card has `{concept}`"),
                mend,
            });
        }
    }
    found
}
