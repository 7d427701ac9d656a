//! One card read from its table.

use super::diagnostic::{Notes, Subject};
use super::keys::{Located, TableKeys};
use super::read::{Defaults, is_name, note_name, read_school};
use super::read_choice::read_choice;
use super::read_grid::{clave_agrees, read_grid};
use super::read_place::{check_place, read_place};
use super::read_rudiment::read_rudiment;
use super::read_thin::{read_thin, read_thin_from};
use super::source::between_quotes;
use super::{Card, States, rules};
use crate::clave::{Clave, Direction, Side};
use crate::rhythm::{Grid, Score, Tempo, counted, did_you_mean, spaced};
use std::ops::Range;

/// Keys of a card.
pub(super) const CARD_KEYS: &[&str] = &[
    "id",
    "title",
    "about",
    "clave",
    "states",
    "tempo",
    "place",
    "styles",
    "concepts",
    "kinds",
    "source",
    "grid",
    "needs",
    "school",
    "rudiment",
    "thin",
    "thin_from",
    "often",
    "ask",
    "right",
    "wrong",
    "why",
];

/// A card with the places of its parts in the file.
#[derive(Clone, Debug)]
pub(super) struct ParsedCard {
    pub(super) card: Card,
    /// The card's id without that of the deck.
    pub(super) name: String,
    /// Its heading.
    home: Range<usize>,
    /// Where its grid and its fields stand.
    pub(super) subject: Subject,
}

impl ParsedCard {
    /// Where the value of a key stands; the heading of the card where it has none.
    pub(super) fn place(&self, key: &str) -> Range<usize> {
        let field = self.subject.fields.get(key);
        field.map_or_else(|| self.home.clone(), |f| f.value.clone())
    }
}

/// Reads a card. `None` where it has a mistake.
pub(super) fn read_card(
    keys: &TableKeys,
    defaults: &Defaults,
    broken: bool,
    text: &str,
    notes: &mut Notes,
) -> Option<ParsedCard> {
    let before = notes.mistakes();
    notes.subject = Subject {
        card: keys.peek("id").map(|id| format!("{}/{id}", defaults.deck)),
        title: keys.peek("title").map(str::to_string),
        grid: keys
            .peek_place("grid")
            .map(|span| between_quotes(text, &span)),
        fields: keys.fields(),
    };
    let id = keys.text("id", notes);
    let parsed = read_parts(keys, id, defaults, broken, text, notes);
    notes.subject = Subject::default();
    parsed.filter(|_| notes.mistakes() == before && !broken)
}

fn read_parts(
    keys: &TableKeys,
    id: Option<Located<String>>,
    defaults: &Defaults,
    broken: bool,
    text: &str,
    notes: &mut Notes,
) -> Option<ParsedCard> {
    keys.note_unknown(CARD_KEYS, notes);
    if let Some(id) = id.as_ref().filter(|id| !is_name(&id.value)) {
        note_name(&id.value, id.span.clone(), notes);
    }
    // A key that TOML could not read is not missing.
    if !broken {
        note_missing(keys, defaults, notes);
    }
    let clave = read_clave(keys, notes);
    let states = read_states(keys, notes);
    let tempo = read_tempo(keys, notes).or(defaults.tempo);
    let place = read_place(keys, notes);
    let block = keys
        .raw("grid", notes)
        .map(|span| between_quotes(text, &span));
    // Where TOML stumbled, an empty grid is one that it cut off.
    let whole = |b: &&Range<usize>| !broken || !text[(*b).clone()].trim().is_empty();
    let score = block
        .as_ref()
        .filter(whole)
        .and_then(|b| read_grid(text, b.clone(), notes));
    let choice = read_choice(keys, notes);
    let (mut rudiment, mut thin) = (None, Vec::new());
    if let Some(read) = &score {
        rudiment = read_rudiment(keys, &read.score, notes);
        thin = read_thin(&keys.texts("thin", notes), &read.score, notes);
    }
    let part = score.as_ref().map(|read| read.score.clone());
    let part = part.unwrap_or(Score::empty(Grid::Eighths));
    let thin_from = read_thin_from(keys, tempo, notes);
    let styles = keys.list("styles", notes);
    let needs = keys.list("needs", notes);
    let needs = needs.iter();
    let card = Card {
        id: format!("{}/{}", defaults.deck, id.as_ref().map_or("", |i| &i.value)),
        title: keys.text_or_none("title", notes),
        about: keys.text_or_none("about", notes),
        grid: part.grid,
        score: part,
        clave,
        states: states.unwrap_or(States::Neither),
        tempo: tempo.unwrap_or_default(),
        place,
        styles: match keys.has("styles") {
            true => styles,
            false => defaults.styles.clone(),
        },
        concepts: keys.list("concepts", notes),
        kinds: keys.list("kinds", notes),
        source: keys
            .text("source", notes)
            .map_or_else(|| defaults.source.clone(), |t| t.value),
        needs: needs.map(|n| full_id(n, &defaults.deck)).collect(),
        school: read_school(keys, notes).or_else(|| defaults.school.clone()),
        rudiment,
        thin,
        thin_from,
        often: keys.counts("often", notes),
        choice,
    };
    if !matches!(card.states, States::Neither) && !keys.has("clave") {
        let mend = "write `clave = \"son 2-3\"` or another: the clave under the first bar";
        keys.note_missing("clave", mend, notes);
    }
    if let Some(read) = &score {
        clave_agrees(read, &card, notes);
        check_side(&card, keys, notes);
        check_place(&card, keys, notes);
    }
    Some(ParsedCard {
        name: id?.value,
        home: keys.home.clone(),
        subject: notes.subject.clone(),
        card,
    })
}

