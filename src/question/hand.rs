use super::grade::guess_chance;
use super::scene;
use super::{Choice, Draw, Form, ItemKey, Kind, Mark, Prompt, Question, Reason, Sense, Setup};
use crate::deck::Card;
use crate::rhythm::{Hand as Side, Pattern};
use crate::sound::Take;

/// Which hand can play the marked stroke, given the tempo and the hands around it?
///
/// There are always three answers: the left only, the right only, or either. What is asked is the whole set of
/// hands that work, so exactly one answer is right and a guess is right one time in three. With two answers a
/// stroke that both hands can take would be right whatever one says, and such an answer measures nothing.
///
/// It is asked by eye: no ear tells the hands apart. The part may be listened to before answering.
pub struct Hand;

impl Kind for Hand {
    fn name(&self) -> &'static str {
        "hand"
    }

    fn about(&self) -> &'static str {
        "which hand can play a marked stroke at this tempo"
    }

    fn fits(&self, card: &Card, sense: Sense) -> bool {
        let own = card.score.drums.as_ref().filter(|p| p.has_full_sticking());
        sense == Sense::Read && own.is_some_and(|p| p.strokes().count() > 2)
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
        let drums = scene.score.drums.clone()?;
        let strokes: Vec<usize> = drums.strokes().map(|(p, _)| p).collect();
        let pulse = draw.pick(&strokes)?;
        let own = drums.at(pulse)?.hand?;
        let key = own.letter().to_ascii_lowercase();
        let choices = vec![
            choice('l', "left only"),
            choice('r', "right only"),
            choice('b', "either hand"),
        ];
        let take = Take::new(scene.score.clone(), setup.bpm, draw.seed());
        let answer = choices.iter().find(|c| c.key == key)?.label.clone();
        let mut reveal = scene::reveal(card, &take, scene.clave, answer);
        reveal.reasons = reasons(&drums, pulse, own);
        let mut shown = take;
        shown.score.drums = Some(without_hand(&drums, pulse));
        let right = vec![vec![key]];
        let mut concepts = self.concepts(card, sense);
        concepts.push(format!("{} hand", own.name()));
        let grid = scene.score.grid;
        Some(Question {
            item: ItemKey {
                card: card.id.clone(),
                kind: self.name().to_string(),
                sense,
            },
            seed,
            prompt: Prompt {
                text: format!(
                    "Which hand can play the stroke on {} at {} a minute?",
                    grid.spoken(pulse),
                    setup.bpm
                ),
                take: shown,
                mark: Mark::Pulse(pulse),
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

fn choice(key: char, label: &str) -> Choice {
    Choice {
        key,
        label: label.to_string(),
    }
}

fn without_hand(drums: &Pattern, pulse: usize) -> Pattern {
    let hands: Vec<Option<Side>> = drums
        .strokes()
        .map(|(p, s)| s.hand.filter(|_| p != pulse))
        .collect();
    drums.with_hands(&hands)
}

fn reasons(drums: &Pattern, pulse: usize, own: Side) -> Vec<Reason> {
    let grid = drums.grid();
    let before = drums
        .strokes()
        .filter(|(p, _)| *p != pulse)
        .min_by_key(|(p, _)| (pulse + drums.pulses() - p) % drums.pulses());
    let mut reasons = vec![Reason {
        text: format!(
            "The card plays {} with the {}.",
            grid.spoken(pulse),
            own.name()
        ),
        pulses: vec![pulse],
    }];
    if let Some((p, s)) = before
        && let Some(hand) = s.hand
    {
        reasons.push(Reason {
            text: format!("The {} has just played {}.", hand.name(), grid.spoken(p)),
            pulses: vec![p],
        });
    }
    reasons
}
