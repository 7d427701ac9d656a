//! What a question is made of: the prompt, the form of the answer, what is said after it.

use super::{Answer, Form, ItemKey, Sense, StickingTask};
use crate::clave::{Alignment, Clave};
use crate::rhythm::{Hand, Reason};
use crate::sound::Take;
use std::ops::Range;

/// The part of the grid that the question is about. Bars and pulses count from 0 in the score of the prompt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Mark {
    /// The whole score.
    Whole,
    /// One bar.
    Bar(usize),
    /// From the first of these bars to the last, both counted.
    Bars(usize, usize),
    /// One pulse.
    Pulse(usize),
}

impl Mark {
    /// These bars, of which there is one at least.
    pub(super) fn of_bars(bars: &Range<usize>) -> Mark {
        match bars.len() {
            1 => Mark::Bar(bars.start),
            _ => Mark::Bars(bars.start, bars.end - 1),
        }
    }

    /// The bars, where the question is about whole ones.
    pub(super) fn bars(self) -> Option<Range<usize>> {
        match self {
            Mark::Bar(bar) => Some(bar..bar + 1),
            Mark::Bars(from, to) => Some(from..to + 1),
            Mark::Whole | Mark::Pulse(_) => None,
        }
    }
}

/// What the player is shown or played.
#[derive(Clone, Debug, PartialEq)]
pub struct Prompt {
    /// The question in words. Never holds the answer.
    pub text: String,
    /// What is drawn (read) or played (hear), with the band around it; without the clave wherever the clave would
    /// be the answer. A hear prompt is played and not drawn.
    pub take: Take,
    /// What the question is about.
    pub mark: Mark,
    /// Draw the hand row?
    pub show_hands: bool,
    /// Pulses whose strokes are not drawn because they are asked for.
    pub hidden: Vec<usize>,
    /// May it be listened to before the answer? A heard question always; a read one only where the sound does not give
    /// the answer away.
    pub audible: bool,
    /// Do the words differ from one question to the next, so that they have to be read each time?
    pub worded: bool,
}

impl Prompt {
    /// The whole of `take`, to be heard or seen, with nothing hidden and no hands.
    pub(super) fn new(text: impl Into<String>, take: Take, sense: Sense) -> Prompt {
        Prompt {
            text: text.into(),
            take,
            mark: Mark::Whole,
            show_hands: false,
            hidden: Vec::new(),
            audible: sense == Sense::Hear,
            worded: false,
        }
    }
}

/// What is drawn with the answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Reveal {
    /// The prompt's score with everything that was hidden, the clave as a line where the card has one.
    pub take: Take,
    /// The clave under the first bar of the score.
    pub clave: Option<Clave>,
    /// How the part under study, without the band put around it, meets the clave, one entry a pulse. Empty where there
    /// is no clave, or the part is the clave.
    pub meets: Vec<Alignment>,
    /// The path of both hands, one entry a pulse.
    pub hands: Vec<Option<Hand>>,
    /// The right answer in words.
    pub answer: String,
    /// Why it is right, the weightiest reason first.
    pub reasons: Vec<Reason>,
    /// What an answer in hands is judged by; `None` for questions about anything else.
    pub sticking: Option<StickingTask>,
}

impl Reveal {
    /// Nothing is given away yet but what is to be heard.
    pub(super) fn new(take: Take) -> Reveal {
        Reveal {
            take,
            clave: None,
            meets: Vec::new(),
            hands: Vec::new(),
            answer: String::new(),
            reasons: Vec::new(),
            sticking: None,
        }
    }
}

/// A question ready to be asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// What memory learns from the answer.
    pub item: ItemKey,
    /// The same card, kind, sense, seed and [`super::Setup`] give the same question.
    pub seed: u64,
    /// What is asked.
    pub prompt: Prompt,
    /// How it is answered, and what is right.
    pub form: Form,
    /// What is shown after the answer.
    pub reveal: Reveal,
    /// Ideas that this very question exercises (the card's and its own).
    pub concepts: Vec<String>,
}

/// What an answer was worth.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// Share of the answer that was right, 0 to 1.
    pub correct: f64,
    /// How many keys are right in their place; of a written row, strokes.
    pub hits: usize,
    /// Of how many.
    pub of: usize,
    /// Every key right.
    pub right: bool,
    /// A row that is not right, but more than guessing gives: see [`Question::partly_from`].
    pub partly: bool,
    /// Right, and answered within [`Question::limit`].
    pub in_time: bool,
    /// The answer in words, as the player gave it.
    pub given: String,
    /// The right answer that shares most with what was given.
    pub nearest: Answer,
    /// Why exactly this answer is refused, where that can be said; `None` for a right one. For taps, what they were.
    pub why: Option<Reason>,
}
