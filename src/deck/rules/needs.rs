use super::Rule;
use crate::deck::check::{Desk, Finding};
use crate::deck::diagnostic::Severity;
use crate::deck::keys::nearest;

/// A deck or card that is to come first and is not there.
pub static NEEDS: Rule = Rule {
    name: "needs",
    severity: Severity::Mistake,
    title: "what should come first is not there",
    page: "\
`needs` names decks (at the top) or cards (in a card) that are learned first: `\"clave\"`, or `\"clave/son-2-3\"` for a card of
another deck. The check looks among the files it was given and the decks that come with the program. A card may only
need cards that stand before it in its deck, or cards of other decks; two decks may not need each other.

A card is met only after every card that it names. The cards of a deck are met only after half of the cards of each deck
that it names: with 14 cards in `clave`, after any 7 of them. A player who drills one deck alone waits for nothing outside
it.",
    check: Some(check),
};

fn check(desk: &Desk) -> Vec<Finding> {
    let mut found = Vec::new();
    let decks: Vec<&str> = desk.all_sheets().map(|s| s.deck.id.as_str()).collect();
    for (i, sheet) in desk.sheets.iter().enumerate() {
        for need in &sheet.deck.needs {
            let wrong = match decks.contains(&need.as_str()) {
                false => Some((
                    format!("there is no deck `{need}`"),
                    did_you_mean(need, &decks),
                )),
                true if comes_round(desk, &sheet.deck.id, need) => Some((
                    format!("`{need}` needs `{}` in its turn", sheet.deck.id),
                    "take one of the two out".to_string(),
                )),
                true => None,
            };
            if let Some((message, mend)) = wrong {
                let span = sheet.needs_span.clone();
                found.push(Finding {
                    sheet: i,
                    card: None,
                    span,
                    message,
                    mend,
                });
            }
        }
    }
    let cards: Vec<&str> = desk
        .all_sheets()
        .flat_map(|s| &s.deck.cards)
        .map(|c| c.id.as_str())
        .collect();
    for (i, c, draft) in desk.cards() {
        let own = &desk.sheets[i].deck.cards;
        for need in &draft.card.needs {
            let later = own
                .iter()
                .position(|card| card.id == *need)
                .is_some_and(|p| p >= c);
            let wrong = match (cards.contains(&need.as_str()), later) {
                (false, _) => Some((
                    format!("there is no card `{need}`"),
                    did_you_mean(need, &cards),
                )),
                (_, true) => Some((
                    format!("`{need}` does not come before this card"),
                    "move it up".into(),
                )),
                _ => None,
            };
            if let Some((message, mend)) = wrong {
                let span = draft.place("needs");
                found.push(Finding {
                    sheet: i,
                    card: Some(c),
                    span,
                    message,
                    mend,
                });
            }
        }
    }
    found
}

/// Does `deck`, or what it needs, need `wanted`?
fn comes_round(desk: &Desk, wanted: &str, deck: &str) -> bool {
    let mut open = vec![deck];
    let mut seen: Vec<&str> = Vec::new();
    while let Some(id) = open.pop() {
        if id == wanted {
            return true;
        }
        if !seen.contains(&id) {
            seen.push(id);
            let needs = desk
                .all_sheets()
                .filter(|s| s.deck.id == id)
                .flat_map(|s| &s.deck.needs);
            open.extend(needs.map(String::as_str));
        }
    }
    false
}

fn did_you_mean(word: &str, known: &[&str]) -> String {
    match nearest(word, known) {
        Some(near) => format!("did you mean `{near}`?"),
        None => "check it together with the file that has it".into(),
    }
}
