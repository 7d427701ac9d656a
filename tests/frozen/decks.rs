//! Frozen: how decks are read, checked, drawn and covered, the shipped ones and those with mistakes.

use crate::{TextSums, rounded};
use std::fmt::Write;
use std::fs;
use std::path::PathBuf;
use whichside::deck::{
    CardFacts, SHIPPED, Setting, check, coverage, facts, idea, limits, nearest_rule, read, render,
    schema, shipped, show, starter,
};
use whichside::hands::{Handed, Level, Player};
use whichside::rhythm::Tempo;
use whichside::rhythm::notation::write_block;

fn bad_decks() -> Vec<(String, String)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/decks/bad");
    let files = fs::read_dir(folder).unwrap().map(|f| f.unwrap().path());
    let mut files: Vec<PathBuf> = files
        .filter(|f| f.extension().is_some_and(|e| e == "toml"))
        .collect();
    files.sort();
    let named = files.into_iter().map(|f| {
        let name = f.file_name().unwrap().to_string_lossy().into_owned();
        let text = fs::read_to_string(&f).unwrap();
        (name, text)
    });
    named.collect()
}

/// What is found in a deck, as it is told in so many columns.
fn drawn(name: &str, text: &str, width: usize) -> String {
    let files = [(name.to_string(), text.to_string())];
    let found = check(&files, &Setting::default()).remove(0);
    render(&found, text, width)
}

#[test]
fn findings_are_drawn_as_they_were_at_any_width() {
    let mut sums = TextSums::default();
    for (n, (name, text)) in bad_decks().into_iter().enumerate() {
        let width = [40, 61, 132][n % 3];
        sums.add(format!("{name} in {width}"), &drawn(&name, &text, width));
    }
    insta::assert_snapshot!(sums.told());
}

#[test]
fn shipped_decks_that_were_changed_in_one_place_are_found_out_as_they_were() {
    let (mut sums, mut read_text) = (TextSums::default(), String::new());
    let changes: [(&str, &str); 10] = [
        ("O", "S"),
        ("L", "R"),
        (" | ", " "),
        ("tempo = [", "tempo = [9"),
        ("states = ", "stated = "),
        ("conga", "congo"),
        ("2-3", "3-2"),
        ("\"son", "\"san"),
        (". .", "O ."),
        ("source = ", "sauce = "),
    ];
    for (n, (name, text)) in SHIPPED.iter().enumerate() {
        for (k, (from, to)) in changes.iter().enumerate().skip(n % 3).step_by(3) {
            let Some((at, _)) = text.match_indices(from).nth(5 + 3 * n) else {
                continue;
            };
            let changed = format!("{}{to}{}", &text[..at], &text[at + from.len()..]);
            let found = drawn(name, &changed, 80);
            sums.add(*name, &found);
            if (n + k).is_multiple_of(9) {
                writeln!(read_text, "{name}, {from} for {to}\n{found}").unwrap();
            }
        }
    }
    insta::assert_snapshot!("changed_decks_sums", sums.told());
    insta::assert_snapshot!("changed_decks", read_text);
}

#[test]
fn cards_are_read_and_shown_as_they_were() {
    let (mut sums, mut shown) = (TextSums::default(), String::new());
    let asked = ["side".to_string(), "strokes by ear".to_string()];
    let players = [
        (Level::Learner, Handed::Left),
        (Level::Expert, Handed::Right),
    ];
    for (name, text) in SHIPPED {
        let (deck, found) = read(name, text);
        assert!(found.is_empty(), "{name}");
        for (n, card) in deck.cards.iter().enumerate() {
            let page = show(card, &asked);
            let mut more = format!(
                "{:?} {} {:?}\n",
                facts(card),
                idea(card),
                card.clave_under()
            );
            writeln!(more, "{}", write_block(&card.score)).unwrap();
            writeln!(more, "{:?}", card.thinned()).unwrap();
            for (level, handed) in players {
                let player = Player { level, handed };
                let relief = card.relief(&player).map(|r| r.is_clear());
                let thin =
                    [90.0, 150.0, 220.0].map(|bpm| card.is_thin_at(Tempo::new(bpm), &player));
                writeln!(more, "{relief:?} {thin:?}").unwrap();
            }
            let data = serde_json::to_string(&CardFacts::new(card, asked.to_vec())).unwrap();
            sums.add(*name, &page);
            sums.add(*name, &rounded(&more));
            sums.add(*name, &rounded(&data));
            if n % 40 == 7 {
                writeln!(shown, "{page}\n{}", rounded(&more)).unwrap();
            }
        }
    }
    insta::assert_snapshot!("cards_sums", sums.told());
    insta::assert_snapshot!("cards", shown);
}

#[test]
fn what_decks_cover_and_the_language_are_told_as_they_were() {
    let decks = shipped();
    let kinds = |_: &whichside::deck::Card| vec!["side by eye".to_string()];
    let covered = coverage(&decks[..2], &decks, kinds);
    let covered = rounded(&serde_json::to_string_pretty(&covered).unwrap());
    insta::assert_snapshot!("coverage", covered);
    insta::assert_snapshot!("limits", limits().join("\n"));
    insta::assert_snapshot!("starter", starter("Friday night.toml"));
    let schema = serde_json::to_string_pretty(&schema()).unwrap();
    insta::assert_snapshot!("schema", schema);
    let near = ["hand-raw", "tempo", "contrl-character", "xyz"].map(nearest_rule);
    insta::assert_snapshot!("nearest_rules", format!("{near:?}"));
}
