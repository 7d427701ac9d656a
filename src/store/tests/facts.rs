//! Tests of what is read from the whole log.

use super::*;
use crate::time::Seconds;

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
        .facts(|words, f| {
            let (item, reply) = (&words.items[f.item], &words.replies[f.reply]);
            assert_eq!(words.concepts[f.concepts], row(1).concepts);
            assert_eq!((reply.answer.as_str(), &reply.keys), ("3", &row(1).keys));
            let r = row(f.id);
            assert_eq!((f.at, f.tempo, f.grid), (r.at, r.tempo, r.grid));
            assert_eq!(
                (f.seconds, f.limit, f.replays),
                (r.seconds, r.limit, r.replays)
            );
            seen.push((f.id, item.to_string()));
        })
        .unwrap();
    assert_eq!(
        seen,
        [(1, "hand"), (2, "side"), (4, "side")]
            .map(|(id, kind)| (id, format!("street/bell:{kind}:hear")))
    );
    assert_eq!((mark.review, mark.withdrawal), (4, 1));
}

#[test]
fn the_memory_of_the_log_is_that_of_a_player_who_was_told_answer_by_answer() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    let mut told = crate::memory::Memory::new();
    for n in 1..=40 {
        let mut r = row(n * 50_000_000);
        r.card = format!("street/{}", n % 7);
        r.seconds = Seconds::new(0.1 * (n % 5) as f64);
        r.correct = f64::from(u8::from(n % 3 > 0));
        store.append(&r).unwrap();
        if n == 11 {
            store.withdraw(11, 9, "test").unwrap();
        } else {
            told.observe(&r.outcome());
        }
    }
    let (memory, mark) = store.memory().unwrap();
    assert!(memory == told);
    assert_eq!((mark.review, mark.withdrawal), (40, 1));
}
