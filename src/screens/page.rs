//! What is on a screen, as data: head, chart, text, answers, keys.

use super::chart::Chart;
use super::theme::Role;
use crate::question::Choice;

/// Keys that do something besides answering, with what they do on this page. Each has its place at the foot of every
/// page, whether it is useful there or not; a page has one of the first three.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Keys {
    /// Enter.
    pub enter: Option<&'static str>,
    /// Backspace.
    pub erase: Option<&'static str>,
    /// The letter for what the player does not know.
    pub unknown: Option<char>,
    /// The space bar.
    pub space: Option<&'static str>,
    /// The minus key.
    pub minus: Option<&'static str>,
    /// Up and down.
    pub arrows: Option<String>,
    /// The question mark.
    pub pause: Option<&'static str>,
    /// Escape.
    pub escape: Option<&'static str>,
}

impl Keys {
    /// Only Enter and Escape.
    pub fn ends(enter: &'static str, escape: &'static str) -> Keys {
        Keys {
            enter: Some(enter),
            escape: Some(escape),
            ..Keys::default()
        }
    }

    /// Those of a page that may be heard, where it has `sound`.
    pub fn hearing(enter: &'static str, sound: bool) -> Keys {
        Keys {
            space: sound.then_some("hear it"),
            minus: sound.then_some("slower"),
            ..Keys::ends(enter, "stop")
        }
    }

    /// Those of a list from which the player goes back.
    pub fn of_list(enter: Option<&'static str>) -> Keys {
        Keys {
            enter,
            arrows: Some("choose".into()),
            pause: Some("help"),
            escape: Some("back"),
            ..Keys::default()
        }
    }
}

/// Running text that is broken into lines where the window ends.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Paragraph {
    /// The words.
    pub text: String,
    /// What they are; it decides the colour.
    pub role: Role,
    /// Comes before the first line; the lines after it are indented by as much.
    pub lead: String,
    /// A sign before all of it, to be seen at a glance; left out where the words are read aloud.
    pub sign: &'static str,
}

impl Paragraph {
    /// Words as they are, with nothing before them.
    pub fn plain(text: impl Into<String>) -> Paragraph {
        Paragraph::led("", Role::Plain, text)
    }

    /// What is said on the side.
    pub fn quiet(text: impl Into<String>) -> Paragraph {
        Paragraph::led("", Role::Quiet, text)
    }

    /// What the eye should fall on first.
    pub fn strong(text: impl Into<String>) -> Paragraph {
        Paragraph::led("", Role::Strong, text)
    }

    /// A paragraph of a list.
    pub fn led(lead: impl Into<String>, role: Role, text: impl Into<String>) -> Paragraph {
        Paragraph {
            text: text.into(),
            role,
            lead: lead.into(),
            sign: "",
        }
    }

    /// The same paragraph with a sign before it.
    pub fn signed(self, sign: &'static str) -> Paragraph {
        Paragraph { sign, ..self }
    }

    /// What stands before the first line on the screen: the sign takes the place of blanks.
    pub fn start(&self) -> String {
        match self.sign {
            "" => self.lead.clone(),
            sign => format!("{sign}{}", self.lead.trim_start()),
        }
    }
}

/// A list of which one row is chosen. What the window does not hold is scrolled to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PageList {
    /// Its rows from top to bottom.
    pub rows: Vec<ListRow>,
    /// Number of the chosen one, from 0; never a heading where there is another row.
    pub chosen: usize,
}

/// A row of a list.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ListRow {
    /// What it is.
    pub text: String,
    /// A few words at the right edge.
    pub detail: String,
    /// Does it stand over other rows? It cannot be chosen then.
    pub heading: bool,
}

/// One screen of the program as content: what is said, the bar grid, what can be answered, what can be pressed.
/// One file draws it, one writes it as lines of text.
#[derive(Clone, Debug, Default)]
pub struct Page<'a> {
    /// Where the player is, in the upper left corner.
    pub place: String,
    /// What is left to do, in the upper right corner.
    pub left: String,
    /// Above the bar grid.
    pub head: Vec<Paragraph>,
    /// The bar grid. The rows of the band may be left out where the window is low.
    pub chart: Option<Chart<'a>>,
    /// Rows to choose from, below the bar grid.
    pub list: Option<PageList>,
    /// Below the bar grid.
    pub body: Vec<Paragraph>,
    /// Answers, with their keys.
    pub choices: Vec<Choice>,
    /// Below the answers, on the screen only: what was typed of an answer of several keys, or how a row is written.
    pub typed: Option<String>,
    /// Something that the player should know, such as that there is no sound.
    pub notice: Option<String>,
    /// The foot of the page.
    pub keys: Keys,
}
