use super::*;
use crate::memory::Memory;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// The `i`th of some reviews of 17 items, a few hours apart.
fn nth(i: i64) -> ReviewRow {
    let mut r = row(i * 7_001_003);
    r.card = format!("street/{}", i % 17);
    r.correct = f64::from(u8::from(i % 3 > 0));
    r.seconds = 0.1 * (i % 31) as f64;
    r
}

fn tell(store: &mut Store, memory: &mut Memory, reviews: std::ops::Range<i64>) {
    for i in reviews {
        store.append(&nth(i)).unwrap();
        memory.observe(&nth(i).outcome());
    }
}

/// A log of `n` reviews and what they give.
fn begin(n: i64) -> (tempfile::TempDir, Store, Memory) {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    let mut memory = Memory::new();
    tell(&mut store, &mut memory, 0..n);
    (dir, store, memory)
}

fn file(dir: &tempfile::TempDir) -> PathBuf {
    dir.path().join("states.db")
}

fn save(store: &Store) -> bool {
    let mut states = store.states(Wanted::All).unwrap();
    store.save_states(&mut states).unwrap()
}

/// Answers two items as a drill does that knows them alone, and saves.
fn drill(store: &mut Store, live: &mut Memory, reviews: [i64; 2]) {
    let wanted = reviews.map(|i| nth(i).item());
    let mut states = store.states(Wanted::These(&wanted)).unwrap();
    for i in reviews {
        let id = store.append(&nth(i)).unwrap();
        assert!(states.observe(id, &nth(i)));
        live.observe(&nth(i).outcome());
        assert_eq!(
            states.memory.chance(&nth(i).item(), 2e9),
            live.chance(&nth(i).item(), 2e9)
        );
    }
    assert!(store.save_states(&mut states).unwrap());
}

#[test]
fn states_are_the_same_told_live_replayed_and_resumed() {
    let (_dir, mut store, mut live) = begin(300);
    let mut replayed = store.states(Wanted::All).unwrap();
    assert!(replayed.memory == live);
    assert_eq!(replayed.mark.review, 300);
    assert!(
        !store.save_states(&mut replayed).unwrap(),
        "a long replay is saved at once"
    );
    assert!(store.states(Wanted::All).unwrap().memory == live);

    // A few items alone are read, and changed; the others stay as they were.
    drill(&mut store, &mut live, [301, 302]);
    drill(&mut store, &mut live, [302, 319]);
    let resumed = store.states(Wanted::All).unwrap();
    assert!(resumed.memory == live);
    let wanted = [nth(303).item(), "street/none:side:hear".into()];
    let some = store.states(Wanted::These(&wanted)).unwrap().memory;
    assert_eq!(some.head(), live.head());
    assert_eq!(some.items().collect::<Vec<_>>(), [&wanted[0]]);
    assert_eq!(some.item_bytes(&wanted[0]), live.item_bytes(&wanted[0]));
    assert_eq!(store.verify().unwrap().faults, [""; 0]);
}

#[test]
fn reviews_after_the_saved_states_bring_their_items_along() {
    let (_dir, mut store, mut live) = begin(40);
    assert!(save(&store));
    tell(&mut store, &mut live, 40..45);
    let some = store.states(Wanted::These(&[])).unwrap();
    assert_eq!(some.mark.review, 45);
    assert_eq!(some.memory.head(), live.head());
    assert_eq!(some.memory.items().len(), 5);
}

