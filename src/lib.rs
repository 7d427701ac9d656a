//! `whichside`: a daily ear, eye and hand drill for players of clave-based hand drums.
//!
//! Each module uses only those listed before it: `rhythm` and `memory` (which know nothing of each other), then
//! `clave`, `hands`, `sound`, `store`, then `deck`, then `question`, `report`, then `session`, `screens`, `app`.
//! The test `tests/layers.rs` holds to it.

#![warn(missing_docs)]

pub mod rhythm;

pub mod memory;

pub mod clave;
pub mod hands;
pub mod sound;
pub mod store;

pub mod deck;

pub mod question;
pub mod report;

pub mod session;

pub mod screens;

pub mod app;
