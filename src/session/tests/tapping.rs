//! The clave clapped to a band: taps by one key against the sound that is heard.

use super::*;
use crate::question::{Answer, Form};

/// A question to clap, whose first pulse is heard half a second after it was asked to play.
fn clapping() -> Room {
    let mut room = Room::new(
        start(true, true),
        vec![step("open-tones-in-clave:clap:hear")],
    );
    room.session.update(Event::Sounding, NOON + 0.5);
    room
}

/// The moments of the first pulse and of each stroke that is due, seconds UTC, reckoned from the tempo alone: two beats
/// of clicks go before (one, where two last longer than two seconds), and a cycle has eight beats.
fn due(room: &Room) -> (f64, Vec<f64>) {
    let asking = room.asking();
    let beat = 60.0 / asking.question.prompt.take.bpm;
    let clicks = if 2.0 * beat <= 2.0 { 2.0 } else { 1.0 };
    let first = NOON + 0.5 + clicks * beat;
    let Form::Taps { task, cycles, .. } = &asking.question.form else {
        panic!("taps are asked for");
    };
    assert_eq!(*cycles, 4);
    let strokes: Vec<usize> = task.part().strokes().map(|(pulse, _)| pulse).collect();
    let all = (0..4 * 16).filter(|p| strokes.contains(&(p % 16)));
    (first, all.map(|p| first + p as f64 * beat / 2.0).collect())
}

/// Taps at these moments, then nothing until the last cycle is over.
fn tap(room: &mut Room, at: impl Iterator<Item = f64>) {
    for moment in at {
        room.now = moment;
        room.tell(Event::Key('j'));
    }
    room.now += 2.0;
    room.tell(Event::Tick);
}

#[test]
fn taps_on_the_sound_are_right_and_end_by_themselves() {
    // A delay that all have in common is nobody's fault: seconds, positive is late.
    for delay in [0.0, -0.04, 0.12] {
        let mut room = clapping();
        let (_, due) = due(&room);
        // From the second cycle on: one may listen first.
        let beat = 60.0 / room.asking().question.prompt.take.bpm;
        tap(&mut room, due.iter().map(|d| d + delay + 8.0 * beat));
        let told = room.told();
        assert!(told.verdict.right && told.verdict.in_time, "{delay}");
        assert_eq!(told.verdict.correct, 1.0);
        assert_eq!((told.verdict.hits, told.verdict.of), (20, 20));
        let row = room.saved.values().next().unwrap().row("s", 0, "1");
        assert_eq!(row.answer.split(' ').count(), 20);
        assert_eq!(row.guess, 0.5);
    }
}

#[test]
fn the_other_direction_is_missed_and_said() {
    let mut room = clapping();
    let (_, due) = due(&room);
    let bar = 4.0 * 60.0 / room.asking().question.prompt.take.bpm;
    tap(&mut room, due.iter().map(|d| d + bar));
    let verdict = &room.told().verdict;
    assert!(!verdict.right && !verdict.partly && verdict.correct == 0.0);
    let why = &verdict.why.as_ref().unwrap().text;
    assert!(why.starts_with("The direction is the other one"), "{why}");
}

#[test]
fn a_stroke_left_out_in_each_cycle_is_partly_right_or_missed_but_counts() {
    let mut room = clapping();
    let (_, due) = due(&room);
    tap(&mut room, due.iter().enumerate().filter(|(i, _)| *i != 7).map(|(_, d)| *d));
    let verdict = &room.told().verdict;
    assert!(!verdict.right && verdict.partly);
    assert_eq!((verdict.hits, verdict.of), (19, 20));
}

#[test]
fn too_few_taps_are_no_answer_and_hearing_it_again_begins_anew() {
    let mut room = clapping();
    let (_, due) = due(&room);
    for moment in &due[..6] {
        room.now = *moment;
        room.tell(Event::Key('j'));
    }
    assert_eq!(room.asking().typed.split_whitespace().count(), 6);
    room.tell(Event::Slower);
    assert_eq!(room.asking().replays, 0, "the band keeps its tempo");
    room.tell(Event::Next);
    assert_eq!(room.session.notice(), Some(&Notice::TooFewTaps(10)));
    assert!(room.asking().typed.is_empty());
    room.tell(Event::Key('j'));
    assert_eq!(room.session.notice(), None);
    room.tell(Event::HearAgain);
    assert!(room.asking().typed.is_empty());
    room.tell(Event::Key('l'));
    assert!(matches!(
        room.session.notice(),
        Some(Notice::NoAnswer('l', _))
    ));
    let right = room.asking().question.form.right().remove(0);
    let Answer::Taps(taps) = right else {
        panic!("taps are right");
    };
    room.tell(Event::Taps(taps));
    assert!(room.told().verdict.right);
}

