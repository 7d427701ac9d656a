use super::grade::{guess_chance, letters};
use super::hand_fit::{self, Place};
use super::{Choice, Draw, Form, Kind, Mark, Prompt, Question, Sense, Setup, scene, words};
use crate::deck::Card;
use crate::rhythm::{self, Pattern};
use crate::sound::Take;

/// Which hand fits the marked stroke, given the tempo and the hands around it? Or: which hands play the bar?
///
/// A single stroke is asked only where one hand fits and the other clearly does not: it gets there too late, crosses
/// the first, or breaks a habit of the trade. Where both fit, both would be right, any guess too, and the answer
/// would measure nothing. In a whole bar such strokes take either hand, and the others decide.
///
/// It is asked by eye: no ear tells the hands apart. The part may be listened to before answering.
pub struct Hand;

/// Share of questions that ask a whole bar, where there is one to ask.
const ROWS: f64 = 0.3;

impl Kind for Hand {
    fn name(&self) -> &'static str {
        "hand"
    }

    fn about(&self) -> &'static str {
        "which hand fits a marked stroke, or which hands play a bar"
    }

    fn fits(&self, card: &Card, sense: Sense) -> bool {
        let drums = card.score.drums.as_ref();
        sense == Sense::Read && drums.is_some_and(|p| p.strokes().count() > 2 && !is_one_handed(p))
    }

    fn concepts(&self, _card: &Card, _sense: Sense) -> Vec<String> {
        vec!["sticking".to_string()]
    }

    fn ask(&self, card: &Card, sense: Sense, seed: u64, setup: &Setup) -> Option<Question> {
        if !self.fits(card, sense) {
            return None;
        }
        let mut draw = Draw::new(seed);
        let scene = scene::begun(card, setup, &mut draw);
        let drums = hand_fit::with_all_hands(scene.score.drums.as_ref()?, setup)?;
        let places = hand_fit::places(&drums, setup);
        let first = of_bar(&drums, &places, 0);
        let (mark, asked) = match setup.as_written && first.iter().any(|p| p.clear) {
            true => (Mark::Bar(0), first),
            false => asked(&drums, &places, &mut draw)?,
        };
        let right = rows(&asked.iter().map(|p| keys(p, mark)).collect::<Vec<_>>());
        let choices = choices();
        let form = match mark {
            Mark::Pulse(_) => Form::One(choices.clone()),
            _ => Form::Row {
                choices: choices.clone(),
                length: asked.len(),
            },
        };
        let mut score = scene.score.clone();
        score.drums = Some(drums.clone());
        let whole = Take::new(score, setup.bpm, draw.seed());
        let mut reveal = scene::reveal(card, &scene, &whole, answer(&asked, mark));
        reveal.reasons = match (asked.as_slice(), mark) {
            ([place], Mark::Pulse(_)) => hand_fit::reasons(&drums, place, setup),
            _ => hand_fit::reasons_of_all(&drums, setup),
        };
        let pulses: Vec<usize> = asked.iter().map(|p| p.pulse).collect();
        let mut shown = whole;
        shown.score.drums = Some(without_hands(&drums, &pulses));
        let mut concepts = self.concepts(card, sense);
        concepts.extend(asked.iter().map(|p| format!("{} hand", p.own.name())));
        if setup.bpm >= card.tempo.0 + (card.tempo.1 - card.tempo.0) * 2.0 / 3.0 {
            concepts.push("hand at speed".to_string());
        }
        Some(Question {
            item: super::kind::key(self, card, sense),
            seed,
            prompt: Prompt {
                text: text(&drums, mark, setup),
                take: shown,
                mark,
                show_hands: true,
                hidden: Vec::new(),
                audible: true,
                worded: false,
            },
            guess: guess_chance(&right, choices.len()),
            form,
            right,
            reveal,
            concepts: super::kind::concepts(card, concepts),
        })
    }
}

fn choices() -> Vec<Choice> {
    rhythm::Hand::ALL
        .map(|hand| Choice {
            key: key(hand),
            label: hand.name().to_string(),
        })
        .to_vec()
}

fn key(hand: rhythm::Hand) -> char {
    hand.letter().to_ascii_lowercase()
}

