//! What the player said about themselves.

use crate::hands::{Handed, Level, Player};
use crate::question::Stands;
use serde::{Deserialize, Serialize};

/// What the player told about themselves; kept between sessions.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Profile {
    /// Plays two drums, not one.
    pub two_drums: bool,
    /// The stronger hand is the left one.
    pub left_handed: bool,
    /// Where they stand: new to clave, or how far already.
    pub stands: Stands,
    /// How trained the hands are.
    pub level: Level,
    /// Minutes of practice a day.
    pub minutes: f64,
}

impl Default for Profile {
    fn default() -> Profile {
        Profile {
            two_drums: false,
            left_handed: false,
            stands: Stands::New,
            level: Level::default(),
            minutes: 5.0,
        }
    }
}

impl Profile {
    /// Shortest and longest session, in minutes.
    pub const MINUTES: (f64, f64) = (0.5, 120.0);

    /// What the hands need to know of the player.
    pub fn player(self) -> Player {
        Player {
            level: self.level,
            handed: if self.left_handed {
                Handed::Left
            } else {
                Handed::Right
            },
        }
    }

    /// `one drum` or `two drums`.
    pub fn drums(self) -> &'static str {
        ["one drum", "two drums"][usize::from(self.two_drums)]
    }

    /// The stronger hand, `right` or `left`.
    pub fn hand(self) -> &'static str {
        ["right", "left"][usize::from(self.left_handed)]
    }

    /// The same with minutes inside [`Profile::MINUTES`]; what is not a number becomes the usual.
    pub fn sane(self) -> Profile {
        let (least, most) = Profile::MINUTES;
        let minutes = match self.minutes.is_finite() {
            true => self.minutes.clamp(least, most),
            false => Profile::default().minutes,
        };
        Profile { minutes, ..self }
    }
}
