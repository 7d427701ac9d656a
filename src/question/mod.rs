//! Questions: made from a card and a seed, graded from an answer. Plain data, no clock, no screen.
//!
//! A kind of question is one file and one entry in [`KINDS`].

mod alignment;
mod answer;
mod call;
mod choice;
mod clapping;
mod course;
mod draw;
#[cfg(test)]
pub(crate) mod fixture;
mod form;
mod grade;
mod hand;
mod hand_fit;
mod hand_named;
mod hand_why;
mod hold;
mod kind;
#[cfg(test)]
mod laws;
mod order;
mod phrase;
mod place;
mod place_reasons;
mod playing;
#[cfg(test)]
mod prompt_laws;
mod scene;
mod side;
#[cfg(test)]
mod side_laws;
mod side_reasons;
mod signs;
mod stands;
mod stop;
mod strokes;
mod strokes_reasons;
mod tapped;
/// At which tempo an item is asked next.
pub mod tempo;
mod thin;
mod thread;
mod timing;
mod words;
mod write;

pub use crate::rhythm::Reason;
pub use crate::store::{ItemKey, Sense};
pub use alignment::{Comparison, Mistake, REST};
pub use answer::{Answer, Choice, Form};
pub use course::{Course, Evening, Learner, SOUNDINGS};
pub use draw::Draw;
pub use form::{Mark, Prompt, Question, Reveal, Verdict};
pub use grade::grade;
pub use hand_why::StickingTask;
pub use kind::{
    AnswerMode, Item, KINDS, Kind, QuestionParts, Setup, about, allows, ask, card, items, kind,
};
pub use order::candidates;
pub use playing::{LEFT, RIGHT};
pub use scene::{is_turned, plain_tumbao};
pub use stands::Stands;
pub use tapped::taps_text;
pub use thread::Thread;
