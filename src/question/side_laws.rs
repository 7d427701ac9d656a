//! Laws of the questions about the side, over the shipped decks.

use super::side::{Asked, SIDE};
use super::signs::{Sign, SignContext, SignKind};
use super::{Draw, ItemKey, Mark, Question, Sense, Setup, allows, ask, scene, side_reasons};
use crate::clave::{Clave, Direction, Family, PARTS, Side};
use crate::deck::{Card, States, shipped};
use crate::rhythm::{Grid, Score};
use std::collections::HashMap;

fn setup(card: &Card, seed: u64) -> Setup {
    let (low, high) = card.tempo;
    Setup {
        tempo: low.toward(high, (seed % 7) as f64 / 6.0),
        player: Default::default(),
        as_written: false,
        weighed: false,
        unseen: false,
    }
}

fn each_item(mut see: impl FnMut(&Card, &ItemKey)) {
    let decks = shipped();
    for card in decks.iter().flat_map(|d| &d.cards) {
        for sense in Sense::ALL.into_iter().filter(|s| allows(card, &SIDE, *s)) {
            let item = ItemKey {
                card: card.id.clone(),
                kind: SIDE.name.into(),
                sense,
            };
            see(card, &item);
        }
    }
}

fn each(seeds: u64, mut see: impl FnMut(&Card, &Question)) {
    each_item(|card, item| {
        for seed in 0..seeds {
            see(card, &ask(card, item, seed, &setup(card, seed)).unwrap());
        }
    });
}

/// What of the scenes is decided by signs: the clave itself and what goes with either side is not.
fn each_scene(seeds: u64, mut see: impl FnMut(&Card, &scene::Scene, Vec<Sign>)) {
    each_item(|card, item| {
        for seed in 0..seeds {
            let setup = setup(card, seed);
            let asked = Asked::draw(card, item.sense, &setup, &mut Draw::new(seed));
            if card.states != States::Neither && !scene::is_clave(&asked.scene.score) {
                let signs = side_reasons::signs(card, &asked.scene);
                see(card, &asked.scene, signs);
            }
        }
    });
}

/// Everything that tells one question from another before it is answered, but for the tempo: that does not decide.
fn shown(q: &Question) -> String {
    let score = &q.prompt.take.score;
    let drums: Vec<_> = score
        .drums
        .iter()
        .flat_map(|d| d.cells())
        .map(|c| c.map(|s| (s.drum, s.tone, s.weight)))
        .collect();
    format!(
        "{:?} {} {:?} {drums:?} {:?} {:?} {:?}",
        q.item.sense, q.prompt.text, q.prompt.mark, score.grid, score.lines, q.form
    )
}

#[test]
fn what_looks_and_sounds_alike_has_the_same_answer() {
    let mut seen: HashMap<String, (Vec<String>, String)> = HashMap::new();
    let (mut asked, mut twice, mut clashes) = (0, 0, Vec::new());
    each(200, |_, q| {
        asked += 1;
        let entry = seen.entry(shown(q));
        let first = entry.or_insert_with(|| (q.form.right_texts(), q.item.to_string()));
        twice += usize::from(first.1 != q.item.to_string());
        if first.0 != q.form.right_texts() {
            clashes.push(format!(
                "{} {:?}: {first:?}: {}",
                q.item,
                q.form.right_texts(),
                q.prompt.text
            ));
        }
    });
    clashes.sort();
    clashes.dedup();
    assert!(clashes.is_empty(), "{} {clashes:#?}", clashes.len());
    // The law has something to look at: many items share what they show.
    assert!(asked > 50_000 && twice > 1000, "{asked} {twice}");
}

