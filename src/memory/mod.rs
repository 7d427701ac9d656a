//! Memory: from reviews to the chance of recall, and from that to today's plan. Knows nothing of rhythm.
//!
//! [`Memory`] is a fold over [`Outcome`]s, the answers of one player in the order of time. For every item it keeps a
//! belief over how long the item lasts (its half-life) and how easily it is learned; [`plan()`] spends the minutes at
//! hand on what the beliefs say is worth most. Nothing here reads a clock or a file.
//!
//! To be read in this order; each rests on those before it:
//! - `outcome` (what is taken in), `names`, `constants`, `curve` (the forgetting curve on its grid), `belief`;
//! - `transitions` and `filter` (how one answer moves one belief), `pace` and `residual` (what is learned of the
//!   player), `group_prior` (what items of a kind or concept share), `fold` (all of it together), `recall` (what can be
//!   asked of it);
//! - `candidate`, `value_function` and `scheduler` (what a review is worth), `order`, `second_round`, `composition` and
//!   `compose` (the lesson, the threads), `plan`, `outlook`;
//! - `placement` (how far a new player has come already);
//! - `forecast` (a log in a file replayed, for research).

mod belief;
mod candidate;
mod compose;
mod composition;
pub mod constants;
mod curve;
mod filter;
mod fold;
mod forecast;
mod group_prior;
mod names;
mod order;
mod outcome;
mod outlook;
mod pace;
mod placement;
mod plan;
mod recall;
mod residual;
mod scheduler;
mod second_round;
mod transitions;
mod value_function;

pub use candidate::{Candidate, Need, Planned, Settings, Why};
pub use composition::{Composition, Hold, PlanRole, hold};
pub use fold::Memory;
pub use forecast::{BadRow, COLUMNS, ForecastError, forecast};
pub use outcome::{Forecast, Outcome};
pub use outlook::{Day, outlook};
pub use placement::{Learned, Placement, UnseenAnswer};
pub use plan::{plan, plan_after, plan_composed};
