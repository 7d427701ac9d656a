//! Tests of what keeps a log whole: sums, leftovers, copies, merges, repairs.

use super::*;
use crate::store::{image, repair, restore};

/// A log of `n` answers, one card met, one answer withdrawn, one setting kept.
fn log(folder: &Path, n: i64) {
    let mut store = Store::open(folder).unwrap();
    store.meet(&meeting()).unwrap();
    for n in 0..n {
        store.append(&varied(n)).unwrap();
    }
    store.withdraw(1, 9, "test").unwrap();
    store.set("minutes", &5.0).unwrap();
}

fn varied(n: i64) -> ReviewRow {
    let mut row = row(n * 60_000);
    row.card = format!("street/{}", n % 5);
    row.answer = ["2", "3"][n as usize % 2].into();
    row.score = format!("bell x . x . {n}");
    row
}

fn damaged(folder: &Path) -> String {
    Store::open(folder)
        .err()
        .map_or(String::new(), |e| e.to_string())
}

#[test]
fn what_is_written_is_in_the_one_file_at_once() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    for n in 0..3 {
        store.append(&row(n)).unwrap();
        let copy = tempfile::tempdir().unwrap();
        fs::copy(store.path(), copy.path().join(FILE)).unwrap();
        let copy = Store::open(copy.path()).unwrap();
        assert_eq!(all(&copy).len() as i64, n + 1);
    }
}

#[test]
fn a_changed_cut_or_foreign_row_is_placed() {
    let unguarded =
        "PRAGMA foreign_keys = OFF; DROP TRIGGER review_unchanged; DROP TRIGGER review_kept;
        DROP TRIGGER shown_unchanged; DROP TRIGGER shown_kept; DROP TRIGGER item_unchanged;
        DROP TRIGGER withdrawal_unchanged; DROP TRIGGER meeting_unchanged;";
    for (damage, placed) in [
        (
            "UPDATE review SET correct = 0.5 WHERE id = 4",
            "review 4 is not as",
        ),
        (
            "UPDATE review SET seed = seed + 1 WHERE id = 4",
            "review 4 is not as",
        ),
        (
            "UPDATE review SET sum = sum + 1 WHERE id = 4",
            "review 4 is not as",
        ),
        (
            "UPDATE shown SET prompt = 'x' WHERE review = 2",
            "shown 2 is not as",
        ),
        (
            "UPDATE item SET card = 'street/9' WHERE id = 3",
            "item 3 is not as",
        ),
        ("UPDATE withdrawal SET review = 2", "withdrawal 1 is not as"),
        ("UPDATE meeting SET at = 6", "meeting 1 is not as"),
        ("UPDATE setting SET json = '6.0'", "the setting `minutes`"),
        (
            "DELETE FROM shown WHERE review = 8; DELETE FROM review WHERE id = 8",
            "the end is not",
        ),
        ("DELETE FROM setting", "the end is not"),
        ("CREATE TABLE more (a)", "the end is not"),
    ] {
        let dir = tempfile::tempdir().unwrap();
        log(dir.path(), 8);
        let db = Connection::open(dir.path().join(FILE)).unwrap();
        db.execute_batch(unguarded).unwrap();
        // The guards are gone by intention; sealed so that only the damage is found.
        sums::seal(&db).unwrap();
        db.execute_batch(damage).unwrap();
        drop(db);
        let said = damaged(dir.path());
        assert!(said.contains("is damaged"), "{damage}: {said}");
        let faults = Store::open_to_verify(dir.path())
            .unwrap()
            .verify()
            .unwrap()
            .faults;
        let sums: Vec<_> = faults.iter().filter(|f| !f.contains("guards")).collect();
        assert!(
            sums.iter().any(|f| f.contains(placed)),
            "{damage}: {sums:?}"
        );
        assert!(sums.len() <= 2, "{damage}: {sums:?}");
    }
}

#[test]
fn a_large_log_is_checked_before_it_is_believed_or_written_to() {
    let dir = tempfile::tempdir().unwrap();
    log(dir.path(), 8);
    let mut store = Store::open(dir.path()).unwrap();
    // As if it had been too large to be looked through when it was opened.
    store.rows = RowCheck::default();
    store
        .db
        .execute_batch("DROP TRIGGER review_unchanged; UPDATE review SET bpm = 100.0 WHERE id = 5")
        .unwrap();
    sums::seal(&store.db).unwrap();
    store.begin_check();
    for done in [
        store.append(&row(9)).map(drop),
        store.set("minutes", &3.0),
        store.memory().map(drop),
        store.facts(|_, _| ()).map(drop),
        store.export(|_| ()),
        store.back_up("2026-11-25"),
        store.sound_so_far(),
    ] {
        let said = done.err().unwrap().to_string();
        assert!(said.contains("review 5 is not as it was written"), "{said}");
    }
    assert_eq!(store.mark().unwrap().review, 8);
    assert!(!dir.path().join(BACKUPS).exists());
}

