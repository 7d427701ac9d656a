//! A bad deck for each rule of the check, with the message that it gives. The messages are frozen from our own output
//! after being read; set `FREEZE_MESSAGES` to write them anew.

use std::fs;
use std::path::PathBuf;
use whichside::deck::{self, DrawOptions, KindFit, Setting, render, rules};
use whichside::question::{self, KINDS, Sense};

fn setting() -> Setting {
    let asks = |kind: &str, card: &deck::Card| {
        question::kind(kind).is_some_and(|k| Sense::ALL.iter().any(|s| k.fits(card, *s)))
    };
    Setting {
        kinds: KINDS
            .iter()
            .map(|k| KindFit {
                name: k.name(),
                asks,
            })
            .collect(),
        ..Setting::default()
    }
}

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/decks/bad")
}

#[test]
fn every_rule_has_a_bad_deck_that_breaks_it_and_a_message() {
    for rule in rules::all() {
        let file = format!("{}.toml", rule.name);
        let text =
            fs::read_to_string(folder().join(&file)).unwrap_or_else(|e| panic!("{file}: {e}"));
        let found = deck::check(&[(file.clone(), text.clone())], &setting()).remove(0);
        assert!(
            found.iter().any(|d| d.rule == rule.name),
            "{file}: {found:?}"
        );
        let stray = found
            .iter()
            .find(|d| d.rule != rule.name && !ALSO.contains(&(rule.name, d.rule)));
        assert_eq!(stray, None, "{file}");
        let message = render(&found, &text, DrawOptions::default());
        let golden = folder().join(format!("{}.txt", rule.name));
        if std::env::var_os("FREEZE_MESSAGES").is_some() {
            fs::write(&golden, &message).unwrap();
        }
        let frozen = fs::read_to_string(&golden).unwrap_or_default();
        assert_eq!(message, frozen, "{file}");
        for d in found {
            let line = text.lines().nth(d.line - 1).unwrap_or_default();
            assert!(
                d.column >= 1 && d.column <= line.chars().count() + 1,
                "{d:?}"
            );
            assert!(!d.mend.is_empty() && !d.message.is_empty());
        }
    }
}

/// Rules that a bad deck breaks besides its own, since one slip has two faces.
const ALSO: &[(&str, &str)] = &[("clave-row", "value")];

/// A rule that is written but not in the list would never be checked, explained or tested. Those of reading put
/// themselves in it.
#[test]
fn every_rule_that_is_written_is_in_the_list() {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("src/deck/rules");
    let mut written = 0;
    for entry in fs::read_dir(folder).unwrap() {
        let text = fs::read_to_string(entry.unwrap().path()).unwrap();
        let names = text
            .lines()
            .filter_map(|l| l.trim().strip_prefix("name: \""))
            .filter_map(|l| l.strip_suffix("\","));
        for name in names {
            written += 1;
            assert!(rules::named(name).is_some(), "{name}");
        }
    }
    assert!(written >= 6, "{written}");
}

#[test]
fn every_bad_deck_has_a_rule() {
    for entry in fs::read_dir(folder()).unwrap() {
        let path = entry.unwrap().path();
        let stem = path.file_stem().unwrap().to_str().unwrap();
        assert!(rules::named(stem).is_some(), "{stem}");
    }
}

#[test]
fn rules_have_names_titles_and_pages_of_their_own() {
    let all = rules::all();
    for (i, rule) in all.iter().enumerate() {
        assert!(
            rule.name
                .chars()
                .all(|c| c.is_ascii_lowercase() || c == '-'),
            "{}",
            rule.name
        );
        assert!(rule.page.len() > 100, "{}", rule.name);
        assert!(
            all[..i]
                .iter()
                .all(|r| r.name != rule.name && r.title != rule.title && r.page != rule.page)
        );
    }
}

/// A mistake in one card leaves the others usable.
#[test]
fn good_cards_of_a_bad_deck_stay() {
    let text = fs::read_to_string(folder().join("syntax.toml")).unwrap();
    let (deck, found) = deck::read("syntax.toml", &text);
    assert_eq!(
        deck.cards.iter().map(|c| c.id.as_str()).collect::<Vec<_>>(),
        ["syntax/second"]
    );
    assert_eq!(found.len(), 2, "{found:?}");
}
