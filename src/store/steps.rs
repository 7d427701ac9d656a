//! The log's versions: each step brings a log up by one version.

use super::row::with_figures;
use super::sums;
use rusqlite::Connection;

/// Marks the file as ours in the database header: `wSid` in ASCII.
pub(super) const APPLICATION_ID: i32 = 0x7753_6964;

/// The steps in order. A step that was shipped is never edited; a change is a new step. A new column of a kept table
/// is NULL in the rows that are there: their sums stay as they are.
pub(super) const STEPS: &[&str] = &[STEP_1, STEP_2, STEP_3];

/// The version from which on rows have sums.
pub(super) const WITH_SUMS: i64 = 3;

/// The version that this program writes.
pub(super) const VERSION: i64 = STEPS.len() as i64;

/// A table whose rows are never changed or removed once written.
pub(super) struct KeptTable {
    pub name: &'static str,
    /// Number of a row, counted from 1 on.
    pub key: &'static str,
    /// All columns but the sum, the key first.
    pub columns: &'static str,
}

/// The columns of the figures.
macro_rules! figures {
    ($first:ident $head:literal, $($field:ident $column:literal),*) => {
        concat!($head, $(", ", $column),*)
    };
}

pub(super) const ITEM: KeptTable = kept("item", "id", "id, card, kind, sense");
pub(super) const CONCEPTS: KeptTable = kept("concepts", "id", "id, names");
pub(super) const REPLY: KeptTable = kept("reply", "id", "id, choices, answer, keys");
pub(super) const REVIEW: KeptTable = kept(
    "review",
    "id",
    concat!(
        "id, item, concepts, reply, ",
        with_figures!(figures!()),
        ", session, seed, program"
    ),
);
pub(super) const SHOWN: KeptTable = kept("shown", "review", "review, score, prompt");
pub(super) const WITHDRAWAL: KeptTable = kept("withdrawal", "id", "id, review, at, why");
pub(super) const MEETING: KeptTable = kept(
    "meeting",
    "id",
    "id, card, at, utc_offset, session, seconds",
);

pub(super) const KEPT: [KeptTable; 7] = [ITEM, CONCEPTS, REPLY, REVIEW, SHOWN, WITHDRAWAL, MEETING];

const fn kept(name: &'static str, key: &'static str, columns: &'static str) -> KeptTable {
    KeptTable { name, key, columns }
}

/// The version of an open database; 0 for an empty one.
pub(super) fn version(db: &Connection) -> rusqlite::Result<i64> {
    db.pragma_query_value(None, "user_version", |r| r.get(0))
}

/// What an open database turned out to be.
pub(super) enum DatabaseState {
    /// An empty file or a log that this program can bring up.
    Ours,
    /// A log of this later version.
    Newer(i64),
    /// Another program's database.
    Foreign,
}

/// Looks at a database without changing it. One statement, so that a log that another program is just making is
/// seen before or after, never half-way.
pub(super) fn look(db: &Connection) -> rusqlite::Result<DatabaseState> {
    let (version, id, tables): (i64, i32, i64) = db.query_row(
        "SELECT (SELECT user_version FROM pragma_user_version), (SELECT application_id FROM pragma_application_id),
           (SELECT count(*) FROM sqlite_schema)",
        [],
        |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?)),
    )?;
    Ok(match (id == APPLICATION_ID, version) {
        (true, v) if v > VERSION => DatabaseState::Newer(v),
        (true, v) if v > 0 => DatabaseState::Ours,
        (false, 0) if id == 0 && tables == 0 => DatabaseState::Ours,
        _ => DatabaseState::Foreign,
    })
}

/// Brings the log up to [`VERSION`] in one transaction: all of it or nothing. Of two programs that start at once
/// the second waits and then finds nothing to do.
pub(super) fn bring_up(db: &mut Connection) -> rusqlite::Result<()> {
    bring_up_to(db, VERSION)
}

pub(super) fn bring_up_to(db: &mut Connection, goal: i64) -> rusqlite::Result<()> {
    if version(db)? >= goal {
        return Ok(());
    }
    let change = db.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
    let from = version(&change)?.max(0);
    for step in STEPS.iter().take(goal as usize).skip(from as usize) {
        change.execute_batch(step)?;
    }
    if from < goal {
        if from < WITH_SUMS && goal >= WITH_SUMS {
            sums::fill(&change)?;
        }
        for table in &KEPT {
            change.execute_batch(&guards(table))?;
        }
        change.pragma_update(None, "application_id", APPLICATION_ID)?;
        change.pragma_update(None, "user_version", goal)?;
        if goal >= WITH_SUMS {
            sums::seal(&change)?;
        }
    }
    change.commit()
}

