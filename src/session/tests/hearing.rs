//! Tests of listening.

use super::*;
use crate::question::Mark;

#[test]
fn the_clock_of_a_heard_question_starts_when_what_decides_was_heard() {
    let mut room = Room::new(start(true, true), vec![step("shell:side:hear")]);
    let question = room.asking().question.clone();
    let bpm = question.prompt.take.bpm;
    // Two quarters of pick-up, then the bars up to the one that is asked about, of four quarters each.
    let quarters = match question.prompt.mark {
        Mark::Bar(0) => 6.0,
        _ => 10.0,
    };
    assert!((room.asking().clock - NOON - quarters * 60.0 / bpm).abs() < 1e-6);
    room.now += 0.3;
    room.tell(Event::Sounding);
    assert!((room.asking().clock - NOON - 0.3 - quarters * 60.0 / bpm).abs() < 1e-6);
    room.now += 1.0;
    room.tell(Event::Key(
        question.form.right()[0].text().chars().next().unwrap(),
    ));
    assert_eq!(
        room.told().seconds,
        0.0,
        "before the clock counts as nothing"
    );
    assert!(room.told().verdict.in_time);
    assert!(room.effects.contains(&Effect::Hush));
}

/// A device that keeps no time may say that it is far ahead.
#[test]
fn nothing_is_heard_before_it_was_asked_for() {
    let mut room = Room::new(start(true, true), vec![step("shell:side:hear")]);
    let clock = room.asking().clock;
    room.now -= 30.0;
    room.tell(Event::Sounding);
    assert_eq!(room.asking().clock, clock);
}

#[test]
fn hearing_again_and_slower_are_counted_and_keep_the_clock() {
    let mut room = Room::new(start(true, true), vec![step("shell:side:hear")]);
    let clock = room.asking().clock;
    room.now += 8.0;
    room.tell(Event::HearAgain);
    room.tell(Event::Sounding);
    room.tell(Event::Slower);
    let asking = room.asking();
    assert_eq!(
        (asking.replays, asking.slowed, asking.clock),
        (2, true, clock)
    );
    let playing = asking.playing.clone().unwrap();
    assert!(playing.take.bpm < asking.question.prompt.take.bpm);
    room.answer(true, 2.0);
    let review = room.saved.values().next().unwrap();
    assert!(review.slowed && review.replays == 2 && review.seconds == 2.0);
    let row = review.row("s", 60, "0");
    assert_eq!((row.replays, row.seconds, row.in_time), (2, 2.0, true));
    assert_eq!(row.outcome().item, "yard/shell:side:hear");
}

#[test]
fn a_read_question_does_not_play_before_the_answer_but_after_it() {
    let mut room = Room::new(start(true, true), vec![step("shell:side:read")]);
    room.tell(Event::HearAgain);
    let plays = |r: &Room| r.effects.iter().any(|e| matches!(e, Effect::Play { .. }));
    assert!(!plays(&room) && room.asking().replays == 0);
    room.answer(true, 1.0);
    room.tell(Event::HearAgain);
    assert!(plays(&room) && room.told().playing.is_some());
}

#[test]
fn without_sound_heard_items_are_asked_by_eye_with_one_notice() {
    let steps = vec![step("shell:side:hear"), step("bass:side:hear")];
    let mut room = Room::new(start(true, true), steps);
    assert_eq!(room.asking().question.item.sense, Sense::Hear);
    room.tell(Event::Silent("no card".into()));
    assert_eq!(room.asking().question.item.sense, Sense::Read);
    assert_eq!(room.asking().question.item.card, "yard/shell");
    assert!(matches!(room.session.notice(), Some(Notice::NoSound(_))));
    room.answer(true, 1.0);
    room.tell(Event::Next);
    assert_eq!(room.session.notice(), None);
    assert_eq!(room.asking().question.item.sense, Sense::Read);
    room.tell(Event::Silent("still none".into()));
    assert_eq!(room.session.notice(), None, "one notice");
    room.tell(Event::SoundBack);
    assert!(room.session.sound());
    assert_eq!(
        room.saved
            .values()
            .filter(|r| r.question.item.sense == Sense::Hear)
            .count(),
        0
    );
}
