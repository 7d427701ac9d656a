//! Memory's states: the fold of the log that the program starts with.
//!
//! They are kept in a file of their own beside the log, an item a row, so that a start reads the items that it wants
//! and the end of a drill writes those that were answered.

mod file;

use super::facts::facts_in;
use super::reading::reviews_in;
use super::{Fact, Health, Mark, Result, ReviewRow, Store, StoreError, Words};
use crate::memory::{Memory, Outcome};
use file::{File, Head, Key};
use rusqlite::{Connection, OptionalExtension, params};
use std::path::PathBuf;

/// Name of the file.
const NAME: &str = "states.db";
/// What older programs kept in its place; it is of no use any more.
const BEFORE: &str = "states";

/// States that were this many reviews behind the log are saved as soon as they have caught up, and not only at the
/// end of a drill: a program that is always killed starts no slower for it.
const BEHIND: i64 = 50;

/// Where more than one item in so many is wanted, reading them all in their order is quicker than looking each up.
const MANY: usize = 8;

/// Shortest response that memory is told, in seconds: a simple reaction to sound or light takes about this long
/// (from memory). An answer to a heard question may come before its clock starts and counts as 0 s in the log.
const REACTION: f64 = 0.2;

/// Up to so many reviews are taken in row by row.
const FEW: i64 = 2_000;

/// The items that somebody means to ask about, by their keys ([`ReviewRow::item`]).
#[derive(Clone, Copy, Debug)]
pub enum Wanted<'a> {
    /// Every item of the log.
    All,
    /// Those with these keys; one that was never asked is left out.
    These(&'a [String]),
}

/// What the reviews up to a mark give.
pub struct States {
    /// Knows the items that were wanted and those that were answered since; one that was neither looks new.
    pub memory: Memory,
    /// How far into the log it goes.
    pub mark: Mark,
    /// How far the file goes that they were opened from; `None` where the whole log was folded.
    from: Option<Mark>,
}

impl States {
    /// Takes in the review that was just given its id. Says no where another program wrote in between: the states
    /// are then to be read again.
    #[must_use]
    pub fn observe(&mut self, id: i64, row: &ReviewRow) -> bool {
        let next = id == self.mark.review + 1;
        if next {
            self.memory.observe(&row.outcome());
            self.mark.review = id;
        }
        next
    }

    /// Whether they were folded from the log alone, since no saved ones held.
    pub fn from_log(&self) -> bool {
        self.from.is_none()
    }
}

impl Fact {
    /// What memory learns from the review: that of [`ReviewRow::outcome`].
    ///
    /// # Panics
    /// With the words of another log.
    pub fn outcome(&self, words: &Words) -> Outcome {
        let item = &words.items[self.item];
        Outcome {
            item: item.to_string(),
            concepts: words.concepts[self.concepts].clone(),
            kind: item.kind.clone(),
            at: self.at as f64 / 1000.0,
            correct: self.correct,
            guess: self.guess,
            seconds: self.seconds.max(REACTION),
            limit: self.limit,
            replays: self.replays,
            slowed: self.slowed,
        }
    }
}

impl ReviewRow {
    /// What memory learns from the review. Told this right after the answer, memory is to the bit what a replay of
    /// the log gives.
    pub fn outcome(&self) -> Outcome {
        Outcome {
            item: self.item(),
            concepts: self.concepts.clone(),
            kind: self.kind.clone(),
            at: self.at as f64 / 1000.0,
            correct: self.correct,
            guess: self.guess,
            seconds: self.seconds.max(REACTION),
            limit: self.limit,
            replays: self.replays,
            slowed: self.slowed,
        }
    }
}

impl Store {
    /// The states that all reviews so far give: from the saved ones and what came after them, or from the whole log
    /// where there are none that hold.
    ///
    /// # Errors
    /// As [`Store::facts`].
    pub fn states(&self, wanted: Wanted<'_>) -> Result<States> {
        let mut states = self.read(|db| {
            let moment = db.unchecked_transaction()?;
            let mark = super::mark(&moment)?;
            let (mut memory, from) = match self.opened(&moment, mark, wanted)? {
                Some((memory, from)) => (memory, Some(from)),
                None => (Memory::new(), None),
            };
            let after = from.map_or(0, |from| from.review);
            if mark.review - after <= FEW {
                // Quicker than reading all words first.
                reviews_in(&moment, after, |logged| {
                    if logged.withdrawn.is_none() {
                        memory.observe(&logged.row.outcome());
                    }
                })?;
            } else {
                facts_in(&moment, after, |words, fact| {
                    memory.observe(&fact.outcome(words));
                })?;
            }
            Ok(States { memory, mark, from })
        })?;
        let saved = states.from.map_or(0, |from| from.review);
        if states.mark.review - saved > BEHIND {
            // The next start is only slower without it.
            let _ = self.save_states(&mut states);
        }
        Ok(states)
    }

