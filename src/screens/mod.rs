//! What the session looks like on a terminal, and as lines of text.

pub mod chart;
pub mod draw;
pub mod keys;
pub mod lines;
pub mod page;
pub mod playback;
pub mod screen;
pub mod stages;
pub mod theme;
pub mod weak;
