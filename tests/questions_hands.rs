//! Which hand: what is graded right can be played and is idiom, what is refused is refused for a reason that names a
//! stroke and holds. Over every shipped card, both schools of the low drum, both hands, 200 seeds an item.

use std::collections::BTreeMap;
use whichside::deck::{Card, shipped};
use whichside::hands::{Handed, Player, judge, stick};
use whichside::question::{Draw, Question, Setup, StickingTask, ask, card, grade, items};
use whichside::rhythm::{Hand, Pattern, Tempo};
use whichside::time::Seconds;

const SEEDS: u64 = 200;
/// Rows of hands that are tried of one question: all where there are no more, else so many drawn.
const ROWS: usize = 8;

fn each(seeds: std::ops::Range<u64>, mut see: impl FnMut(&Card, &Question)) -> usize {
    let decks = shipped();
    let mut asked = 0;
    for item in items(&decks).iter().filter(|i| i.key.kind == "hand") {
        let card = card(&decks, &item.key.card).unwrap();
        for seed in seeds.clone() {
            for handed in [Handed::Right, Handed::Left] {
                let (low, high) = card.tempo;
                let setup = Setup {
                    tempo: low.toward(high, (seed % 11) as f64 / 10.0).round(),
                    player: Player {
                        handed,
                        ..Player::default()
                    },
                    as_written: seed == 0,
                    weighed: false,
                    unseen: false,
                };
                let q = ask(card, &item.key, 7919 * seed + 13, &setup);
                see(card, &q.unwrap_or_else(|| panic!("{} {seed}", item.key)));
                asked += 1;
            }
        }
    }
    asked
}

fn hands(keys: &str) -> Vec<Hand> {
    let letter = |k: char| Hand::from_letter(k.to_ascii_uppercase()).unwrap();
    keys.chars().map(letter).collect()
}

/// The drums with an answer filled in.
fn filled<'a>(q: &'a Question, keys: &str) -> (&'a StickingTask, Pattern) {
    let sticking = q.reveal.sticking.as_ref().unwrap();
    (sticking, sticking.with(&hands(keys)))
}

/// Rows of keys, some or all.
fn rows(q: &Question, draw: &mut Draw) -> Vec<String> {
    let n = q.form.length();
    let all = 1usize << n;
    let row = |bits: usize| (0..n).map(|i| ['l', 'r'][bits >> i & 1]).collect();
    match all <= ROWS {
        true => (0..all).map(row).collect(),
        false => (0..ROWS).map(|_| row(draw.below(all))).collect(),
    }
}

#[test]
fn right_can_be_played_refused_has_a_reason_that_holds_and_equal_screens_have_equal_answers() {
    let mut draw = Draw::new(4);
    let (mut right, mut refused) = (0, 0);
    // What is seen, by handedness: words, rows, mark, tempo, number of keys.
    let mut seen: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let asked = each(0..SEEDS, |card, q| {
        let take = &q.prompt.take;
        let handed = q.reveal.sticking.as_ref().unwrap().player.handed;
        let (text, mark, length) = (&q.prompt.text, q.prompt.mark, q.form.length());
        let screen = format!(
            "{handed:?} {text} {:?} {} {mark:?} {length}",
            take.score, take.tempo
        );
        let mut all = q.form.right_texts();
        all.sort();
        let known = seen.entry(screen).or_insert_with(|| all.clone());
        assert_eq!(*known, all, "{}: the same screen has other answers", q.item);
        let bpm = q.prompt.take.tempo;
        for keys in q.form.right_texts().iter().take(ROWS) {
            let (sticking, drums) = filled(q, keys);
            assert_eq!(
                judge(&drums, bpm, &sticking.player),
                Ok(()),
                "{} {keys}",
                card.id
            );
            right += 1;
        }
        for keys in rows(q, &mut draw) {
            let verdict = grade(q, &q.form.answer(&keys).unwrap(), Seconds::new(1.0));
            let (sticking, drums) = filled(q, &keys);
            let fine = judge(&drums, bpm, &sticking.player).is_ok();
            if verdict.right {
                assert!(fine && verdict.why.is_none(), "{} {keys}", card.id);
                continue;
            }
            // A named sticking is asked for itself; otherwise everything that works is right.
            assert!(sticking.rudiment.is_some() || !fine, "{} {keys}", card.id);
            let why = verdict
                .why
                .unwrap_or_else(|| panic!("{}: no reason", q.item));
            holds(&why.text, &why.pulses, &drums, q);
            refused += 1;
        }
    });
    println!("{asked} questions, {right} right rows, {refused} refused");
    assert!(asked >= 30_000 && refused > 50_000, "{asked} {refused}");
}

