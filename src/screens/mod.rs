//! What the session looks like on a terminal, and as lines of text.

mod canvas;
pub mod card;
pub mod cards;
pub mod chart;
/// Pages on the terminal, through ratatui.
pub mod draw;
pub mod encoding;
pub mod help;
/// Keys of the terminal as the session takes them.
pub mod keys;
/// Pages as lines of text.
pub mod lines;
/// What a page holds, whatever shows it.
pub mod page;
/// The page of a card that is played.
pub mod playback;
/// The terminal: taken, drawn on and given back.
pub mod screen;
pub mod screen_settings;
pub mod settings;
pub mod stages;
pub mod start;
/// Colours, and what stands in for them.
pub mod theme;
pub mod weak;
