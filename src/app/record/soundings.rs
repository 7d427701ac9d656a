//! Where the player stands before they are taught: what they told, and what they answered about cards never shown.

use super::Record;
use crate::question::{ItemKey, Learner, Stands};
use crate::store::{Fact, StoreError, Words};
use std::collections::{BTreeMap, BTreeSet};

/// Key of the setting that holds how many unseen answers there were when the player last asked to be sounded out.
const SOUNDED: &str = "sounding out";

/// The first answers about cards that had not been shown: what they tell is where the player stands, not what is lost.
pub struct Soundings(BTreeMap<i64, ItemKey>);

impl Soundings {
    /// Is this answer one of them?
    pub fn holds(&self, words: &Words, fact: &Fact) -> bool {
        self.0.get(&fact.at) == Some(&words.items[fact.item])
    }
}

impl Record {
    /// From the next plan on the player is asked before they are taught, until it is known how far they have come.
    ///
    /// # Errors
    /// Of the store.
    pub fn sound_out(&mut self) -> Result<(), StoreError> {
        let answers = self.first.unseen(&self.store.meetings()?).len();
        self.store.set(SOUNDED, &answers)
    }

    /// What is known of a player who stands there when an evening is composed, with these cards as the lesson; and how many
    /// of the answers about cards never shown were given today.
    ///
    /// # Errors
    /// Of the store.
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

    /// The first answers about cards that had not been shown, since the player is sounded out; none of one who is not.
    ///
    /// # Errors
    /// Of the store.
    pub fn soundings(&self) -> Result<Soundings, StoreError> {
        let asked: Option<usize> = self.store.setting(SOUNDED)?;
        let stands = self.profile()?.unwrap_or_default().stands;
        let since = asked.unwrap_or(if stands == Stands::New { usize::MAX } else { 0 });
        let meetings = self.store.meetings()?;
        let rows = self.first.unseen(&meetings).into_iter().skip(since);
        Ok(Soundings(
            rows.map(|row| (row.at, row.item.clone())).collect(),
        ))
    }
}
