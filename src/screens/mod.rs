//! What the session looks like on a terminal, and as lines of text.

pub mod chart;
pub mod theme;
