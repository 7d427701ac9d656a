//! Where players say they stand, and what is expected of them then.

use crate::memory::Learned;
use serde::{Deserialize, Serialize};

/// Where a player stands before the first evening.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stands {
    /// New to clave.
    #[default]
    New,
    /// Plays a tumbao.
    Tumbao,
    /// Plays in bands.
    Bands,
}

impl Stands {
    /// All of them, the least first.
    pub const ALL: [Stands; 3] = [Stands::New, Stands::Tumbao, Stands::Bands];

    /// The name in data and on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Stands::New => "new",
            Stands::Tumbao => "tumbao",
            Stands::Bands => "bands",
        }
    }

    /// As players read it.
    pub const fn spoken(self) -> &'static str {
        match self {
            Stands::New => "new to clave",
            Stands::Tumbao => "play a tumbao",
            Stands::Bands => "play in bands",
        }
    }

    /// What is expected of such a player (chosen): a player of tumbaos knows the strokes and the plain tumbao, a player
    /// in bands half of the course, more or less.
    pub(super) fn learned(self) -> Learned {
        let (share, sure, floors) = match self {
            Stands::New => (0.02, 4.0, [0.0; 3]),
            Stands::Tumbao => (0.25, 3.0, [0.0, 0.25, 0.0]),
            Stands::Bands => (0.5, 2.0, [0.0, 0.25, 0.0]),
        };
        Learned {
            share,
            sure,
            floors: floors.to_vec(),
        }
    }
}