#[test]
fn nobody_can_tell_and_it_fits_both_exactly_where_all_bars_are_alike() {
    let (mut cannot_tell, mut fits_both, mut sided) = (0, 0, 0);
    each(40, |card, q| {
        let score = &q.prompt.take.score;
        let alike = score.bars() > 1 && scene::bars_alike(score);
        let clave = scene::is_clave(&scene::part(card));
        let keys = q.form.right_texts();
        let key = keys[0].as_str();
        match (alike, q.prompt.mark) {
            (true, Mark::Whole) if !clave => {
                fits_both += 1;
                assert_eq!(key, "b", "{}", q.item);
            }
            (true, _) if !clave => {
                cannot_tell += 1;
                assert_eq!(key, "c", "{}", q.item);
            }
            _ => {
                sided += 1;
                assert!(key == "2" || key == "3", "{}", q.item);
            }
        }
        // An answer that is never right is not offered.
        assert_eq!(
            q.form.choices().len(),
            if clave { 2 } else { 3 },
            "{}",
            q.item
        );
    });
    assert!(cannot_tell > 500 && fits_both > 500 && sided > 5000);
}

#[test]
fn the_first_sign_found_without_knowing_the_answer_gives_it() {
    let mut scenes = 0;
    let mut wrong = std::collections::BTreeSet::new();
    each_scene(12, |card, scene, signs| {
        scenes += 1;
        let direction = scene.clave.unwrap().direction;
        let first = signs.first().map(|first| (first.what, first.side));
        let right = signs.first().map(|first| direction.side(first.bar));
        if right.is_none() || first.map(|(_, side)| side) != right {
            wrong.insert(format!("{}: {first:?}", card.id));
        }
    });
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(scenes > 2000, "{scenes}");
}

#[test]
fn begun_a_bar_later_every_sign_says_the_other_thing() {
    // The same music under the other answer. What would still be said there would be no reason.
    let mut turned_signs = 0;
    each_scene(12, |card, scene, signs| {
        let bars = scene.score.bars();
        if bars % 2 == 1 {
            return;
        }
        let per = scene.score.grid.pulses_per_bar();
        let mut turned = scene.clone();
        turned.score = scene.score.rotated(per);
        if scene.own.len() < bars {
            turned.own = 1 - scene.own.start..2 - scene.own.start;
        }
        let later = side_reasons::signs(card, &turned);
        let kinds = |signs: &[Sign]| -> Vec<SignKind> { signs.iter().map(|s| s.what).collect() };
        for sign in &signs {
            let Some(same) = later.iter().find(|s| same_sort(s.what, sign.what)) else {
                panic!("{}: {sign:?} is gone: {:?}", card.id, kinds(&later));
            };
            turned_signs += 1;
            assert_eq!(
                same.side_of(0),
                sign.side_of(0).other(),
                "{}: {sign:?}",
                card.id
            );
        }
    });
    assert!(turned_signs > 3000, "{turned_signs}");
}

/// A known part changes its direction with the bar in which it begins.
fn same_sort(a: SignKind, b: SignKind) -> bool {
    match (a, b) {
        (SignKind::Part(a), SignKind::Part(b)) => a.name == b.name,
        _ => a == b,
    }
}

#[test]
fn what_a_sign_rests_on_is_there_and_in_no_bar_of_the_other_side() {
    each_scene(12, |card, scene, signs| {
        let score = &scene.score;
        let per = score.grid.pulses_per_bar();
        let at = |p: usize| {
            let drums = score.drums.as_ref().and_then(|d| d.at(p));
            let lines: Vec<bool> = score.lines.iter().map(|l| l.at(p).is_some()).collect();
            (drums.map(|s| (s.drum, s.tone, s.weight)), lines)
        };
        for sign in signs.iter().filter(|s| !s.pulses.is_empty()) {
            for p in &sign.pulses {
                let (drums, lines) = at(*p);
                assert!(
                    drums.is_some() || lines.contains(&true),
                    "{}: {sign:?}",
                    card.id
                );
            }
            let bars = score.bars();
            for other in (0..bars).filter(|b| b % 2 != sign.bar % 2) {
                // The same strokes, this many bars later.
                let later = (bars + other - sign.bar) * per;
                let moved = |p: &usize| (p + later) % (bars * per);
                let same = sign.pulses.iter().all(|p| at(*p) == at(moved(p)));
                assert!(!same, "{}: {sign:?} holds for bar {other} as well", card.id);
            }
        }
    });
}

