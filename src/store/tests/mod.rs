//! Tests of the log on disk.

mod facts;
mod soundness;
mod whole;

use super::*;
use crate::rhythm::{Grid, Tempo};
use crate::time::Seconds;
use std::collections::BTreeMap;
use std::sync::{Arc, Barrier};
use std::thread;

fn row(n: i64) -> ReviewRow {
    ReviewRow {
        at: 1_795_000_000_000 + n,
        utc_offset: -180,
        session: "s1".into(),
        card: "street/bell".into(),
        kind: "side".into(),
        sense: Sense::Hear,
        concepts: vec!["two side".into(), "bell".into()],
        seed: u64::MAX - n as u64,
        tempo: Tempo::new(182.5),
        grid: Grid::Eighths,
        score: "     1 & 2 &\nbell x . x .\n".into(),
        prompt: "Which side is the marked bar? «é»".into(),
        choices: BTreeMap::from([('2', "two side".into()), ('3', "three side".into())]),
        answer: "3".into(),
        keys: vec!["2".into()],
        correct: 0.0,
        guess: 0.5,
        seconds: Seconds::new(1.25),
        limit: Seconds::new(2.63),
        replays: 2,
        slowed: true,
        in_time: false,
        program: "0.1.0".into(),
        forecast: Some(0.75),
    }
}

fn all(store: &Store) -> Vec<Logged> {
    let mut rows = Vec::new();
    store.reviews(0, |r| rows.push(r)).unwrap();
    rows
}

/// A log of version 1, made by hand from that version's tables.
fn old_log(folder: &Path, version: usize) {
    let mut db = Connection::open(folder.join(FILE)).unwrap();
    steps::bring_up_to(&mut db, version as i64).unwrap();
    db.execute_batch(
        "INSERT INTO item VALUES (1, 'street/bell', 'side', 'read');
         INSERT INTO concepts VALUES (1, '[\"bell\"]');
         INSERT INTO reply VALUES (1, '{\"2\":\"two side\"}', '2', '[\"2\"]');
         INSERT INTO review (id, at, utc_offset, session, item, concepts, reply, seed, bpm, grid, correct, guess,
           seconds, within, replays, slowed, in_time, program) VALUES (1, 5, 0, 's', 1, 1, 1, 7, 120.0, 'six-eight', 1.0, 0.5, 2.0, 2.0, 0, 0, 1, 'old');
         INSERT INTO shown VALUES (1, 'score', 'prompt');",
    )
    .unwrap();
}

#[test]
fn a_review_comes_back_as_it_went_in() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(&dir.path().join("new/folder")).unwrap();
    for n in 1..=3 {
        assert_eq!(store.append(&row(n)).unwrap(), n);
    }
    drop(store);
    let store = Store::open(&dir.path().join("new/folder")).unwrap();
    let rows = all(&store);
    assert_eq!(rows.len(), 3);
    for (n, r) in (1..).zip(rows) {
        assert_eq!((r.id, &r.row, &r.withdrawn), (n, &row(n), &None));
        // The export is these rows as JSON.
        let text = serde_json::to_string(&r).unwrap();
        assert_eq!(serde_json::from_str::<Logged>(&text).unwrap(), r);
    }
    let mut late = 0;
    store.reviews(2, |_| late += 1).unwrap();
    assert_eq!(late, 1);
}

#[test]
fn many_reviews_go_in_together_or_not_at_all() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    assert_eq!(store.append_all((0..3).map(row)).unwrap(), Some(3));
    let mut bad = row(9);
    bad.guess = 2.0;
    let said = store.append_all([row(8), bad]).unwrap_err().to_string();
    assert!(said.contains("guess 2"), "{said}");
    assert_eq!(all(&store).len(), 3);
    assert_eq!(store.append_all([]).unwrap(), None);
}