/// The files of a log whose last writes stayed in the write-ahead file: a reader kept them there, then came the kill.
fn leftover(before: i64, after: i64) -> (tempfile::TempDir, Vec<u8>, Vec<u8>) {
    let dir = tempfile::tempdir().unwrap();
    log(dir.path(), before);
    let path = dir.path().join(FILE);
    let reader = Connection::open(&path).unwrap();
    reader
        .execute_batch("BEGIN; SELECT count(*) FROM review")
        .unwrap();
    let _: i64 = reader
        .query_row("SELECT count(*) FROM review", [], |r| r.get(0))
        .unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    for n in before..before + after {
        store.append(&varied(n)).unwrap();
    }
    let (main, ahead) = (
        fs::read(&path).unwrap(),
        fs::read(image::beside(&path, "-wal")).unwrap(),
    );
    assert!(!ahead.is_empty());
    (dir, main, ahead)
}

/// A folder with such files, as a kill leaves it.
fn laid(main: Option<&[u8]>, ahead: &[u8]) -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    if let Some(main) = main {
        fs::write(dir.path().join(FILE), main).unwrap();
    }
    fs::write(dir.path().join("log.db-wal"), ahead).unwrap();
    dir
}

fn set_aside(folder: &Path) -> bool {
    folder.join("log.db-wal-set-aside-1").exists()
}

#[test]
fn a_write_ahead_file_that_belongs_is_taken_over() {
    let (_kept, main, ahead) = leftover(5, 7);
    let dir = laid(Some(&main), &ahead);
    let store = Store::open(dir.path()).unwrap();
    assert_eq!((all(&store).len(), store.notes()), (12, &[] as &[String]));
    assert!(fs::read(dir.path().join("log.db-wal")).unwrap().is_empty());
    assert_eq!(store.verify().unwrap().faults, [""; 0]);
}

#[test]
fn one_that_does_not_belong_is_named_and_kept() {
    let (_kept, main, ahead) = leftover(5, 7);
    let older = tempfile::tempdir().unwrap();
    log(older.path(), 3);
    let other = fs::read(older.path().join(FILE)).unwrap();
    for (main, answers) in [(Some(&other[..]), 3), (None, 0)] {
        let dir = laid(main, &ahead);
        let store = Store::open(dir.path()).unwrap();
        assert_eq!(all(&store).len(), answers);
        assert!(
            store.notes()[0].contains("set-aside-1"),
            "{:?}",
            store.notes()
        );
        assert!(set_aside(dir.path()));
        assert_eq!(store.verify().unwrap().faults, [""; 0]);
    }
    // Of the same log, but from before.
    let (early, _, _) = leftover(2, 1);
    drop(early);
    let dir = tempfile::tempdir().unwrap();
    log(dir.path(), 5);
    let old = fs::read(dir.path().join(FILE)).unwrap();
    Store::open(dir.path()).unwrap().append(&varied(5)).unwrap();
    let reader = Connection::open(dir.path().join(FILE)).unwrap();
    reader.execute_batch("BEGIN").unwrap();
    let _: i64 = reader
        .query_row("SELECT count(*) FROM review", [], |r| r.get(0))
        .unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    store.append(&varied(6)).unwrap();
    let ahead = fs::read(dir.path().join("log.db-wal")).unwrap();
    let put_back = laid(Some(&old), &ahead);
    let store = Store::open(put_back.path()).unwrap();
    assert_eq!(all(&store).len(), 5);
    assert!(set_aside(put_back.path()));
    let _ = main;
}

