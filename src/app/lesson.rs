//! The command `lesson`: what the player works on this week.

use super::Exit;
use super::cli::DataArgs;
use super::command_context::CommandContext;
use super::deck_library::DeckLibrary;
use super::record::Record;
use crate::deck::{Card, Deck};
use crate::memory::{Hold, hold};
use crate::question;
use crate::rhythm::{counted, nearest};
use crate::store::StoreError;
use anyhow::bail;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::io::Write;

/// Show this week's lesson, which comes first in every drill, and change it
///
/// You meet a card of the lesson the same evening, and it is asked every evening until it is held: at least two of its
/// questions were answered twice, and each that was asked has a chance of 80 in 100 of being known a night after its
/// last answer. Decks of your own are in the lesson automatically.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Put cards or whole decks into the lesson, or take them out; what you learned of them stays
    #[arg(value_enum, value_name = "add|remove", requires = "names")]
    change: Option<LessonChange>,
    /// A card, such as tumbao/one-bar, or a deck
    #[arg(value_name = "CARD|DECK")]
    names: Vec<String>,
    /// Write the lesson as JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    data: DataArgs,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum LessonChange {
    Add,
    Remove,
}

/// What the player has put into the lesson and taken out of it, by the ids of cards and decks. The decks of the player's own
/// are in it unless they were taken out.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Lesson {
    added: BTreeSet<String>,
    removed: BTreeSet<String>,
}

impl Lesson {
    /// The ids of its cards. A card that is named itself counts before its deck.
    pub fn cards(&self, library: &DeckLibrary) -> BTreeSet<String> {
        let own: BTreeSet<&str> = library.own().map(|d| d.id.as_str()).collect();
        let decks = library.decks.iter();
        let all = decks.flat_map(|deck| deck.cards.iter().map(move |card| (deck, card)));
        // A deck of the player's own is in it as far as they drill that school; what they put in themselves always is.
        let of_own = |deck: &Deck, card: &Card| {
            own.contains(deck.id.as_str()) && !library.left_out.contains(&card.id)
        };
        let inside = all.filter(|(deck, card)| self.holds(deck, card, of_own(deck, card)));
        inside.map(|(_, card)| card.id.clone()).collect()
    }

    fn holds(&self, deck: &Deck, card: &Card, own: bool) -> bool {
        if self.added.contains(&card.id) || self.removed.contains(&card.id) {
            return self.added.contains(&card.id);
        }
        self.added.contains(&deck.id) || own && !self.removed.contains(&deck.id)
    }

    fn change(&mut self, name: &str, add: bool) {
        let cards = format!("{name}/");
        for set in [&mut self.added, &mut self.removed] {
            set.retain(|id| id != name && !id.starts_with(&cards));
        }
        match add {
            true => self.added.insert(name.to_string()),
            false => self.removed.insert(name.to_string()),
        };
    }
}

/// Puts a card or a deck into the lesson, or takes it out, by its id.
///
/// # Errors
/// Those of the store.
pub fn put(record: &mut Record, id: &str, into: bool) -> Result<(), StoreError> {
    let mut lesson = record.lesson()?;
    lesson.change(id, into);
    record.keep_lesson(&lesson)
}

/// How well each card is held, by its id.
pub fn holds(record: &Record, library: &DeckLibrary) -> BTreeMap<String, Hold> {
    let mut keys: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for item in library.items() {
        let of = keys.entry(item.key.card.clone()).or_default();
        of.push(item.key.to_string());
    }
    let held = |keys: Vec<String>| hold(record.memory(), keys.iter().map(String::as_str));
    let holds = keys.into_iter();
    holds.map(|(card, keys)| (card, held(keys))).collect()
}

/// A card of the lesson as it is written.
#[derive(Debug, Serialize)]
struct LessonEntry<'a> {
    card: &'a str,
    title: &'a str,
    #[serde(flatten)]
    hold: Hold,
}

