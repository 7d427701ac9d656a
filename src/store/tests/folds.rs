use super::*;

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
    assert_eq!(store.snapshot("diary", 3), None);
    store.save_snapshot("diary", 3, mark, b"folded").unwrap();
    let saved = Snapshot {
        mark,
        bytes: b"folded".to_vec(),
    };
    assert_eq!(store.snapshot("diary", 3), Some(saved.clone()));
    assert_eq!(store.snapshot("diary", 4), None, "another version");
    store.append(&row(2)).unwrap();
    assert_eq!(store.snapshot("diary", 3), Some(saved), "behind, not wrong");

    let file = dir.path().join("diary.fold");
    let whole = fs::read(&file).unwrap();
    let mut bent = whole.clone();
    *bent.last_mut().unwrap() ^= 1;
    for bad in [&bent[..], &whole[..whole.len() - 1], &whole[..20], b""] {
        fs::write(&file, bad).unwrap();
        assert_eq!(store.snapshot("diary", 3), None, "not whole");
    }
    fs::write(&file, &whole).unwrap();
    let elsewhere = tempfile::tempdir().unwrap();
    let mut other = Store::open(elsewhere.path()).unwrap();
    other.append(&row(1)).unwrap();
    fs::copy(&file, elsewhere.path().join("diary.fold")).unwrap();
    assert_eq!(other.snapshot("diary", 3), None, "of another log");

    let ahead = Mark { review: 9, ..mark };
    store.save_snapshot("diary", 3, ahead, b"folded").unwrap();
    assert_eq!(store.snapshot("diary", 3), None, "ahead of the log");
    store.save_snapshot("diary", 3, mark, b"folded").unwrap();
    store.withdraw(1, 9, "test").unwrap();
    assert_eq!(store.snapshot("diary", 3), None, "before a withdrawal");
    store.drop_snapshot("diary").unwrap();
    store.drop_snapshot("diary").unwrap();
}
