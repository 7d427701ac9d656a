//! The clave clapped to a band: taps by one key against the sound that is heard.

use super::*;
use crate::question::{Answer, Form};
use crate::rhythm::Tempo;
use crate::time::Seconds;

/// A question to clap, whose first pulse is heard half a second after it was asked to play.
fn clapping() -> Room {
    let mut room = Room::new(
        start(true, true),
        vec![step("open-tones-in-clave:clap:hear")],
    );
    room.session
        .update(Event::Sounding, NOON + Seconds::new(0.5));
    room
}

/// The moments of the first pulse and of each stroke that is due, reckoned from the tempo alone: two beats
/// of clicks go before (one, where two last longer than two seconds), and a cycle has eight beats.
fn due(room: &Room) -> (Moment, Vec<Moment>) {
    let asking = room.asking();
    let beat = asking.question.prompt.take.tempo.beat();
    let clicks = if 2.0 * beat <= Seconds::new(2.0) {
        2.0
    } else {
        1.0
    };
    let first = NOON + Seconds::new(0.5) + clicks * beat;
    let Form::Taps { task, cycles, .. } = &asking.question.form else {
        panic!("taps are asked for");
    };
    assert_eq!(*cycles, 4);
    let strokes: Vec<usize> = task.part().strokes().map(|(pulse, _)| pulse).collect();
    let all = (0..4 * 16).filter(|p| strokes.contains(&(p % 16)));
    (first, all.map(|p| first + p as f64 * beat / 2.0).collect())
}

/// Taps at these moments, then nothing until the last cycle is over.
fn tap(room: &mut Room, at: impl Iterator<Item = Moment>) {
    for moment in at {
        room.now = moment;
        room.tell(Event::Key('j'));
    }
    room.now += Seconds::new(2.0);
    room.tell(Event::Tick);
}

#[test]
fn taps_on_the_sound_are_right_and_end_by_themselves() {
    // A delay that all have in common is nobody's fault: seconds, positive is late.
    for delay in [0.0, -0.04, 0.12] {
        let mut room = clapping();
        let (_, due) = due(&room);
        // From the second cycle on: one may listen first.
        let beat = room.asking().question.prompt.take.tempo.beat();
        tap(
            &mut room,
            due.iter().map(|d| *d + Seconds::new(delay) + 8.0 * beat),
        );
        let told = room.told();
        assert!(
            told.review.verdict.right && told.review.verdict.in_time,
            "{delay}"
        );
        assert_eq!(told.review.verdict.correct, 1.0);
        assert_eq!((told.review.verdict.hits, told.review.verdict.of), (20, 20));
        let row = room.saved.values().next().unwrap().row("s", 0, "1");
        assert_eq!(row.answer.split(' ').count(), 20);
        assert_eq!(row.guess, 0.5);
    }
}

#[test]
fn the_other_direction_is_missed_and_said() {
    let mut room = clapping();
    let (_, due) = due(&room);
    let bar = 4.0 * room.asking().question.prompt.take.tempo.beat();
    tap(&mut room, due.iter().map(|d| *d + bar));
    let verdict = &room.told().review.verdict;
    assert!(!verdict.right && !verdict.partly && verdict.correct == 0.0);
    let why = &verdict.why.as_ref().unwrap().text;
    assert!(why.starts_with("The direction is the other one"), "{why}");
}

