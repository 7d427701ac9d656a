//! What a player sees and hears before answering decides what is right: over all shipped decks together, both schools
//! of the low drum and both hands, two questions that are equal to see and to hear have equal answers, and no word of a
//! question gives its answer away.

mod shown;

use shown::{Shown, right_in_words, shown};
use std::collections::HashMap;
use std::sync::mpsc;
use std::thread;
use whichside::deck::{Card, Deck, shipped};
use whichside::hands::{Handed, Level, Player};
use whichside::question::{Item, Mark, Question, Sense, Setup, ask, card, items};
use whichside::rhythm::Tone;

/// Questions of each item for each hand.
const SEEDS: u64 = 200;
/// The questions of everyday: other seeds than those on which anything was chosen.
const FROM: u64 = 730_000;

const HANDS: [Handed; 2] = [Handed::Right, Handed::Left];

/// Every question of these items for players with these hands.
fn each(decks: &[Deck], items: &[Item], hands: &[Handed], mut see: impl FnMut(&Card, &Question)) {
    for item in items {
        let card = card(decks, &item.key.card).expect("an item has its card");
        for &handed in hands {
            for seed in 0..SEEDS {
                let (low, high) = card.tempo;
                let setup = Setup {
                    tempo: low.toward(high, (seed % 21) as f64 / 20.0).round(),
                    player: Player {
                        level: Level::ALL[seed as usize % 3],
                        handed,
                    },
                    as_written: false,
                    weighed: false,
                    unseen: false,
                };
                let question = ask(card, &item.key, FROM + seed, &setup);
                see(
                    card,
                    &question.unwrap_or_else(|| panic!("{} cannot be asked", item.key)),
                );
            }
        }
    }
}

/// What decides: the tempo only where hands are asked for, and never which answers happen to be offered beside the
/// right one.
fn deciding(question: &Question) -> Shown {
    let mut shown = shown(question);
    shown.choices.clear();
    if !["hand", "thin"].contains(&question.item.kind.as_str()) {
        shown.bpm = 0;
    }
    shown
}

#[test]
fn equal_to_see_and_to_hear_means_equal_answers() {
    let decks = shipped();
    let mut seen: HashMap<Shown, (Vec<String>, String)> = HashMap::new();
    let mut collisions: HashMap<(String, String), String> = HashMap::new();
    let mut asked = 0;
    let all = items(&decks);
    let (sender, questions) = mpsc::channel();
    thread::scope(|scope| {
        for hands in HANDS.chunks(1) {
            let (sender, decks, all) = (sender.clone(), &decks, &all);
            scope.spawn(move || {
                each(decks, all, hands, |_, question| {
                    let right = right_in_words(question);
                    let name = question.item.to_string();
                    sender
                        .send((deciding(question), right, name))
                        .expect("it is waited for");
                });
            });
        }
        drop(sender);
        for (shown, right, name) in questions {
            asked += 1;
            match seen.get(&shown) {
                Some((before, other)) if *before != right => {
                    let told = format!("{shown:#?}\n{other}: {before:?}\n{name}: {right:?}");
                    collisions.entry((other.clone(), name)).or_insert(told);
                }
                Some(_) => {}
                None => {
                    seen.insert(shown, (right, name));
                }
            }
        }
    });
    println!("{asked} questions, {} of them different", seen.len());
    for told in collisions.values() {
        println!("{told}\n");
    }
    let mut pairs: Vec<_> = collisions.keys().collect();
    pairs.sort();
    assert!(pairs.is_empty(), "{} pairs: {pairs:#?}", pairs.len());
}

/// Words by which a stroke is told. `closed` and `slap` mean either slap.
fn names(tone: Tone) -> &'static [&'static str] {
    match tone {
        Tone::Open => &["open", "opens"],
        Tone::Slap | Tone::ClosedSlap => &["slap", "slaps", "closed"],
        Tone::Muffled => &["muffled", "pressed"],
        Tone::Bass => &["bass", "basses"],
        Tone::Heel => &["heel", "heels"],
        Tone::Tip => &["tip", "tips"],
    }
}

#[test]
fn no_word_of_a_question_gives_its_answer_away() {
    let decks = shipped();
    let told = |item: &Item| ["strokes", "side", "choice"].contains(&item.key.kind.as_str());
    let items: Vec<Item> = items(&decks).into_iter().filter(told).collect();
    each(&decks, &items, &HANDS, |_, question| {
        let text = question.prompt.text.to_lowercase();
        let words: Vec<&str> = text.split(|c: char| !c.is_alphanumeric()).collect();
        let said = |word: &str| words.contains(&word);
        match question.item.kind.as_str() {
            "strokes" => {
                let drums = question.prompt.take.score.drums.as_ref().unwrap();
                for pulse in &question.prompt.hidden {
                    let tone = drums.at(*pulse).unwrap().tone;
                    let told = names(tone).iter().any(|n| said(n));
                    assert!(!told, "{}: {text}", question.item);
                }
                let by_eye = question.item.sense == Sense::Read;
                assert_eq!(!by_eye, question.prompt.text.starts_with("Listen:"));
            }
            "side" => {
                for side in ["two side", "three side", "2-3", "3-2"] {
                    let told = text.contains(side) && !text.contains("is it 2-3 or 3-2");
                    assert!(!told, "{}: {text}", question.item);
                }
            }
            "choice" => {
                let right = question.reveal.answer.to_lowercase();
                assert!(!text.contains(&right), "{}: {text}", question.item);
            }
            kind => unreachable!("{kind}"),
        }
    });
}

#[test]
fn a_question_that_names_its_card_has_a_name_of_its_own() {
    let decks = shipped();
    let mut titles: HashMap<String, &str> = HashMap::new();
    for card in decks.iter().flat_map(|d| &d.cards) {
        let before = titles.insert(card.title.to_lowercase(), &card.id);
        assert_eq!(before, None, "{}: {}", card.id, card.title);
    }
}

/// What is hidden leaves no trace in what is shown: with another stroke there it looks the same.
#[test]
fn a_hidden_stroke_leaves_no_trace() {
    let decks = shipped();
    let strokes: Vec<Item> = items(&decks)
        .into_iter()
        .filter(|i| i.key.kind == "strokes" && i.key.sense == Sense::Read)
        .collect();
    let mut tried = 0;
    each(&decks, &strokes, &HANDS, |_, question| {
        let Mark::Pulse(pulse) = question.prompt.mark else {
            return;
        };
        tried += 1;
        let mut other = question.clone();
        let drums = other.prompt.take.score.drums.as_ref().unwrap();
        let mut cells = drums.cells().to_vec();
        let stroke = cells[pulse].as_mut().unwrap();
        stroke.tone = match stroke.tone {
            Tone::Open => Tone::Slap,
            _ => Tone::Open,
        };
        let changed = whichside::rhythm::Pattern::new(drums.grid(), cells).unwrap();
        other.prompt.take.score.drums = Some(changed);
        assert_eq!(shown(question), shown(&other), "{}", question.item);
    });
    assert!(tried > 1000);
}
