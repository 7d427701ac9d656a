//! Sound that has an end: a clave that is held, a call that is answered, a variation in its bar of the phrase.

use super::*;
use crate::question::{Answer, Form};
use crate::time::Seconds;

/// A question whose sound has an end, its first pulse heard half a second after it was asked to play.
fn in_turns(item: &str) -> Room {
    in_turns_of(item, false)
}

fn in_turns_of(item: &str, left_handed: bool) -> Room {
    let profile = Profile {
        left_handed,
        ..Profile::default()
    };
    let start = Start {
        profile: Some(profile),
        ..start(true, true)
    };
    let mut room = Room::new(start, vec![step(item)]);
    room.session
        .update(Event::Sounding, NOON + Seconds::new(0.5));
    let looped = room.effects.iter().filter_map(|effect| match effect {
        Effect::Play { looped, .. } => Some(*looped),
        _ => None,
    });
    assert_eq!(looped.collect::<Vec<_>>(), [false]);
    room
}

/// Taps every stroke of some rounds of two bars with `key`, each off by `late(round)`, until the music is over.
fn tap_rounds(room: &mut Room, rounds: &[usize], keys: &str, late: impl Fn(usize) -> f64) {
    let asking = room.asking().clone();
    let beat = asking.question.prompt.take.tempo.beat();
    let clicks = if 2.0 * beat <= Seconds::new(2.0) {
        2.0
    } else {
        1.0
    };
    let Form::Taps { task, .. } = &asking.question.form else {
        panic!("taps are asked for");
    };
    let strokes: Vec<usize> = task.part().strokes().map(|(pulse, _)| pulse).collect();
    for round in rounds {
        for (stroke, key) in strokes.iter().zip(keys.chars().cycle()) {
            room.now = NOON
                + Seconds::new(0.5)
                + (clicks + (round * 16 + stroke) as f64 / 2.0) * beat
                + Seconds::new(late(*round));
            room.tell(Event::Key(key));
        }
    }
    // Eight rounds of eight beats.
    room.now = NOON + Seconds::new(0.5) + (clicks + 64.0) * beat + Seconds::new(0.1);
    room.tell(Event::Tick);
    room.asking();
    room.now += Seconds::new(0.1);
    room.tell(Event::Tick);
}

/// Thirty milliseconds behind from the first cycle without the clave on, and on it again when it is back.
#[test]
fn a_clave_is_held_while_it_is_away() {
    let why = |room: &Room| room.told().review.verdict.why.clone().unwrap().text;
    let all: Vec<usize> = (0..8).collect();
    let mut room = in_turns("son-clave:hold:hear");
    tap_rounds(&mut room, &all, "j", |_| 0.0);
    let verdict = &room.told().review.verdict;
    assert!(verdict.right && verdict.in_time, "{}", why(&room));
    assert_eq!((verdict.hits, verdict.of), (35, 35));
    let begin =
        "While the clave was away: the direction held, no drift. In all, 35 of 35 strokes; ";
    assert!(why(&room).starts_with(begin), "{}", why(&room));
    let row = room.saved.values().next().unwrap().row("s", 0, "1");
    assert_eq!((row.guess, row.answer.split(' ').count()), (0.5, 40));

    let mut room = in_turns("son-clave:hold:hear");
    tap_rounds(&mut room, &all, "j", |round| {
        if (2..7).contains(&round) { 0.03 } else { 0.0 }
    });
    assert!(
        why(&room).contains("30 ms late when it came back"),
        "{}",
        why(&room)
    );

    // Silent where nothing sounds.
    let mut room = in_turns("son-clave:hold:hear");
    tap_rounds(&mut room, &[0, 1, 2, 3, 4, 7], "j", |_| 0.0);
    assert!(
        why(&room).contains("away: the direction held, 10 strokes left out"),
        "{}",
        why(&room)
    );
    assert!(!room.told().review.verdict.right);
}

#[test]
fn where_nothing_was_tapped_the_end_of_the_sound_says_so() {
    for item in ["son-clave:hold:hear", "answer-on-two-and-three:call:hear"] {
        let mut room = in_turns(item);
        tap_rounds(&mut room, &[], "j", |_| 0.0);
        assert_eq!(
            room.session.notice(),
            Some(&Notice::NothingTapped),
            "{item}"
        );
        // Heard again it begins anew.
        room.tell(Event::HearAgain);
        room.session
            .update(Event::Sounding, room.now + Seconds::new(0.5));
        room.now += Seconds::new(2.0);
        room.tell(Event::Key('j'));
        assert_eq!(room.session.notice(), None, "{item}");
        assert_eq!(room.asking().typed.split_whitespace().count(), 1, "{item}");
    }
}

