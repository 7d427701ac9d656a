//! Laws that hold for every kind, over cards of every sort and many seeds.

use super::*;
use crate::deck::States;
use crate::rhythm::Tempo;
use crate::sound::CountIn;
use crate::time::Seconds;

const SEEDS: u64 = 60;

fn setup(tempo: Tempo) -> Setup {
    Setup {
        tempo,
        player: crate::hands::Player::default(),
        as_written: false,
        weighed: false,
        unseen: false,
    }
}

/// Every question of the test deck with its card.
pub(super) fn each(mut see: impl FnMut(&crate::deck::Card, &Question)) {
    let deck = fixture::deck();
    for item in items(std::slice::from_ref(&deck)) {
        let card = card(std::slice::from_ref(&deck), &item.key.card).unwrap();
        for seed in 0..SEEDS {
            let tempo = [120.0, 160.0, 200.0][seed as usize % 3];
            let question = ask(card, &item.key, seed, &setup(Tempo::new(tempo)))
                .expect("every item can be asked");
            see(card, &question);
        }
    }
}

fn own_keys(question: &Question) -> Answer {
    question.form.right().remove(0)
}

#[test]
fn every_sort_of_card_is_asked_in_every_way_that_suits_it() {
    let names: Vec<String> = items(&[fixture::deck()])
        .iter()
        .map(|i| i.key.to_string())
        .collect();
    let asked = |key: &str| names.iter().any(|n| n == key);
    assert!(asked("yard/plain-tumbao:side:read") && asked("yard/plain-tumbao:strokes:hear"));
    assert!(asked("yard/plain-tumbao:hand:read") && !asked("yard/plain-tumbao:hand:hear"));
    assert!(asked("yard/son-clave:side:hear") && !asked("yard/son-clave:strokes:read"));
    assert!(asked("yard/corner:place:read") && asked("yard/corner:place:hear"));
    assert!(asked("yard/tips-in-a-row:thin:read") && !asked("yard/tips-in-a-row:thin:hear"));
    assert!(!asked("yard/plain-tumbao:place:read") && !asked("yard/plain-tumbao:thin:read"));
    assert!(asked("yard/plain-tumbao:write:read") && asked("yard/plain-tumbao:write:hear"));
    assert!(asked("yard/open-tones-in-clave:clap:hear"));
    assert!(asked("yard/open-tones-in-clave:play:hear"));
    assert!(asked("yard/answer-on-two-and-three:play:hear"));
    assert!(!asked("yard/son-clave:play:hear") && !asked("yard/plain-tumbao:play:read"));
    assert!(!asked("yard/son-clave:clap:hear") && !asked("yard/plain-tumbao:clap:hear"));
    assert!(asked("yard/son-clave:hold:hear") && asked("yard/open-tones-in-clave:hold:hear"));
    assert!(!asked("yard/plain-tumbao:hold:hear") && !asked("yard/three-bars:hold:hear"));
    assert!(asked("yard/corner:call:hear") && !asked("yard/son-clave:call:hear"));
    assert!(!asked("yard/low-drum:write:read") && !asked("yard/shell:write:hear"));
    assert!(asked("yard/why-not-turn:choice:read") && !asked("yard/why-not-turn:side:read"));
}

#[test]
fn a_question_grades_its_own_key_right() {
    each(|_, q| {
        let verdict = grade(q, &own_keys(q), Seconds::new(0.1));
        assert!(verdict.right && verdict.in_time && verdict.correct == 1.0);
        let late = grade(q, &own_keys(q), q.limit() + Seconds::new(0.1));
        assert!(late.right && !late.in_time);
        let nothing = grade(q, &Answer::Row(String::new()), Seconds::new(0.1));
        assert!(!nothing.right && nothing.correct == 0.0);
    });
}

#[test]
fn the_same_seed_gives_the_same_question_and_seeds_differ() {
    let deck = fixture::deck();
    for item in items(std::slice::from_ref(&deck)) {
        let card = card(std::slice::from_ref(&deck), &item.key.card).unwrap();
        let make = |seed| ask(card, &item.key, seed, &setup(Tempo::new(150.0))).unwrap();
        assert_eq!(make(3), make(3));
        let first = make(0);
        let differs = |q: Question| {
            (&q.prompt.take.score, &q.prompt.mark, q.form.right_texts())
                != (
                    &first.prompt.take.score,
                    &first.prompt.mark,
                    first.form.right_texts(),
                )
        };
        // A bar that is written from memory is always the same: it is what was learned.
        let by_heart = (item.key.kind.as_str(), item.key.sense) == ("write", Sense::Read);
        assert!(
            by_heart || (1..SEEDS).any(|s| differs(make(s))),
            "{}",
            item.key
        );
    }
}

