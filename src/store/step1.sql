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
