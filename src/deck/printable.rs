//! Texts of a file, made safe to print on a terminal.

use unicode_width::UnicodeWidthStr;

/// Marks what is cut off.
pub(super) const CUT: &str = "…";
/// Most characters of a title, an id or a key.
pub(super) const MOST_NAMED: usize = 60;

/// A character as it may be printed: what would move the cursor, start an escape sequence or turn the direction of
/// writing is replaced.
pub(super) fn shown(c: char) -> String {
    match c {
        '\t' => "    ".into(),
        '\u{feff}' => String::new(),
        '\u{061c}'
        | '\u{200e}'
        | '\u{200f}'
        | '\u{2028}'..='\u{202e}'
        | '\u{2066}'..='\u{2069}' => "\u{fffd}".into(),
        c if c.is_control() => "\u{fffd}".into(),
        c => c.into(),
    }
}

/// A text as it may be printed on one line, cut to this many characters.
pub(super) fn said(text: &str, most: usize) -> String {
    let line = |c: char| if c.is_whitespace() { ' ' } else { c };
    let more = text.chars().nth(most).is_some();
    let shown = text.chars().take(most).map(|c| shown(line(c)));
    shown.collect::<String>() + if more { CUT } else { "" }
}

pub(super) fn padded(text: &str, width: usize) -> String {
    format!("{text}{:1$}", "", width.saturating_sub(text.width()))
}
