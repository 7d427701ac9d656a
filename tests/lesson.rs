//! The lesson and where a player stands, as a player types them.

use assert_cmd::Command;
use serde_json::Value;
use std::fs;
use std::path::Path;

fn command(data: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_whichside"));
    command.args(args).arg("--data").arg(data);
    command
}

fn said(data: &Path, args: &[&str]) -> String {
    let run = command(data, args).assert().success();
    String::from_utf8(run.get_output().stdout.clone()).expect("output is text")
}

fn refused(data: &Path, args: &[&str]) -> String {
    let run = command(data, args).assert().code(2);
    String::from_utf8(run.get_output().stderr.clone()).expect("output is text")
}

fn json(data: &Path, args: &[&str]) -> Value {
    serde_json::from_str(&said(data, args)).expect("JSON")
}

/// The cards of today's plan, in order.
fn planned(data: &Path) -> Vec<String> {
    let plan = json(data, &["plan", "--json"]);
    let questions = plan["questions"].as_array().expect("questions");
    let cards = questions
        .iter()
        .map(|q| q["card"].as_str().expect("a card").to_string());
    cards.collect()
}

/// Puts the deck of the tests, three cards and more of the player's own, into the folder.
fn own_deck(data: &Path) {
    fs::create_dir_all(data.join("decks")).unwrap();
    let deck = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/decks/block-party.toml");
    fs::copy(deck, data.join("decks/block-party.toml")).unwrap();
}

#[test]
fn a_deck_put_into_the_folder_today_leads_todays_drill() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    assert!(said(data, &["lesson"]).contains("The lesson is empty"));
    assert!(!planned(data).iter().any(|c| c.starts_with("block-party/")));
    own_deck(data);
    let cards = planned(data);
    let own = cards
        .iter()
        .filter(|c| c.starts_with("block-party/"))
        .count();
    assert!(own >= 3, "{cards:?}");
    assert!(
        cards[..3].iter().all(|c| c.starts_with("block-party/")),
        "{cards:?}"
    );
    let lesson = json(data, &["lesson", "--json"]);
    assert!(
        lesson
            .as_array()
            .unwrap()
            .iter()
            .all(|e| e["held"] == false && e.get("chance").is_none())
    );
    assert!(said(data, &["lesson"]).contains("not met yet"));

    // Taken out, it waits its turn.
    said(data, &["lesson", "remove", "block-party"]);
    assert!(!planned(data).iter().any(|c| c.starts_with("block-party/")));
    said(data, &["lesson", "add", "block-party"]);
    assert!(planned(data)[0].starts_with("block-party/"));
}

#[test]
fn cards_and_decks_are_put_in_and_taken_out_by_name() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    let ids = |data: &Path| -> Vec<String> {
        let lesson = json(data, &["lesson", "--json"]);
        let cards = lesson.as_array().unwrap().iter();
        cards
            .map(|e| e["card"].as_str().unwrap().to_string())
            .collect()
    };
    // A card by its id, by the last part of it, and by its title.
    said(
        data,
        &[
            "lesson",
            "add",
            "variations/bombo-open",
            "corner-hold",
            "Opens that follow the clave",
        ],
    );
    assert_eq!(
        ids(data),
        [
            "tumbao/opens-follow",
            "variations/bombo-open",
            "variations/corner-hold"
        ]
        .map(String::from)
    );
    // It leads, whatever it needs.
    let cards = planned(data);
    assert!(
        ids(data).iter().all(|id| cards[..3].contains(id)),
        "{cards:?}"
    );
    // A whole deck, and one card of it taken out again.
    said(data, &["lesson", "add", "phrases"]);
    said(
        data,
        &["lesson", "remove", "phrases/sixteen", "corner-hold"],
    );
    let now = ids(data);
    assert!(now.contains(&"phrases/four-2-3-bar-3".to_string()));
    assert!(!now.contains(&"phrases/sixteen".to_string()));
    assert!(!now.contains(&"variations/corner-hold".to_string()));
    // Two drums for a player of one: it was asked for.
    said(data, &["lesson", "remove", "phrases"]);
    said(data, &["lesson", "add", "low-drum-two/low-on-three"]);
    assert!(planned(data).contains(&"low-drum-two/low-on-three".to_string()));
}

#[test]
fn what_is_not_there_is_said_with_what_is_near() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    let near = refused(data, &["lesson", "add", "variations/corner-hole"]);
    assert!(
        near.contains("did you mean `variations/corner-hold`?"),
        "{near}"
    );
    let several = refused(data, &["lesson", "add", "clave-in-opens"]);
    assert!(
        several.contains("variations-two-bars/clave-in-opens")
            && several.contains("six-eight/clave-in-opens")
    );
    let none = refused(data, &["lesson", "add", "zzzzzzzz"]);
    assert!(
        none.contains("no card and no deck is called `zzzzzzzz`"),
        "{none}"
    );
    let out = refused(data, &["lesson", "remove", "tumbao/one-bar"]);
    assert!(out.contains("is not in the lesson"), "{out}");
    // Nothing is changed by half.
    refused(data, &["lesson", "add", "tumbao/one-bar", "zzzzzzzz"]);
    assert_eq!(json(data, &["lesson", "--json"]), Value::Array(Vec::new()));
}

#[test]
fn where_one_stands_is_set_and_shown_and_sounds_out() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    assert!(said(data, &["settings"]).contains("new to clave"));
    assert!(planned(data).contains(&"clave/son-2-3".to_string()));
    said(data, &["settings", "--stands", "bands"]);
    assert!(said(data, &["settings"]).contains("play in bands"));
    assert_eq!(json(data, &["settings", "--json"])["stands"], "bands");
    let plan = said(data, &["plan"]);
    assert!(
        plan.contains("This finds out what you already know"),
        "{plan}"
    );
    let wrong = refused(data, &["settings", "--stands", "star"]);
    assert!(wrong.contains("tumbao"), "{wrong}");
}

/// The first drill of a player in bands asks before it shows anything.
#[test]
fn a_player_in_bands_is_asked_before_being_taught() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    let mut drill = command(data, &["drill", "--plain", "--silent", "--seed", "5"]);
    let run = drill.write_stdin("b\n\nstop\n").assert().success();
    let text = String::from_utf8(run.get_output().stdout.clone()).unwrap();
    assert!(text.contains("play in bands"), "{text}");
    assert!(
        text.contains("Answers:") && !text.contains("something new"),
        "{text}"
    );
}
