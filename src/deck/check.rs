//! The deck check: reading, and then what shows only when decks are looked at whole and side by side.

use super::diagnostic::Notes;
use super::read::{ParsedDeck, read_deck};
use super::read_card::ParsedCard;
use super::{Card, Diagnostic, SHIPPED, rules};
use crate::rhythm::Drum;
use std::ops::Range;

/// A kind of question as the check knows it: its name and whether it can ask a card.
#[derive(Clone, Copy, Debug)]
pub struct KindFit {
    /// Name of the kind.
    pub name: &'static str,
    /// Given the name and a card: can this kind ask it?
    pub asks: fn(&str, &Card) -> bool,
}

/// What a deck is checked against.
#[derive(Clone, Debug)]
pub struct Setting {
    /// The kinds of question there are. Empty: nothing is said about them.
    pub kinds: Vec<KindFit>,
    /// The drums that the player has.
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
    let decks = files.iter().map(|(name, text)| read_deck(name, text));
    let decks: Vec<ParsedDeck> = decks.collect();
    let ids: Vec<&str> = decks.iter().map(|d| d.deck.id.as_str()).collect();
    let shipped = SHIPPED.iter().map(|(name, text)| read_deck(name, text));
    let context = CheckContext {
        texts: files.iter().map(|(_, text)| text.as_str()).collect(),
        beside: shipped
            .filter(|d| !ids.contains(&d.deck.id.as_str()))
            .collect(),
        decks: &decks,
        setting,
    };
    let notes = files.iter().map(|(name, text)| Notes::new(name, text));
    let mut notes: Vec<Notes> = notes.collect();
    for rule in rules::all() {
        for Finding(deck, card, flaw) in rule.check.map_or_else(Vec::new, |check| check(&context)) {
            let parsed = &decks[deck];
            let subject = card.map_or(&parsed.head, |c| &parsed.cards[c].subject);
            notes[deck].subject = subject.clone();
            notes[deck].add(rule, flaw.span, flaw.message, flaw.mend);
        }
    }
    let both = decks.iter().zip(notes).map(|(deck, notes)| {
        let mut all = deck.diagnostics.clone();
        all.extend(notes.found);
        all.sort_by_key(|d| (d.span.start, d.span.end));
        all
    });
    both.collect()
}

/// What a rule of the check may look at.
pub(super) struct CheckContext<'a> {
    /// The decks that are checked.
    pub(super) decks: &'a [ParsedDeck],
    texts: Vec<&'a str>,
    /// The shipped decks that are not among them.
    beside: Vec<ParsedDeck>,
    pub(super) setting: &'a Setting,
}

impl CheckContext<'_> {
    /// The cards that are checked: number of the deck, number of the card, card.
    pub(super) fn cards(&self) -> impl Iterator<Item = (usize, usize, &ParsedCard)> {
        let decks = self.decks.iter().enumerate();
        decks.flat_map(|(d, deck)| (0..).zip(&deck.cards).map(move |(c, card)| (d, c, card)))
    }

    /// The findings of a rule that looks at each card by itself; it is given the number of the deck and the card.
    pub(super) fn each_card<I: IntoIterator<Item = CardMistake>>(
        &self,
        look: impl Fn(usize, &ParsedCard) -> I,
    ) -> Vec<Finding> {
        let cards = self.cards().flat_map(|(deck, c, card)| {
            let flaws = look(deck, card).into_iter();
            flaws.map(move |flaw| Finding(deck, Some(c), flaw))
        });
        cards.collect()
    }

    /// All decks, including the shipped ones.
    pub(super) fn all_decks(&self) -> impl Iterator<Item = &ParsedDeck> {
        self.decks.iter().chain(&self.beside)
    }

    /// The place of a pulse (from 0) of a row in a card's grid; the grid where the row has no such pulse.
    pub(super) fn pulse(
        &self,
        deck: usize,
        card: &ParsedCard,
        row: &str,
        pulse: usize,
    ) -> Range<usize> {
        let place = card.subject.pulse(self.texts[deck], row, pulse);
        place.unwrap_or_else(|| card.place("grid"))
    }
}

/// A mistake at one place.
pub(super) struct CardMistake {
    /// Bytes of the file.
    pub(super) span: Range<usize>,
    pub(super) message: String,
    pub(super) mend: String,
}

impl CardMistake {
    pub(super) fn new(
        span: Range<usize>,
        message: impl Into<String>,
        mend: impl Into<String>,
    ) -> CardMistake {
        let (message, mend) = (message.into(), mend.into());
        CardMistake {
            span,
            message,
            mend,
        }
    }
}

/// The numbers of the deck and of the card that a flaw is in.
pub(super) struct Finding(
    pub(super) usize,
    pub(super) Option<usize>,
    pub(super) CardMistake,
);