/// The keys that are right for one stroke: its own hand, and in a row the other where it fits as well.
fn keys(place: &Place, mark: Mark) -> Vec<char> {
    match mark {
        Mark::Bar(_) if place.either => vec![key(place.own), key(place.own.other())],
        _ => vec![key(place.own)],
    }
}

/// Every row that takes one of the keys at each place.
fn rows(keys: &[Vec<char>]) -> Vec<String> {
    keys.iter().fold(vec![String::new()], |rows, keys| {
        let longer = |row: &String| {
            keys.iter()
                .map(move |k| format!("{row}{k}"))
                .collect::<Vec<_>>()
        };
        rows.iter().flat_map(longer).collect()
    })
}

fn answer(asked: &[Place], mark: Mark) -> String {
    match (mark, asked) {
        (Mark::Bar(_), [_, _, ..]) => letters(asked.iter().map(|p| match p.either {
            true => format!("{}/{}", p.own.letter(), p.own.other().letter()),
            false => p.own.letter().to_string(),
        })),
        _ => asked.first().map_or("", |p| p.own.name()).to_string(),
    }
}

fn text(drums: &Pattern, mark: Mark, setup: &Setup) -> String {
    let (grid, bars) = (drums.grid(), drums.bars());
    match (mark, bars) {
        (Mark::Pulse(pulse), _) => format!(
            "At {:.0}: which hand for the stroke on {}?",
            setup.bpm,
            words::place(grid, bars, pulse)
        ),
        (Mark::Bar(bar), 2..) => {
            format!(
                "At {:.0}: which hands play bar {}, in order?",
                setup.bpm,
                bar + 1
            )
        }
        _ => format!("At {:.0}: which hands play the bar, in order?", setup.bpm),
    }
}

/// The mark and the strokes that are asked. A single stroke is drawn by its hand first, so that neither hand is right
/// more often than the other; a part in which not both of them have strokes that are clearly theirs is asked as a row.
fn asked(drums: &Pattern, places: &[Place], draw: &mut Draw) -> Option<(Mark, Vec<Place>)> {
    let clear = |hand| places.iter().any(|p| p.clear && p.own == hand);
    let even = rhythm::Hand::ALL.into_iter().all(clear);
    let rows: Vec<usize> = (0..drums.bars())
        .filter(|bar| {
            let strokes = of_bar(drums, places, *bar);
            let told = |p: &Place| if even { p.clear } else { !p.either };
            (2..=8).contains(&strokes.len()) && strokes.iter().any(told)
        })
        .collect();
    if (draw.chance(ROWS) || !even)
        && let Some(bar) = draw.pick(&rows)
    {
        return Some((Mark::Bar(bar), of_bar(drums, places, bar)));
    }
    let mut hands = rhythm::Hand::ALL;
    if draw.chance(0.5) {
        hands.reverse();
    }
    let place = hands.into_iter().find_map(|hand| {
        let with: Vec<&Place> = places.iter().filter(|p| p.clear && p.own == hand).collect();
        draw.pick(&with)
    });
    // Where no stroke is clear, the one that is dearest to change.
    let place = place.or_else(|| places.iter().max_by(|a, b| a.dearer.total_cmp(&b.dearer)))?;
    Some((Mark::Pulse(place.pulse), vec![place.clone()]))
}

/// Are all hands written, and are they one and the same? Then there is nothing to ask.
fn is_one_handed(drums: &Pattern) -> bool {
    let hands = drums.hands();
    drums.has_full_sticking() && hands.iter().all(|h| *h == hands[0])
}

fn of_bar(drums: &Pattern, places: &[Place], bar: usize) -> Vec<Place> {
    let per = drums.grid().pulses_per_bar();
    let inside = places.iter().filter(|p| p.pulse / per == bar);
    inside.cloned().collect()
}

fn without_hands(drums: &Pattern, pulses: &[usize]) -> Pattern {
    let hands: Vec<Option<rhythm::Hand>> = drums
        .strokes()
        .map(|(p, s)| s.hand.filter(|_| !pulses.contains(&p)))
        .collect();
    drums.with_hands(&hands)
}
