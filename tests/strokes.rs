//! One truth about strokes: the deck check, `whichside side` and the drill count the same ones, and where the check's ear
//! hears a direction, the drill has no other one as its answer.

use assert_cmd::Command;
use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use std::fmt::Write as _;
use whichside::clave::{Alignment, CueKind, SalientOnsets, Side, SideClassifier};
use whichside::deck::{Card, Diagnostic, School, Setting, States, check, read, shipped};
use whichside::question::{ItemKey, Question, Sense, Setup, ask, items, kind};
use whichside::rhythm::{Grid, Pattern, Tone, Weight};

/// How many cards are drawn, and from which seed.
const CARDS: usize = 10_000;
const SEED: u64 = 20_260;
/// How many of them the whole deck check looks at.
const CHECKED: usize = 200;

/// The classifier as the check uses it.
fn classifier(card: &Card) -> SideClassifier {
    SideClassifier {
        low_drum: card.school.as_ref().and_then(School::low_drum),
        ..SideClassifier::default()
    }
}

/// The card asked for its side as it is written, at its first bar.
fn asked(card: &Card) -> Option<Question> {
    let item = ItemKey {
        card: card.id.clone(),
        kind: "side".into(),
        sense: Sense::Read,
    };
    let setup = Setup {
        tempo: card.tempo.0,
        player: Default::default(),
        as_written: true,
        weighed: false,
        unseen: false,
    };
    ask(card, &item, 1, &setup)
}

/// Which strokes carry, written down by hand once more (common practice, no source): accents, and what is neither heel
/// nor tip nor ghost.
fn by_hand(drums: &Pattern) -> Vec<bool> {
    let carries = |p: usize| {
        drums.at(p).is_some_and(|s| match (s.weight, s.tone) {
            (Weight::Accent, _) => true,
            (Weight::Ghost, _) | (Weight::Plain, Tone::Heel | Tone::Tip) => false,
            (Weight::Plain, _) => true,
        })
    };
    (0..drums.pulses()).map(carries).collect()
}

/// The strokes of the card that meet the clave in the drill, or do not where they could.
fn counted_in_the_drill(card: &Card, question: &Question) -> Vec<bool> {
    let met = question.reveal.meets.iter().take(card.score.pulses());
    met.map(|m| !matches!(m, Alignment::Space | Alignment::Rest))
        .collect()
}

fn plays(card: &Card) -> bool {
    card.score.drums.is_some() || !card.score.lines.is_empty()
}

fn too_little(card: &Card) -> bool {
    let reading = classifier(card).score(&card.score);
    reading.cues.iter().any(|c| c.kind == CueKind::TooLittle)
}

/// Which strokes the reduction counts that the check and `side` read.
fn counted_by_the_ear(card: &Card) -> Vec<bool> {
    SalientOnsets::of_pattern(card.score.drums.as_ref().unwrap()).onsets()
}

fn clear(p: f64) -> bool {
    p.max(1.0 - p) >= 0.9
}

/// The text of a deck of so many cards on random bars, on one or two drums, some of them in six, some of them of light
/// strokes or of bass strokes alone.
fn random_deck(cards: usize, rng: &mut ChaCha8Rng) -> String {
    let mut text = String::from(
        "title = \"Drawn\"\nabout = \"Bars drawn from a seed.\"\nschool = \"low drum: three side\"\n",
    );
    for nth in 0..cards {
        let (per, count) = match rng.random_bool(0.2) {
            true => (6, "1 2 3 4 5 6 | "),
            false => (8, "1 & 2 & 3 & 4 & | "),
        };
        let bars = [1, 2, 2, 4][rng.random_range(0..4)];
        let full: f64 = rng.random_range(0.15..0.95);
        let tones = ["HT", "B", "BHT", "OSCMBHT", "OSCMBHT"][rng.random_range(0..5)];
        let low = if rng.random_bool(0.3) { 0.2 } else { 0.0 };
        let mut rows = [String::new(), String::new()];
        for pulse in 0..bars * per {
            let tone = char::from(tones.as_bytes()[rng.random_range(0..tones.len())]);
            let stroke = match rng.random_range(0..8) {
                0 => format!(">{tone} "),
                1 => format!("({tone}) "),
                _ => format!("{tone} "),
            };
            let on_low = rng.random_bool(low);
            let struck = rng.random_bool(full);
            let [conga, tumba] = &mut rows;
            *conga += if struck && !on_low { &stroke } else { ". " };
            *tumba += if struck && on_low { &stroke } else { ". " };
            if (pulse + 1) % per == 0 {
                rows.iter_mut().for_each(|row| row.push_str("| "));
            }
        }
        let states = if bars == 1 { "two side" } else { "direction" };
        let [conga, tumba] = rows;
        let tumba = match low > 0.0 {
            true => format!("tumba | {tumba}\n"),
            false => String::new(),
        };
        let _ = write!(
            text,
            "\n[[card]]\nid = \"c{nth}\"\ntitle = \"Card {nth}\"\nabout = \"Drawn.\"\nclave = \"son 2-3\"\n\
             states = \"{states}\"\ntempo = [60, 80]\nconcepts = [\"direction\"]\nsource = \"drawn\"\n\
             grid = \"\"\"\ncount | {}\nconga | {conga}\n{tumba}\"\"\"\n",
            count.repeat(bars)
        );
    }
    text
}