#[test]
fn the_guess_chance_is_what_random_keys_get() {
    // For each key of the answer the share of random choices that are right, counted; their product is the guess
    // chance. 400 draws a key: five standard deviations of a share are at most .125.
    let mut draw = Draw::new(9);
    let mut seen = std::collections::BTreeMap::<String, (f64, f64, usize)>::new();
    each(|_, q| {
        assert!(q.form.guess() > 0.0 && q.form.guess() < 1.0, "{}", q.item);
        // Of a clave everybody knows the strokes; the direction is one of two.
        if let Form::Taps { .. } = q.form {
            // With two keys each stroke is besides one of two.
            let two_hands = matches!(q.item.kind.as_str(), "play" | "call");
            assert!(two_hands || q.form.guess() == 0.5);
            return;
        }
        let choices = q.form.choices().to_vec();
        let tries = 400;
        let mut right = 0;
        for _ in 0..tries {
            let keys: String = (0..q.form.length())
                .map(|_| choices[draw.below(choices.len())].key)
                .collect();
            right += usize::from(q.form.is_right(&q.form.answer(&keys).unwrap()));
        }
        let entry = seen.entry(q.item.to_string()).or_default();
        entry.0 += q.form.guess();
        entry.1 += right as f64 / tries as f64;
        entry.2 += 1;
    });
    for (item, (guess, random, n)) in seen {
        let (guess, random) = (guess / n as f64, random / n as f64);
        // n * 400 draws with chance at most 1/2: five standard deviations.
        let five = 5.0 * (0.25 / (n as f64 * 400.0)).sqrt();
        assert!((guess - random).abs() < five, "{item}: {guess} {random}");
    }
}

#[test]
fn a_band_around_a_side_question_is_the_same_for_either_side() {
    // What the band adds must hide the side: each line repeats after one bar.
    each(|card, q| {
        // Where the clave has stopped, the bell is what is asked about.
        if q.item.kind != "side" || q.prompt.text.contains("stops") {
            return;
        }
        let score = &q.prompt.take.score;
        for line in &score.lines {
            if card.score.line(line.instrument()).is_none() {
                let per = score.grid.pulses_per_bar();
                assert!((0..line.pulses()).all(|p| line.at(p) == line.at(p + per)));
            }
        }
    });
}

#[test]
fn as_written_means_the_bare_card_from_its_first_bar() {
    let deck = fixture::deck();
    for item in items(std::slice::from_ref(&deck)) {
        let card = card(std::slice::from_ref(&deck), &item.key.card).unwrap();
        let written = Setup {
            as_written: true,
            weighed: false,
            unseen: false,
            ..setup(Tempo::new(150.0))
        };
        for seed in 0..5 {
            let q = ask(card, &item.key, seed, &written).unwrap();
            let mut bare = q.prompt.take.score.clone();
            if let (Some(shown), Some(own)) = (&mut bare.drums, &card.score.drums) {
                *shown = shown.with_hands(&own.hands());
            }
            assert_eq!(bare, card.score, "{}", item.key);
            assert_eq!(q.reveal.clave, card.clave);
        }
    }
}

#[test]
fn every_question_has_reasons_concepts_and_pulses_inside_the_score() {
    each(|card, q| {
        assert!(
            !q.reveal.reasons.is_empty() && !q.concepts.is_empty(),
            "{}",
            q.item
        );
        let of = kind(&q.item.kind).unwrap();
        let drawn = (of.drawn_concepts)();
        let always = (of.concepts)(card, q.item.sense);
        let known = |concept: &&String| {
            let always = always.contains(&concept.as_str()) || card.concepts.contains(concept);
            always || drawn.contains(concept)
        };
        assert!(
            q.concepts.iter().all(|c| known(&c)),
            "{}: {:?}",
            q.item,
            q.concepts
        );
        let pulses = q.reveal.take.score.pulses();
        for reason in &q.reveal.reasons {
            assert!(!reason.text.trim().is_empty());
            assert!(reason.pulses.iter().all(|p| *p < pulses));
        }
        assert!(q.reveal.hands.is_empty() || q.reveal.hands.len() <= pulses);
        assert_eq!(q.reveal.take.count_in, CountIn::None);
        assert!(!q.reveal.answer.is_empty() && !q.prompt.text.is_empty());
        assert!(q.limit() > Seconds::ZERO && q.listening_seconds() > Seconds::ZERO);
    });
}