/// A reason that is given for a row of hands: it names its strokes by their place, they are struck, and what it says of
/// them is so, reckoned from the row, the count and the tempo alone.
fn holds(text: &str, pulses: &[usize], drums: &Pattern, q: &Question) {
    let say = || format!("{}: {text} {pulses:?}", q.item);
    let grid = drums.grid();
    assert!(!pulses.is_empty(), "{}", say());
    for p in pulses {
        assert!(drums.at(*p).is_some(), "{}", say());
        assert!(text.contains(&grid.spoken(*p)), "{}", say());
    }
    assert!(!text.contains("more than twice the time"), "{}", say());
    let hand = |p: usize| drums.at(p).unwrap().hand.unwrap();
    let ms = |from: usize, to: usize| {
        let n = drums.pulses();
        let gap = (to + n - from - 1) % n + 1;
        gap as f64 * 1000.0 * q.prompt.take.tempo.pulse(grid).seconds()
    };
    let named = match text {
        t if t.starts_with("The left") => Some(Hand::Left),
        t if t.starts_with("The right") => Some(Hand::Right),
        _ => None,
    };
    if text.contains("needs about") {
        let numbers: Vec<f64> = text
            .split_once("needs about ")
            .unwrap()
            .1
            .split(|c: char| !c.is_ascii_digit())
            .filter_map(|w| w.parse().ok())
            .collect();
        assert!(numbers[0] > numbers[1], "{}", say());
        assert!(
            (ms(pulses[0], pulses[1]) - numbers[1]).abs() < 1.0,
            "{}",
            say()
        );
        assert!(pulses.iter().all(|p| Some(hand(*p)) == named), "{}", say());
    } else if text.contains("strong strokes in a row change hands") {
        assert!(pulses.iter().all(|p| Some(hand(*p)) == named), "{}", say());
        let beat =
            grid.pulses_per_beat() as f64 * 1000.0 * q.prompt.take.tempo.pulse(grid).seconds();
        assert!(ms(pulses[0], pulses[1]) <= beat / 2.0 + 1.0, "{}", say());
        assert!(
            pulses.iter().all(|p| !drums.at(*p).unwrap().is_light()),
            "{}",
            say()
        );
    } else if text.contains("arms cross") {
        assert!(
            hand(pulses[0]) != hand(pulses[1]) && hand(pulses[1]) == hand(pulses[2]),
            "{}",
            say()
        );
    } else if text.contains("goes ") && q.reveal.sticking.as_ref().unwrap().rudiment.is_some() {
        // The hand that is wanted is not the one that was given.
        let wanted = if text.contains("is the left's") {
            Hand::Left
        } else {
            Hand::Right
        };
        assert!(hand(pulses[0]) != wanted, "{}", say());
    } else if text.contains("which rocks") {
        assert!(hand(pulses[0]) != hand(pulses[1]), "{}", say());
    } else if text.contains("one hand keeps rocking") {
        assert!(
            hand(pulses[0]) == hand(pulses[1]) && hand(pulses[2]) == hand(pulses[3]),
            "{}",
            say()
        );
        assert!(hand(pulses[0]) != hand(pulses[2]), "{}", say());
    } else {
        assert!(named.is_some(), "{}", say());
        assert!(pulses.iter().all(|p| Some(hand(*p)) == named), "{}", say());
    }
}

#[test]
fn what_leaves_either_hand_is_not_asked() {
    // A teacher's list (common practice, no source): `O . O . O . O .` has RRRR and LRLR right, and eight opens by eighths at 69 have all of
    // these right.
    let decks = shipped();
    let asked = items(&decks);
    let asked = asked.iter().filter(|i| i.key.kind == "hand");
    assert!(!asked.clone().any(|i| i.key.card == "strokes/open"));
    let mut whole = 0;
    each(0..60, |_, q| {
        let (sticking, drums) = filled(q, &q.form.right_texts()[0]);
        let opens = drums
            .strokes()
            .all(|(_, s)| s.tone == whichside::rhythm::Tone::Open);
        let eight = drums.strokes().count() == 8 && drums.pulses() == 8;
        if sticking.rudiment.is_none()
            && opens
            && eight
            && q.form.length() == 8
            && q.prompt.take.tempo < Tempo::new(150.0)
        {
            whole += 1;
            for keys in ["rlrlrlrl", "lrlrlrlr", "rrllrrll", "rlrrlrll"] {
                assert!(
                    q.form.right_texts().contains(&keys.to_string()),
                    "{}: {keys}",
                    q.item
                );
            }
        }
    });
    assert!(whole > 0);
}

#[test]
fn a_named_sticking_says_its_name_and_the_hand_that_leads_and_can_be_played() {
    let mut named = 0;
    each(0..60, |card, q| {
        let Some(rudiment) = card.rudiment else {
            return;
        };
        named += 1;
        let (sticking, drums) = filled(q, &q.form.right_texts()[0]);
        assert_eq!(q.form.right_texts().len(), 1);
        assert!(q.prompt.text.to_lowercase().contains(rudiment.name));
        let lead = drums.hands()[0].unwrap();
        assert!(
            q.prompt
                .text
                .contains(&format!("the {} hand leads", lead.name()))
        );
        let shown = q.prompt.take.score.drums.as_ref().unwrap();
        assert_eq!(shown.hands()[0], Some(lead));
        let all: Vec<Hand> = drums.hands().into_iter().flatten().collect();
        assert_eq!(all, rudiment.row(lead, all.len()));
        let written = stick(&drums, Tempo::new(100.0), &sticking.player);
        assert!(written.ceiling >= q.prompt.take.tempo * 0.9);
    });
    assert!(named > 500, "{named}");
}
