//! A reason: a sentence and where it points.

use serde::Serialize;

/// One sentence of explanation and the pulses that it points at, from 0 in what it speaks of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Reason {
    /// The sentence.
    pub text: String,
    /// Where it points; empty where it speaks of the whole.
    pub pulses: Vec<usize>,
}

impl Reason {
    /// A sentence that points at these pulses.
    pub(crate) fn new(text: impl Into<String>, pulses: Vec<usize>) -> Reason {
        Reason {
            text: text.into(),
            pulses,
        }
    }

    /// A sentence that speaks of the whole.
    pub(crate) fn of(text: impl Into<String>) -> Reason {
        Reason::new(text, Vec::new())
    }
}
