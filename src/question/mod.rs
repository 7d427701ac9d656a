//! Questions: made from a card and a seed, graded from an answer. Plain data, no clock, no screen.

mod form;
mod item;

pub use form::{Answer, Choice, Form, Mark, Prompt, Question, Reason, Reveal, Verdict};
pub use item::{ItemKey, Sense};
