//! The deck check: reading, and then what only shows when decks are seen whole and beside each other.

use super::diagnostic::Notes;
use super::read::{Sheet, read_sheet};
use super::read_card::Draft;
use super::{Card, Diagnostic, SHIPPED, rules};
use crate::rhythm::Drum;
use crate::rhythm::notation::locate;
use std::ops::Range;

/// A kind of question as the check knows it: its name and whether it can ask a card.
#[derive(Clone, Copy, Debug)]
pub struct KindFit {
    /// Name of the kind.
    pub name: &'static str,
    /// Told the name and a card.
    pub asks: fn(&str, &Card) -> bool,
}

/// What a deck is checked against.
#[derive(Clone, Debug)]
pub struct Setting {
    /// The kinds of question there are. Empty: nothing is said about them.
    pub kinds: Vec<KindFit>,
    /// The drums that the player has got.
    pub drums: Vec<Drum>,
}

impl Default for Setting {
    fn default() -> Setting {
        Setting {
            kinds: Vec::new(),
            drums: Drum::ALL.to_vec(),
        }
    }
}

/// Checks decks, each given as file name and text, together with the shipped ones that they may build on. Gives the
/// diagnostics of each file in the order of the file.
pub fn check(files: &[(String, String)], setting: &Setting) -> Vec<Vec<Diagnostic>> {
    let sheets: Vec<Sheet> = files
        .iter()
        .map(|(name, text)| read_sheet(name, text))
        .collect();
    let ids: Vec<&str> = sheets.iter().map(|s| s.deck.id.as_str()).collect();
    let shipped = SHIPPED.iter().map(|(name, text)| read_sheet(name, text));
    let desk = Desk {
        texts: files.iter().map(|(_, text)| text.as_str()).collect(),
        beside: shipped
            .filter(|s| !ids.contains(&s.deck.id.as_str()))
            .collect(),
        sheets: &sheets,
        setting,
    };
    let mut notes: Vec<Notes> = files
        .iter()
        .map(|(name, text)| Notes::new(name, text))
        .collect();
    for rule in rules::all() {
        for found in rule.check.map_or_else(Vec::new, |check| check(&desk)) {
            let card = found
                .card
                .map(|c| sheets[found.sheet].deck.cards[c].id.clone());
            notes[found.sheet].card = card;
            notes[found.sheet].add(rule, found.span, found.message, found.mend);
        }
    }
    let both = sheets.iter().zip(notes).map(|(sheet, notes)| {
        let mut all = sheet.diagnostics.clone();
        all.extend(notes.found);
        all.sort_by_key(|d| (d.span.start, d.span.end));
        all
    });
    both.collect()
}

/// Decks on the desk of the check.
pub(super) struct Desk<'a> {
    /// The decks that are checked.
    pub(super) sheets: &'a [Sheet],
    texts: Vec<&'a str>,
    /// Shipped decks beside them.
    pub(super) beside: Vec<Sheet>,
    pub(super) setting: &'a Setting,
}

impl Desk<'_> {
    /// The cards that are checked: number of the deck, number of the card, card.
    pub(super) fn cards(&self) -> impl Iterator<Item = (usize, usize, &Draft)> {
        let decks = self.sheets.iter().enumerate();
        decks.flat_map(|(s, sheet)| sheet.drafts.iter().enumerate().map(move |(c, d)| (s, c, d)))
    }

    /// All decks, those beside included.
    pub(super) fn all_sheets(&self) -> impl Iterator<Item = &Sheet> {
        self.sheets.iter().chain(&self.beside)
    }

    /// The place of a pulse (from 0) of a row in a card's grid; the grid where the row has no such pulse.
    pub(super) fn pulse(
        &self,
        sheet: usize,
        draft: &Draft,
        row: &str,
        pulse: usize,
    ) -> Range<usize> {
        let grid = draft.place("grid");
        let Some(block) = draft.grid.clone() else {
            return grid;
        };
        let rows = self.texts[sheet].get(block.clone()).unwrap_or("");
        locate(rows, row, pulse).map_or(grid, |s| s.start + block.start..s.end + block.start)
    }
}

/// What a rule found.
pub(super) struct Finding {
    pub(super) sheet: usize,
    pub(super) card: Option<usize>,
    pub(super) span: Range<usize>,
    pub(super) message: String,
    pub(super) mend: String,
}
