//! What most commands and pages read: decks and log as they are now.

use super::Folder;
use super::agenda::{Agenda, Scope};
use super::cli::DataArgs;
use super::deck_library::DeckLibrary;
use super::record::Record;
use crate::session::Profile;
use std::collections::BTreeSet;

/// Decks and log as they are now, and whether anything may sound and move.
pub struct CommandContext {
    pub record: Record,
    pub library: DeckLibrary,
    pub folder: Folder,
    pub silent: bool,
    pub motion: bool,
}

impl CommandContext {
    /// For what `changes` the log or only reads it.
    ///
    /// # Errors
    /// Where the log or a deck cannot be read.
    pub fn open(data: &DataArgs, changes: bool) -> anyhow::Result<CommandContext> {
        let record = Record::for_command(&data.folder()?, data.clock(), changes)?;
        CommandContext::of(record, data)
    }

    /// With a log that is open.
    ///
    /// # Errors
    /// Where the log or a deck cannot be read.
    pub fn of(record: Record, data: &DataArgs) -> anyhow::Result<CommandContext> {
        let folder = data.folder()?;
        let mut library = DeckLibrary::load(&folder, None)?;
        library.choose_schools(&record.schools()?);
        Ok(CommandContext {
            motion: record.screen()?.motion,
            record,
            library,
            folder,
            silent: false,
        })
    }

    /// The same without sound, and without motion, where that is wanted.
    pub fn with(self, silent: bool, still: bool) -> CommandContext {
        let motion = self.motion && !still;
        CommandContext {
            silent,
            motion,
            ..self
        }
    }

    /// What the player said of themselves, or what is usual.
    ///
    /// # Errors
    /// Of the log.
    pub fn profile(&self) -> anyhow::Result<Profile> {
        Ok(self.record.profile()?.unwrap_or_default())
    }

    /// The cards of the lesson.
    ///
    /// # Errors
    /// Of the log.
    pub fn lesson(&self) -> anyhow::Result<BTreeSet<String>> {
        Ok(self.record.lesson()?.cards(&self.library))
    }

    /// What may be asked.
    ///
    /// # Errors
    /// Of the log.
    pub fn agenda(&self) -> anyhow::Result<Agenda> {
        let (scope, profile, lesson) = (Scope::default(), self.profile()?, self.lesson()?);
        let library = &self.library;
        Ok(Agenda::new(library, &scope, profile, &lesson, !self.silent))
    }
}