#[test]
fn a_withdrawn_review_stays_and_says_why() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    store.append(&row(1)).unwrap();
    store.withdraw(1, 9, "the cat sat on the keys").unwrap();
    assert_eq!(
        all(&store)[0].withdrawn.as_deref(),
        Some("the cat sat on the keys")
    );
    let twice = store.withdraw(1, 10, "again").unwrap_err().to_string();
    assert!(twice.starts_with("already withdrawn: review 1"), "{twice}");
    let none = store.withdraw(8, 10, "x").unwrap_err().to_string();
    assert!(none.starts_with("there is no review 8"), "{none}");
    assert_eq!(
        store.mark().unwrap(),
        LogPosition {
            review: 1,
            withdrawal: 1
        }
    );
}

/// Of six answers, each a millisecond after the one before: number 3 is of another kind, number 5 was taken back.
#[test]
fn the_latest_answers_of_a_kind_come_oldest_first() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    for n in 1..=6 {
        let kind = if n == 3 { "write" } else { "clap" };
        let kind = kind.to_string();
        store.append(&ReviewRow { kind, ..row(n) }).unwrap();
    }
    store.withdraw(5, 9, "a slip").unwrap();
    let latest = |kinds: &[&str], most| -> Vec<i64> {
        let rows = store.latest_of(kinds, most).unwrap();
        rows.iter().map(|r| r.at - row(0).at).collect()
    };
    assert_eq!(latest(&["clap", "play"], 3), [2, 4, 6]);
    assert_eq!(latest(&["clap", "write"], 9), [1, 2, 3, 4, 6]);
    assert_eq!(latest(&[], 9), [0; 0]);
    let tempos: Vec<(String, Tempo)> = store
        .latest_tempos(4)
        .unwrap()
        .into_iter()
        .map(|row| (row.item.kind, row.tempo))
        .collect();
    let of = |kind: &str, n| (kind.to_string(), row(n).tempo);
    assert_eq!(
        tempos,
        [of("clap", 2), of("write", 3), of("clap", 4), of("clap", 6)]
    );
}

#[test]
fn rows_cannot_be_changed_removed_or_replaced() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    store.append(&row(1)).unwrap();
    store.withdraw(1, 9, "test").unwrap();
    store.meet(&meeting()).unwrap();
    // As any other program would: a plain connection without our settings.
    let other = Connection::open(store.path()).unwrap();
    for table in steps::KEPT.map(|t| t.name) {
        for sql in [
            format!("UPDATE {table} SET rowid = rowid"),
            format!("DELETE FROM {table}"),
            format!("INSERT OR REPLACE INTO {table} SELECT * FROM {table}"),
        ] {
            let said = other.execute_batch(&sql).unwrap_err().to_string();
            assert!(said.contains("rows of the log are never"), "{sql}: {said}");
        }
    }
    assert_eq!(all(&store).len(), 1);
}

fn meeting() -> IntroductionRow {
    IntroductionRow {
        card: "street/bell".into(),
        at: 5,
        utc_offset: 60,
        session: "s1".into(),
        seconds: Seconds::new(8.5),
    }
}

#[test]
fn meetings_and_settings_come_back() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    store.meet(&meeting()).unwrap();
    assert_eq!(store.meetings().unwrap(), [meeting()]);
    assert_eq!(store.setting::<f64>("minutes").unwrap(), None);
    store.set("minutes", &5.0).unwrap();
    store.set("minutes", &7.5).unwrap();
    assert_eq!(store.setting("minutes").unwrap(), Some(7.5));
    // Kept by a program that knew it as something else.
    assert_eq!(store.setting::<Vec<String>>("minutes").unwrap(), None);
}

