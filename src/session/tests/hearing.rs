//! Tests of listening.

use super::super::hearing::reveal;
use super::super::stage::NowPlaying;
use super::*;
use crate::question::Mark;
use crate::rhythm::Instrument;
use crate::sound::{JoinPoint, Take};

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
}

/// How the sound that was asked for last begins.
fn last_start(room: &Room) -> Option<JoinPoint> {
    let plays = room.effects.iter().rev().find_map(|e| match e {
        Effect::Play { joins, .. } => Some(*joins),
        _ => None,
    });
    plays.expect("something plays")
}

#[test]
fn with_the_answer_the_band_goes_on_and_the_clave_comes_in() {
    let steps = vec![step("shell:side:hear"), step("bass:side:hear")];
    let mut room = Room::new(start(true, true), steps);
    assert_eq!(last_start(&room), None);
    let clave = |take: &Take| take.score.line(Instrument::Clave).is_some();
    assert!(!clave(&room.asking().question.prompt.take));
    room.answer(true, 1.0);
    let told = room.told();
    let reveal = told.question.reveal.take.clone();
    assert!(clave(&reveal));
    assert_eq!(told.playing.as_ref().map(|p| &p.take), Some(&reveal));
    // At once, since the tempo is the same.
    assert_eq!(last_start(&room), Some(JoinPoint::default()));
    assert!(!room.effects.contains(&Effect::Hush));
    // The next question is not to be told by the clave before it: it begins anew.
    room.tell(Event::Next);
    assert!(room.effects.contains(&Effect::Hush));
    assert_eq!(last_start(&room), None);
}

#[test]
fn slower_goes_on_with_the_next_pulse_and_again_begins_anew() {
    let pulse = JoinPoint {
        line: 1,
        ..JoinPoint::default()
    };
    let mut room = Room::new(start(true, true), vec![step("shell:side:hear")]);
    room.tell(Event::Slower);
    assert_eq!(last_start(&room), Some(pulse));
    room.tell(Event::HearAgain);
    assert_eq!(last_start(&room), None);
    room.tell(Event::Slower);
    // The answer is heard at the tempo of the question.
    room.answer(true, 1.0);
    assert_eq!(last_start(&room), Some(pulse));
    let told = room.told();
    let playing = told.playing.as_ref().unwrap();
    assert_eq!(playing.take.bpm, told.question.prompt.take.bpm);
}

#[test]
fn what_does_not_go_round_together_stops_with_the_answer() {
    let room = Room::new(start(true, true), vec![step("shell:side:hear")]);
    let question = room.asking().question.clone();
    let (once, shorter) = (
        NowPlaying {
            looped: false,
            ..room.asking().playing.clone().unwrap()
        },
        NowPlaying {
            take: Take {
                score: question.prompt.take.score.only_bar(0),
                ..question.prompt.take.clone()
            },
            ..room.asking().playing.clone().unwrap()
        },
    );
    for before in [once, shorter] {
        let mut effects = Vec::new();
        let playing = reveal(&question, Some(&before), NOON, &mut effects);
        assert_eq!((playing, effects), (None, vec![Effect::Hush]));
    }
    let mut effects = Vec::new();
    assert_eq!(reveal(&question, None, NOON, &mut effects), None);
    assert!(effects.is_empty());
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
