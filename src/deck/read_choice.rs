//! The question in words of a card.

use super::diagnostic::Notes;
use super::keys::TableKeys;
use super::{WordChoice, rules};
use crate::rhythm::counted;

/// The question of a card of words with its answers; `None` where it has none, or one with a mistake.
pub(super) fn read_choice(keys: &TableKeys, notes: &mut Notes) -> Option<WordChoice> {
    let ask = keys.text("ask", notes);
    let right = keys.text("right", notes);
    let wrong = keys.texts("wrong", notes);
    let why = keys.text("why", notes);
    if !["ask", "right", "wrong"].iter().any(|k| keys.has(k)) {
        return None;
    }
    if let Some(span) = keys.raw("grid", notes) {
        let message = "this card has both a grid and a question in words";
        notes.add(&rules::CHOICE, span, message, "make two cards of it");
    }
    let (ask, right, why) = (ask?, right?, why?);
    if wrong.is_empty() || wrong.len() > 5 {
        let message = format!("this card has {}", counted(wrong.len(), "wrong answer"));
        let mend = "write one to five, as a list";
        notes.add(&rules::CHOICE, right.span, message, mend);
        return None;
    }
    let mut answers = vec![right.value.to_lowercase()];
    for at in &wrong {
        let lower = at.value.to_lowercase();
        if lower.is_empty() || answers.contains(&lower) {
            let message = format!("the answer `{}` is here twice, or is empty", at.value);
            let mend = "make all the answers different";
            notes.add(&rules::CHOICE, at.span.clone(), message, mend);
        }
        answers.push(lower);
    }
    Some(WordChoice {
        ask: ask.value,
        right: right.value,
        wrong: wrong.into_iter().map(|w| w.value).collect(),
        why: why.value,
    })
}
