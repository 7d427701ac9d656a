//! The log on disk: one SQLite file, rows that are never changed.
