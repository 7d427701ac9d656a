//! Tests of listening.

use super::super::hearing::reveal;
use super::super::stage::NowPlaying;
use super::*;
use crate::clave::Side;
use crate::question::tempo::Past;
use crate::question::{Draw, Mark};
use crate::rhythm::{Instrument, Tempo};
use crate::sound::{CountIn, JoinPoint, Take};
use crate::time::Seconds;

#[test]
fn the_clock_of_a_heard_question_starts_when_what_decides_was_heard() {
    let mut room = Room::new(start(true, true), vec![step("shell:side:hear")]);
    let question = room.asking().question.clone();
    let tempo = question.prompt.take.tempo;
    // Two quarters of pick-up, then the bars up to the one that is asked about, of four quarters each.
    let quarters = match question.prompt.mark {
        Mark::Bar(0) => 6.0,
        _ => 10.0,
    };
    assert!((room.asking().clock - NOON - quarters * tempo.beat()).abs() < Seconds::new(1e-6));
    room.now += Seconds::new(0.3);
    room.tell(Event::Sounding);
    assert!(
        (room.asking().clock - NOON - Seconds::new(0.3) - quarters * tempo.beat()).abs()
            < Seconds::new(1e-6)
    );
    room.now += Seconds::new(1.0);
    room.tell(Event::Key(
        question.form.right()[0].text().chars().next().unwrap(),
    ));
    assert_eq!(
        room.told().review.seconds,
        Seconds::ZERO,
        "before the clock counts as nothing"
    );
    assert!(room.told().review.verdict.in_time);
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
    let reveal = told.review.question.reveal.take.clone();
    assert!(clave(&reveal));
    assert_eq!(
        room.session.playing.as_ref().map(|p| &p.take),
        Some(&reveal)
    );
    // At once, since the tempo is the same.
    assert_eq!(last_start(&room), Some(JoinPoint::default()));
    assert!(!room.effects.contains(&Effect::Hush));
}

/// A step whose item was last asked at this tempo, right and in time.
fn step_at(item: &str, tempo: Tempo) -> Step {
    let turned = Past::after(None, tempo, false, false);
    Step {
        last: Some(Past::after(Some(turned), tempo, true, true)),
        ..step(item)
    }
}

/// The yard is played at 120 to 200, so that a step up is a twelfth of that: 4 %.
#[test]
fn the_band_goes_on_to_the_next_question_where_grid_and_tempo_allow() {
    let steps = |next: f64| {
        vec![
            step_at("shell:side:hear", Tempo::new(140.0)),
            step_at("bass:side:hear", Tempo::new(next)),
        ]
    };
    let mut room = Room::new(start(true, true), steps(140.0));
    let tempo = room.asking().question.prompt.take.tempo;
    room.answer(true, 1.0);
    let asked = room.now + Seconds::new(0.7);
    room.now = asked;
    room.tell(Event::Next);
    assert!(!room.effects.contains(&Effect::Hush));
    let bar = JoinPoint {
        line: 8,
        pulse: Some(0),
        phase: 0,
    };
    assert_eq!(last_start(&room), Some(bar));
    let question = room.asking().question.clone();
    assert_eq!(question.prompt.take.tempo, tempo, "the tempo that sounds");
    assert_eq!(question.prompt.take.count_in, CountIn::None);
    // It comes in within a bar of four quarters, and the clock counts from what decides; without a pick-up.
    let decides = match question.prompt.mark {
        Mark::Bar(0) => 4.0,
        _ => 8.0,
    } * tempo.beat();
    let most = asked + 4.0 * tempo.beat() + decides;
    assert!((room.asking().clock - most).abs() < Seconds::new(1e-6));
    room.now += Seconds::new(0.4);
    room.tell(Event::Sounding);
    assert!(
        (room.asking().clock - (asked + Seconds::new(0.4) + decides)).abs() < Seconds::new(1e-6)
    );
    // Another tempo begins anew, with a pick-up.
    let mut room = Room::new(start(true, true), steps(190.0));
    room.answer(true, 1.0);
    room.tell(Event::Next);
    assert_eq!(last_start(&room), None);
    assert_eq!(room.asking().question.prompt.take.count_in, CountIn::PickUp);
    assert!(room.asking().question.prompt.take.tempo > tempo * 1.06);
}

