//! Items: a card asked in one kind and one sense.

use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, ToSql, ToSqlOutput, ValueRef};
use serde::{Deserialize, Serialize};

/// How a question reaches the player.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum Sense {
    /// By eye: the grid is on the screen.
    #[default]
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

impl ToSql for Sense {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        self.name().to_sql()
    }
}

impl FromSql for Sense {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Sense> {
        let name = value.as_str()?;
        let sense = Sense::ALL.into_iter().find(|s| s.name() == name);
        sense
            .ok_or_else(|| FromSqlError::Other(format!("`{name}` is neither read nor hear").into()))
    }
}

/// What memory keeps track of: a card asked in one kind and one sense. Written `deck/card:kind:sense`.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub struct ItemKey {
    /// `deck/card`.
    pub card: String,
    /// Kind of question, by its name: `side`, `strokes`, `hand`, ...
    pub kind: String,
    /// By eye or by ear.
    pub sense: Sense,
}

impl std::fmt::Display for ItemKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}:{}", self.card, self.kind, self.sense.name())
    }
}
