//! A bad deck for each rule of the check, with the message that it gives. The messages are frozen from our own output
//! after being read; set `FREEZE_MESSAGES` to write them anew.

use std::fs;
use std::path::PathBuf;
use whichside::deck::{self, KindFit, Setting, render, rules};
use whichside::question::{self, KINDS, Sense};

fn setting() -> Setting {
    let asks = |kind: &str, card: &deck::Card| {
        question::kind(kind).is_some_and(|k| Sense::ALL.iter().any(|s| (k.fits)(card, *s)))
    };
    Setting {
        kinds: KINDS
            .iter()
            .map(|k| KindFit { name: k.name, asks })
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
        let message = render(&found, &text, 80);
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

/// The page of the rule and the README say the limits that hold.
#[test]
fn the_limits_are_told_where_decks_are_explained() {
    let page = rules::named("too-long").unwrap().page.replace('\n', " ");
    let readme =
        fs::read_to_string(PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("decks/README.md"))
            .unwrap();
    let words = |text: &str| text.replace('\n', " ");
    for limit in deck::limits() {
        assert!(
            words(&readme).contains(&limit),
            "decks/README.md lacks: {limit}"
        );
        let number = limit.split_once(": ").unwrap().1.split(' ').next().unwrap();
        assert!(page.contains(number), "the page of too-long lacks {number}");
    }
}

/// A deck of so many cards, told apart by their numbers.
fn many(cards: usize, card: impl Fn(usize) -> String) -> String {
    let head = "title = \"Many\"\nsource = \"common practice, no source\"\ntempo = [80, 120]\n";
    (0..cards)
        .map(card)
        .fold(head.to_string(), |deck, card| deck + &card)
}

const GRID: &str = "states = \"neither\"\nconcepts = [\"two side\"]\ngrid = \"\"\"\n\
    count | 1 & 2 & 3 & 4 & |\nconga | H T S T H T O O |\nhand  | L L R L L L R R |\n\"\"\"\n";

#[test]
fn what_is_too_much_is_told_and_the_rest_is_read() {
    let rules_of = |text: &str| -> Vec<&str> {
        deck::read("many.toml", text)
            .1
            .iter()
            .map(|d| d.rule)
            .collect()
    };
    let card = |n| format!("[[card]]\nid = \"c{n}\"\ntitle = \"Card {n}\"\n{GRID}");
    let text = many(3, card);
    assert!(rules_of(&text).is_empty());
    // One bar more than 1,000, in one row and over several blocks of rows.
    let bars = |n: usize| {
        let row = |name: &str, bar: &str| format!("{name} | {}\n", format!("{bar} | ").repeat(n));
        row("count", "1 & 2 & 3 & 4 &") + &row("conga", "H T S T H T O O")
    };
    let grid = |rows: String| {
        text.replace(
            "count | 1 & 2 & 3 & 4 & |\nconga | H T S T H T O O |\nhand  | L L R L L L R R |\n",
            &rows,
        )
    };
    assert!(rules_of(&grid(bars(1000))).is_empty());
    assert_eq!(rules_of(&grid(bars(1001))), ["too-long"; 3]);
    assert_eq!(
        rules_of(&grid(format!("{}\n{}", bars(600), bars(600)))),
        ["too-long"; 3]
    );
    let list = (0..101)
        .map(|n| format!("\"c{n}\""))
        .collect::<Vec<_>>()
        .join(", ");
    assert_eq!(
        rules_of(&text.replace("\"two side\"", &list)),
        ["too-long"; 3]
    );
    let prose = |n: usize| {
        text.replace(
            "states =",
            &format!("about = \"{}\"\nstates =", "é".repeat(n)),
        )
    };
    assert!(rules_of(&prose(4000)).is_empty());
    assert_eq!(rules_of(&prose(4001)), ["too-long"; 3]);
}