#[test]
fn the_journal_of_something_else_is_never_played_back() {
    let dir = tempfile::tempdir().unwrap();
    let elsewhere = dir.path().join("other.db");
    let other = Connection::open(&elsewhere).unwrap();
    let cut = "PRAGMA cache_size = 2; CREATE TABLE t (a); INSERT INTO t SELECT hex(randomblob(900)) FROM
        (WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 200) SELECT i FROM n);
        BEGIN; UPDATE t SET a = hex(randomblob(900))";
    other.execute_batch(cut).unwrap();
    let journal = fs::read(dir.path().join("other.db-journal")).unwrap();
    assert!(journal.len() > 20 * 4096);
    log(dir.path(), 6);
    fs::write(dir.path().join("log.db-journal"), &journal).unwrap();
    let store = Store::open(dir.path()).unwrap();
    assert_eq!(all(&store).len(), 6);
    assert_eq!(store.verify().unwrap().faults, [""; 0]);
    assert!(store.notes()[0].contains("log.db-journal-set-aside-1"));
    let aside = dir.path().join("log.db-journal-set-aside-1");
    assert!(fs::read(aside).unwrap() == journal);
}

#[test]
fn every_flip_in_a_write_ahead_file_is_named_or_harmless() {
    let (_kept, main, ahead) = leftover(4, 8);
    let mut named = 0;
    for flip in 0..120 {
        let mut ahead = ahead.clone();
        let bit = flip * (ahead.len() * 8) / 120 + 3;
        ahead[bit / 8] ^= 1 << (bit % 8);
        let dir = laid(Some(&main), &ahead);
        let store = Store::open(dir.path()).unwrap();
        let answers = all(&store).len();
        assert!(
            answers == 12 || (!store.notes().is_empty() && set_aside(dir.path())),
            "bit {bit}: {answers} answers, {:?}",
            store.notes()
        );
        assert_eq!(store.verify().unwrap().faults, [""; 0]);
        named += usize::from(!store.notes().is_empty());
    }
    assert!(named > 100, "{named} of 120");
}

#[test]
fn an_export_is_the_log_and_two_logs_become_one() {
    let dirs = [0, 1, 2].map(|_| tempfile::tempdir().unwrap());
    log(dirs[0].path(), 9);
    let mut exported = Vec::new();
    let first = Store::open(dirs[0].path()).unwrap();
    first.export(|l| exported.push(l)).unwrap();
    let text = serde_json::to_string(&exported).unwrap();
    let exported: Vec<Logged> = serde_json::from_str(&text).unwrap();
    let mut second = Store::open(dirs[1].path()).unwrap();
    let merged = second.merge(&exported, &[], 1).unwrap();
    assert_eq!((merged.added, merged.there, merged.meetings), (9, 0, 1));
    assert!(second.memory().unwrap() == first.memory().unwrap());
    assert_eq!(second.meetings().unwrap(), first.meetings().unwrap());
    let again = second.merge(&exported, &[], 1).unwrap();
    assert_eq!((again.added, again.there, again.meetings), (0, 9, 0));
    // The same row twice, or a second export after the first, is there once.
    let twice = [&exported[..], &exported[2..3], &exported[2..3]].concat();
    assert_eq!(second.merge(&twice, &[], 1).unwrap().added, 0);
    // What one log has twice, under two numbers, stays twice.
    let mut twice = [exported[2].clone(), exported[2].clone()];
    twice[1].id += 1;
    assert_eq!(second.merge(&twice, &[], 1).unwrap().added, 1);
}

#[test]
fn logs_that_part_and_meet_for_twenty_days_equal_one_of_all_answers() {
    let dirs = [0, 1, 2].map(|_| tempfile::tempdir().unwrap());
    let [mut a, mut b, mut whole] = [0, 1, 2].map(|n| Store::open(dirs[n].path()).unwrap());
    let paths = [a.path().to_path_buf(), b.path().to_path_buf()];
    for day in 0..20 {
        for n in 0..6 {
            let mut answer = varied(day * 1440 + n * 7);
            answer.session = format!("{day}{}", n % 2);
            answer.correct = f64::from(u8::from((day + n) % 3 > 0));
            [&mut a, &mut b][n as usize % 2].append(&answer).unwrap();
            whole.append(&answer).unwrap();
        }
        if day % 3 == 2 {
            a.merge_file(&paths[1], 1).unwrap();
            b.merge_file(&paths[0], 1).unwrap();
        }
    }
    a.merge_file(&paths[1], 1).unwrap();
    b.merge_file(&paths[0], 1).unwrap();
    let memory = whole.memory().unwrap().0;
    assert!(a.memory().unwrap().0 == memory && b.memory().unwrap().0 == memory);
    assert_eq!(all(&a).len(), 120);
    assert_eq!(b.verify().unwrap().faults, [""; 0]);
}

