//! The kinds that ask for the place in a phrase, the thinner form and how often a variation comes: over the shipped
//! decks no answer is right more often than its share, and what shows on the surface does not tell it.

mod cues;

use cues::{Shown, share_right};
use std::collections::BTreeMap;
use whichside::deck::{Card, States, shipped};
use whichside::question::{Mark, Question, Sense, Setup, allows, kind};
use whichside::rhythm::Instrument;

/// Questions of a kind about every shipped card that allows it, with the card and its place among all.
fn ask(name: &str, seeds: std::ops::Range<u64>) -> Vec<(usize, Card, Question)> {
    let kind = kind(name).unwrap();
    let mut asked = Vec::new();
    let decks = shipped();
    for (order, card) in decks.iter().flat_map(|d| &d.cards).enumerate() {
        for sense in Sense::ALL.into_iter().filter(|s| allows(card, kind, *s)) {
            for seed in seeds.clone() {
                let (low, high) = card.tempo;
                let setup = Setup {
                    bpm: low + (high - low) * (seed % 7) as f64 / 6.0,
                    player: Default::default(),
                    as_written: false,
                };
                let question = kind.ask(card, sense, seed * 7919 + order as u64, &setup);
                asked.push((order, card.clone(), question.unwrap()));
            }
        }
    }
    asked
}

/// Share of each answer among the questions that `of` keeps, by what it calls the answer.
fn shares<'a>(
    asked: &'a [(usize, Card, Question)],
    of: impl Fn(&'a Card, &'a Question) -> Option<String>,
) -> BTreeMap<String, f64> {
    let answers: Vec<String> = asked.iter().filter_map(|(_, c, q)| of(c, q)).collect();
    let mut shares = BTreeMap::new();
    for answer in &answers {
        *shares.entry(answer.clone()).or_default() += 1.0 / answers.len() as f64;
    }
    println!("{} questions: {shares:.3?}", answers.len());
    shares
}

fn is_laid(q: &Question) -> bool {
    q.choices().len() == 4
}

#[test]
fn places_are_right_and_wrong_equally_often() {
    let asked = ask("place", 0..24);
    assert!(asked.len() >= 1000, "{}", asked.len());
    let sided = |c: &Card| c.states != States::Neither;
    let key = |q: &Question| q.right[0].chars().next().unwrap().to_string();
    // Laid into a phrase: four answers, a quarter each.
    let laid = shares(&asked, |c, q| (sided(c) && is_laid(q)).then(|| key(q)));
    for (answer, share) in &laid {
        assert!((0.18..=0.32).contains(share), "{answer}: {share}");
    }
    // The bar asked for: the first or the second of the two, half each; `either` for what goes with either side only.
    let bar = shares(&asked, |c, q| (sided(c) && !is_laid(q)).then(|| key(q)));
    assert_eq!(bar.len(), 2);
    assert!(bar.values().all(|s| (0.45..=0.55).contains(s)), "{bar:?}");
    let neutral = shares(&asked, |c, q| (!sided(c) && !is_laid(q)).then(|| key(q)));
    assert_eq!(neutral.keys().collect::<Vec<_>>(), ["e"]);
    let all = shares(&asked, |_, q| (!is_laid(q)).then(|| key(q)));
    assert!(all.values().all(|s| *s < 0.5), "{all:?}");
}

/// What shows of a question about a place, without listening to the clave or reading the strokes for their side.
fn place_cues(order: usize, q: &Question, holds: bool) -> Shown {
    let score = &q.prompt.take.score;
    let drums = score.drums.as_ref().unwrap();
    let start = match q.prompt.mark {
        Mark::Bar(bar) | Mark::Bars(bar, _) => bar,
        _ => 0,
    };
    let direction = ["2-3", "3-2"]
        .into_iter()
        .find(|d| q.prompt.text.contains(d));
    let clave = score.line(Instrument::Clave).map(|l| l.at(0).is_some());
    let cells = drums.bar(start);
    Shown {
        holds,
        numbers: vec![order as f64, q.prompt.take.bpm, start as f64],
        words: vec![
            start.to_string(),
            format!("{direction:?} {clave:?}"),
            score.bars().to_string(),
            cells.iter().flatten().count().to_string(),
            cells[0].map_or('.', |s| s.tone.letter()).to_string(),
        ],
    }
}