/// Changes the lesson, or shows it.
///
/// # Errors
/// Where a card or a deck is not there, and where the log or a deck cannot be read.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let mut context = CommandContext::open(&args.data, args.change.is_some())?;
    if let Some(change) = args.change {
        let (names, add) = (&args.names, change == LessonChange::Add);
        let ids = names.iter().map(|name| named(&context.library, name));
        let ids = ids.collect::<anyhow::Result<Vec<String>>>()?;
        let before = context.lesson()?;
        let inside = |id: &String| {
            let of_deck = format!("{id}/");
            let mut cards = before.iter();
            cards.any(|card| card == id || card.starts_with(&of_deck))
        };
        if let Some(id) = ids.iter().find(|id| !add && !inside(id)) {
            bail!("`{id}` is not in the lesson; `whichside lesson` shows what is");
        }
        for id in &ids {
            put(&mut context.record, id, add)?;
        }
    }
    let lesson = context.lesson()?;
    let (record, library) = (&context.record, &context.library);
    super::record::say(&library.remarks);
    let holds = holds(record, library);
    let entries: Vec<LessonEntry> = library
        .cards()
        .filter(|card| lesson.contains(&card.id))
        .map(|card| LessonEntry {
            card: &card.id,
            title: &card.title,
            hold: holds.get(&card.id).copied().unwrap_or_default(),
        })
        .collect();
    match args.json {
        true => writeln!(out, "{}", serde_json::to_string_pretty(&entries)?)?,
        false => write_text(&entries, out)?,
    }
    Ok(Exit::Clean)
}

fn write_text(entries: &[LessonEntry], out: &mut dyn Write) -> std::io::Result<()> {
    if entries.is_empty() {
        return writeln!(
            out,
            "The lesson is empty. `whichside lesson add CARD` puts a card or a deck into it; a deck in the `decks` \
             folder of your data folder is in it automatically."
        );
    }
    let held = entries.iter().filter(|e| e.hold.held).count();
    writeln!(
        out,
        "This week's lesson: {}, {held} held.",
        counted(entries.len(), "card")
    )?;
    let width = entries.iter().map(|e| e.card.chars().count()).max();
    let width = width.unwrap_or(0);
    for entry in entries {
        let state = match (entry.hold.held, entry.hold.chance) {
            (true, _) => "held".to_string(),
            (false, None) => "not met yet".to_string(),
            (false, Some(chance)) => format!(
                "{}, {:.0} in 100 after a night",
                counted(entry.hold.answers as usize, "answer"),
                100.0 * chance
            ),
        };
        writeln!(out, "  {:width$}  {state}  ({})", entry.card, entry.title)?;
    }
    Ok(())
}

/// The id of the card or deck that is called so: by its id, by the last part of a card's id where only one card has it, or by
/// its title.
///
/// # Errors
/// Where nothing is called so, or several are; the message names what is near.
fn named(library: &DeckLibrary, name: &str) -> anyhow::Result<String> {
    let wanted = name.trim().to_lowercase();
    if library.decks.iter().any(|d| d.id == wanted)
        || question::card(&library.decks, &wanted).is_some()
    {
        return Ok(wanted);
    }
    let tail = |id: &str| id.split('/').nth(1).unwrap_or_default().to_string();
    let called = |title: &str| title.to_lowercase() == wanted;
    let of_cards = library
        .cards()
        .filter(|c| tail(&c.id) == wanted || called(&c.title));
    let of_decks = library.decks.iter().filter(|d| called(&d.title));
    let found = of_cards.map(|c| c.id.as_str());
    let found: Vec<&str> = found.chain(of_decks.map(|d| d.id.as_str())).collect();
    match found[..] {
        [id] => return Ok(id.to_string()),
        [] => {}
        _ => bail!("`{name}` may be {}; name one of them", found.join(", ")),
    }
    let ids = library.cards().map(|c| &c.id);
    let ids = ids.chain(library.decks.iter().map(|d| &d.id));
    let ids = ids.flat_map(|id| [(tail(id), id), (id.clone(), id)]);
    match nearest(&wanted, ids, 0.8) {
        Some(near) => bail!("no card and no deck is called `{name}`; did you mean `{near}`?"),
        None => bail!(
            "no card and no deck is called `{name}`; `whichside deck show DECK` prints the cards of a deck"
        ),
    }
}
