//! Cards with the same title.

use super::Rule;
use crate::deck::check::{CardMistake, CheckContext, Finding};
use crate::deck::diagnostic::Severity;
use std::collections::HashMap;

/// Two cards with the same title.
pub static SAME_TITLE: Rule = Rule {
    name: "same-title",
    severity: Severity::Mistake,
    title: "a title used twice",
    page: "\
A question on the strokes of a card names the card by its title: `Corner: which stroke is on 2?` Two cards with the same
title would make one question with two right answers. The check looks among the files that it was given. A title that
names a stroke (`Open on 3`) is fine, but then that stroke is not asked by eye, since the title tells it.",
    check: Some(check),
};

fn check(context: &CheckContext) -> Vec<Finding> {
    let mut first: HashMap<String, String> = HashMap::new();
    let mut found = Vec::new();
    for (deck, c, card) in context.cards() {
        let (title, id) = (card.card.title.to_lowercase(), card.card.id.clone());
        match first.get(&title) {
            Some(other) => {
                let message = format!("`{other}` has the same title");
                let mend = "give each card a title of its own";
                let flaw = CardMistake::new(card.place("title"), message, mend);
                found.push(Finding(deck, Some(c), flaw));
            }
            None => {
                first.insert(title, id);
            }
        }
    }
    found
}