/// Triggers that keep a table's rows as they were written. The third is there because `INSERT OR REPLACE` deletes
/// without asking a delete trigger.
fn guards(table: &KeptTable) -> String {
    let KeptTable {
        name: table, key, ..
    } = table;
    format!(
        "CREATE TRIGGER IF NOT EXISTS {table}_unchanged BEFORE UPDATE ON {table}
         BEGIN SELECT RAISE(ABORT, 'rows of the log are never changed'); END;
         CREATE TRIGGER IF NOT EXISTS {table}_kept BEFORE DELETE ON {table}
         BEGIN SELECT RAISE(ABORT, 'rows of the log are never removed'); END;
         CREATE TRIGGER IF NOT EXISTS {table}_once BEFORE INSERT ON {table}
         WHEN EXISTS (SELECT 1 FROM {table} WHERE {key} = NEW.{key})
         BEGIN SELECT RAISE(ABORT, 'rows of the log are never replaced'); END;"
    )
}

const STEP_1: &str = "
-- Version 1 of the log. Facts that are folded or counted are narrow rows (review); what was on the screen is in
-- its own table (shown), so that reading a million reviews does not read a million pictures.

CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
INSERT INTO meta VALUES ('log', lower(hex(randomblob(16))));

CREATE TABLE item (
  id INTEGER PRIMARY KEY,
  card TEXT NOT NULL, kind TEXT NOT NULL, sense TEXT NOT NULL,
  UNIQUE (card, kind, sense)
) STRICT;

-- names: a JSON array of words, in the order of the card.
CREATE TABLE concepts (id INTEGER PRIMARY KEY, names TEXT NOT NULL UNIQUE) STRICT;

-- choices: a JSON object, key to label. answer: the keys given. keys: a JSON array, for each key of the answer the
-- keys that are right.
CREATE TABLE reply (
  id INTEGER PRIMARY KEY,
  choices TEXT NOT NULL, answer TEXT NOT NULL, keys TEXT NOT NULL,
  UNIQUE (choices, answer, keys)
) STRICT;

CREATE TABLE review (
  id INTEGER PRIMARY KEY,
  at INTEGER NOT NULL,
  utc_offset INTEGER NOT NULL CHECK (abs(utc_offset) <= 1080),
  session TEXT NOT NULL,
  item INTEGER NOT NULL REFERENCES item,
  concepts INTEGER NOT NULL REFERENCES concepts,
  reply INTEGER NOT NULL REFERENCES reply,
  seed INTEGER NOT NULL,
  bpm REAL NOT NULL CHECK (bpm > 0),
  grid TEXT NOT NULL,
  correct REAL NOT NULL CHECK (correct BETWEEN 0 AND 1),
  guess REAL NOT NULL CHECK (guess BETWEEN 0 AND 1),
  seconds REAL NOT NULL CHECK (seconds >= 0),
  within REAL NOT NULL CHECK (within > 0),
  replays INTEGER NOT NULL CHECK (replays >= 0),
  slowed INTEGER NOT NULL CHECK (slowed IN (0, 1)),
  in_time INTEGER NOT NULL CHECK (in_time IN (0, 1)),
  program TEXT NOT NULL
) STRICT;

CREATE TABLE shown (
  review INTEGER PRIMARY KEY REFERENCES review,
  score TEXT NOT NULL, prompt TEXT NOT NULL
) STRICT;

CREATE TABLE withdrawal (
  id INTEGER PRIMARY KEY,
  review INTEGER NOT NULL UNIQUE REFERENCES review,
  at INTEGER NOT NULL, why TEXT NOT NULL
) STRICT;

CREATE TABLE meeting (
  id INTEGER PRIMARY KEY,
  card TEXT NOT NULL, at INTEGER NOT NULL, utc_offset INTEGER NOT NULL,
  session TEXT NOT NULL, seconds REAL NOT NULL CHECK (seconds >= 0)
) STRICT;
CREATE INDEX meeting_card ON meeting (card);

CREATE TABLE setting (key TEXT PRIMARY KEY, json TEXT NOT NULL) STRICT, WITHOUT ROWID;
";

const STEP_2: &str = "
-- Version 2: what memory forecast before the answer was seen, so that forecasts can be held against answers even
-- when the model has changed since; and a quick way to the answers of one item.

ALTER TABLE review ADD COLUMN forecast REAL CHECK (forecast BETWEEN 0 AND 1);
CREATE INDEX IF NOT EXISTS review_item ON review (item);
";

const STEP_3: &str = "
-- Version 3: sums. The sum of a row is the CRC-32 of its values, begun with the sum of the row before it; head has one
-- over the ends of all tables. mark is drawn anew at each write and before is the mark of the write before it, so that
-- it is known which write follows which.

ALTER TABLE item ADD COLUMN sum INTEGER;
ALTER TABLE concepts ADD COLUMN sum INTEGER;
ALTER TABLE reply ADD COLUMN sum INTEGER;
ALTER TABLE review ADD COLUMN sum INTEGER;
ALTER TABLE shown ADD COLUMN sum INTEGER;
ALTER TABLE withdrawal ADD COLUMN sum INTEGER;
ALTER TABLE meeting ADD COLUMN sum INTEGER;
ALTER TABLE setting ADD COLUMN sum INTEGER;

CREATE TABLE head (
  id INTEGER PRIMARY KEY CHECK (id = 1),
  writes INTEGER NOT NULL, mark INTEGER NOT NULL, before INTEGER NOT NULL, sum INTEGER NOT NULL
) STRICT;
INSERT INTO head VALUES (1, 0, 0, 0, 0);
";