/// Cards on random bars; those without a stroke are no cards.
fn random_cards() -> Vec<Card> {
    let mut rng = ChaCha8Rng::seed_from_u64(SEED);
    let mut cards = Vec::new();
    while cards.len() < CARDS {
        let (deck, _) = read("drawn.toml", &random_deck(500, &mut rng));
        let struck = |card: &Card| {
            let drums = card.score.drums.as_ref();
            drums.is_some_and(|d| d.strokes().next().is_some())
        };
        cards.extend(deck.cards.into_iter().filter(struck));
    }
    cards.truncate(CARDS);
    cards
}

/// Does the card count the same strokes for classifier and drill, and is it asked where the classifier hears enough?
fn is_counted_alike(card: &Card) {
    let drums = card.score.drums.as_ref().unwrap();
    let by_ear = counted_by_the_ear(card);
    if matches!(card.grid, Grid::Eighths | Grid::SixEight) {
        assert_eq!(by_ear, by_hand(drums), "{}: {drums:?}", card.id);
    }
    let side = kind("side").unwrap();
    assert_eq!(
        (side.fits)(card, Sense::Read),
        !too_little(card),
        "{}: {drums:?}",
        card.id
    );
    // A card may leave out the question.
    let Some(question) = asked(card) else {
        return;
    };
    let in_drill = counted_in_the_drill(card, &question);
    assert_eq!(in_drill, by_hand(drums), "{}: {drums:?}", card.id);
}

#[test]
fn the_same_strokes_count_on_random_cards() {
    let (mut silent, mut directions) = (0, 0);
    for mut card in random_cards() {
        is_counted_alike(&card);
        silent += usize::from(too_little(&card));
        // Declared as it sounds, the card has the answer that the classifier hears.
        let Some(direction) = classifier(&card).score(&card.score).verdict.direction() else {
            continue;
        };
        directions += 1;
        card.clave = card
            .clave
            .map(|clave| whichside::clave::Clave { direction, ..clave });
        let question = asked(&card).expect("the classifier hears enough");
        assert_eq!(question.reveal.answer, direction.name(), "{}", card.id);
    }
    assert!(silent > 20 && directions > 1000, "{silent} {directions}");
}

/// The whole check, as a player starts it: it speaks up exactly where the classifier that also tells the strokes of the drill is
/// sure of another side than the card.
#[test]
fn the_check_speaks_up_where_its_ear_is_sure_of_another_side() {
    let mut rng = ChaCha8Rng::seed_from_u64(SEED + 1);
    let text = random_deck(CHECKED, &mut rng);
    let (deck, _) = read("drawn.toml", &text);
    let found = check(&[("drawn.toml".into(), text)], &Setting::default());
    let mut warned = 0;
    for card in &deck.cards {
        let own = |d: &&Diagnostic| d.card.as_deref() == Some(&card.id);
        let says = found[0].iter().filter(own).any(|d| d.rule == "heard");
        let reading = classifier(card).score(&card.score);
        let against = match card.states {
            States::Bar(Side::Two) => reading.bars[0].three >= 0.9,
            _ => {
                let other = Some(card.clave.unwrap().direction.side(0).other());
                let heard = reading.verdict.direction().map(|d| d.side(0));
                heard == other && clear(reading.forward)
            }
        };
        assert_eq!(says, against, "{}: {:?}", card.id, card.score.drums);
        warned += usize::from(says);
    }
    assert!(deck.cards.len() > CHECKED / 2 && warned > 10, "{warned}");
}

/// Shipped cards that the classifier hears otherwise than the card and the drill, and why they stay.
const HEARD_OTHERWISE: &[(&str, &str)] = &[
    (
        "phrases/four-3-2-bar-4",
        "of four bars three are the neutral tumbao, and the free score of the one that differs leans the other way, not clearly",
    ),
    (
        "rumba/cross",
        "quinto on all beats against the guagua: it is there to pull both ways, and the guagua decides",
    ),
    (
        "rumba/answer-late",
        "the answer comes late over the guagua, which decides",
    ),
];