#[test]
fn values_out_of_range_are_named_and_not_kept() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    type Break = fn(&mut ReviewRow);
    let cases: [(Break, &str); 8] = [
        (|r| r.correct = 1.5, "correct 1.5"),
        (|r| r.guess = f64::NAN, "guess NaN"),
        (|r| r.seconds = Seconds::new(-1.0), "-1 is not a time"),
        (|r| r.limit = Seconds::ZERO, "limit 0"),
        (|r| r.tempo = Tempo::new(f64::INFINITY), "tempo inf"),
        (|r| r.forecast = Some(1.1), "forecast 1.1"),
        (|r| r.card.clear(), "card is empty"),
        (|r| r.utc_offset = 5000, "5000 min"),
    ];
    for (break_it, named) in cases {
        let mut bad = row(1);
        break_it(&mut bad);
        let said = store.append(&bad).unwrap_err().to_string();
        assert!(said.contains(named), "{said}");
    }
    assert_eq!(store.mark().unwrap(), LogPosition::default());
    assert_eq!(store.append(&row(1)).unwrap(), 1);
}

#[test]
fn every_older_log_is_brought_up_with_its_rows() {
    // By hand no row gets a sum: versions from before there were sums.
    for version in 1..steps::WITH_SUMS as usize {
        let dir = tempfile::tempdir().unwrap();
        old_log(dir.path(), version);
        let mut store = Store::open(dir.path()).unwrap();
        assert_eq!(steps::version(&store.db).unwrap(), steps::VERSION);
        let rows = all(&store);
        assert_eq!((rows[0].row.program.as_str(), rows[0].row.seed), ("old", 7));
        assert_eq!(
            (rows[0].row.grid, rows[0].row.forecast),
            (Grid::SixEight, None)
        );
        assert_eq!(store.append(&row(2)).unwrap(), 2);
    }
}

/// Every file of a folder with its bytes; the shared-memory index of the write-ahead file is not data.
fn bytes_of(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap())
        .map(|e| (e.file_name().into_string().unwrap(), e.path()))
        .filter(|(name, _)| !name.ends_with("-shm"))
        .map(|(name, path)| (name, fs::read(path).unwrap()))
        .collect()
}

#[test]
fn a_newer_log_is_refused_and_left_alone() {
    let dir = tempfile::tempdir().unwrap();
    Store::open(dir.path()).unwrap().append(&row(1)).unwrap();
    let newer = Connection::open(dir.path().join(FILE)).unwrap();
    newer.pragma_update(None, "user_version", 99).unwrap();
    // Once with the new version still in the write-ahead file alone, once in the log itself.
    for round in ["in the write-ahead file", "in the log"] {
        let before = bytes_of(dir.path());
        let said = Store::open(dir.path()).err().unwrap().to_string();
        assert!(
            said.contains("newer whichside (log version 99; this program reads up to"),
            "{said}"
        );
        assert_eq!(bytes_of(dir.path()), before, "{round}");
        newer
            .pragma_update(None, "wal_checkpoint", "TRUNCATE")
            .unwrap();
    }
}

#[test]
fn files_that_are_no_log_are_refused_and_left_alone() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join(FILE);
    let refused = || {
        let before = bytes_of(dir.path());
        let said = Store::open(dir.path()).err().unwrap().to_string();
        assert!(said.contains("is not a whichside log"), "{said}");
        assert_eq!(bytes_of(dir.path()), before);
    };
    for bytes in [b"short".to_vec(), vec![b'x'; 9000]] {
        fs::write(&path, bytes).unwrap();
        refused();
    }
    fs::remove_file(&path).unwrap();
    let other = Connection::open(&path).unwrap();
    other.execute_batch("CREATE TABLE recipes (name)").unwrap();
    refused();
    drop(other);
    fs::remove_file(&path).unwrap();
    // A folder of that name, and a data folder that is a file.
    fs::create_dir(&path).unwrap();
    let said = Store::open(dir.path()).err().unwrap().to_string();
    assert!(said.contains("mend:"), "{said}");
    let file = dir.path().join("file");
    fs::write(&file, "").unwrap();
    let said = Store::open(&file).err().unwrap().to_string();
    assert!(said.contains("cannot use the data folder"), "{said}");
}

