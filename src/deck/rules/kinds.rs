//! Cards that no kind of question can ask.

use super::Rule;
use crate::deck::check::{CardMistake, CheckContext, Finding, KindFit};
use crate::deck::diagnostic::Severity;
use crate::rhythm::did_you_mean;

/// A card that no kind of question can ask.
pub static NO_QUESTION: Rule = Rule {
    name: "no-question",
    severity: Severity::Mistake,
    title: "nothing can be asked",
    page: "\
`kinds` narrows a card down to some kinds of question; without it every kind that fits the card is asked. A kind needs
something to ask about: the side needs a clave, strokes need a drum row, and hands need one that both hands play. A \
card that no
kind can ask would never come up.",
    check: Some(check),
};

fn check(context: &CheckContext) -> Vec<Finding> {
    let kinds = &context.setting.kinds;
    if kinds.is_empty() {
        return Vec::new();
    }
    let names: Vec<&str> = kinds.iter().map(|k| k.name).collect();
    context.each_card(|_, card| {
        let mut found = Vec::new();
        let mut add = |message: String, mend: String| {
            found.push(CardMistake::new(card.place("kinds"), message, mend));
        };
        let asked = &card.card.kinds;
        for kind in asked.iter().filter(|k| !names.contains(&k.as_str())) {
            let otherwise = || format!("kinds are {}", names.join(", "));
            let mend = did_you_mean(kind, &names, otherwise);
            add(format!("there is no kind `{kind}`"), mend);
        }
        let known = asked.iter().all(|k| names.contains(&k.as_str()));
        let allowed = |k: &&KindFit| asked.is_empty() || asked.iter().any(|a| a == k.name);
        let mut allowed = kinds.iter().filter(allowed);
        if known && !allowed.any(|k| (k.asks)(k.name, &card.card)) {
            let mend = match asked.is_empty() {
                true => "give it a clave, a drum row or a hand row",
                false => "allow other kinds, or give the card what they ask about",
            };
            add("no kind of question fits this card".into(), mend.into());
        }
        found
    })
}
