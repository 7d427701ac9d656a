//! The kinds that ask for the place in a phrase and the thinner form: over many cards no answer is right more often than
//! its share, what shows on the surface does not tell it, and what looks and sounds alike has the same answer.

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
                    tempo: low.toward(high, (seed % 7) as f64 / 6.0),
                    player: Default::default(),
                    as_written: false,
                    weighed: false,
                    unseen: false,
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
    q.form.label('y').is_some()
}

#[test]
fn places_are_right_and_wrong_equally_often() {
    let asked = ask("place", 0..24);
    assert!(asked.len() >= 1000, "{}", asked.len());
    let sided = |c: &Card| c.states != States::Neither;
    let key = |q: &Question| q.form.right()[0].text().chars().next().unwrap().to_string();
    // Laid into a phrase: on its side or on the wrong one, half each; for what goes with either side only that.
    let laid = shares(&asked, |c, q| (sided(c) && is_laid(q)).then(|| key(q)));
    assert_eq!(laid.keys().collect::<Vec<_>>(), ["n", "y"]);
    assert!(laid.values().all(|s| (0.45..=0.55).contains(s)), "{laid:?}");
    // The bar asked for: the first or the second of the two, half each.
    let bar = shares(&asked, |c, q| (sided(c) && !is_laid(q)).then(|| key(q)));
    assert_eq!(bar.keys().collect::<Vec<_>>(), ["a", "b"]);
    assert!(bar.values().all(|s| (0.45..=0.55).contains(s)), "{bar:?}");
    for of_laid in [true, false] {
        let neutral = shares(&asked, |c, q| {
            (!sided(c) && is_laid(q) == of_laid).then(|| key(q))
        });
        assert_eq!(neutral.keys().collect::<Vec<_>>(), ["e"]);
        let all = shares(&asked, |_, q| (is_laid(q) == of_laid).then(|| key(q)));
        assert!(all.values().all(|s| *s < 0.5), "{all:?}");
    }
}

/// What is wrong of a place is its side alone: where in the phrase a card comes, and how often, is a habit.
#[test]
fn a_habit_is_told_and_never_graded() {
    assert!(kind("often").is_none());
    for (_, card, q) in ask("place", 0..24) {
        for choice in q.form.choices() {
            for habit in ["part", "once", "usual", "often"] {
                assert!(!choice.label.contains(habit), "{choice:?}");
            }
        }
        let reasons = &q.reveal.reasons;
        assert!(reasons.len() <= 3, "{reasons:?}");
        let (last, before) = reasons.split_last().unwrap();
        assert!(last.text.starts_with("Usually") && last.text.ends_with("A habit, not a law."));
        assert!(before.iter().all(|r| !r.text.contains("sually")));
        for (style, bars) in &card.often {
            assert!(
                last.text.to_lowercase().contains(style) && last.text.contains(&bars.to_string())
            );
        }
    }
}

/// What is there to see and hear before the answer.
fn shown(q: &Question) -> String {
    let prompt = &q.prompt;
    let take = &prompt.take;
    let labels: Vec<&str> = q.form.choices().iter().map(|c| c.label.as_str()).collect();
    let drums = take.score.drums.as_ref().map(|d| match prompt.show_hands {
        true => d.clone(),
        false => d.with_hands(&vec![None; d.pulses()]),
    });
    let lines = &take.score.lines;
    let (text, mark, sense) = (&prompt.text, prompt.mark, q.item.sense);
    format!(
        "{text} {mark:?} {sense:?} {labels:?} {:?} {drums:?} {lines:?}",
        take.score.grid
    )
}

