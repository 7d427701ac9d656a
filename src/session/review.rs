use crate::question::{Answer, ItemKey, Question, Verdict};

/// One asked question with its answer, as it goes to the log.
#[derive(Clone, Debug, PartialEq)]
pub struct Review {
    /// When it was answered, seconds since 1970 UTC.
    pub at: f64,
    pub question: Question,
    pub answer: Answer,
    pub verdict: Verdict,
    /// From the start of the question's clock to the last key of the answer.
    pub seconds: f64,
    /// How often it was heard again.
    pub replays: u32,
    /// Was it heard slower than asked?
    pub slowed: bool,
}

impl Review {
    pub fn item(&self) -> &ItemKey {
        &self.question.item
    }
}
