//! The deck language as a JSON Schema (draft 2020-12), for editors that use one to complete and check TOML.

use super::read::DECK_KEYS;
use super::read_card::CARD_KEYS;
use crate::hands::RUDIMENTS;
use serde_json::{Map, Value, json};

/// The schema.
pub fn schema() -> Value {
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A deck of cards for clave and hand drums",
        "type": "object",
        "required": ["title", "card"],
        "additionalProperties": false,
        "properties": properties(DECK_KEYS),
        // What the head of a deck does not say, its cards do.
        "allOf": [
            { "anyOf": [{ "required": ["source"] }, every_card(json!({ "required": ["source"] }))] },
            { "anyOf": [
                { "required": ["tempo"] },
                every_card(json!({ "anyOf": [{ "required": ["tempo"] }, { "required": ["ask"] }] })),
            ] },
        ],
        "$defs": { "card": {
            "type": "object",
            "required": ["id", "title", "concepts"],
            "additionalProperties": false,
            "properties": properties(CARD_KEYS),
            "oneOf": [
                { "required": ["grid", "states"], "properties": { "ask": false, "right": false, "wrong": false, "why": false } },
                { "required": ["ask", "right", "wrong", "why"], "properties": { "grid": false } },
            ],
            "if": { "required": ["states"], "properties": { "states": { "enum": ["two side", "three side", "direction"] } } },
            "then": { "required": ["clave"] },
            "dependentRequired": { "thin_from": ["thin"] },
        } },
    })
}

/// What holds for every card of the deck.
fn every_card(so: Value) -> Value {
    json!({ "properties": { "card": { "items": so } } })
}

fn properties(keys: &[&str]) -> Value {
    let properties: Map<String, Value> = keys
        .iter()
        .map(|key| (key.to_string(), property(key)))
        .collect();
    Value::Object(properties)
}

/// What a key takes.
fn property(key: &str) -> Value {
    let text = |about: &str| json!({ "type": "string", "minLength": 1, "description": about });
    let list = |about: &str| json!({ "oneOf": [{ "type": "string" }, { "type": "array", "items": { "type": "string" } }], "description": about });
    let one_of = |values: &[&str], about: &str| json!({ "enum": values, "description": about });
    match key {
        "id" => json!({ "type": "string", "pattern": "^[a-z0-9-]{1,64}$",
            "description": "Short name that stays: the history of a card hangs on it" }),
        "title" => text("What the player reads; may change"),
        "about" => text("One or two sentences, read when the card is met"),
        "clave" => one_of(
            &["son 2-3", "son 3-2", "rumba 2-3", "rumba 3-2"],
            "The clave under the first bar",
        ),
        "states" => one_of(
            &["two side", "three side", "direction", "neither"],
            "What the part says about the clave",
        ),
        "tempo" => {
            json!({ "description": "Slowest and fastest tempo, quarter notes a minute, in 6/8 dotted quarter notes", "oneOf": [
            { "type": "number", "minimum": 20, "maximum": 400 },
            { "type": "array", "items": { "type": "number", "minimum": 20, "maximum": 400 }, "minItems": 1, "maxItems": 2 },
        ] })
        }
        "place" => json!({ "type": "string", "pattern": "^bar [0-9]+ of [0-9]+( in (2-3|3-2))?$",
            "description": "Where in a phrase it comes, such as bar 7 of 8 in 2-3" }),
        "styles" => list("Where it is at home, as players call it"),
        "concepts" => list("Concepts that it shares with other cards"),
        "kinds" => list("Kinds of question that it allows; if left out, all that fit"),
        "source" => text("A published source, or: common practice, no source"),
        "grid" => {
            text("Rows as on paper, between three quotes: a count row and the rows that play")
        }
        "needs" => list(
            "What is learned first: at the top, decks (half of the cards of each); in a card, cards (each of them)",
        ),
        "school" => {
            json!({ "type": "string", "pattern": ":", "description": "subject: way, such as low drum: three side" })
        }
        "drums" => json!({ "description": "The drums that the deck is for", "oneOf": [
            { "enum": ["quinto", "conga", "tumba"] },
            { "type": "array", "items": { "enum": ["quinto", "conga", "tumba"] } },
        ] }),
        "rudiment" => {
            let names: Vec<&str> = RUDIMENTS.iter().map(|r| r.name).collect();
            one_of(&names, "The named sticking that is the idea of the card")
        }
        "thin" => list(
            "Light strokes that become rests where the hands do not get through all of them, by their counts",
        ),
        "thin_from" => json!({ "type": "number", "minimum": 20, "maximum": 400,
            "description": "The tempo from which the thinner form is played, no slower than the hands go with every \
                            stroke" }),
        "often" => {
            json!({ "type": "object", "additionalProperties": { "type": "integer", "minimum": 1, "maximum": 1000 },
            "description": "By style: usually at most once in this many bars" })
        }
        "ask" => text("A question in words"),
        "right" => text("Its answer"),
        "wrong" => json!({ "description": "One to five wrong answers", "oneOf": [
            { "type": "string", "minLength": 1 },
            { "type": "array", "items": { "type": "string", "minLength": 1 }, "minItems": 1, "maxItems": 5, "uniqueItems": true },
        ] }),
        "why" => text("The reason, shown with the answer"),
        "card" => json!({ "type": "array", "items": { "$ref": "#/$defs/card" } }),
        _ => Value::Bool(true),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_of_the_reader_is_described() {
        for key in DECK_KEYS.iter().chain(CARD_KEYS) {
            assert!(property(key).is_object(), "{key}");
        }
    }
}