#[test]
fn what_looks_and_sounds_alike_has_the_same_answer() {
    let mut seen: BTreeMap<String, (String, String)> = BTreeMap::new();
    let mut thinner = thinner_deck(0..200);
    thinner.extend(ask("thin", 0..200));
    for asked in [ask("place", 0..200), thinner] {
        for (_, _, q) in asked {
            let told = q
                .form
                .right()
                .iter()
                .map(|row| q.form.words(row))
                .collect::<Vec<_>>();
            let answer = (q.item.card.clone(), told.join("; "));
            let before = seen.entry(shown(&q)).or_insert_with(|| answer.clone());
            assert_eq!(
                before.1, answer.1,
                "{} and {}: {}",
                before.0, answer.0, q.prompt.text
            );
        }
    }
    println!("{} different screens", seen.len());
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
        numbers: vec![order as f64, q.prompt.take.tempo.bpm(), start as f64],
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
                    let key = q.form.right()[0].text().chars().next().unwrap();
                    let holds = if form == "laid" {
                        key == 'y'
                    } else {
                        key == 'b'
                    };
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
        let own: Vec<usize> = (0..drums.bars())
            .filter(|b| drums.bar(*b) != plain.bar(0))
            .collect();
        // All of the card stands out, and nothing else.
        let (start, bars) = (own[0], card.score.bars());
        assert_eq!(own, (start..start + bars).collect::<Vec<_>>(), "{}", q.item);
        let side = q.reveal.clave.unwrap().direction.side(start);
        let right = match card.states {
            States::Neither => "e",
            _ if card.clave.unwrap().direction.side(0) == side => "y",
            _ => "n",
        };
        assert_eq!(q.form.right_texts(), [right], "{}", q.item);
        if let Some(clave) = score.line(Instrument::Clave) {
            heard += 1;
            assert_eq!(Some(clave), q.reveal.take.score.line(Instrument::Clave));
            assert_eq!(q.item.sense, Sense::Hear);
        }
    }
    assert!(heard > 100);
}

/// Bars in which the hands get stuck between light strokes, ours, with what has to be left out.
const THINNER: &str = r#"
title = "Thinner"
source = "our own, after common practice"
tempo = [100, 230]

[[card]]
id = "tips-on-three-and-four"
title = "Open on 3, then wait"
states = "neither"
concepts = ["tumbao"]
thin = ["3&"]
grid = """
count | 1 & 2 & 3 & 4 & |
conga | H T S T O T T O |
hand  | L L R L R L L R |
"""

[[card]]
id = "tips-on-two"
title = "Slap on the bombo"
states = "neither"
concepts = ["tumbao"]
thin = ["2"]
grid = """
count | 1 & 2 & 3 & 4 & |
conga | H T T S H T O T |
hand  | L L L R L L R L |
"""

[[card]]
id = "tips-in-both-bars"
title = "In both bars"
states = "neither"
concepts = ["tumbao"]
thin = ["3&", "2:2"]
grid = """
count | 1 & 2 & 3 & 4 & | 1 & 2 & 3 & 4 & |
conga | H T S T O T T O | H T T O H T O T |
hand  | L L R L R L L R | L L L R L L R L |
"""
"#;

/// Questions about the thinner form, of a deck that has cards with one.
fn thinner_deck(seeds: std::ops::Range<u64>) -> Vec<(usize, Card, Question)> {
    let (deck, found) = whichside::deck::read("thinner.toml", THINNER);
    assert!(found.is_empty(), "{found:?}");
    let kind = kind("thin").unwrap();
    let mut asked = Vec::new();
    for (order, card) in deck.cards.into_iter().enumerate() {
        assert!(allows(&card, kind, Sense::Read), "{}", card.id);
        for seed in seeds.clone() {
            let setup = Setup {
                tempo: card.tempo.0,
                player: Default::default(),
                as_written: false,
                weighed: false,
                unseen: false,
            };
            let question = kind.ask(&card, Sense::Read, seed * 7919 + order as u64, &setup);
            asked.push((order, card.clone(), question.unwrap()));
        }
    }
    asked
}

#[test]
fn what_is_left_out_is_not_told_by_the_key_or_the_number_of_strokes() {
    let asked = thinner_deck(0..200);
    let keys = shares(&asked, |_, q| {
        (q.form.choices().len() == 4).then(|| q.form.right()[0].text())
    });
    assert_eq!(keys.len(), 4);
    assert!(keys.values().all(|s| (0.18..=0.32).contains(s)), "{keys:?}");
    for (_, card, q) in &asked {
        let strokes = |label: &str| label.split(" and ").count();
        let choices = q.form.choices().iter();
        assert!(choices.clone().count() >= 3, "{}", q.item);
        assert!(
            choices
                .clone()
                .all(|c| strokes(&c.label) == card.thin.len())
        );
        let (_, words) = q.prompt.text.split_once(" these hands ").unwrap();
        assert!(!words.contains(|c: char| c.is_ascii_digit()), "{words}");
    }
}

