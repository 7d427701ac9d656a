//! Memory: from reviews to the chance of recall, and from that to today's plan. Knows nothing of rhythm.
//!
//! [`Memory`] is a fold over [`Outcome`]s, the answers of one player in the order of time. For every item it keeps a
//! belief over how long the item lasts (its half-life) and how easily it is learned; [`plan()`] spends the minutes at
//! hand on what the beliefs say is worth most. Nothing here reads a clock or a file.

mod again;
mod belief;
mod candidate;
mod chances;
pub mod constants;
mod curve;
mod filter;
mod forecast;
mod kin;
mod moves;
mod names;
mod order;
mod outcome;
mod outlook;
mod pace;
mod plan;
mod residual;
mod states;
mod value;
mod worth;

pub use candidate::{Candidate, Need, Planned, Settings, Why};
pub use forecast::{BadRow, COLUMNS, ForecastError, forecast};
pub use outcome::{Forecast, Outcome};
pub use outlook::{Day, outlook};
pub use plan::{plan, plan_after};
pub use states::Memory;
