//! Tests of the check of the log.

use super::*;

#[test]
fn a_sound_log_is_found_sound() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::open(dir.path()).unwrap();
    assert_eq!(store.verify().unwrap(), Health::default());
    for n in 0..5 {
        store.append(&row(n)).unwrap();
    }
    store.withdraw(2, 9, "test").unwrap();
    store.meet(&meeting()).unwrap();
    let health = store.verify().unwrap();
    assert_eq!(health.faults, [""; 0]);
    assert_eq!(
        (health.reviews, health.withdrawn, health.meetings),
        (5, 1, 1)
    );
}

#[test]
fn each_sort_of_damage_is_found() {
    let unguarded = "PRAGMA foreign_keys = OFF; PRAGMA ignore_check_constraints = ON;
        DROP TRIGGER review_kept; DROP TRIGGER review_unchanged; DROP TRIGGER concepts_unchanged;
        DROP TRIGGER shown_kept;";
    for (damage, found) in [
        ("", "the guards that keep the rows of review"),
        (
            "DELETE FROM review WHERE id = 2",
            "4 rows, but the last is number 5",
        ),
        (
            "UPDATE review SET item = 77 WHERE id = 2",
            "review 2 refers to a row of item",
        ),
        (
            "UPDATE review SET grid = 'fifths' WHERE id = 3",
            "review 3: ",
        ),
        (
            "UPDATE review SET guess = 1.5 WHERE id = 3",
            "review 3: correct 0 and guess 1.5",
        ),
        ("UPDATE concepts SET names = 'two side'", "review 1: "),
        ("DELETE FROM shown WHERE review = 4", "review 4: "),
    ] {
        let dir = tempfile::tempdir().unwrap();
        let mut store = Store::open(dir.path()).unwrap();
        for n in 0..5 {
            store.append(&row(n)).unwrap();
        }
        store.db.execute_batch(unguarded).unwrap();
        store.db.execute_batch(damage).unwrap();
        let faults = store.verify().unwrap().faults;
        assert!(
            faults.iter().any(|f| f.contains(found)),
            "{damage}: {faults:?}"
        );
    }
}
