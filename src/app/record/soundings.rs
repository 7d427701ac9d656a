//! Where the player stands before they are taught: what they told, and what they answered about cards never shown.

use super::Record;
use crate::question::{ItemKey, Learner, Stands};
use crate::store::{Fact, StoreError, Words};
use std::collections::{BTreeMap, BTreeSet, VecDeque};

/// Key of the setting that holds how many unseen answers there were when the player last asked to be sounded out.
const SOUNDED: &str = "sounding out";

/// The latest answers that tell what is lost.
pub struct RecentFacts {
    pub words: Words,
    /// Oldest first.
    pub facts: Vec<Fact>,
    /// How many first answers there are about cards that had not been shown: they tell where the player stands.
    pub sounded: usize,
}

impl Record {
    /// From the next plan on the player is asked before they are taught, until it is known how far they have come.
    ///
    /// # Errors
    /// Those of the store.
    pub fn sound_out(&mut self) -> Result<(), StoreError> {
        let answers = self.first.unseen(&self.store.meetings()?).len();
        self.store.set(SOUNDED, &answers)
    }

    /// What is known of a player who stands there when an evening is composed, with these cards as the lesson; and how many
    /// of the answers about cards never shown were given today.
    ///
    /// # Errors
    /// Those of the store.
    pub fn standing(
        &self,
        stands: Stands,
        lesson: &BTreeSet<String>,
    ) -> Result<(Learner, usize), StoreError> {
        let (introduced, today) = self.met()?;
        let asked: Option<usize> = self.store.setting(SOUNDED)?;
        let midnight = self.clock.midnight().timestamp_millis();
        let meetings = self.store.meetings()?;
        let rows = self.first.unseen(&meetings);
        let tonight = rows.iter().filter(|row| row.at >= midnight).count();
        let unseen = rows.into_iter().map(|row| (row.item.clone(), row.reply));
        let standing = Learner {
            stands,
            introduced,
            today,
            unseen: unseen.collect(),
            lesson: lesson.clone(),
            sounded: asked.or((stands != Stands::New).then_some(0)),
        };
        Ok((standing, tonight))
    }

    /// The latest answers, so many at most, but for the first ones about cards that had not been shown, since the player is
    /// sounded out; of one who is not, all. `each` is called with every answer of the log.
    ///
    /// # Errors
    /// Those of the store.
    pub fn recent(
        &self,
        most: usize,
        mut each: impl FnMut(&Fact),
    ) -> Result<RecentFacts, StoreError> {
        let asked: Option<usize> = self.store.setting(SOUNDED)?;
        let stands = self.profile()?.unwrap_or_default().stands;
        let since = asked.unwrap_or(if stands == Stands::New { usize::MAX } else { 0 });
        let meetings = self.store.meetings()?;
        let first = self.first.unseen(&meetings).into_iter().skip(since);
        let first: BTreeMap<i64, &ItemKey> = first.map(|row| (row.at, &row.item)).collect();
        let (mut facts, mut sounded) = (VecDeque::new(), 0);
        let (words, _) = self.store.facts(|words, fact| {
            each(fact);
            if first.get(&fact.at) == Some(&&words.items[fact.item]) {
                sounded += 1;
                return;
            }
            if facts.len() == most {
                facts.pop_front();
            }
            facts.push_back(*fact);
        })?;
        Ok(RecentFacts {
            words,
            facts: facts.into(),
            sounded,
        })
    }
}
