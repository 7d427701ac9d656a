//! The kind `choice`: a question in words with its answers.

use super::{Choice, Draw, Form, Kind, Prompt, QuestionParts, Reason, Reveal, Sense, Setup};
use crate::deck::Card;
use crate::rhythm::Score;
use crate::sound::Take;

/// Knowledge that has no grid, asked in words with several answers in an order that changes.
pub struct InWords;

/// Most answers that are offered.
const MOST: usize = 5;
const KEYS: [char; MOST] = ['a', 'b', 'c', 'd', 'e'];

impl Kind for InWords {
    fn name(&self) -> &'static str {
        "choice"
    }

    fn about(&self) -> &'static str {
        "a question in words with several answers"
    }

    fn usual_guess(&self) -> f64 {
        0.3
    }

    fn fits(&self, card: &Card, sense: Sense) -> bool {
        let answers = card.choice.as_ref().is_some_and(|c| !c.wrong.is_empty());
        sense == Sense::Read && answers
    }

    fn concepts(&self, _card: &Card, _sense: Sense) -> Vec<String> {
        vec!["in words".to_string()]
    }

    fn make(
        &self,
        card: &Card,
        sense: Sense,
        draw: &mut Draw,
        setup: &Setup,
    ) -> Option<QuestionParts> {
        if !self.fits(card, sense) {
            return None;
        }
        let words = card.choice.as_ref()?;
        let mut wrong: Vec<&String> = words.wrong.iter().collect();
        while wrong.len() > MOST - 1 {
            wrong.swap_remove(draw.below(wrong.len()));
        }
        let mut labels = vec![&words.right];
        while !wrong.is_empty() {
            labels.push(wrong.swap_remove(draw.below(wrong.len())));
        }
        let at = draw.below(labels.len());
        labels.swap(0, at);
        let choices: Vec<Choice> = KEYS
            .iter()
            .zip(labels)
            .map(|(key, label)| Choice {
                key: *key,
                label: label.clone(),
            })
            .collect();
        let take = Take::new(Score::empty(card.grid), setup.bpm, draw.seed());
        Some(QuestionParts {
            prompt: Prompt {
                worded: true,
                ..Prompt::new(&words.ask, take.clone(), sense)
            },
            form: Form::key(choices, KEYS[at]),
            reveal: Reveal {
                take,
                clave: None,
                meets: Vec::new(),
                hands: Vec::new(),
                answer: words.right.clone(),
                reasons: vec![Reason {
                    text: words.why.clone(),
                    pulses: Vec::new(),
                }],
                sticking: None,
            },
            concepts: Vec::new(),
        })
    }
}
