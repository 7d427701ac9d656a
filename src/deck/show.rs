//! A card as text: what it says, its grid, what can be asked about it.

use super::{Card, PhrasePlace, States};
use crate::rhythm::notation::write_block;
use crate::rhythm::{Hand, Pattern, Score, counted, spaced};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

/// Writes a card for its writer to look over. `asked` names the ways in which it can be asked, such as `side:read`.
pub fn show(card: &Card, asked: &[String]) -> String {
    let mut text = format!("{}  {}\n", card.id, card.title);
    if !card.about.is_empty() {
        text += &format!("    {}\n", card.about);
    }
    for line in facts(card) {
        text += &format!("    {line}\n");
    }
    if let Some(choice) = &card.choice {
        let wrong = choice.wrong.join("; ");
        text += &format!("    asks: {}\n    right: {}\n", choice.ask, choice.right);
        text += &format!("    wrong: {wrong}\n    why: {}\n", choice.why);
    } else {
        text += &indented(&write_block(&with_clave(card)));
        if let Some(thin) = card.thinned() {
            text += &match card.thin_from {
                Some(from) => format!("    thinner, from {from} on:\n"),
                None => "    thinner, for fast tempos:\n".to_string(),
            };
            text += &indented(&write_block(&Score::of(thin)));
        }
    }
    let asked = match asked.is_empty() {
        true => "in no way".to_string(),
        false => ways(asked),
    };
    text + &format!("    can be asked: {asked}\n")
}

/// Ways of asking, such as `side:read`, in words, both senses of a kind together: `side by eye and by ear`.
pub(super) fn ways(asked: impl IntoIterator<Item = impl AsRef<str>>) -> String {
    let mut kinds: BTreeMap<String, BTreeSet<Reverse<&str>>> = BTreeMap::new();
    for way in asked {
        let (kind, sense) = way.as_ref().split_once(':').unwrap_or((way.as_ref(), ""));
        let spoken = if sense == "hear" { "by ear" } else { "by eye" };
        let senses = kinds.entry(kind.to_string()).or_default();
        senses.insert(Reverse(spoken));
    }
    let kinds = kinds.into_iter().map(|(kind, senses)| {
        let senses: Vec<&str> = senses.into_iter().map(|Reverse(s)| s).collect();
        format!("{kind} {}", senses.join(" and "))
    });
    kinds.collect::<Vec<_>>().join(", ")
}

/// What a card says besides its grid, a line each.
pub fn facts(card: &Card) -> Vec<String> {
    let mut facts = Vec::new();
    let states = match card.states {
        States::Neither => "fits both sides".into(),
        _ => format!("states the {}", states(card)),
    };
    match card.clave {
        _ if card.choice.is_some() => {}
        Some(clave) => facts.push(format!("{states}; the clave under bar 1 is {clave}")),
        None => facts.push("nothing to do with clave".into()),
    }
    if let Some(place) = card.place {
        facts.push(format!("comes in {}", self::place(place)));
    }
    if !card.often.is_empty() {
        let often = card.often.iter();
        let often = often
            .map(|(style, bars)| format!("{style} once in {}", counted(*bars as usize, "bar")));
        let often: Vec<String> = often.collect();
        facts.push(format!("usually at most: {}", often.join(", ")));
    }
    if let Some(school) = &card.school {
        facts.push(format!("school: {}, {}", school.subject, school.way));
    }
    if card.choice.is_none() {
        let (low, high) = card.tempo;
        let unit = card.grid.beat_unit();
        facts.push(format!("{low} to {high} {unit} notes a minute"));
    }
    if let Some(drums) = &card.score.drums {
        let name = card.rudiment;
        let name = name.map_or(String::new(), |r| format!(" ({})", r.name));
        facts.push(format!("sticking: {}{name}", sticking(drums)));
    }
    facts.push(format!("concepts: {}", card.concepts.join(", ")));
    facts.push(format!("source: {}", card.source));
    facts
}

/// What a card states, in the word of the deck language.
pub(super) fn states(card: &Card) -> &'static str {
    match card.states {
        States::Neither => "neither",
        States::Bar(side) => side.name(),
        States::Direction => "direction",
    }
}

/// A place in the words of the deck language.
pub(super) fn place(place: PhrasePlace) -> String {
    let phrase = place.phrase;
    let phrase = phrase.map_or(String::new(), |d| format!(" in {}", d.name()));
    format!("bar {} of {}{phrase}", place.bar, place.of)
}

pub(super) fn sticking(drums: &Pattern) -> String {
    let hands = drums.hands();
    match hands.iter().all(Option::is_none) {
        true => "left open".into(),
        false => letters(&hands),
    }
}

/// A row of hands, one a stroke: `R L ? R`.
pub(super) fn letters(hands: &[Option<Hand>]) -> String {
    spaced(hands.iter().map(|h| h.map_or('?', Hand::letter)))
}

/// The card's score with its clave as a row.
pub(super) fn with_clave(card: &Card) -> Score {
    let mut score = card.score.clone();
    if let Some(clave) = card.clave {
        score.set_line(clave.line(card.grid).stretch(0..score.pulses()));
    }
    score
}

fn indented(block: &str) -> String {
    let lines = block.lines().map(|l| match l.is_empty() {
        true => "\n".to_string(),
        false => format!("    {l}\n"),
    });
    lines.collect()
}