#[test]
fn no_cue_on_the_surface_gives_the_place_away() {
    let seeds = [[0..24, 100..124], [1000..1024, 2000..2024]];
    let pairs = seeds
        .iter()
        .flat_map(|s| ["laid", "bar"].map(|form| (form, s.clone())));
    let halves = pairs.map(|(form, seeds)| {
        seeds.map(|seeds| -> Vec<Shown> {
            ask("place", seeds)
                .iter()
                .filter(|(_, c, q)| c.states != States::Neither && is_laid(q) == (form == "laid"))
                .map(|(order, _, q)| {
                    // Is the side right? Is it the second of the two bars?
                    let key = q.right[0].chars().next().unwrap();
                    let holds = if form == "laid" { "yp" } else { "b" }.contains(key);
                    place_cues(*order, q, holds)
                })
                .collect()
        })
    });
    for [train, test] in halves {
        let right = share_right(&train, &test);
        println!("{:.1} % of {} held out", 100.0 * right, test.len());
        assert!(right <= 0.60, "{right}");
    }
}

#[test]
fn the_side_of_a_laid_bar_is_right_where_the_clave_says_so() {
    // Counted from the clave shown with the answer, not from the phrase that made the question.
    let mut heard = 0;
    for (_, card, q) in ask("place", 0..12).iter().filter(|(_, _, q)| is_laid(q)) {
        let score = &q.prompt.take.score;
        let drums = score.drums.as_ref().unwrap();
        let plain = whichside::question::plain_tumbao(score.grid).unwrap();
        let own = (0..drums.bars()).find(|b| drums.bar(*b) != plain.bar(0));
        // A variation of two bars may begin with a bar of the tumbao itself.
        let plain_first = card.score.drums.as_ref().unwrap().bar(0) == plain.bar(0);
        let start = own.unwrap() - usize::from(plain_first);
        let side = q.reveal.clave.unwrap().direction.side(start);
        let right = match card.states {
            States::Neither => true,
            _ => card.clave.unwrap().direction.side(0) == side,
        };
        assert_eq!(
            "yp".contains(q.right[0].chars().next().unwrap()),
            right,
            "{}",
            q.item
        );
        if let Some(clave) = score.line(Instrument::Clave) {
            heard += 1;
            assert_eq!(Some(clave), q.reveal.take.score.line(Instrument::Clave));
            assert_eq!(q.item.sense, Sense::Hear);
        }
    }
    assert!(heard > 100);
}

#[test]
fn the_thinner_form_and_the_whole_are_right_equally_often() {
    let asked = ask("thin", 0..24);
    assert!(asked.len() >= 1000);
    let when = |q: &Question| q.choices().len() == 2;
    let key = |q: &Question| q.right[0].chars().next().unwrap().to_string();
    let shares_of = shares(&asked, |_, q| when(q).then(|| key(q)));
    assert!(shares_of.values().all(|s| (0.45..=0.55).contains(s)));
    // No key stands for the right strokes more often than another.
    let keys = shares(&asked, |_, q| (!when(q)).then(|| key(q)));
    assert!(keys.values().all(|s| (0.18..=0.32).contains(s)), "{keys:?}");
    for (_, card, q) in &asked {
        let bpm = q.prompt.take.bpm;
        assert!((card.tempo.0..=card.tempo.1).contains(&bpm), "{}", q.item);
        let from = card.thin_from.unwrap();
        if when(q) {
            // Nobody has to know the tempo to the beat: it lies clearly on one side, or at the very end of the range.
            let thinner = q.right[0].chars().next().unwrap() == 't';
            assert_eq!(thinner, bpm >= from);
            assert!(bpm <= from / 1.09 || bpm >= from * 1.09 || bpm == card.tempo.1);
        }
        // Each stroke named stands in as many answers as any other.
        let mut named: BTreeMap<String, usize> = BTreeMap::new();
        for choice in q.choices().iter().filter(|_| !when(q)) {
            for stroke in choice.label.split(" and ") {
                *named.entry(stroke.to_string()).or_default() += 1;
            }
        }
        let first = named.values().next().copied();
        assert!(named.values().all(|n| Some(*n) == first), "{named:?}");
    }
}

