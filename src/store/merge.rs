//! Merging logs, and rows rewritten at another time.

use super::copies::sound_copy;
use super::row::{IntroductionRow, Logged};
use super::{Result, Store, StoreError, insert, meet, opening, reading, withdraw};
use rusqlite::Row;
use std::collections::HashMap;
use std::path::Path;

/// What a merge has done.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Merged {
    /// Answers that were not there yet.
    pub added: usize,
    /// Answers that were.
    pub there: usize,
    /// Answers that were there and are withdrawn now, as in the other log.
    pub withdrawn: usize,
    /// Meetings of cards that were not there yet.
    pub meetings: usize,
}

/// The answers of one run of the program.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SessionSpan {
    /// The session that they share.
    pub session: String,
    /// First and last answer, milliseconds since 1970 UTC.
    pub first: i64,
    /// See `first`.
    pub last: i64,
    /// How many count.
    pub answers: i64,
}

/// What makes an answer the same answer in two logs: when, in which session, and which question.
type Identity = (i64, String, String, i64);

fn identity(logged: &Logged) -> Identity {
    let row = &logged.row;
    (row.at, row.session.clone(), row.item(), row.seed as i64)
}

impl Store {
    /// Hands every review to `each`, in the order of the log, with the meetings that came before it: all that another log
    /// needs to become the same.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] where a row is not as it was written, before anything was handed out.
    pub fn export(&self, mut each: impl FnMut(Logged)) -> Result<()> {
        self.sound()?;
        let mut meetings = self.read(reading::meetings)?;
        meetings.sort_by_key(|m| m.at);
        let mut meetings = meetings.into_iter().peekable();
        self.reviews(0, |mut logged| {
            while let Some(meeting) = meetings.next_if(|m| m.at <= logged.row.at) {
                logged.meetings.push(meeting);
            }
            each(logged);
        })
    }

    /// Takes in what is not here yet: answers, meetings and withdrawals (which are noted at `now`, milliseconds since 1970
    /// UTC). An answer that is twice in `rows` is there twice, unless the numbers of the rows begin anew: they are of two
    /// logs then, or of one that was written twice. All of it, or after an error nothing.
    ///
    /// # Errors
    /// [`StoreError::Row`] for a row that cannot be kept, with its number, counted from 1 on.
    pub fn merge(
        &mut self,
        rows: &[Logged],
        meetings: &[IntroductionRow],
        now: i64,
    ) -> Result<Merged> {
        for (n, logged) in (1..).zip(rows) {
            let met = logged.meetings.iter().try_for_each(IntroductionRow::check);
            for (what, checked) in [("review", logged.row.check()), ("meeting", met)] {
                let why = checked.map_err(|why| format!("answer {n}: {why}"));
                why.map_err(StoreError::row(what))?;
            }
        }
        let mut here: HashMap<Identity, Vec<(i64, bool)>> = HashMap::new();
        self.reviews(0, |logged| {
            let place = (logged.id, logged.withdrawn.is_some());
            here.entry(identity(&logged)).or_default().push(place);
        })?;
        // The first one first.
        here.values_mut().for_each(|places| places.reverse());
        let met = self.read(reading::meetings)?;
        let same = |a: &IntroductionRow, b: &IntroductionRow| {
            (&a.card, a.at, &a.session) == (&b.card, b.at, &b.session)
        };
        let mut new: Vec<&IntroductionRow> = Vec::new();
        for meeting in rows.iter().flat_map(|r| &r.meetings).chain(meetings) {
            let there = |m: &IntroductionRow| same(m, meeting);
            if !met.iter().any(there) && !new.iter().any(|m| there(m)) {
                new.push(meeting);
            }
        }
        self.write(|t| {
            let mut merged = Merged::default();
            let (mut last, mut taken) = (0, Vec::new());
            for logged in rows {
                if logged.id <= last {
                    for (identity, place) in taken.drain(..) {
                        let places: &mut Vec<_> = here.entry(identity).or_default();
                        places.push(place);
                    }
                }
                last = logged.id;
                let place = here.get_mut(&identity(logged)).and_then(Vec::pop);
                let (id, out) = match place {
                    Some(place) => {
                        merged.there += 1;
                        place
                    }
                    None => {
                        merged.added += 1;
                        (insert(t, &logged.row)?, false)
                    }
                };
                if let (Some(why), false) = (&logged.withdrawn, out) {
                    withdraw(t, id, now, why)?;
                    merged.withdrawn += usize::from(place.is_some());
                }
                taken.push((identity(logged), (id, out || logged.withdrawn.is_some())));
            }
            for meeting in &new {
                meet(t, meeting)?;
            }
            merged.meetings = new.len();
            Ok(merged)
        })
    }

    /// Takes in another log, as [`Store::merge`]. The other file is only read.
    ///
    /// # Errors
    /// As [`Store::merge`], and where the other file is not a sound log.
    pub fn merge_file(&mut self, other: &Path, now: i64) -> Result<Merged> {
        let bytes = sound_copy(other)?;
        let other = opening::in_memory(other, &bytes)?;
        let mut rows = Vec::new();
        other.reviews(0, |logged| rows.push(logged))?;
        let meetings = other.read(reading::meetings)?;
        self.merge(&rows, &meetings, now)
    }

    /// The runs of the program whose answers count, in the order of writing.
    ///
    /// # Errors
    /// Of the database.
    pub fn evenings(&self) -> Result<Vec<SessionSpan>> {
        let sql = "SELECT session, min(at), max(at), count(*) FROM review r
            WHERE NOT EXISTS (SELECT 1 FROM withdrawal w WHERE w.review = r.id)
            GROUP BY session ORDER BY min(id)";
        let span = |r: &Row<'_>| {
            Ok(SessionSpan {
                session: r.get(0)?,
                first: r.get(1)?,
                last: r.get(2)?,
                answers: r.get(3)?,
            })
        };
        self.read(|db| reading::list(db, sql, [], span))
    }

    /// Withdraws the answers of a session and writes them again `later` milliseconds later (or earlier, below zero), with
    /// the cards met in it. What memory forecast at the wrong time is left out. Gives the number of answers.
    ///
    /// # Errors
    /// As [`Store::append`].
    pub fn retime(&mut self, session: &str, later: i64, now: i64) -> Result<usize> {
        let mut rows = Vec::new();
        self.reviews(0, |logged| {
            if logged.row.session == session && logged.withdrawn.is_none() {
                rows.push(logged);
            }
        })?;
        let mut met = self.read(reading::meetings)?;
        met.retain(|m| m.session == session);
        self.write(|t| {
            for logged in &mut rows {
                withdraw(
                    t,
                    logged.id,
                    now,
                    "the clock was wrong; written again at the right time",
                )?;
                logged.row.at += later;
                logged.row.forecast = None;
                insert(t, &logged.row)?;
            }
            for meeting in &mut met {
                meeting.at += later;
                meet(t, meeting)?;
            }
            Ok(rows.len())
        })
    }
}