#[test]
fn the_band_stops_before_a_question_by_eye_and_at_the_end() {
    let mut room = Room::new(
        start(true, true),
        vec![step("shell:side:hear"), step("bass:side:read")],
    );
    room.answer(true, 1.0);
    room.tell(Event::Next);
    assert_eq!(room.effects.last(), Some(&Effect::Hush));
    let mut room = Room::new(start(true, true), vec![step("shell:side:hear")]);
    room.answer(true, 1.0);
    room.tell(Event::Next);
    // It goes on while the plan is made that may bring another question by ear.
    assert!(!room.effects.contains(&Effect::Hush));
    room.tell(Event::Planned(Vec::new()));
    assert!(room.effects.contains(&Effect::Hush));
    room.done();
}

/// Whatever the player does, the side of the old clave after which the band comes in says nothing of the right answer: of
/// 800 questions about half come after each, and the share of one answer differs by chance alone (four standard
/// deviations are .14).
#[test]
fn the_bar_after_which_the_band_goes_on_does_not_tell_the_side() {
    let mut draw = Draw::new(3);
    let mut two: [Vec<bool>; 2] = Default::default();
    for seed in 0..800 {
        let steps = vec![
            step("shell:side:hear"),
            step("open-tones-in-clave:side:hear"),
        ];
        let begin = Start {
            seed,
            ..start(true, true)
        };
        let mut room = Room::new(begin, steps);
        let old = room.asking().question.clone();
        let take = old.prompt.take.clone();
        let bar = 4.0 * take.tempo.beat();
        let first = NOON + take.count_in_pulses() as f64 / 8.0 * bar;
        room.answer(true, 1.0);
        room.now += 2.0 * bar * draw.unit();
        room.tell(Event::Next);
        assert!(last_start(&room).is_some());
        let bars = ((room.now - first) / bar).ceil() as usize;
        let side = old.reveal.clave.unwrap().direction.side(bars);
        let right = room.asking().question.form.right()[0].text();
        two[usize::from(side == Side::Two)].push(right == "2");
    }
    let share = |of: &[bool]| of.iter().filter(|two| **two).count() as f64 / of.len() as f64;
    assert!(
        two.iter().all(|of| of.len() > 300),
        "{:?}",
        two.map(|of| of.len())
    );
    let [after_three, after_two] = [share(&two[0]), share(&two[1])];
    assert!(
        (after_three - after_two).abs() < 0.14,
        "{after_three} {after_two}"
    );
    assert!((0.35..0.65).contains(&after_two), "{after_two}");
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
    let playing = room.session.playing.as_ref().unwrap();
    assert_eq!(playing.take.tempo, told.review.question.prompt.take.tempo);
}

#[test]
fn what_does_not_go_round_together_stops_with_the_answer() {
    let room = Room::new(start(true, true), vec![step("shell:side:hear")]);
    let question = room.asking().question.clone();
    let (once, shorter) = (
        NowPlaying {
            looped: false,
            ..room.session.playing.clone().unwrap()
        },
        NowPlaying {
            take: Take {
                score: question.prompt.take.score.only_bar(0),
                ..question.prompt.take.clone()
            },
            ..room.session.playing.clone().unwrap()
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
    room.now = room.now - Seconds::new(30.0);
    room.tell(Event::Sounding);
    assert_eq!(room.asking().clock, clock);
}

#[test]
fn hearing_again_and_slower_are_counted_and_keep_the_clock() {
    let mut room = Room::new(start(true, true), vec![step("shell:side:hear")]);
    let clock = room.asking().clock;
    room.now += Seconds::new(8.0);
    room.tell(Event::HearAgain);
    room.tell(Event::Sounding);
    room.tell(Event::Slower);
    let asking = room.asking();
    assert_eq!(
        (asking.replays, asking.slowed, asking.clock),
        (2, true, clock)
    );
    let playing = room.session.playing.clone().unwrap();
    assert!(playing.take.tempo < asking.question.prompt.take.tempo);
    room.answer(true, 2.0);
    let review = room.saved.values().next().unwrap();
    assert!(review.slowed && review.replays == 2 && review.seconds == Seconds::new(2.0));
    let row = review.row("s", 60, "0");
    assert_eq!(
        (row.replays, row.seconds, row.in_time),
        (2, Seconds::new(2.0), true)
    );
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
    assert!(plays(&room) && room.session.playing.is_some());
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
