use super::grade::guess_chance;
use super::hand_fit::{self, Place};
use super::scene;
use super::{Choice, Draw, Form, ItemKey, Kind, Mark, Prompt, Question, Sense, Setup};
use crate::deck::Card;
use crate::rhythm::{self, Pattern};
use crate::sound::Take;

/// Which hand can play the marked stroke, given the tempo and the hands around it?
///
/// There are always three answers: the left only, the right only, or either. What is asked is the whole set of
/// hands that work, so exactly one answer is right and a guess is right one time in three. With two answers a
/// stroke that both hands can take would be right whatever one says, and such an answer measures nothing.
///
/// A stroke is asked whose answer stays the same from a little slower to a little faster: the model of the hands is
/// an estimate, and nobody should be marked wrong for a millisecond. Three times of four it is one that only one
/// hand can take, where the part has one.
///
/// It is asked by eye: no ear tells the hands apart. The part may be listened to before answering.
pub struct Hand;

/// Share of questions about strokes that only one hand can take.
const BOUND: f64 = 0.75;

impl Kind for Hand {
    fn name(&self) -> &'static str {
        "hand"
    }

    fn about(&self) -> &'static str {
        "which hand can play a marked stroke at this tempo"
    }

    fn fits(&self, card: &Card, sense: Sense) -> bool {
        let drums = card.score.drums.as_ref();
        sense == Sense::Read && drums.is_some_and(|p| p.strokes().count() > 2)
    }

    fn concepts(&self, _card: &Card, _sense: Sense) -> Vec<String> {
        vec!["sticking".to_string()]
    }

    fn ask(&self, card: &Card, sense: Sense, seed: u64, setup: &Setup) -> Option<Question> {
        if !self.fits(card, sense) {
            return None;
        }
        let mut draw = Draw::new(seed);
        let scene = scene::begun(card, &mut draw);
        let drums = hand_fit::with_all_hands(scene.score.drums.as_ref()?, setup)?;
        let place = place(&drums, setup, &mut draw)?;
        let (key, concept) = match place.hands.as_slice() {
            [rhythm::Hand::Left] => ('l', "left hand"),
            [rhythm::Hand::Right] => ('r', "right hand"),
            _ => ('b', "either hand"),
        };
        let choices = choices();
        let mut score = scene.score.clone();
        score.drums = Some(drums.clone());
        let whole = Take::new(score, setup.bpm, draw.seed());
        let answer = choices.iter().find(|c| c.key == key)?.label.clone();
        let mut reveal = scene::reveal(card, &whole, scene.clave, answer);
        reveal.reasons = hand_fit::reasons(&drums, &place, setup);
        let mut shown = whole;
        shown.score.drums = Some(without_hand(&drums, place.pulse));
        let mut concepts = self.concepts(card, sense);
        concepts.push(concept.to_string());
        if setup.bpm >= card.tempo.0 + (card.tempo.1 - card.tempo.0) * 2.0 / 3.0 {
            concepts.push("hand at speed".to_string());
        }
        let right = vec![vec![key]];
        Some(Question {
            item: ItemKey {
                card: card.id.clone(),
                kind: self.name().to_string(),
                sense,
            },
            seed,
            prompt: Prompt {
                text: text(&drums, place.pulse, setup),
                take: shown,
                mark: Mark::Pulse(place.pulse),
                show_hands: true,
                hidden: Vec::new(),
                audible: true,
            },
            guess: guess_chance(&right, choices.len()),
            form: Form::One(choices),
            right,
            reveal,
            concepts: super::kind::concepts(card, concepts),
        })
    }
}

fn choices() -> Vec<Choice> {
    [
        ('l', "left only"),
        ('r', "right only"),
        ('b', "either hand"),
    ]
    .map(|(key, label)| Choice {
        key,
        label: label.to_string(),
    })
    .to_vec()
}

fn text(drums: &Pattern, pulse: usize, setup: &Setup) -> String {
    let grid = drums.grid();
    let bar = match drums.bars() {
        1 => String::new(),
        _ => format!(" of bar {}", pulse / grid.pulses_per_bar() + 1),
    };
    format!(
        "At {:.0}: which hand can take the stroke on {}{bar}, with the others as they are?",
        setup.bpm,
        grid.spoken(pulse)
    )
}

/// The stroke to ask about.
fn place(drums: &Pattern, setup: &Setup, draw: &mut Draw) -> Option<Place> {
    let places = hand_fit::places(drums, setup);
    let clear: Vec<&Place> = places.iter().filter(|p| p.clear).collect();
    let (bound, either): (Vec<&Place>, Vec<&Place>) =
        clear.into_iter().partition(|p| p.hands.len() == 1);
    let wanted = if draw.chance(BOUND) {
        [&bound, &either]
    } else {
        [&either, &bound]
    };
    let all: Vec<&Place> = places.iter().collect();
    let from = wanted.into_iter().chain([&all]).find(|v| !v.is_empty())?;
    draw.pick(from).cloned()
}

fn without_hand(drums: &Pattern, pulse: usize) -> Pattern {
    let hands: Vec<Option<rhythm::Hand>> = drums
        .strokes()
        .map(|(p, s)| s.hand.filter(|_| p != pulse))
        .collect();
    drums.with_hands(&hands)
}