/// `name` is a card of the same deck, `deck/name` of any.
fn full_id(name: &str, deck: &str) -> String {
    match name.contains('/') {
        true => name.into(),
        false => format!("{deck}/{name}"),
    }
}

fn note_missing(keys: &TableKeys, defaults: &Defaults, notes: &mut Notes) {
    let words = WORDS.iter().any(|k| keys.has(k));
    for (key, mend) in NEEDED {
        let by_default = match *key {
            "source" => !defaults.source.is_empty(),
            "tempo" => defaults.tempo.is_some(),
            _ => false,
        };
        let wanted = match *key {
            "grid" | "states" | "tempo" => !words,
            key => words || !WORDS.contains(&key),
        };
        if wanted && !by_default && !keys.has(key) {
            keys.note_missing(key, mend, notes);
        }
    }
}

/// Keys of the question of a card of words.
const WORDS: [&str; 4] = ["ask", "right", "wrong", "why"];
const OF_WORDS: &str = "a card of words has `ask`, `right`, `wrong` and `why`";

/// Keys that a card needs, in the order in which they are asked for, with what to do where they are missing.
#[rustfmt::skip]
const NEEDED: &[(&str, &str)] = &[
    ("id", "write `id = \"...\"`: a short name that stays, in small letters, digits and hyphens"),
    ("title", "write `title = \"...\"`"),
    ("concepts", "name the concepts that the card teaches, such as `concepts = [\"two side\"]`"),
    ("source", "write where it comes from: a published source, or `common practice, no source`"),
    ("ask", OF_WORDS),
    ("right", OF_WORDS),
    ("wrong", OF_WORDS),
    ("why", OF_WORDS),
    ("grid", "write the part between `grid = \"\"\"` and `\"\"\"`"),
    ("states", "write `states = \"two side\"`, `\"three side\"`, `\"direction\"` or `\"neither\"`"),
    ("tempo", "write the slowest and the fastest tempo, such as `tempo = [160, 200]`"),
];

fn read_clave(keys: &TableKeys, notes: &mut Notes) -> Option<Clave> {
    let text = keys.text("clave", notes)?;
    let words = spaced(text.value.split_whitespace());
    let all = Clave::all().map(|clave| (clave.to_string(), clave));
    let message = format!("`{}` is not a clave", text.value);
    one_of(&words, all, (&text.span, message), notes)
}

/// What belongs to the word among `all` that was written; any other is noted, with a message at its place.
pub(super) fn one_of<T>(
    word: &str,
    all: impl IntoIterator<Item = (impl AsRef<str>, T)>,
    (span, message): (&Range<usize>, String),
    notes: &mut Notes,
) -> Option<T> {
    let (names, mut all): (Vec<_>, Vec<T>) = all.into_iter().unzip();
    let names: Vec<&str> = names.iter().map(AsRef::as_ref).collect();
    if let Some(found) = names.iter().position(|name| *name == word) {
        return Some(all.swap_remove(found));
    }
    let mend = did_you_mean(word, &names, || {
        format!("write one of {}", names.join(", "))
    });
    notes.value(span.clone(), message, mend);
    None
}

pub(super) fn read_direction(word: &str) -> Option<Direction> {
    Direction::ALL.into_iter().find(|d| d.name() == word)
}

fn read_states(keys: &TableKeys, notes: &mut Notes) -> Option<States> {
    let text = keys.text("states", notes)?;
    let all = [
        ("two side", States::Bar(Side::Two)),
        ("three side", States::Bar(Side::Three)),
        ("direction", States::Direction),
        ("neither", States::Neither),
    ];
    let message = format!("a part cannot state `{}`", text.value);
    one_of(&text.value, all, (&text.span, message), notes)
}

/// A tempo range, or one tempo.
pub(super) fn read_tempo(keys: &TableKeys, notes: &mut Notes) -> Option<(Tempo, Tempo)> {
    let tempo = keys.numbers("tempo", notes)?;
    let (low, high) = (tempo.value[0], *tempo.value.last()?);
    if low > high {
        let message = format!("the range runs from {low} down to {high}");
        let mend = format!("write `[{high}, {low}]`");
        notes.add(&rules::TEMPO, tempo.span, message, mend);
        return None;
    }
    if low < 20.0 || high > 400.0 {
        let wrong = if low < 20.0 { low } else { high };
        let message = format!("{wrong} quarter notes a minute is outside what the program plays");
        let mend = "tempos are between 20 and 400";
        notes.add(&rules::TEMPO, tempo.span, message, mend);
        return None;
    }
    Some((Tempo::new(low), Tempo::new(high)))
}

/// One bar for a side, two or more for a direction, and the clave that begins on that side.
fn check_side(card: &Card, keys: &TableKeys, notes: &mut Notes) {
    let bars = card.score.bars();
    let mut note = |message: String, mend: &str| {
        notes.add(&rules::SIDE, keys.place_of("states"), message, mend)
    };
    match (card.states, card.clave) {
        (States::Neither, _) | (_, None) => {}
        (States::Bar(side), _) if bars != 1 => note(
            format!(
                "a part of {} does not lie on the {} alone",
                counted(bars, "bar"),
                side.name()
            ),
            "write only the one bar, or `states = \"direction\"`",
        ),
        (States::Bar(side), Some(clave)) if clave.direction.side(0) != side => note(
            format!(
                "the bar states the {}, but {clave} begins with the {}",
                side.name(),
                side.other().name()
            ),
            "`clave` is the clave under this very bar, not that of a phrase: turn it round, or mend the side",
        ),
        (States::Direction, _) if bars < 2 => note(
            "one bar has no direction".into(),
            "write two bars, or name the side of the single bar",
        ),
        _ => {}
    }
}
