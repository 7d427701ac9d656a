//! What questions with one right key share.

use super::{Choice, Form, Prompt, QuestionParts, Reveal};

/// What a kind that is answered by one key makes up.
pub(super) struct OneKey {
    pub prompt: Prompt,
    pub choices: Vec<Choice>,
    /// The one that is right.
    pub key: char,
    /// With the answer still empty.
    pub reveal: Reveal,
}

impl OneKey {
    /// The parts of the question. `None` where the right key is none of the choices.
    pub(super) fn parts(self) -> Option<QuestionParts> {
        let right = self.choices.iter().find(|c| c.key == self.key)?;
        Some(QuestionParts {
            reveal: Reveal {
                answer: right.label.clone(),
                ..self.reveal
            },
            prompt: self.prompt,
            form: Form::key(self.choices, self.key),
            concepts: Vec::new(),
        })
    }
}