#[test]
fn every_number_of_a_reason_stands_on_a_pulse_of_its_own() {
    each(|_, q| {
        let reasons = &q.reveal.reasons;
        for (i, reason) in reasons.iter().enumerate() {
            let before = &reasons[..i];
            let own = |p: &usize| before.iter().all(|r| !r.pulses.contains(p));
            let shown = reason.pulses.is_empty() || reason.pulses.iter().any(own);
            assert!(shown, "{}: {}", q.item, reason.text);
        }
    });
}

#[test]
fn choices_are_enough_distinct_and_hold_the_key() {
    each(|_, q| {
        if let Form::Taps { .. } = q.form {
            return;
        }
        let mut keys: Vec<char> = q.form.choices().iter().map(|c| c.key).collect();
        let enough = match q.item.kind.as_str() {
            "strokes" => 4,
            "hand" | "thin" => 2,
            // A clave by itself always tells its side.
            "side" => 2,
            _ => 3,
        };
        assert!(keys.len() >= enough);
        for right in &q.form.right_texts() {
            assert_eq!(right.chars().count(), q.form.length());
            assert!(right.chars().all(|k| keys.contains(&k)));
        }
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), q.form.choices().len());
        // The point is the rest of a written row.
        let lower = |k: &char| k.is_ascii_lowercase() || k.is_ascii_digit() || *k == REST;
        assert!(keys.iter().all(lower));
    });
}

#[test]
fn the_side_is_that_of_the_clave_under_the_marked_bar() {
    each(|card, q| {
        if q.item.kind != "side" {
            return;
        }
        if q.prompt.text.contains("stops") {
            return;
        }
        let bar = match q.prompt.mark {
            Mark::Bar(b) => b,
            _ => 0,
        };
        let side = q.reveal.clave.unwrap().direction.side(bar);
        let expected = match card.states {
            States::Neither if q.prompt.mark == Mark::Whole => 'b',
            States::Neither => 'c',
            _ if side == crate::clave::Side::Two => '2',
            _ => '3',
        };
        assert_eq!(q.form.right_texts(), [expected.to_string()]);
    });
}

#[test]
fn directions_and_bars_come_out_even_whatever_the_deck() {
    // A part that follows the clave is begun in either bar: two and three come equally often.
    let deck = fixture::deck();
    let key = ItemKey {
        card: "yard/open-tones-in-clave".into(),
        kind: "side".into(),
        sense: Sense::Read,
    };
    let card = card(std::slice::from_ref(&deck), &key.card).unwrap();
    let two = (0..1000)
        .filter(|s| {
            ask(card, &key, *s, &setup(Tempo::new(160.0)))
                .unwrap()
                .form
                .right()[0]
                .text()
                .starts_with('2')
        })
        .count();
    // Binomial, n = 1000, p = 1/2: standard deviation 16; five of them.
    assert!((420..=580).contains(&two), "{two}");
}

#[test]
fn the_single_open_tone_on_four_is_the_three_side() {
    // Wikipedia, Conga: one open tone on beat 4 of the three side, two at the end of the two side.
    let deck = fixture::deck();
    let card = card(std::slice::from_ref(&deck), "yard/open-tones-in-clave").unwrap();
    let key = ItemKey {
        card: card.id.clone(),
        kind: "side".into(),
        sense: Sense::Read,
    };
    for seed in 0..SEEDS {
        let q = ask(card, &key, seed, &setup(Tempo::new(160.0))).unwrap();
        if let Mark::Bar(bar) = q.prompt.mark {
            let drums = q.prompt.take.score.drums.as_ref().unwrap();
            let open = drums.bar(bar).iter().flatten();
            let open = open.filter(|s| s.tone == crate::rhythm::Tone::Open).count();
            assert_eq!(
                q.form.right()[0].text().chars().next().unwrap(),
                if open == 1 { '3' } else { '2' }
            );
        }
    }
}
