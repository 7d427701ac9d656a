//! `whichside`: a daily ear, eye and hand drill for players of clave-based hand drums.
//!
//! Each module uses only those listed before it: `time`, then `rhythm` and `memory` (which know nothing of each other),
//! then `clave`, `hands`, `sound`, `store`, then `deck`, `taps`, then `question`, `report`, then `session`, `screens`, `app`.
//! The test `tests/layers.rs` holds to it.
//!
//! The rooms are private, so that the compiler names what the program does not use; the feature `internals` opens them
//! to the tests and benches.

#![warn(missing_docs)]
#![forbid(unsafe_code)]
// What a room offers to the others is listed at its top, types that only stand in signatures included.
#![cfg_attr(not(feature = "internals"), allow(unused_imports))]

#[cfg(feature = "internals")]
pub mod app;
#[cfg(feature = "internals")]
pub mod clave;
#[cfg(feature = "internals")]
pub mod deck;
#[cfg(feature = "internals")]
pub mod hands;
#[cfg(feature = "internals")]
pub mod memory;
#[cfg(feature = "internals")]
pub mod question;
#[cfg(feature = "internals")]
pub mod report;
#[cfg(feature = "internals")]
pub mod rhythm;
#[cfg(feature = "internals")]
pub mod screens;
#[cfg(feature = "internals")]
pub mod session;
#[cfg(feature = "internals")]
pub mod sound;
#[cfg(feature = "internals")]
pub mod store;
#[cfg(feature = "internals")]
pub mod taps;
#[cfg(feature = "internals")]
pub mod time;

#[cfg(not(feature = "internals"))]
mod app;
#[cfg(not(feature = "internals"))]
mod clave;
#[cfg(not(feature = "internals"))]
mod deck;
#[cfg(not(feature = "internals"))]
mod hands;
#[cfg(not(feature = "internals"))]
mod memory;
#[cfg(not(feature = "internals"))]
mod question;
#[cfg(not(feature = "internals"))]
mod report;
#[cfg(not(feature = "internals"))]
mod rhythm;
#[cfg(not(feature = "internals"))]
mod screens;
#[cfg(not(feature = "internals"))]
mod session;
#[cfg(not(feature = "internals"))]
mod sound;
#[cfg(not(feature = "internals"))]
mod store;
#[cfg(not(feature = "internals"))]
mod taps;
#[cfg(not(feature = "internals"))]
mod time;

pub use app::run;