#[test]
fn how_often_is_not_answered_by_always_saying_the_same() {
    let asked = ask("often", 0..24);
    assert!(asked.len() >= 1000);
    let keys = shares(&asked, |_, q| {
        Some(q.right[0].chars().next().unwrap().to_string())
    });
    assert!(keys.values().all(|s| (0.18..=0.32).contains(s)), "{keys:?}");
    let answers = shares(&asked, |_, q| Some(q.reveal.answer.clone()));
    assert!(answers.values().all(|s| *s <= 0.5), "{answers:?}");
}

/// Share right of somebody who always takes the answer of this rank by length, 0 being the longest; answers of one
/// length are taken by chance.
fn right_by_length(asked: &[(usize, Card, Question)], rank: usize) -> f64 {
    let right = asked.iter().map(|(_, _, q)| {
        let long = |c: &whichside::question::Choice| c.label.chars().count();
        let mut lengths: Vec<usize> = q.choices().iter().map(long).collect();
        lengths.sort_unstable();
        lengths.reverse();
        let taken = lengths[rank.min(lengths.len() - 1)];
        let among: Vec<_> = q.choices().iter().filter(|c| long(c) == taken).collect();
        let hits = among
            .iter()
            .filter(|c| q.right.contains(&c.key.to_string()))
            .count();
        hits as f64 / among.len() as f64
    });
    right.sum::<f64>() / asked.len() as f64
}

#[test]
fn an_answer_in_words_is_not_told_by_its_length_or_its_place() {
    let asked = ask("choice", 0..60);
    assert!(asked.len() >= 1000, "{}", asked.len());
    for answers in [3, 4] {
        let keys = shares(&asked, |_, q| {
            (q.choices().len() == answers).then(|| q.right[0].chars().next().unwrap().to_string())
        });
        let even = 1.0 / answers as f64;
        assert!(keys.values().all(|s| (s - even).abs() < 0.05), "{keys:?}");
    }
    // By chance 31 % of them are right. With some forty cards two or three more or less may fall on a length.
    // The rank from the longest on, the last one the shortest.
    for rank in [0, 1, 3] {
        let right = right_by_length(&asked, rank);
        println!(
            "length of rank {rank} from the longest: {:.1} %",
            100.0 * right
        );
        assert!(right <= 0.40, "{rank}: {right}");
    }
    // Nor in a deck that has many of them.
    for deck in ["styles/", "phrases/"] {
        let of = asked.iter().filter(|(_, c, _)| c.id.starts_with(deck));
        let of: Vec<_> = of.cloned().collect();
        for rank in 0..3 {
            let right = right_by_length(&of, rank);
            println!("{deck} rank {rank}: {:.1} %", 100.0 * right);
            assert!(right <= 0.55, "{deck} {rank}: {right}");
        }
    }
}

#[test]
fn neither_hand_is_right_more_often_than_the_other() {
    let asked = ask("hand", 0..12);
    assert!(asked.len() >= 1000, "{}", asked.len());
    let key = |q: &Question| (q.length() == 1).then(|| q.right[0].chars().next().unwrap());
    let one = shares(&asked, |_, q| key(q).map(String::from));
    assert!(one.values().all(|s| (0.45..=0.55).contains(s)), "{one:?}");
    // Nor is it about any one card.
    let mut by_card: BTreeMap<&str, Vec<char>> = BTreeMap::new();
    for (_, card, q) in &asked {
        by_card.entry(&card.id).or_default().extend(key(q));
    }
    let always = |keys: &Vec<char>| keys.len() >= 8 && keys.iter().all(|k| *k == keys[0]);
    let told: Vec<_> = by_card.iter().filter(|(_, keys)| always(keys)).collect();
    assert!(told.is_empty(), "{told:?}");
    // Of a row: hardly ever is the same key right all through, and never often the same row.
    let rows = shares(&asked, |_, q| {
        let row = || q.right[0].clone();
        (q.length() > 1).then(row)
    });
    assert!(rows.values().all(|s| *s <= 0.25), "{rows:?}");
    let same = rows
        .iter()
        .filter(|(row, _)| row.chars().all(|k| row.starts_with(k)));
    assert!(same.map(|(_, share)| share).sum::<f64>() < 0.1);
}

