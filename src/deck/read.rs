//! A deck's text read into a deck and what is wrong with it.

use super::diagnostic::{Notes, Subject};
use super::keys::TableKeys;
use super::limits::{MOST_CARDS, grouped};
use super::read_card::{ParsedCard, read_card, read_tempo};
use super::source::{card_tables, pieces};
use super::{Deck, Diagnostic, School, rules};
use crate::rhythm::{Drum, Tempo};
use std::collections::HashSet;

/// Keys of a deck.
pub(super) const DECK_KEYS: &[&str] = &[
    "id", "title", "about", "needs", "school", "drums", "source", "styles", "tempo", "card",
];

/// What the head of a deck says for all its cards.
pub(super) struct Defaults {
    /// The deck's id.
    pub(super) deck: String,
    pub(super) school: Option<School>,
    pub(super) source: String,
    pub(super) styles: Vec<String>,
    pub(super) tempo: Option<(Tempo, Tempo)>,
}

/// A deck, with what else the check needs to know.
pub(super) struct ParsedDeck {
    pub(super) deck: Deck,
    /// One for each card of the deck, in its order.
    pub(super) cards: Vec<ParsedCard>,
    /// The drums that the deck is for; empty where it does not say.
    pub(super) drums: Vec<Drum>,
    /// Where the fields of its head stand.
    pub(super) head: Subject,
    pub(super) diagnostics: Vec<Diagnostic>,
}

/// Reads a deck. Never fails: cards without mistakes are in the deck, the mistakes are in the list, in the order of the
/// file. `name` is the file's name: the deck's id is its stem where the deck has no `id` of its own.
pub fn read(name: &str, text: &str) -> (Deck, Vec<Diagnostic>) {
    let parsed = read_deck(name, text);
    (parsed.deck, parsed.diagnostics)
}

pub(super) fn read_deck(name: &str, text: &str) -> ParsedDeck {
    // Editors on some systems begin a file with a byte order mark; it says nothing.
    let marked = text.len() - text.trim_start_matches('\u{feff}').len();
    let mut notes = Notes::new(name, text);
    let read = &(" ".repeat(marked) + &text[marked..]);
    let pieces = pieces(read, &mut notes);
    let mut parsed = ParsedDeck {
        deck: Deck::default(),
        cards: Vec::new(),
        drums: Vec::new(),
        head: Subject::default(),
        diagnostics: Vec::new(),
    };
    let mut defaults = None;
    if let Some(head) = pieces.first() {
        let first_line = read.lines().next().map_or(0, str::len);
        let keys = TableKeys::new(&head.table, head.offset, 0..first_line);
        defaults = Some(read_head(&keys, head.broken, name, &mut parsed, &mut notes));
    }
    let mut ids = HashSet::new();
    'cards: for piece in &pieces {
        for (table, home) in card_tables(piece, &mut notes) {
            let keys = TableKeys::new(table, piece.offset, home);
            let card = defaults
                .as_ref()
                .and_then(|d| read_card(&keys, d, piece.broken, read, &mut notes));
            let Some(card) = card else { continue };
            if parsed.cards.len() == MOST_CARDS {
                let message = format!("a deck has at most {} cards", grouped(MOST_CARDS));
                let mend = "make several decks of it";
                notes.add(&rules::TOO_LONG, card.place("id"), message, mend);
                break 'cards;
            }
            if !ids.insert(card.card.id.clone()) {
                let message = format!("an earlier card is called `{}`", card.name);
                let mend = "give this card an id of its own";
                notes.subject = card.subject.clone();
                notes.add(&rules::DUPLICATE, card.place("id"), message, mend);
                notes.subject = Subject::default();
                continue;
            }
            parsed.deck.cards.push(card.card.clone());
            parsed.cards.push(card);
        }
    }
    parsed.diagnostics = notes.found;
    let place = |d: &Diagnostic| (d.span.start, d.span.end);
    parsed.diagnostics.sort_by_key(place);
    parsed
}

fn read_head(
    keys: &TableKeys,
    broken: bool,
    name: &str,
    parsed: &mut ParsedDeck,
    notes: &mut Notes,
) -> Defaults {
    let mut fields = keys.fields();
    fields.remove("card");
    notes.subject.fields = fields;
    keys.note_unknown(DECK_KEYS, notes);
    let deck = &mut parsed.deck;
    deck.id = id_of(name);
    if let Some(id) = keys.text("id", notes) {
        match is_name(&id.value) {
            true => deck.id = id.value,
            false => note_name(&id.value, id.span, notes),
        }
    }
    if !broken && !keys.has("title") {
        let mend = "write `title = \"...\"` at the top of the deck";
        keys.note_missing("title", mend, notes);
    }
    let title = keys.text("title", notes);
    deck.title = title.map_or_else(|| deck.id.clone(), |t| t.value);
    deck.about = keys.text_or_none("about", notes);
    deck.needs = keys.list("needs", notes);
    deck.school = read_school(keys, notes);
    for drum in keys.texts("drums", notes) {
        match Drum::ALL.into_iter().find(|d| d.name() == drum.value) {
            Some(found) => parsed.drums.push(found),
            None => {
                let message = format!("there is no drum `{}`", drum.value);
                notes.value(drum.span, message, "drums are quinto, conga, tumba");
            }
        }
    }
    let defaults = Defaults {
        deck: deck.id.clone(),
        school: deck.school.clone(),
        source: keys.text_or_none("source", notes),
        styles: keys.list("styles", notes),
        tempo: read_tempo(keys, notes),
    };
    parsed.head = std::mem::take(&mut notes.subject);
    defaults
}

/// `school = "subject: way"`.
pub(super) fn read_school(keys: &TableKeys, notes: &mut Notes) -> Option<School> {
    let text = keys.text("school", notes)?;
    match School::parse(&text.value) {
        Some(school) if !school.subject.is_empty() && !school.way.is_empty() => Some(school),
        _ => {
            let mend = "write `subject: way`, such as `low drum: three side`";
            notes.value(text.span, "`school` takes a subject and a way", mend);
            None
        }
    }
}

/// Small letters, digits and hyphens.
pub(super) fn is_name(text: &str) -> bool {
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    !text.is_empty() && text.len() <= 64 && text.chars().all(plain)
}

pub(super) fn note_name(text: &str, span: std::ops::Range<usize>, notes: &mut Notes) {
    let message = format!("`{text}` is not made of small letters, digits and hyphens");
    let mend = format!("write `{}`", plain(text));
    notes.add(&rules::ID, span, message, mend);
}

/// The id of a deck that has none of its own, by the name of its file.
pub(super) fn id_of(file: &str) -> String {
    let stem = file.rsplit(['/', '\\']).next().unwrap_or(file);
    plain(stem.strip_suffix(".toml").unwrap_or(stem))
}

/// The nearest name that may be used.
fn plain(text: &str) -> String {
    let lower = text.to_lowercase();
    let parts = lower.split(|c: char| !(c.is_ascii_lowercase() || c.is_ascii_digit()));
    let parts: Vec<&str> = parts.filter(|p| !p.is_empty()).collect();
    let mut name = parts.join("-");
    name.truncate(64);
    if name.is_empty() { "deck".into() } else { name }
}
