//! The shipped decks and the player's own, read from files.

use super::{Folder, input};
use crate::deck::{self, Card, Deck, School};
use crate::question::{self, Item};
use crate::rhythm::counted;
use anyhow::{Context, anyhow, bail};
use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};

/// The decks that there are: those that come with the program, then the player's own.
#[derive(Clone, Debug)]
pub struct DeckLibrary {
    pub decks: Arc<[Deck]>,
    /// Ids of the cards to be asked, where the player chose a deck; otherwise all.
    pub chosen: Option<BTreeSet<String>>,
    /// Ids of cards that follow another school than the player's.
    pub left_out: BTreeSet<String>,
    /// What the player should know about their own decks, one sentence each.
    pub remarks: Vec<String>,
    /// Ids of the decks that come with the program.
    shipped: BTreeSet<String>,
    items: OnceLock<Vec<Item>>,
}

impl DeckLibrary {
    /// Reads all decks. `wanted` is a deck file, or the id of a deck, that is to be drilled by itself.
    ///
    /// # Errors
    /// Where a deck file cannot be read, or there is no deck of that name.
    pub fn load(folder: &Folder, wanted: Option<&Path>) -> anyhow::Result<DeckLibrary> {
        let (mut decks, mut remarks) = (deck::shipped(), Vec::new());
        let shipped = decks.iter().map(|d| d.id.clone()).collect();
        for file in own_files(&folder.decks())? {
            if let Err(error) = add(&mut decks, &mut remarks, &file) {
                remarks.push(format!("{error}; its cards are left out"));
            }
        }
        let file = wanted.filter(|path| path.is_file());
        let wanted = match wanted {
            None => None,
            Some(path) if path.is_file() => Some(add(&mut decks, &mut remarks, path)?),
            Some(name) => Some(named(&decks, name)?),
        };
        let chosen = wanted.map(|id| {
            let of = decks.iter().filter(|d| d.id == id);
            of.flat_map(|d| &d.cards).map(|c| c.id.clone()).collect()
        });
        if chosen.as_ref().is_some_and(BTreeSet::is_empty) {
            match file {
                Some(file) => bail!(
                    "no card of {0} can be used; `whichside check {0}` says what to mend",
                    file.display()
                ),
                None => bail!("no card in this deck can be asked"),
            }
        }
        Ok(DeckLibrary {
            decks: decks.into(),
            chosen,
            left_out: BTreeSet::new(),
            remarks,
            shipped,
            items: OnceLock::new(),
        })
    }

    /// Every item of the decks, made at the first use.
    pub fn items(&self) -> &[Item] {
        self.items.get_or_init(|| question::items(&self.decks))
    }

    /// The cards of all decks.
    pub fn cards(&self) -> impl Iterator<Item = &Card> + Clone {
        self.decks.iter().flat_map(|d| &d.cards)
    }

    /// The player's own decks.
    pub fn own(&self) -> impl Iterator<Item = &Deck> {
        self.decks.iter().filter(|d| !self.shipped.contains(&d.id))
    }

    /// The schools there are, in the order of the decks.
    pub fn schools(&self) -> Vec<School> {
        let mut schools: Vec<School> = Vec::new();
        for school in self.cards().filter_map(|c| c.school.clone()) {
            if !schools.contains(&school) {
                schools.push(school);
            }
        }
        schools
    }

    /// Leaves out the cards of schools that the player does not follow. `chosen` is the way by subject; where the
    /// player chose none, the first one counts. A deck that was asked for by itself stays whole.
    pub fn choose_schools(&mut self, chosen: &BTreeMap<String, String>) {
        self.left_out.clear();
        if self.chosen.is_some() {
            return;
        }
        let schools = self.schools();
        let follows = |school: &School| {
            let mut ways = schools.iter().filter(|s| s.subject == school.subject);
            let wanted = chosen.get(&school.subject);
            let wanted = wanted.filter(|w| ways.clone().any(|s| s.way == **w));
            match wanted {
                Some(way) => *way == school.way,
                None => ways.next() == Some(school),
            }
        };
        let other = |c: &&Card| c.school.as_ref().is_some_and(|s| !follows(s));
        self.left_out = self.cards().filter(other).map(|c| c.id.clone()).collect();
    }
}

