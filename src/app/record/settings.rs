//! What the player has set, as the log keeps it.

use super::{Folder, Idea, Record, TapOffset};
use crate::app::lesson::Lesson;
use crate::app::listening::KnownMicrophone;
use crate::screens::screen_settings::ScreenSettings;
use crate::session::Profile;
use crate::store::{Store, StoreError};
use std::collections::BTreeMap;

/// Has a player with this folder begun, so that there is something to tell?
///
/// # Errors
/// Those of the store.
pub fn has_begun(folder: &Folder) -> Result<bool, StoreError> {
    match Store::open_to_read(folder.path()) {
        Err(StoreError::Missing { .. }) => Ok(false),
        opened => {
            let store = opened?;
            super::say(store.notes());
            Ok(store.setting::<Profile>("profile")?.is_some())
        }
    }
}

/// For each setting of the log: its key, how it is read and how it is kept. What was never set reads as its default.
macro_rules! settings {
    ($($key:literal: $(#[$doc:meta])+ $read:ident, $keep:ident: $type:ty, $kept:ty;)+) => {
        impl Record { $(
            $(#[$doc])+
            ///
            /// # Errors
            /// Those of the store.
            pub fn $read(&self) -> Result<$type, StoreError> {
                Ok(self.store.setting($key)?.unwrap_or_default())
            }

            /// Keeps it.
            ///
            /// # Errors
            /// Those of the store.
            pub fn $keep(&mut self, to: $kept) -> Result<(), StoreError> {
                self.store.set($key, &to)
            }
        )+ }
    };
}

settings! {
    "profile":
        /// The player's profile; `None` before the first run is through.
        profile, keep_profile: Option<Profile>, &Profile;
    "volume":
        /// The volume that the player set last, 0 to 1.
        volume, keep_volume: Option<f32>, f32;
    "tap offset":
        /// How late taps come on this computer; `None` before it was measured.
        tap_offset, keep_tap_offset: Option<TapOffset>, &TapOffset;
    "microphone":
        /// What is known of the microphone; `None` before a sound check.
        microphone, keep_microphone: Option<KnownMicrophone>, &KnownMicrophone;
    "schools":
        /// The player's schools: the way by subject.
        schools, keep_schools: BTreeMap<String, String>, &BTreeMap<String, String>;
    "lesson":
        /// What the player put into the lesson and took out of it.
        lesson, keep_lesson: Lesson, &Lesson;
    "screen":
        /// What the player has set of the screen.
        screen, keep_screen: ScreenSettings, &ScreenSettings;
    "ideas":
        /// What the player's own cards were about when last seen, by id.
        ideas, keep_ideas: BTreeMap<String, Idea>, &BTreeMap<String, Idea>;
}
