//! What the player has set, as the log keeps it.

use super::{Folder, Idea, Record, TapOffset};
use crate::app::lesson::Lesson;
use crate::app::listening::KnownMicrophone;
use crate::screens::screen_settings::ScreenSettings;
use crate::session::Profile;
use crate::store::{Store, StoreError};
use std::collections::BTreeMap;

/// Key of the setting that holds the player's profile.
const PROFILE: &str = "profile";
/// Key of the setting that holds the volume, 0 to 1.
const VOLUME: &str = "volume";
/// Key of the setting that holds how late taps come.
const TAP_OFFSET: &str = "tap offset";
/// Key of the setting that holds what is known of the microphone.
const MICROPHONE: &str = "microphone";
/// Key of the setting that holds the player's schools.
const SCHOOLS: &str = "schools";
/// Key of the setting that holds the lesson.
const LESSON: &str = "lesson";
/// Key of the setting that holds what the player has set of the screen.
const SCREEN: &str = "screen";
/// Key of the setting that holds what the player's own cards are about.
const IDEAS: &str = "ideas";

/// Has a player with this folder begun, so that there is something to tell?
///
/// # Errors
/// Of the store.
pub fn has_begun(folder: &Folder) -> Result<bool, StoreError> {
    match Store::open_to_read(folder.path()) {
        Err(StoreError::Missing { .. }) => Ok(false),
        opened => {
            let store = opened?;
            super::say(store.notes());
            Ok(store.setting::<Profile>(PROFILE)?.is_some())
        }
    }
}

impl Record {
    /// The player's profile; `None` before the first run is through.
    ///
    /// # Errors
    /// Of the store.
    pub fn profile(&self) -> Result<Option<Profile>, StoreError> {
        self.store.setting(PROFILE)
    }

    /// Keeps the player's profile.
    ///
    /// # Errors
    /// Of the store.
    pub fn keep_profile(&mut self, profile: &Profile) -> Result<(), StoreError> {
        self.store.set(PROFILE, profile)
    }

    /// The volume that the player set last, 0 to 1.
    ///
    /// # Errors
    /// Of the store.
    pub fn volume(&self) -> Result<Option<f32>, StoreError> {
        self.store.setting(VOLUME)
    }

    /// Keeps the volume.
    ///
    /// # Errors
    /// Of the store.
    pub fn keep_volume(&mut self, volume: f32) -> Result<(), StoreError> {
        self.store.set(VOLUME, &volume)
    }

    /// How late taps come on this computer; `None` before it was measured.
    ///
    /// # Errors
    /// Of the store.
    pub fn tap_offset(&self) -> Result<Option<TapOffset>, StoreError> {
        self.store.setting(TAP_OFFSET)
    }

    /// Keeps how late taps come.
    ///
    /// # Errors
    /// Of the store.
    pub fn keep_tap_offset(&mut self, offset: &TapOffset) -> Result<(), StoreError> {
        self.store.set(TAP_OFFSET, offset)
    }

    /// What is known of the microphone; `None` before a sound check.
    ///
    /// # Errors
    /// Of the store.
    pub fn microphone(&self) -> Result<Option<KnownMicrophone>, StoreError> {
        self.store.setting(MICROPHONE)
    }

    /// Keeps what is known of the microphone.
    ///
    /// # Errors
    /// Of the store.
    pub fn keep_microphone(&mut self, known: &KnownMicrophone) -> Result<(), StoreError> {
        self.store.set(MICROPHONE, known)
    }

    /// The player's schools: the way by subject.
    ///
    /// # Errors
    /// Of the store.
    pub fn schools(&self) -> Result<BTreeMap<String, String>, StoreError> {
        Ok(self.store.setting(SCHOOLS)?.unwrap_or_default())
    }

    /// Keeps the player's schools.
    ///
    /// # Errors
    /// Of the store.
    pub fn keep_schools(&mut self, schools: &BTreeMap<String, String>) -> Result<(), StoreError> {
        self.store.set(SCHOOLS, schools)
    }

    /// What the player put into the lesson and took out of it.
    ///
    /// # Errors
    /// Of the store.
    pub fn lesson(&self) -> Result<Lesson, StoreError> {
        Ok(self.store.setting(LESSON)?.unwrap_or_default())
    }

    /// Keeps the lesson.
    ///
    /// # Errors
    /// Of the store.
    pub fn keep_lesson(&mut self, lesson: &Lesson) -> Result<(), StoreError> {
        self.store.set(LESSON, lesson)
    }

    /// What the player has set of the screen.
    ///
    /// # Errors
    /// Of the store.
    pub fn screen(&self) -> Result<ScreenSettings, StoreError> {
        Ok(self.store.setting(SCREEN)?.unwrap_or_default())
    }

    /// Keeps what the player has set of the screen.
    ///
    /// # Errors
    /// Of the store.
    pub fn keep_screen(&mut self, screen: &ScreenSettings) -> Result<(), StoreError> {
        self.store.set(SCREEN, screen)
    }

    /// What the player's own cards were about when last seen, by id.
    ///
    /// # Errors
    /// Of the store.
    pub fn ideas(&self) -> Result<BTreeMap<String, Idea>, StoreError> {
        Ok(self.store.setting(IDEAS)?.unwrap_or_default())
    }

    /// Keeps what the player's own cards are about.
    ///
    /// # Errors
    /// Of the store.
    pub fn keep_ideas(&mut self, ideas: &BTreeMap<String, Idea>) -> Result<(), StoreError> {
        self.store.set(IDEAS, ideas)
    }
}