#[test]
fn strokes_are_left_out_only_where_the_hands_do_not_get_through_them() {
    use whichside::hands::{Level, Player, stick};
    use whichside::rhythm::Pattern;
    let decks = shipped();
    let shipped_cards = decks.iter().flat_map(|d| &d.cards);
    let (own, _) = whichside::deck::read("thinner.toml", THINNER);
    let kind = kind("thin").unwrap();
    let mut asked = 0;
    for card in shipped_cards
        .chain(&own.cards)
        .filter(|c| !c.thin.is_empty())
    {
        assert!(allows(card, kind, Sense::Read), "{}", card.id);
        let drums = card.score.drums.as_ref().unwrap();
        for (seed, level) in (0..60).flat_map(|s| Level::ALL.map(|l| (s, l))) {
            let player = Player {
                level,
                ..Player::default()
            };
            let setup = Setup {
                tempo: card.tempo.0,
                player,
                as_written: false,
                weighed: false,
                unseen: false,
            };
            let q = kind.ask(card, Sense::Read, seed, &setup).unwrap();
            asked += 1;
            let bpm = q.prompt.take.tempo;
            let without = |label: &str| {
                let names: Vec<&str> = label.split(" and ").collect();
                let per = drums.grid().pulses_per_bar();
                let said = |p: usize| match drums.bars() {
                    1 => drums.grid().spoken(p),
                    _ => format!("{} of bar {}", drums.grid().spoken(p), p / per + 1),
                };
                let cells = drums.cells().iter().enumerate();
                let cells = cells.map(|(p, c)| c.filter(|_| !names.contains(&said(p).as_str())));
                let left = Pattern::new(drums.grid(), cells.collect()).unwrap();
                assert_eq!(
                    drums.strokes().count() - left.strokes().count(),
                    names.len()
                );
                stick(&left, bpm, &player).ceiling
            };
            // Too fast with every stroke; without the right ones it works, without the others it does not.
            assert!(bpm > stick(drums, bpm, &player).ceiling, "{}", q.item);
            for choice in q.form.choices() {
                let works = bpm <= without(&choice.label);
                assert_eq!(
                    works,
                    q.form.right_texts().contains(&choice.key.to_string()),
                    "{} {choice:?}",
                    q.item
                );
            }
        }
    }
    assert!(asked >= 500, "{asked}");
}

/// Share right of somebody who always takes the answer of this rank by length, 0 being the longest; answers of one
/// length are taken by chance.
fn right_by_length(asked: &[(usize, Card, Question)], rank: usize) -> f64 {
    let right = asked.iter().map(|(_, _, q)| {
        let long = |c: &whichside::question::Choice| c.label.chars().count();
        let mut lengths: Vec<usize> = q.form.choices().iter().map(long).collect();
        lengths.sort_unstable();
        lengths.reverse();
        let taken = lengths[rank.min(lengths.len() - 1)];
        let among: Vec<_> = q
            .form
            .choices()
            .iter()
            .filter(|c| long(c) == taken)
            .collect();
        let hits = among
            .iter()
            .filter(|c| q.form.right_texts().contains(&c.key.to_string()))
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
            (q.form.choices().len() == answers)
                .then(|| q.form.right()[0].text().chars().next().unwrap().to_string())
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
    let key = |q: &Question| {
        (q.form.length() == 1).then(|| q.form.right()[0].text().chars().next().unwrap())
    };
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
        let row = || q.form.right()[0].text();
        (q.form.length() > 1).then(row)
    });
    assert!(rows.values().all(|s| *s <= 0.25), "{rows:?}");
    let same = rows
        .iter()
        .filter(|(row, _)| row.chars().all(|k| row.starts_with(k)));
    assert!(same.map(|(_, share)| share).sum::<f64>() < 0.1);
}