#[test]
fn states_that_are_not_the_latest_are_not_saved() {
    let (dir, mut store, mut live) = begin(40);
    let mut mine = store.states(Wanted::All).unwrap();
    // Another program answers: these states lack that review.
    tell(&mut Store::open(dir.path()).unwrap(), &mut live, 40..41);
    assert!(!store.save_states(&mut mine).unwrap());
    let id = store.append(&nth(41)).unwrap();
    live.observe(&nth(41).outcome());
    assert!(!mine.observe(id, &nth(41)));
    let mut caught_up = store.states(Wanted::All).unwrap();
    assert!(store.save_states(&mut caught_up).unwrap());

    // Two opened from the same file; the second finds it replaced, and the next start catches up.
    let mut first = store.states(Wanted::All).unwrap();
    let mut second = store.states(Wanted::All).unwrap();
    let id = store.append(&nth(42)).unwrap();
    live.observe(&nth(42).outcome());
    assert!(first.observe(id, &nth(42)) && second.observe(id, &nth(42)));
    assert!(store.save_states(&mut first).unwrap());
    assert!(!store.save_states(&mut second).unwrap());
    assert!(store.states(Wanted::All).unwrap().memory == live);

    // The same where the file was deleted meanwhile: part of the items makes no file.
    let id = store.append(&nth(43)).unwrap();
    assert!(first.observe(id, &nth(43)));
    fs::remove_file(file(&dir)).unwrap();
    assert!(!store.save_states(&mut first).unwrap());
}

#[test]
fn a_withdrawn_review_makes_saved_states_void() {
    let (_dir, mut store, _) = begin(40);
    assert!(save(&store));
    store.withdraw(7, 9, "test").unwrap();
    let mut live = Memory::new();
    for i in (0..40).filter(|i| *i != 6) {
        live.observe(&nth(i).outcome());
    }
    let without = store.states(Wanted::These(&[])).unwrap();
    assert!(without.memory == live, "folded anew, all of it");
    assert_eq!((without.mark.review, without.mark.withdrawal), (40, 1));
    assert!(save(&store));
    assert!(store.states(Wanted::All).unwrap().memory == live);
}

#[test]
fn states_of_another_log_or_version_or_ahead_of_the_log_are_not_believed() {
    let (dir, store, live) = begin(40);
    assert!(save(&store));
    let (other, mut shorter, less) = begin(30);
    fs::copy(file(&dir), file(&other)).unwrap();
    assert!(shorter.states(Wanted::All).unwrap().memory == less);
    let mut more = less;
    tell(&mut shorter, &mut more, 30..50);
    assert!(shorter.states(Wanted::All).unwrap().memory == more);

    let change = |sql: &str| {
        let db = Connection::open(file(&dir)).unwrap();
        db.execute_batch(sql).unwrap();
    };
    change("PRAGMA user_version = 3");
    let read = store.states(Wanted::These(&[])).unwrap().memory;
    assert_eq!(read.items().len(), 17, "folded anew");
    assert!(save(&store));
    for wrong in [
        "UPDATE head SET review = 41",
        "UPDATE head SET withdrawal = 1",
        "DELETE FROM head",
    ] {
        change(wrong);
        assert!(store.states(Wanted::All).unwrap().memory == live, "{wrong}");
        assert!(save(&store), "{wrong}");
    }
}

/// A row that is gone, of an earlier time or in another's place: found both by who reads one item and by who reads
/// all.
#[test]
fn rows_that_do_not_belong_are_not_believed() {
    let old = {
        let (dir, store, _) = begin(19);
        assert!(save(&store));
        (fs::read(file(&dir)).unwrap(), dir)
    };
    let stale = format!(
        "ATTACH '{}' AS old; REPLACE INTO item SELECT * FROM old.item WHERE id = 3",
        file(&old.1).display()
    );
    for wrong in [
        stale.as_str(),
        "DELETE FROM item WHERE id = 3",
        "UPDATE item SET bytes = (SELECT bytes FROM item WHERE id = 4) WHERE id = 3",
        "UPDATE item SET sum = sum + 1 WHERE id = 3",
        "UPDATE item SET review = review - 17 WHERE id = 3",
    ] {
        let (dir, mut store, mut live) = begin(34);
        // Enough items that reading one alone is worth it.
        for i in 0..16 {
            let mut other = nth(i);
            other.card = format!("square/{i}");
            store.append(&other).unwrap();
            live.observe(&other.outcome());
        }
        assert!(save(&store));
        Connection::open(file(&dir))
            .unwrap()
            .execute_batch(wrong)
            .unwrap();
        let item = nth(2).item();
        let one = store.states(Wanted::These(std::slice::from_ref(&item)));
        let one = one.unwrap().memory;
        assert_eq!(one.item_bytes(&item), live.item_bytes(&item), "{wrong}");
        assert!(store.states(Wanted::All).unwrap().memory == live, "{wrong}");
        assert_eq!(
            store.verify().unwrap().faults,
            [""; 0],
            "not used, no fault"
        );
        assert!(save(&store), "{wrong}");
        assert!(store.states(Wanted::All).unwrap().memory == live, "{wrong}");
    }
}

