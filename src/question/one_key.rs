//! What questions with one right key share.

use super::{Choice, Form, Kind, Prompt, Question, Reveal, Sense, kind};
use crate::deck::Card;

/// What a kind that is answered by one key makes up; the rest of the question follows from it.
pub(super) struct OneKey {
    pub prompt: Prompt,
    pub choices: Vec<Choice>,
    /// The one that is right.
    pub key: char,
    /// With the answer still empty.
    pub reveal: Reveal,
}

impl OneKey {
    /// The question. `None` where the right key is none of the choices.
    pub(super) fn question(
        self,
        of: &dyn Kind,
        card: &Card,
        sense: Sense,
        seed: u64,
    ) -> Option<Question> {
        let mut reveal = self.reveal;
        let right = self.choices.iter().find(|c| c.key == self.key)?;
        reveal.answer = right.label.clone();
        Some(Question {
            item: kind::key(of, card, sense),
            seed,
            prompt: self.prompt,
            form: Form::key(self.choices, self.key),
            reveal,
            concepts: kind::concepts(card, of.concepts(card, sense)),
        })
    }
}
