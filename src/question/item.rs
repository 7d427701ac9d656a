//! Items: a card asked in one kind and one sense.

use serde::{Deserialize, Serialize};

/// How a question reaches the player.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sense {
    /// By eye: the grid is on the screen.
    Read,
    /// By ear: the sound plays, the grid stays hidden until answered.
    Hear,
}

impl Sense {
    /// Both senses.
    pub const ALL: [Sense; 2] = [Sense::Read, Sense::Hear];

    /// The name in data: `read` or `hear`.
    pub const fn name(self) -> &'static str {
        match self {
            Sense::Read => "read",
            Sense::Hear => "hear",
        }
    }

    /// As players read it: `by eye` or `by ear`.
    pub const fn spoken(self) -> &'static str {
        match self {
            Sense::Read => "by eye",
            Sense::Hear => "by ear",
        }
    }
}

/// What memory keeps track of: a card asked in one kind and one sense. Written `deck/card:kind:sense`.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub struct ItemKey {
    /// [`crate::deck::Card::id`].
    pub card: String,
    /// Name of the kind, one of [`super::KINDS`].
    pub kind: String,
    /// By eye or by ear.
    pub sense: Sense,
}

impl std::fmt::Display for ItemKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}:{}", self.card, self.kind, self.sense.name())
    }
}
