//! An answered question on its way to the log.

use crate::question::{Answer, Question, Verdict};
use crate::rhythm::notation::write_block;
use crate::store::ReviewRow;
use crate::time::{Moment, Seconds};

/// One asked question with its answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Review {
    /// When it was answered.
    pub at: Moment,
    /// What was asked.
    pub question: Question,
    /// What was answered.
    pub answer: Answer,
    /// What came of it.
    pub verdict: Verdict,
    /// From the start of the question's clock to the last key of the answer.
    pub seconds: Seconds,
    /// How often it was heard again.
    pub replays: u32,
    /// Was it heard slower than asked?
    pub slowed: bool,
}

impl Review {
    /// The row of the log. `session` names the sitting, `utc_offset` is the player's clock in minutes east of UTC,
    /// `program` the version that asked.
    pub fn row(&self, session: &str, utc_offset: i32, program: &str) -> ReviewRow {
        let question = &self.question;
        let take = &question.prompt.take;
        let choices = question.form.choices().iter();
        ReviewRow {
            at: self.at.millis(),
            utc_offset,
            session: session.to_string(),
            card: question.item.card.clone(),
            kind: question.item.kind.clone(),
            sense: question.item.sense,
            concepts: question.concepts.clone(),
            seed: question.seed,
            tempo: take.tempo,
            grid: take.score.grid,
            score: write_block(&take.score),
            prompt: question.prompt.text.clone(),
            choices: choices.map(|c| (c.key, c.label.clone())).collect(),
            answer: self.answer.text(),
            keys: match question.form.compared(&self.answer) {
                Some((_, found)) if found.shift != 0 => Vec::new(),
                _ => question.form.right_at(&self.verdict.nearest),
            },
            correct: self.verdict.correct,
            guess: match self.answer {
                Answer::Unknown => 0.0,
                Answer::Key(_) | Answer::Row(_) | Answer::Taps(_) => question.form.guess(),
            },
            seconds: self.seconds,
            limit: question.limit(),
            replays: self.replays,
            slowed: self.slowed,
            in_time: self.verdict.in_time,
            program: program.to_string(),
            ..ReviewRow::default()
        }
    }
}