/// The rule of thumb that a player found: heel and tip left, the rest right; in a bar without heel and tip the hands
/// take turns from the right.
fn by_thumb(q: &Question) -> String {
    use whichside::rhythm::Tone;
    let score = &q.prompt.take.score;
    let drums = score.drums.as_ref().unwrap();
    let per = score.grid.pulses_per_bar();
    let asked = &q.reveal.sticking.as_ref().unwrap().asked;
    let bar = asked[0] / per;
    let strokes: Vec<_> = drums.strokes().filter(|(p, _)| p / per == bar).collect();
    let light = |tone: Tone| matches!(tone, Tone::Heel | Tone::Tip);
    let any = strokes.iter().any(|(_, s)| light(s.tone));
    let hand = |(i, (_, s)): (usize, &(usize, whichside::rhythm::Stroke))| match any {
        true if light(s.tone) => 'l',
        true => 'r',
        false => ['r', 'l'][i % 2],
    };
    let all = strokes.iter().enumerate().map(hand);
    let wanted = strokes.iter().map(|(p, _)| asked.contains(p));
    let keys = all.zip(wanted).filter(|(_, wanted)| *wanted);
    keys.map(|(key, _)| key).collect()
}

#[test]
fn a_rule_of_thumb_does_not_answer_which_hand() {
    let asked = ask("hand", 0..12);
    let by_card = |of: &dyn Fn(&Question) -> bool| {
        let of: Vec<_> = asked.iter().filter(|(_, _, q)| of(q)).collect();
        let right = of
            .iter()
            .filter(|(_, _, q)| q.form.right_texts().contains(&by_thumb(q)));
        (right.count() as f64 / of.len() as f64, of.len())
    };
    let (share, all) = by_card(&|_| true);
    println!("by the rule of thumb {:.1} % of {all}", 100.0 * share);
    for (what, of) in [
        (
            "one stroke",
            (|q| q.form.length() == 1) as fn(&Question) -> bool,
        ),
        ("a row", |q| q.form.length() > 1),
        ("named", |q| {
            q.reveal.sticking.as_ref().unwrap().rudiment.is_some()
        }),
    ] {
        let (share, n) = by_card(&of);
        println!("{what}: {:.1} % of {n}", 100.0 * share);
    }
    assert!(share <= 0.60, "{share}");
    // One hand for everything, or taking turns whatever is struck, does no better.
    let same = |key: &str| {
        let right = asked
            .iter()
            .filter(|(_, _, q)| q.form.right_texts().contains(&key.repeat(q.form.length())));
        right.count() as f64 / asked.len() as f64
    };
    assert!(
        same("l") <= 0.5 && same("r") <= 0.5,
        "{} {}",
        same("l"),
        same("r")
    );
}

#[test]
fn every_shipped_variation_says_where_and_how_often() {
    let decks = shipped();
    let cards = decks.iter().flat_map(|d| &d.cards);
    let mut variations = 0;
    let is_one = |c: &&Card| {
        let has = |concept: &str| c.concepts.iter().any(|c| c == concept);
        // A bar of the tumbao itself comes as often as the tumbao does.
        has("variation") && !has("tumbao") && c.choice.is_none()
    };
    for card in cards.filter(is_one) {
        variations += 1;
        assert!(card.place.is_some(), "{}", card.id);
        assert!(!card.often.is_empty(), "{}", card.id);
        assert!(card.score.drums.as_ref().unwrap().has_full_sticking());
    }
    // At least forty are wanted.
    assert!(variations >= 40, "{variations}");
}

/// Strokes that carry weight and fall on the clave, where the drums begin on a bar of `side`: counted from the letters
/// and the clave's own strokes (son 2, 3 and 1, 2&, 4; rumba 4& for 4), eighths.
fn on_the_clave(card: &Card, side: whichside::clave::Side) -> Vec<usize> {
    use whichside::clave::{Family, Side};
    use whichside::rhythm::{Drum, Tone, Weight};
    let last = match card.clave.unwrap().family {
        Family::Son => 6,
        Family::Rumba => 7,
    };
    let drums = card.score.drums.as_ref().unwrap();
    let carries = |p: usize| {
        drums.at(p).is_some_and(|s| match s.weight {
            Weight::Ghost => false,
            Weight::Accent => true,
            Weight::Plain => s.drum == Drum::Tumbadora || !matches!(s.tone, Tone::Heel | Tone::Tip),
        })
    };
    let on = |p: usize| {
        let here = if (p / 8).is_multiple_of(2) {
            side
        } else {
            side.other()
        };
        match here {
            Side::Two => [2, 4].contains(&(p % 8)),
            Side::Three => [0, 3, last].contains(&(p % 8)),
        }
    };
    (0..drums.pulses())
        .filter(|p| carries(*p) && on(*p))
        .collect()
}