#[test]
fn without_sound_nothing_is_clapped() {
    let steps = vec![
        step("open-tones-in-clave:clap:hear"),
        step("plain-tumbao:side:read"),
    ];
    let room = Room::new(start(true, false), steps);
    assert_eq!(room.asking().question.item.kind, "side");
}

/// The variation `H T S T S T H T`, left left right left right left left left, a bar of the plain tumbao before or after it:
/// each stroke on its pulse, 64 in four rounds.
#[test]
fn a_variation_is_played_with_two_keys() {
    let item = "answer-on-two-and-three:play:hear";
    let played = |change: &dyn Fn(usize, char) -> Option<char>| {
        let mut room = Room::new(start(true, true), vec![step(item)]);
        room.session.update(Event::Sounding, NOON + 0.5);
        let asking = room.asking();
        let beat = 60.0 / asking.question.prompt.take.bpm;
        let clicks = if 2.0 * beat <= 2.0 { 2.0 } else { 1.0 };
        let first_is_own = asking.question.prompt.mark == question::Mark::Bar(0);
        let (own, plain) = ("ffjfjfff", "ffjfffjj");
        let bars = match first_is_own {
            true => format!("{own}{plain}"),
            false => format!("{plain}{own}"),
        };
        for (i, key) in bars.repeat(4).chars().enumerate() {
            room.now = NOON + 0.5 + (clicks + i as f64 / 2.0) * beat;
            if let Some(key) = change(i, key) {
                room.tell(Event::Key(key));
            }
        }
        room.now += beat;
        room.tell(Event::Tick);
        room
    };
    let as_it_is = |_, key| Some(key);
    let room = played(&as_it_is);
    let verdict = &room.told().verdict;
    let why = |room: &Room| room.told().verdict.why.clone().unwrap().text;
    assert!(verdict.right && verdict.in_time, "{}", why(&room));
    assert!(why(&room).ends_with("The hands are those that are written."));
    let row = room.saved.values().next().unwrap().row("s", 0, "1");
    assert_eq!(row.answer.matches('L').count() + row.answer.matches('R').count(), 64);
    assert!(row.guess < 1e-4, "{}", row.guess);
    // A stroke left out.
    let room = played(&|i, key| (i != 21).then_some(key));
    let verdict = &room.told().verdict;
    assert_eq!((verdict.right, verdict.hits, verdict.of), (false, 63, 64));
    // One hand for all strokes cannot be played, however tight it is.
    let room = played(&|_, _| Some('j'));
    assert!(!room.told().verdict.right && why(&room).contains("The hands: "));
}

/// Strokes that the microphone heard are taps of nobody knows which hand; a noise long before them is no stroke.
#[test]
fn strokes_that_are_heard_are_taps_without_hands() {
    let mut room = clapping();
    let (first, due) = due(&room);
    room.now = first - 1.0;
    room.tell(Event::Stroke);
    assert_eq!(room.asking().typed.split_whitespace().count(), 1);
    let cycle = 8.0 * 60.0 / room.asking().question.prompt.take.bpm;
    for moment in due {
        room.now = moment + cycle;
        room.tell(Event::Stroke);
    }
    room.now += 2.0;
    room.tell(Event::Tick);
    let told = room.told();
    assert!(told.verdict.right);
    assert_eq!((told.verdict.hits, told.verdict.of), (20, 20));
    let Answer::Taps(taps) = &told.answer else {
        panic!("taps were heard");
    };
    assert!(taps.iter().all(|tap| tap.hand.is_none()));
    // What is heard where nothing is to be tapped changes nothing.
    room.tell(Event::Stroke);
    assert!(room.told().verdict.right);
}
