//! From a score to samples, and from samples to the sound card.

mod take;

pub use take::Take;