#[test]
fn a_copy_is_put_back_and_what_was_there_is_kept() {
    let dir = tempfile::tempdir().unwrap();
    log(dir.path(), 4);
    for day in 1..8 {
        let store = Store::open(dir.path()).unwrap();
        store.back_up(&format!("2026-11-0{day}")).unwrap();
        store.back_up(&format!("2026-11-0{day}")).unwrap();
    }
    assert_eq!(fs::read_dir(dir.path().join(BACKUPS)).unwrap().count(), 5);
    let mut store = Store::open(dir.path()).unwrap();
    store.append(&varied(4)).unwrap();
    let busy = restore(dir.path(), None).unwrap_err().to_string();
    assert!(busy.contains("another program"), "{busy}");
    drop(store);
    let (from, before) = restore(dir.path(), None).unwrap();
    assert!(from.ends_with("log-2026-11-07.db"));
    assert_eq!(all(&Store::open(dir.path()).unwrap()).len(), 4);
    assert_eq!(before.unwrap(), dir.path().join("log.db-before-1"));
    // Without its log a folder of copies does not begin a new one.
    fs::remove_file(dir.path().join(FILE)).unwrap();
    let said = damaged(dir.path());
    assert!(said.contains("there are copies of your answers"), "{said}");
    assert!(!dir.path().join(FILE).exists());
}

#[test]
fn what_can_be_read_of_a_damaged_log_comes_over_and_the_rest_is_listed() {
    let dir = tempfile::tempdir().unwrap();
    log(dir.path(), 60);
    let path = dir.path().join(FILE);
    let bytes = fs::read(&path).unwrap();
    let pages = bytes.len() / 4096;
    let (mut read, mut whole) = (0, 0);
    for page in 1..pages {
        let mut bytes = bytes.clone();
        bytes[page * 4096..(page + 1) * 4096].fill(0);
        fs::write(&path, &bytes).unwrap();
        let new = tempfile::tempdir().unwrap();
        let Ok(repaired) = repair(dir.path(), &new.path().join(FILE)) else {
            continue;
        };
        read += 1;
        let store = Store::open(new.path()).unwrap();
        assert_eq!(store.verify().unwrap().faults, [""; 0]);
        assert_eq!(all(&store).len(), repaired.answers);
        let unnamed = repaired.answers < 60 && repaired.lost.is_empty();
        assert!(!unnamed, "page {page}: {repaired:?}");
        whole += usize::from(repaired.answers == 60);
    }
    // Counted on this log: a page of the list of tables leaves nothing to be read.
    assert!(
        read * 10 > pages * 7 && whole * 2 > pages,
        "{read} read, {whole} whole of {pages}"
    );
    assert_eq!(fs::read(&path).unwrap().len(), bytes.len());
}

#[test]
fn an_evening_on_a_wrong_clock_is_written_again() {
    const YEAR: i64 = 365 * 86_400_000;
    let dirs = [0, 1].map(|_| tempfile::tempdir().unwrap());
    let [mut store, mut right] = [0, 1].map(|n| Store::open(dirs[n].path()).unwrap());
    for n in 0..6 {
        let mut row = varied(n);
        row.forecast = None;
        right.append(&row).unwrap();
        if n >= 3 {
            row.at += 10 * YEAR;
            row.session = "ahead".into();
        }
        store.append(&row).unwrap();
    }
    let mut early = Store::open(dirs[1].path()).unwrap();
    early.count_until(varied(2).at);
    store.count_until(varied(9).at);
    assert!(store.memory().unwrap().0 == early.memory().unwrap().0);
    assert_eq!(store.retime("ahead", -10 * YEAR, 7).unwrap(), 3);
    assert!(store.memory().unwrap().0 == right.memory().unwrap().0);
    assert_eq!(store.verify().unwrap().faults, [""; 0]);
}

#[test]
fn a_log_that_was_taken_away_takes_no_answers() {
    type Act = fn(&Path);
    let acts: [Act; 3] = [
        |folder| fs::remove_dir_all(folder).unwrap(),
        |folder| fs::remove_file(folder.join(FILE)).unwrap(),
        |folder| fs::write(folder.join(FILE), "garbage").unwrap(),
    ];
    for act in acts {
        let dir = tempfile::tempdir().unwrap();
        let folder = dir.path().join("data");
        let mut store = Store::open(&folder).unwrap();
        store.append(&row(0)).unwrap();
        act(&folder);
        let said = store.append(&row(1)).unwrap_err().to_string();
        assert!(said.contains("is gone"), "{said}");
    }
}

#[test]
fn to_read_makes_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let typo = dir.path().join("typo");
    let said = Store::open_to_read(&typo).err().unwrap().to_string();
    assert!(said.contains("there is no log in"), "{said}");
    assert!(!typo.exists());
}
