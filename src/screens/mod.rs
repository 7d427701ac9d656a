//! What the session looks like on a terminal.
