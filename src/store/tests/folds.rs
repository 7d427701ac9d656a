use super::*;
use crate::memory::Memory;

#[test]
fn facts_are_the_reviews_that_count() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    for n in 1..=4 {
        let mut r = row(n);
        r.kind = ["side", "hand"][n as usize % 2].into();
        store.append(&r).unwrap();
    }
    store.withdraw(3, 9, "test").unwrap();
    let mut seen = Vec::new();
    let (_, mark) = store
        .facts(1, |words, f| {
            let (item, reply) = (&words.items[f.item], &words.replies[f.reply]);
            assert_eq!(words.concepts[f.concepts], row(1).concepts);
            assert_eq!((reply.answer.as_str(), &reply.keys), ("3", &row(1).keys));
            let r = row(f.id);
            assert_eq!((f.at, f.bpm, f.grid), (r.at, r.bpm, r.grid));
            assert_eq!(
                (f.seconds, f.limit, f.replays),
                (r.seconds, r.limit, r.replays)
            );
            seen.push((f.id, item.to_string()));
        })
        .unwrap();
    assert_eq!(
        seen,
        [2, 4].map(|id| (id, "street/bell:side:hear".to_string()))
    );
    assert_eq!((mark.review, mark.withdrawal), (4, 1));
}

#[test]
fn a_snapshot_is_given_back_only_while_it_is_true() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    store.append(&row(1)).unwrap();
    let mark = store.mark().unwrap();
    assert_eq!(store.snapshot("states", 3), None);
    store.save_snapshot("states", 3, mark, b"folded").unwrap();
    let saved = Snapshot {
        mark,
        bytes: b"folded".to_vec(),
    };
    assert_eq!(store.snapshot("states", 3), Some(saved.clone()));
    assert_eq!(store.snapshot("states", 4), None, "another version");
    store.append(&row(2)).unwrap();
    assert_eq!(
        store.snapshot("states", 3),
        Some(saved),
        "behind, not wrong"
    );

    let file = dir.path().join("states.fold");
    let whole = fs::read(&file).unwrap();
    let mut bent = whole.clone();
    *bent.last_mut().unwrap() ^= 1;
    for bad in [&bent[..], &whole[..whole.len() - 1], &whole[..20], b""] {
        fs::write(&file, bad).unwrap();
        assert_eq!(store.snapshot("states", 3), None, "not whole");
    }
    fs::write(&file, &whole).unwrap();
    let elsewhere = tempfile::tempdir().unwrap();
    let mut other = Store::open(elsewhere.path()).unwrap();
    other.append(&row(1)).unwrap();
    fs::copy(&file, elsewhere.path().join("states.fold")).unwrap();
    assert_eq!(other.snapshot("states", 3), None, "of another log");

    let ahead = Mark { review: 9, ..mark };
    store.save_snapshot("states", 3, ahead, b"folded").unwrap();
    assert_eq!(store.snapshot("states", 3), None, "ahead of the log");
    store.save_snapshot("states", 3, mark, b"folded").unwrap();
    store.withdraw(1, 9, "test").unwrap();
    assert_eq!(store.snapshot("states", 3), None, "before a withdrawal");
    store.drop_snapshot("states").unwrap();
    store.drop_snapshot("states").unwrap();
}

/// `n` reviews of a few items, a few hours apart.
fn long_log(store: &mut Store, n: i64) -> Memory {
    let mut states = Memory::new();
    for i in 0..n {
        let mut r = row(i * 7_001_003);
        r.card = format!("street/{}", i % 17);
        r.correct = f64::from(u8::from(i % 3 > 0));
        r.seconds = 0.1 * (i % 31) as f64;
        store.append(&r).unwrap();
        states.observe(&r.outcome());
    }
    states
}

#[test]
fn states_are_the_same_told_live_replayed_and_resumed() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    let live = long_log(&mut store, 300);
    let (replayed, mark) = store.states().unwrap();
    assert!(replayed.to_bytes() == live.to_bytes());
    assert_eq!(mark.review, 300);
    assert!(store.save_states(&live).unwrap());
    assert!(!store.save_states(&live).unwrap(), "nothing new");
    assert!(store.states().unwrap().0.to_bytes() == live.to_bytes());

    // Another program answers: the states of the first one lack that review and must not be saved.
    Store::open(dir.path()).unwrap().append(&row(5)).unwrap();
    store.drop_snapshot("states").unwrap();
    assert!(!store.save_states(&live).unwrap());
    let (caught_up, _) = store.states().unwrap();
    assert!(store.save_states(&caught_up).unwrap());

    store.withdraw(7, 9, "test").unwrap();
    let (without, mark) = store.states().unwrap();
    assert_eq!(without.outcomes(), 300);
    assert_eq!((mark.review, mark.withdrawal), (301, 1));
}

#[test]
fn a_saved_fold_that_the_log_does_not_give_is_a_fault() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    let states = long_log(&mut store, 40);
    store.save_states(&states).unwrap();
    assert_eq!(store.verify().unwrap().faults, [""; 0]);
    let mark = store.mark().unwrap();
    let version = crate::memory::VERSION;
    store
        .save_snapshot("states", version, mark, &Memory::new().to_bytes())
        .unwrap();
    let faults = store.verify().unwrap().faults;
    assert!(
        faults[0].contains("states.fold is not what the log gives"),
        "{faults:?}"
    );
}
