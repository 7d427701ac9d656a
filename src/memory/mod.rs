//! Memory: from reviews to the chance of recall, and from that to today's plan. Knows nothing of rhythm.
//!
//! [`Memory`] is a fold over [`Outcome`]s, the answers of one player in the order of time. It is a regression that learns
//! with each answer: what the time since an item was last asked, and how it was answered before, say about recall for
//! this very player; and what each item, kind of question and idea adds. [`plan_composed`] spends the minutes at hand on what
//! is fading, on what is new, and on the rest in turn. Nothing here reads a clock or a file.
//!
//! To be read in this order; each rests on those before it:
//! - `outcome` (what is taken in), `names`, `history` (what is kept of an item, and the figures of a moment), `constants`;
//! - `regression` (how an answer moves what is believed), `pace` (how fast the player answers), `fold` (all of it
//!   together), `recall` (what can be asked of it);
//! - `candidate`, `scheduler` (what comes before what), `produced` (what waits until a card is known), `order`, `second_round`, `composition` and
//!   `compose` (the lesson, the threads), `plan`, `outlook`;
//! - `placement` (how far a new player has come already), `learners` (many who are asked the same items).

mod candidate;
mod compose;
mod composition;
pub mod constants;
mod fold;
pub mod history;
mod learners;
mod names;
mod order;
mod outcome;
mod outlook;
mod pace;
mod placement;
mod plan;
mod produced;
mod recall;
pub mod regression;
mod scheduler;
mod second_round;

pub use candidate::{Candidate, Need, PlanReason, Planned, Settings, Timing};
pub use composition::{Composition, Hold, PlanRole, hold};
pub use fold::Memory;
pub use learners::Learners;
pub use outcome::{Forecast, Outcome};
pub use outlook::{Day, outlook};
pub use placement::{Learned, Placement, UnseenAnswer};
pub use plan::plan_composed;
