//! Pauses, slips, and what the player does not know.

use super::*;
use crate::time::Seconds;

const STRAIGHT: [&str; 3] = [
    "plain-tumbao:side:read",
    "open-tones-in-clave:side:read",
    "plain-tumbao:strokes:read",
];

fn room() -> Room {
    Room::new(start(true, true), STRAIGHT.map(step).to_vec())
}

fn paused(room: &Room) -> &Paused {
    match room.session.stage() {
        Stage::Paused(paused) => paused,
        other => panic!("not paused: {other:?}"),
    }
}

#[test]
fn a_pause_takes_no_time_and_brings_a_fresh_question() {
    let mut room = room();
    room.now += Seconds::new(10.0);
    let (left, seed) = (
        room.session.seconds_left(room.now),
        room.asking().question.seed,
    );
    room.tell(Event::Pause);
    assert!(!paused(&room).left_alone);
    room.now += Seconds::new(600.0);
    assert_eq!(room.session.seconds_left(room.now), left);
    // Nothing of it is an answer.
    room.tell(Event::Key('2'));
    room.tell(Event::Next);
    assert_ne!(room.asking().question.seed, seed);
    assert_eq!(room.asking().clock, room.now);
    assert_eq!(room.session.seconds_left(room.now), left);
    assert!(room.saved.is_empty());
}

#[test]
fn nothing_for_long_past_the_limit_is_a_pause_and_not_an_answer() {
    let mut room = room();
    let asking = room.asking();
    let over = asking.clock + asking.question.limit();
    let left = room.session.seconds_left(over);
    room.now = over + Seconds::new(80.0);
    room.tell(Event::Tick);
    room.asking();
    room.now = over + Seconds::new(91.0);
    room.tell(Event::Key('2'));
    assert!(paused(&room).left_alone);
    room.now += Seconds::new(3600.0);
    room.tell(Event::Next);
    room.asking();
    // What was within the limit was practice, the rest was not.
    assert!((room.session.seconds_left(room.now) - left).abs() < Seconds::new(1e-6));
    assert!(room.saved.is_empty());
}

#[test]
fn an_answer_that_nobody_looks_at_stops_the_clock_as_well() {
    let mut room = room();
    room.answer(true, 1.0);
    let left = room.session.seconds_left(room.now);
    room.now += Seconds::new(200.0);
    room.tell(Event::Tick);
    assert!(paused(&room).left_alone);
    room.tell(Event::Next);
    room.told();
    assert!((room.session.seconds_left(room.now) - left).abs() < Seconds::new(1e-6));
}

#[test]
fn not_knowing_is_missed_with_nothing_guessed() {
    let mut room = room();
    room.now += Seconds::new(2.0);
    room.tell(Event::Unknown);
    let told = room.told();
    assert!(!told.review.verdict.right && !told.review.verdict.partly && told.again_today);
    let row = room.saved[&1].row("s", 0, "p");
    assert_eq!(
        (row.answer.as_str(), row.correct, row.guess),
        ("", 0.0, 0.0)
    );
    assert!(!row.keys.is_empty());
}

#[test]
fn a_key_that_is_no_answer_is_named_and_those_that_are() {
    let mut room = room();
    room.tell(Event::Key('q'));
    let said = room.session.notice().map(ToString::to_string);
    assert!(
        said.unwrap()
            .starts_with("`q` is not one of the answers: they are ")
    );
    room.answer(true, 1.0);
    assert_eq!(room.session.notice(), None);
}

#[test]
fn a_slip_is_taken_back_and_what_comes_again_has_nothing_to_gain() {
    let mut room = room();
    room.answer(false, 1.0);
    let item = room.told().review.question.item.clone();
    room.tell(Event::TakeBack);
    assert!(room.effects.contains(&Effect::Withdraw));
    assert_eq!(room.session.notice(), Some(&Notice::TakenBack));
    // Once only: what is on the screen now is a question.
    room.tell(Event::TakeBack);
    let withdrawn = room.effects.iter().filter(|e| **e == Effect::Withdraw);
    assert_eq!(withdrawn.count(), 1);
    let mut again = None;
    for _ in 0..3 {
        let same = room.asking().question.item == item;
        room.answer(true, 1.0);
        if same {
            again = Some(room.told().clone());
        }
        room.tell(Event::Next);
    }
    room.tell(Event::Planned(Vec::new()));
    let again = again.expect("it comes again");
    assert!(!again.counts && !again.again_today);
    assert!(
        room.saved
            .values()
            .filter(|r| r.question.item == item)
            .count()
            == 1
    );
    assert_eq!(room.done().missed, []);
    assert_eq!(room.done().asked, 2);
}

#[test]
fn a_slip_that_is_not_known_the_next_time_either_counts() {
    let mut room = room();
    room.answer(false, 1.0);
    let item = room.told().review.question.item.clone();
    room.tell(Event::TakeBack);
    while room.asking().question.item != item {
        room.answer(true, 1.0);
        room.tell(Event::Next);
    }
    room.answer(false, 1.0);
    assert!(room.told().counts);
    let of_it = room.saved.values().filter(|r| r.question.item == item);
    assert_eq!(of_it.count(), 2);
}

#[test]
fn a_slip_that_is_not_on_disk_yet_never_gets_there() {
    let mut room = room();
    room.saves = false;
    room.answer(false, 1.0);
    assert_eq!(room.session.unsaved().count(), 1);
    room.tell(Event::TakeBack);
    assert_eq!(room.session.unsaved().count(), 0);
    assert!(!room.effects.contains(&Effect::Withdraw));
}

#[test]
fn escape_asks_once_before_it_ends_an_evening() {
    let mut room = room();
    room.now += Seconds::new(3.0);
    room.tell(Event::Quit);
    room.asking();
    assert_eq!(room.session.notice(), Some(&Notice::LeavesEarly));
    room.answer(true, 1.0);
    room.tell(Event::Quit);
    room.told();
    room.tell(Event::Next);
    room.tell(Event::Quit);
    room.tell(Event::Quit);
    assert!(room.done().stopped);
    room.tell(Event::Quit);
    assert!(room.session.finished());
}

#[test]
fn the_key_that_pauses_goes_on_too() {
    let mut room = room();
    room.tell(Event::Pause);
    assert!(!paused(&room).left_alone);
    room.tell(Event::Pause);
    room.asking();
}