#[test]
fn ear_and_drill_agree_on_every_shipped_card() {
    let decks = shipped();
    let (mut spoke, mut otherwise) = (0, Vec::new());
    for card in decks.iter().flat_map(|d| &d.cards) {
        if card.clave.is_none() || !plays(card) {
            continue;
        }
        if card.score.drums.is_some() && card.score.lines.is_empty() {
            is_counted_alike(card);
        }
        let Some(question) = asked(card) else {
            continue;
        };
        let answer = question.reveal.answer;
        let reading = classifier(card).score(&card.score);
        let heard = match card.states {
            States::Neither => continue,
            States::Bar(_) => reading.bars[0].side.map(|s| s.name()),
            States::Direction => match reading.verdict {
                whichside::clave::SideVerdict::Unsure => None,
                call => Some(call.name()),
            },
        };
        spoke += usize::from(heard.is_some());
        if heard.is_some_and(|heard| heard != answer) {
            otherwise.push(card.id.as_str());
        }
    }
    let listed: Vec<&str> = HEARD_OTHERWISE.iter().map(|(id, _)| *id).collect();
    assert_eq!(otherwise, listed);
    assert!(spoke > 120, "{spoke}");
}

#[test]
fn no_item_asks_for_a_side_where_too_little_is_played() {
    let decks = shipped();
    for item in items(&decks).iter().filter(|i| i.key.kind == "side") {
        let card = whichside::question::card(&decks, &item.key.card).unwrap();
        assert!(!too_little(card) || !plays(card), "{}", card.id);
    }
}

/// Runs the program; gives its exit code and what it wrote.
fn run(args: &[&str], input: &str) -> (Option<i32>, String) {
    let mut command = Command::cargo_bin("whichside").expect("the program is built");
    let done = command
        .args(args)
        .write_stdin(input)
        .output()
        .expect("it runs");
    let text = [done.stdout, done.stderr].concat();
    (done.status.code(), String::from_utf8(text).expect("UTF-8"))
}

/// The son clave in bass strokes (Toussaint 2013, ch. 7: in 2-3 it strikes 2 and 3, then 1, 2& and 4).
const BASS: &str = ". . B . B . . . | B . . B . . B .";

fn bass_deck(clave: &str) -> String {
    format!(
        "title = \"Bass\"\nabout = \"The clave in the palm.\"\n\n[[card]]\nid = \"palm\"\ntitle = \"Clave in the palm\"\n\
         about = \"The clave in bass strokes.\"\nclave = \"son {clave}\"\nstates = \"direction\"\ntempo = [100, 160]\n\
         concepts = [\"direction\"]\nsource = \"common practice, no source\"\n\
         grid = \"\"\"\ncount | 1 & 2 & 3 & 4 & | 1 & 2 & 3 & 4 & |\nconga | {BASS} |\n\"\"\"\n"
    )
}

#[test]
fn the_clave_in_bass_strokes_is_checked_read_and_asked_alike() {
    let folder = tempfile::tempdir().unwrap();
    let write = |clave: &str| {
        let path = folder.path().join(format!("bass-{clave}.toml"));
        std::fs::write(&path, bass_deck(clave)).unwrap();
        path.to_str().unwrap().to_string()
    };
    let (right, wrong) = (write("2-3"), write("3-2"));

    let (_, said) = run(&["side", BASS], "");
    assert!(said.starts_with("2-3"), "{said}");
    assert!(said.contains("this is the son clave in 2-3"), "{said}");
    assert!(
        said.contains("part  . . x . x . . . | x . . x . . x ."),
        "{said}"
    );

    let (_, said) = run(&["check", &right], "");
    assert!(!said.contains("sounds like"), "{said}");
    let (_, said) = run(&["check", &wrong], "");
    assert!(
        said.contains("declared as 3-2, but it sounds like 2-3"),
        "{said}"
    );

    let data = folder.path().join("data");
    let data = data.to_str().unwrap();
    let drill = [
        "drill", "--plain", "--silent", "--seed", "7", "--data", data,
    ];
    let more = ["--kind", "side", "--deck", &right];
    let (code, said) = run(&[&drill[..], &more].concat(), &"2\n\n".repeat(20));
    assert_eq!(code, Some(0), "{said}");
    assert!(said.contains("2-3") && said.contains("bass on 2"), "{said}");
}
