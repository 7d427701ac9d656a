use crate::hands::{Handed, Level, Player};
use serde::{Deserialize, Serialize};

/// What the player told about themselves; kept between sessions.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Profile {
    /// Plays two drums, not one.
    pub two_drums: bool,
    /// The stronger hand is the left one.
    pub left_handed: bool,
    /// How trained the hands are.
    pub level: Level,
    /// Minutes of practice a day.
    pub minutes: f64,
    /// How hard it may be: the share of answers about what was met before that is to be right at least, 0 to 1.
    pub right: f64,
}

impl Default for Profile {
    fn default() -> Profile {
        Profile {
            two_drums: false,
            left_handed: false,
            level: Level::default(),
            minutes: 5.0,
            right: 0.6,
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

    /// Least and greatest share of right answers that can be asked for: above it hardly anything can be taught.
    pub const RIGHT: (f64, f64) = (0.0, 0.9);

    /// The same with minutes inside [`Profile::MINUTES`] and the share right inside [`Profile::RIGHT`]; what is no
    /// number becomes the usual.
    pub fn sane(self) -> Profile {
        let usual = Profile::default();
        let within = |value: f64, usual: f64, (least, most): (f64, f64)| match value.is_finite() {
            true => value.clamp(least, most),
            false => usual,
        };
        Profile {
            minutes: within(self.minutes, usual.minutes, Profile::MINUTES),
            right: within(self.right, usual.right, Profile::RIGHT),
            ..self
        }
    }
}