#[test]
fn the_reasons_of_a_place_are_true_and_would_be_false_of_the_other_answer() {
    use whichside::clave::Side;
    use whichside::question::ask as ask_item;
    use whichside::rhythm::Grid;
    let (mut counted, mut schooled) = (0, 0);
    let decks = shipped();
    for item in whichside::question::items(&decks) {
        let card = whichside::question::card(&decks, &item.key.card).unwrap();
        if item.key.kind != "place" || card.states == States::Neither {
            continue;
        }
        let own = card.clave.unwrap().direction.side(0);
        for seed in 0..16 {
            let setup = Setup {
                tempo: card.tempo.0,
                player: Default::default(),
                as_written: false,
                weighed: false,
                unseen: false,
            };
            let q = ask_item(card, &item.key, seed, &setup).unwrap();
            let reasons = &q.reveal.reasons;
            assert_eq!(reasons.len(), 3, "{}: {reasons:?}", q.item);
            // Which side a bar is, by its number: what the direction makes of it. The other answer would be right of
            // a bar of the other side.
            let direction = match ["2-3", "3-2"].map(|d| q.prompt.text.contains(d)) {
                [true, false] => whichside::clave::Direction::TwoThree,
                [false, true] => whichside::clave::Direction::ThreeTwo,
                _ => q.reveal.clave.unwrap().direction,
            };
            let mut told = 0;
            for bar in 0..16 {
                for side in [Side::Two, Side::Three] {
                    let says = format!("bar {} is the {}", bar + 1, side.name());
                    if reasons[0].text.contains(&says) {
                        told += 1;
                        assert_eq!(direction.side(bar), side, "{}: {reasons:?}", q.item);
                    }
                }
            }
            assert_eq!(told, 1, "{}: {}", q.item, reasons[0].text);
            // What the strokes say: more of them fall on the clave on their own side than on the other.
            let said = &reasons[1].text;
            if said.contains("on the clave") && card.grid != Grid::Eighths {
                // The count below is one of eighths.
            } else if said.contains("on the clave") {
                counted += 1;
                let [home, away] = [own, own.other()].map(|side| on_the_clave(card, side));
                assert!(home.len() > away.len(), "{}: {said}", q.item);
                let spoken = |pulses: &[usize]| -> Vec<String> {
                    pulses.iter().map(|p| card.grid.spoken(*p)).collect()
                };
                let (first, rest) = match said.split_once(". Here ") {
                    Some(parts) => parts,
                    None => said.split_once("; ").unwrap(),
                };
                let counts = |text: &str| -> Vec<String> {
                    let words = text.split(|c: char| !c.is_ascii_digit() && c != '&');
                    words.filter(|w| !w.is_empty()).map(String::from).collect()
                };
                assert_eq!(counts(first), spoken(&home), "{}: {said}", q.item);
                assert_eq!(counts(rest), spoken(&away), "{}: {said}", q.item);
            } else {
                // The low drum, on the side that the card's school names.
                schooled += 1;
                let way = &card.school.as_ref().unwrap().way;
                let side = if way.starts_with("two") {
                    Side::Two
                } else {
                    Side::Three
                };
                let begins = format!("You play the low drum on the {}", side.name());
                assert!(said.starts_with(&begins), "{}: {said}", q.item);
                let drums = card.score.drums.as_ref().unwrap();
                let low: Vec<usize> = drums
                    .strokes()
                    .filter(|(_, s)| s.drum == whichside::rhythm::Drum::Tumbadora)
                    .map(|(p, _)| p)
                    .collect();
                let bar = |p: usize| p / card.grid.pulses_per_bar();
                assert!(
                    low.iter()
                        .all(|p| card.clave.unwrap().direction.side(bar(*p)) == side)
                );
                let home = on_the_clave(card, own);
                let met = low.iter().filter(|p| home.contains(p));
                for pulse in met.clone() {
                    assert!(
                        said.contains(&card.grid.spoken(*pulse)),
                        "{}: {said}",
                        q.item
                    );
                }
                assert_eq!(
                    said.contains("clave"),
                    met.count() > 0,
                    "{}: {said}",
                    q.item
                );
            }
            if is_laid(&q) {
                let crossed = said.contains(" Here ");
                assert_eq!(crossed, q.form.right_texts() == ["n"], "{}: {said}", q.item);
            }
        }
    }
    assert!(counted > 500 && schooled > 100, "{counted} {schooled}");
}