/// Variations from which no stroke is left out.
const WHOLE: [&str; 15] = [
    "variations/sparse-two",
    "variations/sparse-three",
    "variations/stop-after-three",
    "variations/stop-after-bombo",
    "variations/rest-then-three",
    "variations/room-then-reply",
    "variations/double-bombo",
    "variations/roll-to-four",
    "variations/roll-from-three",
    "variations/triplet-lead",
    "variations-two-bars/hits-then-clave",
    "variations-two-bars/silence-first",
    "variations-two-bars/roll-and-rest",
    "low-drum-three/low-after-silence",
    "low-drum-two/low-stop",
];

#[test]
fn every_shipped_variation_says_where_when_and_how_often() {
    let decks = shipped();
    let cards = decks.iter().flat_map(|d| &d.cards);
    let mut variations = 0;
    for card in cards.filter(|c| c.concepts.iter().any(|c| c == "variation") && c.choice.is_none())
    {
        variations += 1;
        assert!(card.place.is_some(), "{}", card.id);
        assert!(!card.often.is_empty(), "{}", card.id);
        assert!(card.score.drums.as_ref().unwrap().has_full_sticking());
        // Two of them are so bare that nothing is left to leave out; in the others the rests, the roll or the triplets
        // are the idea.
        let bare = WHOLE.contains(&card.id.as_str());
        assert_eq!(card.thin.is_empty(), bare, "{}", card.id);
        assert_eq!(card.thin_from.is_none(), bare, "{}", card.id);
    }
    // At least forty are wanted.
    assert!(variations >= 40, "{variations}");
}

#[test]
fn the_reasons_of_a_laid_bar_are_true_where_it_lies() {
    use whichside::clave::{Meeting, Side};
    use whichside::question::ask as ask_item;
    let mut crossed = 0;
    let decks = shipped();
    for item in whichside::question::items(&decks) {
        let card = whichside::question::card(&decks, &item.key.card).unwrap();
        if item.key.kind != "place" || card.states == States::Neither {
            continue;
        }
        for seed in 0..16 {
            let setup = Setup {
                bpm: card.tempo.0,
                player: Default::default(),
                as_written: false,
            };
            let q = ask_item(card, &item.key, seed, &setup).unwrap();
            if !is_laid(&q) {
                continue;
            }
            let direction = q.reveal.clave.unwrap().direction;
            let reasons = &q.reveal.reasons;
            let mut seen: Vec<usize> = Vec::new();
            for reason in reasons {
                // A number stands on the grid, on a pulse of its own.
                let own = reason.pulses.iter().any(|p| !seen.contains(p));
                assert!(reason.pulses.is_empty() || own, "{}: {reason:?}", q.item);
                seen.extend(&reason.pulses);
                // What is said of a bar by its number is what the clave makes of it.
                for bar in 0..q.prompt.take.score.bars() {
                    for side in [Side::Two, Side::Three] {
                        if reason
                            .text
                            .contains(&format!("bar {} is the {}", bar + 1, side.name()))
                        {
                            assert_eq!(direction.side(bar), side, "{}: {reason:?}", q.item);
                        }
                    }
                    assert!(
                        !reason.text.contains("This bar is"),
                        "{}: {reason:?}",
                        q.item
                    );
                }
                // What is said to cross or to lock does so on the grid.
                let how = match &reason.text {
                    t if t.starts_with("Here its stroke") => Meeting::Crosses,
                    t if t.starts_with("It belongs") => Meeting::Locks,
                    _ => continue,
                };
                crossed += usize::from(how == Meeting::Crosses);
                assert!(reason.pulses.iter().all(|p| q.reveal.meets[*p] == how));
            }
            let wrong = "sb".contains(q.right[0].chars().next().unwrap());
            assert_eq!(
                wrong,
                !reasons
                    .iter()
                    .any(|r| r.text.starts_with("It belongs") && !r.text.contains("other side")),
                "{}",
                q.item
            );
        }
    }
    assert!(crossed > 200, "{crossed}");
}
