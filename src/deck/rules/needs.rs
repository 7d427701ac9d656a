//! Decks and cards that should come first and are missing.

use super::{GUESSES, Rule};
use crate::deck::check::{CardMistake, CheckContext, Finding};
use crate::deck::diagnostic::Severity;
use crate::rhythm::did_you_mean;
use std::collections::{HashMap, HashSet};

/// A deck or card that is to come first and is not there.
pub static NEEDS: Rule = Rule {
    name: "needs",
    severity: Severity::Mistake,
    title: "what should come first is not there",
    page: "\
`needs` names decks (at the top) or cards (in a card) that are learned first: `\"clave\"`, or `\"clave/son-2-3\"` for a card of
another deck. The check looks among the files it was given and the decks that come with the program. A card may need
only cards that come before it in its deck, or cards of other decks; two decks may not need each other.

A card is met only after every card that it names. The cards of a deck are met only after half of the cards of each deck
that it names: with 14 cards in `clave`, after any 7 of them. A player who drills one deck alone waits for nothing
outside it, and cards of the lesson wait only for each other.",
    check: Some(check),
};

fn check(context: &CheckContext) -> Vec<Finding> {
    let mut found = Vec::new();
    let decks: Vec<&str> = context.all_decks().map(|s| s.deck.id.as_str()).collect();
    for (i, deck) in context.decks.iter().enumerate() {
        let fields = &deck.head.fields;
        let span = || fields.get("needs").map_or(0..0, |f| f.value.clone());
        for need in &deck.deck.needs {
            let (message, mend) = match decks.contains(&need.as_str()) {
                false => (
                    format!("there is no deck `{need}`"),
                    did_you_mean(need, &decks, elsewhere),
                ),
                true if comes_round(context, &deck.deck.id, need) => (
                    format!("`{need}` needs `{}` in its turn", deck.deck.id),
                    "take one of the two out".into(),
                ),
                true => continue,
            };
            found.push(Finding(i, None, CardMistake::new(span(), message, mend)));
        }
    }
    let all = context.all_decks().flat_map(|s| &s.deck.cards);
    let cards: Vec<&str> = all.map(|c| c.id.as_str()).collect();
    let known: HashSet<&str> = cards.iter().copied().collect();
    let places: HashMap<(usize, &str), usize> = context
        .cards()
        .map(|(i, c, card)| ((i, card.card.id.as_str()), c))
        .collect();
    for (i, c, card) in context.cards() {
        for need in &card.card.needs {
            let later = places.get(&(i, need.as_str())).is_some_and(|p| *p >= c);
            let guess = if found.len() < GUESSES {
                &cards[..]
            } else {
                &[]
            };
            let (message, mend) = match (known.contains(need.as_str()), later) {
                (false, _) => (
                    format!("there is no card `{need}`"),
                    did_you_mean(need, guess, elsewhere),
                ),
                (_, true) => (
                    format!("`{need}` does not come before this card"),
                    "move it up".into(),
                ),
                _ => continue,
            };
            let flaw = CardMistake::new(card.place("needs"), message, mend);
            found.push(Finding(i, Some(c), flaw));
        }
    }
    found
}

fn elsewhere() -> String {
    "check it together with the file that has it".into()
}

/// Does `deck`, or what it needs, need `wanted`?
fn comes_round(context: &CheckContext, wanted: &str, deck: &str) -> bool {
    let mut open = vec![deck];
    let mut seen: Vec<&str> = Vec::new();
    while let Some(id) = open.pop() {
        if id == wanted {
            return true;
        }
        if !seen.contains(&id) {
            seen.push(id);
            let needs = context
                .all_decks()
                .filter(|s| s.deck.id == id)
                .flat_map(|s| &s.deck.needs);
            open.extend(needs.map(String::as_str));
        }
    }
    false
}
