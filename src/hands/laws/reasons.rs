//! Reasons are true: each is held against the sticking and against the slow reckoning.

use super::price::priced;
use super::{PRACTISED, arbitrary};
use crate::hands::{Sticking, stick};
use crate::rhythm::{Drum, Hand, Pattern, Reason, Tempo, Tone};
use proptest::prelude::*;
use proptest::strategy::ValueTree;

/// The numbers before a word, as in `needs about 165 ms and has 188`.
fn number_after(text: &str, words: &str) -> f64 {
    let (_, rest) = text.split_once(words).unwrap();
    let digits: String = rest.chars().take_while(char::is_ascii_digit).collect();
    digits.parse().unwrap()
}

/// The ceiling that is told is that of the sticking; none is told only where nobody plays as fast.
fn ceiling(text: &str, s: &Sticking) {
    let told = ["Works up to about ", "About "];
    match told.into_iter().find(|words| text.contains(words)) {
        Some(words) => {
            let top = number_after(text, words);
            let works_to = s.works_to.bpm();
            assert!(top <= works_to + 1e-6 && works_to < top + 1.0 + 1e-6);
        }
        None => assert!(s.works_to > Tempo::new(400.0), "{text}"),
    }
}

/// The name of a reason that was checked; panics where it is untrue.
fn checked(p: &Pattern, tempo: Tempo, s: &Sticking, reason: &Reason) -> &'static str {
    let text = reason.text.as_str();
    let hand = |pulse: usize| s.hands[pulse].unwrap();
    let tone = |pulse: usize| p.at(pulse).unwrap().tone;
    let own: Vec<Hand> = s.hands.iter().flatten().copied().collect();
    let pulses = &reason.pulses;
    if text.contains(" rocks between ") {
        let low = if text.contains("bass") {
            Tone::Bass
        } else {
            Tone::Heel
        };
        for pulse in pulses {
            assert!(text.starts_with(&format!("The {} ", hand(*pulse).name())));
            assert!([low, Tone::Tip].contains(&tone(*pulse)));
        }
        "rocks"
    } else if text.contains("to the low drum on") || text.contains("reach the low drum on") {
        let (before, at) = (pulses[0], pulses[1]);
        assert_eq!(p.at(at).unwrap().drum, Drum::Tumbadora);
        let straight = text.contains(" goes straight ");
        assert_eq!(hand(before) == hand(at), straight);
        if straight {
            assert!(text.starts_with(&format!("The {} ", hand(at).name())));
        } else {
            let free = format!("leaves the {} free", hand(at).name());
            assert!(text.contains(&free), "{text}");
        }
        "low drum"
    } else if text.contains(" take turns ") {
        assert!(pulses.len() >= 3);
        assert!(pulses.windows(2).all(|w| hand(w[0]) != hand(w[1])));
        "turns"
    } else if text.contains("the strokes that carry") {
        for (pulse, stroke) in p
            .strokes()
            .filter(|(_, stroke)| stroke.asks_for_stronger_hand())
        {
            assert!(
                pulses.contains(&pulse) && hand(pulse) == Hand::Right,
                "{stroke:?}"
            );
        }
        "carry"
    } else if text.contains("so the arms cross") {
        assert!(priced(p, &own, tempo).crossings > 0 && hand(pulses[0]) != hand(pulses[1]));
        "cross"
    } else if text.starts_with("Works up to about ") {
        assert!(priced(p, &own, tempo).peak < 0.5 && pulses.is_empty());
        ceiling(text, s);
        "easy"
    } else if text.starts_with("At this tempo ") {
        let other: Vec<Option<Hand>> = s.instead.clone().unwrap();
        let struck: Vec<Hand> = other.iter().flatten().copied().collect();
        assert!(s.too_fast && priced(p, &struck, tempo).works());
        let changed = |pulse: &usize| other[*pulse] != s.hands[*pulse];
        assert!(!pulses.is_empty() && pulses.iter().all(changed));
        if text.contains("hand to hand") {
            assert!(struck.windows(2).all(|w| w[0] != w[1]));
            assert!(text.contains(&format!("the {} first", struck[0].name())));
        }
        "instead"
    } else if text.contains(" would let the ") {
        let mut cells = p.cells().to_vec();
        for pulse in pulses {
            let stroke = cells[*pulse].unwrap();
            let (is, gets) = match text.starts_with("A heel for the tip") {
                true => (Tone::Tip, Tone::Heel),
                false => (Tone::Heel, Tone::Tip),
            };
            assert_eq!(stroke.tone, is);
            cells[*pulse] = Some(crate::rhythm::Stroke {
                tone: gets,
                ..stroke
            });
        }
        let loose = Pattern::new(p.grid(), cells).unwrap();
        let top = number_after(text, "works up to about ");
        assert!(top + 1.0 > s.works_to.bpm() * 1.05);
        assert!(priced(&loose, &own, Tempo::new(top * (1.0 - 1e-6))).works());
        assert!(!priced(&loose, &own, Tempo::new((top + 1.0) * (1.0 + 1e-6))).works());
        "loose"
    } else if text.contains(" needs about ") {
        let (need, has) = (
            number_after(text, "needs about "),
            number_after(text, " ms and has "),
        );
        let load = priced(p, &own, tempo).peak;
        // Both are rounded to a millisecond.
        assert!((need - 0.5) / (has + 0.5) <= load && load <= (need + 0.5) / (has - 0.5).max(0.1));
        assert_eq!(hand(pulses[0]), hand(pulses[1]));
        ceiling(text, s);
        "speed"
    } else if text.starts_with("Leaving out ") {
        let mut cells = p.cells().to_vec();
        cells[pulses[0]] = None;
        let less = Pattern::new(p.grid(), cells).unwrap();
        let load = 100.0 * stick(&less, tempo, &PRACTISED).load;
        assert!((number_after(text, "then takes ") - load).abs() <= 0.5 + 1e-6);
        "leave out"
    } else {
        panic!("a reason that nobody checks: {text}")
    }
}

