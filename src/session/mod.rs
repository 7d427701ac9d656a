//! The drill as a pure state machine: events in, effects out.
//!
//! [`Session::update`] takes an [`Event`] with its moment (seconds since 1970 UTC) and gives [`Effect`]s to be done
//! in order. What is on the screen is [`Session::stage`]. No clock, no file, no sound is touched here.

mod answer;
mod drill;
mod event;
mod hearing;
mod lead;
mod pause;
mod profile;
mod queue;
mod review;
mod saving;
mod slip;
mod stage;
mod tapping;
#[cfg(test)]
mod tests;
mod turn;
mod unseen;
mod writing;

pub use drill::{Session, Start};
pub use event::{Effect, Event, Step, Tomorrow};
pub use lead::lead_of;
pub use profile::Profile;
pub use review::Review;
pub use stage::{
    Asking, Feedback, Introduction, Missed, Notice, NowPlaying, Paused, Stage, Summary,
};