/// Bytes changed or cut off anywhere: the states are right, or the log is folded anew; either way they can be saved
/// again.
#[test]
fn a_file_damaged_anywhere_is_never_believed() {
    let (dir, store, live) = begin(50);
    assert!(save(&store));
    let whole = fs::read(file(&dir)).unwrap();
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    for round in 0..60 {
        let mut bad = whole.clone();
        let at = rng.random_range(0..bad.len());
        match round % 3 {
            0 => bad[at] ^= 1 << rng.random_range(0..8),
            1 => bad.truncate(at),
            _ => {
                let end = (at + 300).min(bad.len());
                rng.fill(&mut bad[at..end]);
            }
        }
        fs::write(file(&dir), bad).unwrap();
        let mut states = store.states(Wanted::All).unwrap();
        assert!(states.memory == live, "round {round}, byte {at}");
        let wanted: Vec<String> = (0..2).map(|i| nth(i).item()).collect();
        let some = store.states(Wanted::These(&wanted)).unwrap().memory;
        for item in &wanted {
            assert_eq!(
                some.item_bytes(item),
                live.item_bytes(item),
                "round {round}"
            );
        }
        if states.from_log() {
            assert!(store.save_states(&mut states).unwrap(), "round {round}");
            assert!(store.states(Wanted::All).unwrap().memory == live);
        }
    }
}

/// As after a kill or a power cut while another program saves: half of the file is new, and its journal is still there.
#[test]
fn a_write_that_was_cut_off_is_undone() {
    let (dir, store, live) = begin(300);
    drop(store.states(Wanted::All).unwrap());
    drop(store);
    let before = fs::read(file(&dir)).unwrap();
    let db = Connection::open(file(&dir)).unwrap();
    // With room for one page in memory the others go to the file before the end.
    db.execute_batch(
        "PRAGMA cache_size = 1; BEGIN IMMEDIATE; UPDATE item SET bytes = zeroblob(500);
         UPDATE head SET review = 299;",
    )
    .unwrap();
    let after = tempfile::tempdir().unwrap();
    for name in ["log.db", "states.db", "states.db-journal"] {
        fs::copy(dir.path().join(name), after.path().join(name)).unwrap();
    }
    assert_ne!(fs::read(file(&after)).unwrap(), before);
    let states = Store::open(after.path()).unwrap().states(Wanted::All);
    let states = states.unwrap();
    assert!(states.memory == live && !states.from_log());

    // A journal without its file, and a file without its journal.
    fs::copy(
        dir.path().join("states.db-journal"),
        after.path().join("states.db-journal"),
    )
    .unwrap();
    fs::remove_file(file(&after)).unwrap();
    let store = Store::open(after.path()).unwrap();
    assert!(store.states(Wanted::All).unwrap().memory == live);
    fs::copy(file(&dir), file(&after)).unwrap();
    assert!(store.states(Wanted::All).unwrap().memory == live);
}

#[test]
fn saved_states_that_the_log_does_not_give_are_a_fault() {
    let (_dir, store, _) = begin(40);
    let mut states = store.states(Wanted::All).unwrap();
    states.memory.observe(&nth(41).outcome());
    assert!(store.save_states(&mut states).unwrap());
    let faults = store.verify().unwrap().faults;
    assert!(
        faults[0].contains("states.db is not what the log gives"),
        "{faults:?}"
    );
}