/// Adds the deck of a file, in place of one with the same id; returns the id.
fn add(decks: &mut Vec<Deck>, remarks: &mut Vec<String>, file: &Path) -> anyhow::Result<String> {
    let (deck, text) = read_file(file)?;
    let mistakes = text.iter().filter(|d| d.is_mistake()).count();
    if mistakes > 0 {
        let count = counted(mistakes, "mistake");
        // What matters comes first: a long path is cut where the window ends.
        let name = file.file_name().unwrap_or(file.as_os_str()).display();
        remarks.push(format!(
            "{count} in {name}: whichside check {} shows where.",
            file.display()
        ));
    }
    let id = deck.id.clone();
    decks.retain(|d| d.id != id);
    decks.push(deck);
    Ok(id)
}

fn named(decks: &[Deck], name: &Path) -> anyhow::Result<String> {
    let name = name.to_string_lossy();
    if decks.iter().any(|d| d.id == name) {
        return Ok(name.into_owned());
    }
    let ids: Vec<_> = decks.iter().map(|d| d.id.as_str()).collect();
    bail!(
        "there is neither a file nor a deck called `{name}`; the decks are: {}",
        ids.join(", ")
    );
}

/// Reads the deck in a file.
///
/// # Errors
/// Where the file cannot be read, or is not text.
pub fn read_file(file: &Path) -> anyhow::Result<(Deck, Vec<deck::Diagnostic>)> {
    let text = read_text(file)?;
    Ok(deck::read(&file.to_string_lossy(), &text))
}

/// Reads the text of a deck file; `-` is standard input.
///
/// # Errors
/// Where the file cannot be read, or is not text.
pub fn read_text(file: &Path) -> anyhow::Result<String> {
    let name = file.display();
    if file == Path::new(input::STDIN) {
        return input::read_text(io::stdin().lock(), deck::MOST_BYTES)
            .context("standard input cannot be read as a deck");
    }
    if file.is_dir() {
        bail!("{name} is a folder; name the deck files in it, such as {name}/*.toml");
    }
    let opened = File::open(file).map_err(|error| match error.kind() {
        io::ErrorKind::NotFound => anyhow!("there is no such file"),
        io::ErrorKind::PermissionDenied => anyhow!("you have no permission to read it"),
        _ => error.into(),
    });
    opened
        .and_then(|file| input::read_text(file, deck::MOST_BYTES))
        .map_err(|error| anyhow!("{name} cannot be read: {error}"))
}

/// The deck files in a folder, in the order of their names. A folder that is not there has none.
fn own_files(folder: &Path) -> anyhow::Result<Vec<PathBuf>> {
    let entries = match fs::read_dir(folder) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        entries => entries.with_context(|| format!("{} cannot be read", folder.display()))?,
    };
    let mut files = Vec::new();
    for entry in entries {
        let path = entry?.path();
        if path.extension().is_some_and(|e| e == "toml") && path.is_file() {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_school_is_drilled_and_the_player_chooses_which() {
        let folder = tempfile::tempdir().unwrap();
        let folder = Folder::find(Some(folder.path())).unwrap();
        let mut library = DeckLibrary::load(&folder, None).unwrap();
        library.choose_schools(&BTreeMap::new());
        let low = |library: &DeckLibrary, deck: &str| {
            let cards = library.left_out.iter();
            cards.filter(|id| id.starts_with(deck)).count()
        };
        assert_eq!(
            (
                low(&library, "low-drum-three/"),
                low(&library, "low-drum-two/")
            ),
            (0, 17)
        );
        let two = BTreeMap::from([("low drum".to_string(), "two side".to_string())]);
        library.choose_schools(&two);
        assert_eq!(
            (
                low(&library, "low-drum-three/"),
                low(&library, "low-drum-two/")
            ),
            (17, 0)
        );
        let mut alone = DeckLibrary::load(&folder, Some(Path::new("low-drum-two"))).unwrap();
        alone.choose_schools(&BTreeMap::new());
        assert!(alone.left_out.is_empty());
    }
}
