//! `whichside`: a daily ear, eye and hand drill for players of clave-based hand drums.
//!
//! Each module uses only those listed before it: `rhythm` and `memory` (which know nothing of each other), then
//! `clave`, `hands`, `sound`, `store`, then `deck`, `taps`, then `question`, `report`, then `session`, `screens`, `app`.
//! The test `tests/layers.rs` holds to it.
//!
//! The rooms are private, so that the compiler names what the program does not use; the feature `internals` opens them
//! to the tests and benches.

#![warn(missing_docs)]
#![forbid(unsafe_code)]
// What a room offers to the others is listed at its top, types that only stand in signatures included.
#![cfg_attr(not(feature = "internals"), allow(unused_imports))]

macro_rules! rooms {
    ($($room:ident)*) => {
        $(
            #[cfg(feature = "internals")]
            pub mod $room;
            #[cfg(not(feature = "internals"))]
            mod $room;
        )*
    };
}

rooms! {
    rhythm
    memory
    clave hands sound store
    deck taps
    question report
    session
    screens
    app
}

pub use app::run;