#[test]
fn the_signs_agree_with_the_table_of_parts() {
    // Published parts (each row of the table names its source), by themselves in both directions.
    let mut parts = 0;
    for part in PARTS
        .iter()
        .filter(|p| p.states_side && p.instrument.is_some())
    {
        let clave = part.instrument == Some(crate::rhythm::Instrument::Clave);
        if clave {
            continue;
        }
        parts += 1;
        for direction in Direction::ALL {
            let mut score = Score::empty(part.grid);
            score.set_line(part.line(part.grid, direction).unwrap());
            let family = match part.grid {
                Grid::SixEight => Family::Rumba,
                _ => Family::Son,
            };
            let shown = |score: &Score| {
                let scene = scene::Scene {
                    own: 0..score.bars(),
                    score: score.clone(),
                    clave: Some(Clave { family, direction }),
                };
                SignContext::of(&scene, None, None).unwrap().signs()
            };
            let first = shown(&score)[0].clone();
            assert_eq!(
                first.side,
                direction.side(first.bar),
                "{}: {first:?}",
                part.name
            );
            // One of its bars alone: no sign says the other side first.
            let per = part.grid.pulses_per_bar();
            for bar in 0..2 {
                let line = part.line(part.grid, direction).unwrap();
                let cells = line.cells()[bar * per..(bar + 1) * per].to_vec();
                let mut alone = Score::empty(part.grid);
                alone.set_line(
                    crate::rhythm::Line::new(line.instrument(), part.grid, cells).unwrap(),
                );
                if let Some(first) = shown(&alone).first() {
                    assert_eq!(first.side, direction.side(bar), "{}: {first:?}", part.name);
                }
            }
        }
    }
    assert!(parts >= 6, "{parts}");
}

#[test]
fn reasons_are_few_true_of_their_bars_and_never_count_against_what_lies_between() {
    let mut of_another_bar = 0;
    each(40, |_, q| {
        let reasons = &q.reveal.reasons;
        assert!((1..=3).contains(&reasons.len()), "{}: {reasons:?}", q.item);
        let direction = q.reveal.clave.unwrap().direction;
        for reason in reasons {
            let text = reason.text.to_lowercase();
            assert!(!text.contains("cross"), "{}: {text}", q.item);
            for bar in 0..q.prompt.take.score.bars() {
                for side in [Side::Two, Side::Three] {
                    let said = format!("bar {} is the {}", bar + 1, side.name());
                    if text.contains(&said) {
                        assert_eq!(direction.side(bar), side, "{}: {text}", q.item);
                    }
                }
            }
            of_another_bar += usize::from(text.contains("so bar"));
        }
        // The reason that decides comes first and is drawn.
        assert!(!reasons[0].pulses.is_empty(), "{}: {reasons:?}", q.item);
        let crosses = q.reveal.meets.contains(&crate::clave::Alignment::Crosses);
        assert!(!crosses, "{}", q.item);
    });
    assert!(of_another_bar > 500, "{of_another_bar}");
}

#[test]
fn in_rumba_a_question_stands_on_rumba_parts() {
    use crate::rhythm::Instrument::{Clave as ClaveLine, Click, Shaker, Shell};
    let mut asked = 0;
    each(40, |card, q| {
        let rumba = card.clave.is_some_and(|c| c.family == Family::Rumba);
        if !rumba || card.grid == Grid::SixEight || q.prompt.text.contains("stops") {
            return;
        }
        asked += 1;
        let score = &q.prompt.take.score;
        for line in score
            .lines
            .iter()
            .filter(|l| card.score.line(l.instrument()).is_none())
        {
            let who = line.instrument();
            assert!(
                [ClaveLine, Click, Shaker, Shell].contains(&who),
                "{}: {who:?}",
                q.item
            );
        }
        let (Some(drums), Some(own)) = (&score.drums, &card.score.drums) else {
            return;
        };
        let plain = super::plain_tumbao(card.grid).unwrap();
        let tones = |cells: &[Option<crate::rhythm::Stroke>]| -> Vec<_> {
            cells.iter().map(|c| c.map(|s| (s.drum, s.tone))).collect()
        };
        let has = |p: &crate::rhythm::Pattern| {
            (0..p.bars()).any(|b| tones(p.bar(b)) == tones(plain.bar(0)))
        };
        assert!(!has(drums) || has(own), "{}", q.item);
    });
    assert!(asked > 500, "{asked}");
}
