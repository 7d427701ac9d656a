//! The schema that editors complete by, held against decks by a validator that knows nothing of the deck reader: what is
//! shipped is valid, and so is what the program writes for a beginner; what is not built like a deck is not.

use boon::{Compiler, SchemaIndex, Schemas};
use serde_json::Value;
use std::fs;
use std::path::PathBuf;
use whichside::deck::{SHIPPED, schema, starter};

struct Validator {
    schemas: Schemas,
    index: SchemaIndex,
}

impl Validator {
    fn new() -> Validator {
        let mut schemas = Schemas::new();
        let mut compiler = Compiler::new();
        compiler.add_resource("deck.json", schema()).unwrap();
        let index = compiler.compile("deck.json", &mut schemas).unwrap();
        Validator { schemas, index }
    }

    /// What is wrong, in the validator's words. `None` where it is valid.
    fn complaint(&self, deck: &Value) -> Option<String> {
        let checked = self.schemas.validate(deck, self.index);
        checked.err().map(|e| format!("{e:#}"))
    }
}

fn json(toml: &str) -> Option<Value> {
    let table: toml::Table = toml.parse().ok()?;
    Some(serde_json::to_value(table).unwrap())
}

#[test]
fn shipped_decks_and_the_starter_are_valid() {
    let validator = Validator::new();
    let starter = starter("corner.toml");
    let own = include_str!("decks/block-party.toml");
    let more = [("starter", starter.as_str()), ("block party", own)];
    for (name, text) in SHIPPED.iter().copied().chain(more) {
        let deck = json(text).unwrap();
        assert_eq!(validator.complaint(&deck), None, "{name}");
    }
}

/// Rules whose bad decks are built wrongly: an editor that has the schema shows it. The others are about the trade, or
/// about several places together; a schema cannot say them.
const BUILT_WRONGLY: &[&str] = &[
    "unknown-key",
    "missing-key",
    "value",
    "name",
    "tempo-range",
    "words",
    "thin",
];

#[test]
fn bad_decks_are_invalid_where_they_are_built_wrongly() {
    let validator = Validator::new();
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/decks/bad");
    let (mut tried, mut wrong) = (0, Vec::new());
    for rule in whichside::deck::rules::all() {
        let text = fs::read_to_string(folder.join(format!("{}.toml", rule.name))).unwrap();
        let Some(deck) = json(&text) else {
            // TOML itself is broken: no schema comes to see it.
            assert_eq!(rule.name, "syntax");
            continue;
        };
        tried += 1;
        let complaint = validator.complaint(&deck);
        println!("{}: {}", rule.name, complaint.as_deref().unwrap_or("valid"));
        if complaint.is_some() != BUILT_WRONGLY.contains(&rule.name) {
            wrong.push((rule.name, complaint));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(tried > 20, "{tried}");
}

#[test]
fn each_key_is_held_to_its_sort() {
    // One slip at a time in a valid deck, each against the JSON Schema keyword that speaks of it.
    let validator = Validator::new();
    let good = starter("corner.toml");
    let slips = [
        ("states = \"neither\"", "states = \"both\""),
        ("clave = \"son 2-3\"", "clave = \"bossa 2-3\""),
        ("id = \"plain\"", "id = \"Plain bar\""),
        ("concepts = [\"tumbao\", \"neutral part\"]", "concepts = 7"),
        ("place = \"bar 7 of 8 in 2-3\"", "place = \"at the end\""),
        ("often = {", "thin = [1, 3]\noften = {"),
        ("tempo = [", "tempo = [1000, "),
        ("title = \"The plain bar\"", "titel = \"The plain bar\""),
    ];
    for (from, to) in slips {
        let bad = good.replacen(from, to, 1);
        assert_ne!(bad, good, "{from}");
        let deck = json(&bad).unwrap();
        assert!(validator.complaint(&deck).is_some(), "{to}");
    }
}
