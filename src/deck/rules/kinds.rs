//! Cards that no kind of question can ask.

use super::Rule;
use crate::deck::check::{CheckContext, Finding, Flaw};
use crate::deck::diagnostic::Severity;
use crate::deck::keys::nearest;

/// A card that no kind of question can ask.
pub static NO_QUESTION: Rule = Rule {
    name: "no-question",
    severity: Severity::Mistake,
    title: "nothing can be asked",
    page: "\
`kinds` narrows a card down to some kinds of question; without it every kind that fits the card is asked. A kind needs
something to ask about: the side needs a clave, strokes need a drum row, hands one that both hands play. A card that no
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
        let span = card.place("kinds");
        let mut add = |message: String, mend: String| {
            let span = span.clone();
            found.push(Flaw {
                span,
                message,
                mend,
            });
        };
        let asked = &card.card.kinds;
        let unknown: Vec<&String> = asked
            .iter()
            .filter(|k| !names.contains(&k.as_str()))
            .collect();
        for kind in &unknown {
            let mend = match nearest(kind, &names) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("kinds are {}", names.join(", ")),
            };
            add(format!("there is no kind `{kind}`"), mend);
        }
        let allowed =
            |k: &&crate::deck::KindFit| asked.is_empty() || asked.iter().any(|a| a == k.name);
        if unknown.is_empty()
            && !kinds
                .iter()
                .filter(allowed)
                .any(|k| (k.asks)(k.name, &card.card))
        {
            let mend = match asked.is_empty() {
                true => "give it a clave, a drum row or a hand row",
                false => "allow other kinds, or give the card what they ask about",
            };
            add("no kind of question fits this card".into(), mend.into());
        }
        found
    })
}