    /// The saved states of the wanted items and of those that were answered since, and how far they go; `None` where
    /// there are none that the log bears out.
    fn opened(
        &self,
        db: &Connection,
        mark: Mark,
        wanted: Wanted<'_>,
    ) -> rusqlite::Result<Option<(Memory, Mark)>> {
        let Some(file) = File::open(&self.states_path()) else {
            return Ok(None);
        };
        let Some(head) = file.head(&self.id).filter(|head| {
            let saved = head.mark;
            saved.withdrawal == mark.withdrawal && (0..=mark.review).contains(&saved.review)
        }) else {
            return Ok(None);
        };
        let memory = match wanted {
            Wanted::These(items) if items.len() * MANY < head.items as usize => {
                let mut keys = Vec::with_capacity(items.len());
                for item in items {
                    keys.extend(key(db, item, head.mark)?);
                }
                keys.extend(answered_since(db, head.mark)?);
                file.these(&head, &keys)
            }
            _ => file.all(&head),
        };
        Ok(memory.map(|memory| (memory, head.mark)))
    }

    /// Saves states that took in every review so far. States that did not (another program has answered or
    /// withdrawn meanwhile) are not saved, nor are those that are saved already or were opened from what another
    /// program has replaced since; the next start then takes in the rest. Says whether they were saved.
    ///
    /// # Errors
    /// Of the database or the disk; the program can go on without.
    pub fn save_states(&self, states: &mut States) -> Result<bool> {
        if states.from == Some(states.mark) || self.mark()? != states.mark {
            return Ok(false);
        }
        let path = self.states_path();
        let saved = match self.write_states(states)? {
            // A file that is damaged or foreign is made anew, by whoever has all there is to be in it.
            Err(e) if file::is_ruined(&e) => {
                file::remove(&path).map_err(|why| StoreError::Folder {
                    path: path.clone(),
                    why,
                })?;
                self.write_states(states)?
            }
            done => done,
        }
        .map_err(|e| StoreError::from_database(&path, e))?;
        if saved {
            states.from = Some(states.mark);
            states.memory.kept();
            let _ = self.drop_snapshot(BEFORE);
        }
        Ok(saved)
    }

    /// One try at it. The outer error is of the log, the inner one of the file.
    fn write_states(&self, states: &States) -> Result<rusqlite::Result<bool>> {
        let memory = &states.memory;
        let names: Vec<&str> = match states.from {
            Some(_) => memory.changed().collect(),
            None => memory.items().collect(),
        };
        let mut rows = Vec::with_capacity(names.len());
        self.read(|db| {
            let moment = db.unchecked_transaction()?;
            for name in names {
                rows.extend(key(&moment, name, states.mark)?.zip(memory.item_bytes(name)));
            }
            Ok(())
        })?;
        let head = Head::new(self.id, states.mark, memory.head());
        Ok(File::create(&self.states_path())
            .and_then(|mut file| file.write(states.from, head, &rows)))
    }

    fn states_path(&self) -> PathBuf {
        self.folder.join(NAME)
    }

    /// Folds the log anew as far as the saved states go and compares the two, bit by bit.
    pub(super) fn compare_states(&self, health: &mut Health) -> Result<()> {
        let same = self.read(|db| {
            let moment = db.unchecked_transaction()?;
            let mark = super::mark(&moment)?;
            let Some((saved, from)) = self.opened(&moment, mark, Wanted::All)? else {
                return Ok(true);
            };
            let mut memory = Memory::new();
            facts_in(&moment, 0, |words, fact| {
                if fact.id <= from.review {
                    memory.observe(&fact.outcome(words));
                }
            })?;
            Ok(memory == saved)
        })?;
        if !same {
            let path = self.states_path();
            let path = path.display();
            health.faults.push(format!(
                "{path} is not what the log gives; delete it, and it is made anew"
            ));
        }
        Ok(())
    }
}

/// Where the states of an item are, and the last review up to a mark that they rest on; `None` for an item without.
fn key(db: &Connection, item: &str, mark: Mark) -> rusqlite::Result<Option<Key>> {
    let mut words = item.rsplitn(3, ':');
    let (Some(sense), Some(kind), Some(card)) = (words.next(), words.next(), words.next()) else {
        return Ok(None);
    };
    db.prepare_cached(
        "SELECT i.id, r.id FROM item i JOIN review r ON r.item = i.id
         WHERE i.card = ?1 AND i.kind = ?2 AND i.sense = ?3 AND r.id <= ?4
           AND NOT EXISTS (SELECT 1 FROM withdrawal w WHERE w.review = r.id)
         ORDER BY r.id DESC LIMIT 1",
    )?
    .query_row(params![card, kind, sense, mark.review], |r| {
        Ok(Key {
            item: r.get(0)?,
            review: r.get(1)?,
        })
    })
    .optional()
}

/// The same for every item that has states up to a mark and was answered after it.
fn answered_since(db: &Connection, mark: Mark) -> rusqlite::Result<Vec<Key>> {
    // Without that word the database walks through the index of all reviews, since it is in the order of items.
    let mut query = db.prepare_cached(
        "SELECT item, (SELECT r.id FROM review r WHERE r.item = late.item AND r.id <= ?1
             AND NOT EXISTS (SELECT 1 FROM withdrawal w WHERE w.review = r.id) ORDER BY r.id DESC LIMIT 1) AS last
         FROM (SELECT DISTINCT item FROM review NOT INDEXED WHERE id > ?1) late WHERE last IS NOT NULL",
    )?;
    let keys = query.query_map([mark.review], |r| {
        Ok(Key {
            item: r.get(0)?,
            review: r.get(1)?,
        })
    })?;
    keys.collect()
}