#[test]
fn every_reason_is_true_and_every_sort_of_reason_comes() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut seen = std::collections::BTreeMap::new();
    for round in 0..1500_u32 {
        let p = arbitrary().new_tree(&mut runner).unwrap().current();
        let tempo = Tempo::new(60.0 + f64::from(round % 12) * 18.0);
        let s = stick(&p, tempo, &PRACTISED);
        for reason in &s.reasons {
            *seen.entry(checked(&p, tempo, &s, reason)).or_insert(0) += 1;
        }
        // The same with hands that somebody wrote.
        let turns: Vec<Option<Hand>> = (0..p.strokes().count())
            .map(|i| Some(Hand::ALL[(i * 7 + round as usize) % 3 % 2]))
            .collect();
        let written = p.with_hands(&turns);
        let s = stick(&written, tempo, &PRACTISED);
        for reason in &s.reasons {
            *seen
                .entry(checked(&written, tempo, &s, reason))
                .or_insert(0) += 1;
        }
        // Light strokes, as they keep the time.
        let cells = written.cells().iter().map(|c| {
            c.map(|s| crate::rhythm::Stroke {
                drum: Drum::Conga,
                tone: match s.tone {
                    Tone::Open | Tone::Slap | Tone::Heel => s.tone,
                    _ => Tone::Tip,
                },
                ..s
            })
        });
        let light = Pattern::new(p.grid(), cells.collect()).unwrap();
        let s = stick(&light, tempo, &PRACTISED);
        for reason in &s.reasons {
            *seen.entry(checked(&light, tempo, &s, reason)).or_insert(0) += 1;
        }
    }
    for sort in [
        "rocks",
        "low drum",
        "turns",
        "carry",
        "cross",
        "speed",
        "easy",
        "leave out",
        "instead",
        "loose",
    ] {
        assert!(seen.get(sort).is_some_and(|n| *n >= 5), "{sort}: {seen:?}");
    }
}