/// The same with the hands of a left-hander: each is the other one.
#[test]
fn a_left_hander_answers_a_call_with_the_hands_exchanged() {
    for (left_handed, exchanged) in [(false, false), (true, true), (true, false)] {
        let mut room = in_turns_of("answer-on-two-and-three:call:hear", left_handed);
        let (own, plain) = ("ffjfjfff", "ffjfffjj");
        let keys = match room.asking().question.prompt.mark == question::Mark::Bar(0) {
            true => format!("{own}{plain}"),
            false => format!("{plain}{own}"),
        };
        let other = |key: char| if key == 'f' { 'j' } else { 'f' };
        let keys: String = match exchanged {
            true => keys.chars().map(other).collect(),
            false => keys,
        };
        tap_rounds(&mut room, &[1, 3, 5, 7], &keys, |_| 0.0);
        let verdict = &room.told().review.verdict;
        let why = verdict.why.clone().unwrap().text;
        let as_written = why.contains("the hands are as written");
        assert_eq!(as_written, left_handed == exchanged, "{why}");
        // What a right-hander plays works on a left-hander's hands as well: nothing crosses.
        assert!(verdict.right, "{why}");
    }
}

/// Two bars called and two answered, four times: `H T S T S T H T` with a bar of the plain tumbao before or after it.
#[test]
fn a_call_is_answered_and_what_is_tapped_with_it_does_not_count() {
    let item = "answer-on-two-and-three:call:hear";
    for rounds in [&[1, 3, 5, 7][..], &[0, 1, 2, 3, 4, 5, 6, 7]] {
        let mut room = in_turns(item);
        let (own, plain) = ("ffjfjfff", "ffjfffjj");
        let keys = match room.asking().question.prompt.mark == question::Mark::Bar(0) {
            true => format!("{own}{plain}"),
            false => format!("{plain}{own}"),
        };
        tap_rounds(&mut room, rounds, &keys, |_| 0.0);
        let verdict = &room.told().review.verdict;
        let why = verdict.why.clone().unwrap().text;
        assert!(verdict.right && verdict.in_time, "{why}");
        assert_eq!((verdict.hits, verdict.of), (64, 64));
        assert!(
            why.contains("the variation: 32 of 32 strokes. In all, 64 of 64 strokes"),
            "{why}"
        );
    }
}

#[test]
fn a_variation_comes_in_its_bar_of_the_phrase() {
    let room = Room::new(start(true, true), vec![step("corner:play:hear")]);
    let asking = room.asking();
    // The deck says bar 7 of 8 in 2-3, a bar of the two side; in 3-2 that is bar 8.
    let bar = match asking.question.reveal.clave.unwrap().direction {
        crate::clave::Direction::TwoThree => 6,
        crate::clave::Direction::ThreeTwo => 7,
    };
    assert_eq!(asking.question.prompt.mark, question::Mark::Bar(bar));
    let said = format!("in bar {} of 8, the plain tumbao in the others", bar + 1);
    assert!(asking.question.prompt.text.contains(&said));
    assert_eq!(asking.question.prompt.take.score.bars(), 8);
    let Form::Taps { task, cycles, .. } = &asking.question.form else {
        panic!("taps are asked for");
    };
    assert_eq!((task.part().bars(), *cycles), (8, 2));
    // A stroke of the variation left out each time, which is told first.
    let Answer::Taps(taps) = asking.question.form.right().remove(0) else {
        panic!("taps are right");
    };
    let due = |tap: &crate::taps::Tap| (tap.seconds / task.pulse_seconds()).round() as usize % 64;
    let left: Vec<_> = taps
        .into_iter()
        .filter(|tap| due(tap) != 8 * bar + 3)
        .collect();
    let mut room = room;
    room.tell(Event::Taps(left));
    let why = room.told().review.verdict.why.clone().unwrap().text;
    let begin = format!(
        "In bar {}, the variation: 14 of 16 strokes, 2 left out. In all, 126 of 128",
        bar + 1
    );
    assert!(why.starts_with(&begin), "{why}");
}