#[test]
fn a_stroke_left_out_in_each_cycle_is_partly_right_or_missed_but_counts() {
    let mut room = clapping();
    let (_, due) = due(&room);
    tap(
        &mut room,
        due.iter()
            .enumerate()
            .filter(|(i, _)| *i != 7)
            .map(|(_, d)| *d),
    );
    let verdict = &room.told().review.verdict;
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
    assert!(room.told().review.verdict.right);
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
        room.session
            .update(Event::Sounding, NOON + Seconds::new(0.5));
        let asking = room.asking();
        let beat = asking.question.prompt.take.tempo.beat();
        let clicks = if 2.0 * beat <= Seconds::new(2.0) {
            2.0
        } else {
            1.0
        };
        let first_is_own = asking.question.prompt.mark == question::Mark::Bar(0);
        let (own, plain) = ("ffjfjfff", "ffjfffjj");
        let bars = match first_is_own {
            true => format!("{own}{plain}"),
            false => format!("{plain}{own}"),
        };
        for (i, key) in bars.repeat(4).chars().enumerate() {
            room.now = NOON + Seconds::new(0.5) + (clicks + i as f64 / 2.0) * beat;
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
    let verdict = &room.told().review.verdict;
    let why = |room: &Room| room.told().review.verdict.why.clone().unwrap().text;
    assert!(verdict.right && verdict.in_time, "{}", why(&room));
    assert!(why(&room).ends_with("the hands are as written."));
    let row = room.saved.values().next().unwrap().row("s", 0, "1");
    assert_eq!(
        row.answer.matches('L').count() + row.answer.matches('R').count(),
        64
    );
    assert!(row.guess < 1e-4, "{}", row.guess);
    // A stroke left out.
    let room = played(&|i, key| (i != 21).then_some(key));
    let verdict = &room.told().review.verdict;
    assert_eq!((verdict.right, verdict.hits, verdict.of), (false, 63, 64));
    // One hand for all strokes cannot be played, however tight it is.
    let room = played(&|_, _| Some('j'));
    assert!(!room.told().review.verdict.right && why(&room).contains("the hands: "));
}

/// Twenty claps by a player whose taps are all off by `lead(n)` seconds in answer `n`: what is told of each, and the lead
/// that was learned, in the session and from the log.
fn claps(lead: impl Fn(usize) -> f64) -> (Vec<crate::question::Verdict>, Seconds, Seconds) {
    let steps = vec![step("open-tones-in-clave:clap:hear"); 20];
    let mut room = Room::new(start(true, true), steps);
    room.session.minutes = Some(100.0);
    let mut told = Vec::new();
    for n in 0..20 {
        let Answer::Taps(mut taps) = room.asking().question.form.right().remove(0) else {
            panic!("taps are right");
        };
        taps.iter_mut()
            .for_each(|tap| tap.seconds += Seconds::new(lead(n)));
        room.now = room.asking().clock + Seconds::new(1.0);
        room.tell(Event::Taps(taps));
        told.push(room.told().review.verdict.clone());
        room.tell(Event::Next);
    }
    let rows: Vec<_> = room
        .saved
        .values()
        .map(|review| review.row("s", 0, "1"))
        .collect();
    let decks = [fixture::deck()];
    let logged = super::lead_of(&rows, &decks, Profile::default().player());
    assert_eq!(
        super::lead_of(&rows, &[], Profile::default().player()).late(),
        Seconds::ZERO
    );
    (told, room.session.lead.late(), logged.late())
}

/// Sixty milliseconds ahead: as people tap who were never told (Repp 2005, *Psychonomic Bulletin & Review* 12:969-992:
/// tens of milliseconds).
#[test]
fn a_lead_is_learned_from_the_log_and_not_blamed() {
    let (none, ahead) = (claps(|_| 0.0), claps(|_| -0.06));
    for (n, (a, b)) in none.0.iter().zip(&ahead.0).enumerate() {
        let told = |v: &question::Verdict| (v.right, v.in_time, v.correct, v.hits, v.why.clone());
        assert_eq!(told(a) == told(b), n > 0, "answer {n}: {:?}", b.why);
        assert!(b.right && b.in_time);
    }
    assert!(
        ahead.0[0]
            .why
            .as_ref()
            .unwrap()
            .text
            .contains("60 ms ahead of the beat")
    );
    assert!(none.1.abs() < Seconds::new(1e-3));
    assert!(
        (ahead.1 + Seconds::new(0.06)).abs() < Seconds::new(1e-3)
            && (ahead.2 - ahead.1).abs() < Seconds::new(1e-3)
    );
    // Another machine after ten answers: most of the way within ten more.
    let (_, lead, _) = claps(|n| if n < 10 { -0.06 } else { 0.04 });
    assert!(lead > Seconds::ZERO, "{lead}");
}

#[test]
fn an_answer_that_is_taken_back_tells_nothing_of_the_lead() {
    let mut room = clapping();
    let (_, due) = due(&room);
    tap(&mut room, due.iter().map(|d| *d - Seconds::new(0.06)));
    assert!((room.session.lead.late() + Seconds::new(0.06)).abs() < Seconds::new(1e-3));
    room.tell(Event::TakeBack);
    assert_eq!(room.session.lead.late(), Seconds::ZERO);
}

/// Strokes that the microphone heard are taps of nobody knows which hand; a noise long before them is no stroke.
#[test]
fn strokes_that_are_heard_are_taps_without_hands() {
    let mut room = clapping();
    let (first, due) = due(&room);
    room.now = first - Seconds::new(1.0);
    room.tell(Event::Stroke);
    assert_eq!(room.asking().typed.split_whitespace().count(), 1);
    let cycle = 8.0 * room.asking().question.prompt.take.tempo.beat();
    for moment in due {
        room.now = moment + cycle;
        room.tell(Event::Stroke);
    }
    room.now += Seconds::new(2.0);
    room.tell(Event::Tick);
    let told = room.told();
    assert!(told.review.verdict.right);
    assert_eq!((told.review.verdict.hits, told.review.verdict.of), (20, 20));
    let Answer::Taps(taps) = &told.review.answer else {
        panic!("taps were heard");
    };
    assert!(taps.iter().all(|tap| tap.hand.is_none()));
    // What is heard where nothing is to be tapped changes nothing.
    room.tell(Event::Stroke);
    assert!(room.told().review.verdict.right);
}

/// The clave is held for eight cycles of eight beats after two beats of pick-up: 66 beats, half a minute up to a tempo of
/// 132. After the first answer less is left, though the plan reckoned with 12 seconds.
#[test]
fn what_does_not_fit_into_the_time_that_is_left_is_not_begun() {
    let steps = [
        "plain-tumbao:side:read",
        "son-clave:hold:hear",
        "corner:side:read",
    ]
    .map(step);
    let minutes = Some(0.5);
    let mut room = Room::new(
        Start {
            minutes,
            ..start(true, true)
        },
        steps.to_vec(),
    );
    room.answer(true, 2.0);
    room.tell(Event::Next);
    assert_eq!(room.asking().question.item.kind, "side");
    room.answer(true, 2.0);
    room.tell(Event::Next);
    // Nor is it where nothing else is planned.
    room.tell(Event::Planned(vec![step("son-clave:hold:hear")]));
    assert_eq!(room.done().asked, 2);
    let long = step("son-clave:hold:hear").item;
    let setup = question::Setup {
        tempo: Tempo::new(120.0),
        player: Default::default(),
        as_written: false,
        weighed: false,
        unseen: false,
    };
    let card = &fixture::deck().cards;
    let card = card.iter().find(|c| c.id == long.card).unwrap();
    let long = question::ask(card, &long, 1, &setup).unwrap();
    assert!(
        (long.least_seconds() - Seconds::new(33.0)).abs() < Seconds::new(1e-9),
        "{}",
        long.least_seconds()
    );
}

#[test]
fn where_only_taps_are_left_and_the_sound_is_lost_the_end_says_so() {
    let mut room = clapping();
    room.tell(Event::Silent("no card".into()));
    room.tell(Event::Planned(Vec::new()));
    let done = room.done();
    assert!(done.early && done.silent, "{done:?}");
}