#[test]
fn a_damaged_log_says_so_and_is_not_deleted() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    for n in 0..200 {
        store.append(&row(n)).unwrap();
    }
    let path = store.path().to_path_buf();
    drop(store);
    let mut bytes = fs::read(&path).unwrap();
    let end = bytes.len();
    bytes[8192..end].fill(0x5a);
    fs::write(&path, &bytes).unwrap();
    let said = match Store::open(dir.path()) {
        Err(e) => e.to_string(),
        Ok(store) => store.reviews(0, |_| ()).unwrap_err().to_string(),
    };
    assert!(
        said.contains("is damaged") && said.contains("mend:"),
        "{said}"
    );
    assert_eq!(fs::read(&path).unwrap(), bytes);
}

#[test]
fn a_full_disk_loses_nothing_and_can_be_tried_again() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    store.append(&row(1)).unwrap();
    let pages: i64 = store
        .db
        .pragma_query_value(None, "page_count", |r| r.get(0))
        .unwrap();
    // SQLite reports this limit with the same code as a full disk.
    let limit = |store: &Store, pages: i64| {
        store
            .db
            .pragma_query_value(None, "max_page_count", |r| r.get::<_, i64>(0))
            .unwrap();
        store
            .db
            .query_row(&format!("PRAGMA max_page_count = {pages}"), [], |r| {
                r.get::<_, i64>(0)
            })
            .unwrap()
    };
    limit(&store, pages);
    let mut big = row(2);
    big.score = "x".repeat(100_000);
    let said = store.append(&big).unwrap_err().to_string();
    assert!(said.contains("no room left"), "{said}");
    assert_eq!(all(&store).len(), 1);
    limit(&store, 1_000_000);
    assert_eq!(store.append(&big).unwrap(), 2);
}

#[test]
fn a_log_that_takes_no_writes_says_so() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    store.db.pragma_update(None, "query_only", true).unwrap();
    let said = store.append(&row(1)).unwrap_err().to_string();
    assert!(said.contains("cannot be written to"), "{said}");
}

/// Tries until no other program is in the way, as the rim does.
fn waited<T>(mut act: impl FnMut() -> Result<T>) -> T {
    loop {
        match act() {
            Err(StoreError::Busy { .. }) => continue,
            done => return done.unwrap(),
        }
    }
}

#[test]
fn programs_on_one_folder_lose_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let (writers, each) = (4, 25);
    let start = Arc::new(Barrier::new(writers));
    let threads: Vec<_> = (0..writers)
        .map(|w| {
            let (folder, start) = (dir.path().to_path_buf(), start.clone());
            thread::spawn(move || {
                // Opening at once as well: the first makes the log, the others wait for it.
                start.wait();
                let mut store = waited(|| Store::open(&folder));
                let ids = (0..each).map(|n| {
                    let mut r = row(n);
                    r.session = format!("s{w}");
                    waited(|| store.append(&r))
                });
                ids.collect::<Vec<i64>>()
            })
        })
        .collect();
    let mut ids: Vec<i64> = threads
        .into_iter()
        .flat_map(|t| t.join().unwrap())
        .collect();
    ids.sort_unstable();
    assert_eq!(ids, (1..=writers as i64 * each).collect::<Vec<_>>());
    let store = Store::open(dir.path()).unwrap();
    for w in 0..writers {
        let own = all(&store);
        let own = own.iter().filter(|r| r.row.session == format!("s{w}"));
        assert!(own.map(|r| r.row.at).eq((0..each).map(|n| row(n).at)));
    }
}

#[test]
fn a_database_of_an_earlier_version_without_a_log_is_told_of() {
    for (head, told) in [("SQLite format 3\0", 1), ("notes of mine 3\0", 0), ("", 0)] {
        let dir = tempfile::tempdir().unwrap();
        std::fs::write(dir.path().join("states.db"), head).unwrap();
        let store = Store::open(dir.path()).unwrap();
        assert_eq!(store.notes().len(), told, "{head:?}: {:?}", store.notes());
    }
}
