//! Whole sessions as text. What these show is frozen from the program's own output and was read through by hand; the
//! laws that it must keep are in the other tests.

use super::{NOON, Room, all_steps, start, step};
use crate::session::{Effect, Event, Stage, Start, Step, Tomorrow};
use crate::time::Seconds;
use std::fmt::Write;

/// How the scripted player answers.
#[derive(Clone, Copy)]
enum Does {
    Right(f64),
    Wrong(f64),
    /// Listens again, slower, and is right.
    Listens,
}

/// Plays a session to its end and writes down what was on the screen and what was asked of the program.
fn play(start: Start, steps: Vec<Step>, does: &[Does], minutes_of_looking: f64) -> String {
    let mut room = Room::new(start, steps);
    let mut out = String::new();
    let mut told = 0;
    effects(&mut out, &mut room);
    for _ in 0..200 {
        match room.session.stage().clone() {
            Stage::Introduction(m) => {
                let q = &m.question;
                let _ = writeln!(
                    out,
                    "\nMEET {}: {} -> {}",
                    m.title, q.prompt.text, q.reveal.answer
                );
                reasons(&mut out, &q.reveal.reasons);
                room.now += Seconds::new(8.0);
                room.tell(Event::Next);
            }
            Stage::Asking(a) => {
                let q = &a.question;
                let keys: Vec<String> = q
                    .form
                    .choices()
                    .iter()
                    .map(|c| format!("{} {}", c.key, c.label))
                    .collect();
                let _ = writeln!(
                    out,
                    "\nASK {} at {:.0}: {}\n    {}",
                    q.item,
                    q.prompt.take.tempo,
                    q.prompt.text,
                    keys.join(" | ")
                );
                match does[told % does.len()] {
                    Does::Right(seconds) => room.answer(true, seconds),
                    Does::Wrong(seconds) => room.answer(false, seconds),
                    Does::Listens => {
                        room.tell(Event::Slower);
                        room.answer(true, 1.0);
                    }
                }
                told += 1;
            }
            Stage::Feedback(t) => {
                let v = &t.review.verdict;
                let _ = writeln!(
                    out,
                    "TOLD {} in {:.1} s: right {}, in time {}, heard again {}, comes again {}: {}",
                    v.given,
                    t.review.seconds,
                    v.right,
                    v.in_time,
                    t.review.replays,
                    t.again_today,
                    t.review.question.reveal.answer
                );
                reasons(&mut out, &t.review.question.reveal.reasons);
                room.now += Seconds::new(minutes_of_looking * 60.0);
                room.tell(Event::Next);
            }
            Stage::Waiting => room.tell(Event::Planned(Vec::new())),
            Stage::Done(_) => break,
            Stage::Welcome(_) => room.tell(Event::Begin),
            Stage::Paused(_) => room.tell(Event::Next),
        }
        effects(&mut out, &mut room);
    }
    room.tell(Event::Tomorrow(Tomorrow {
        again: 4,
        new_cards: 2,
        titles: vec!["shell".into()],
    }));
    let _ = writeln!(out, "\nDONE {:#?}", room.done());
    room.tell(Event::Next);
    effects(&mut out, &mut room);
    let _ = writeln!(out, "after {:.0} s", room.now - NOON);
    out
}

fn reasons(out: &mut String, reasons: &[crate::question::Reason]) {
    for reason in reasons {
        let _ = writeln!(out, "    {} {:?}", reason.text, reason.pulses);
    }
}

fn effects(out: &mut String, room: &mut Room) {
    let names: Vec<String> = room
        .effects
        .drain(..)
        .map(|e| match e {
            Effect::Keep(_) => "keep".into(),
            Effect::Plan { minutes, .. } => format!("plan {minutes:.1} min"),
            Effect::Outlook => "outlook".into(),
            Effect::Play {
                take,
                looped,
                joins,
            } => {
                let how = match (looped, joins) {
                    (_, Some(_)) => "on from there",
                    (true, None) => "looped",
                    (false, None) => "once",
                };
                format!("play {:.0} {how}", take.tempo)
            }
            Effect::Hush => "hush".into(),
            Effect::Met { card, .. } => format!("met {card}"),
            Effect::Record { ticket, .. } => format!("record {ticket}"),
            Effect::Withdraw => "withdraw".into(),
            Effect::Finish => "finish".into(),
        })
        .collect();
    if !names.is_empty() {
        let _ = writeln!(out, "  [{}]", names.join(", "));
    }
}

#[test]
fn the_first_day() {
    let steps = [
        "plain-tumbao:side:read",
        "open-tones-in-clave:side:hear",
        "low-drum:strokes:read",
        "answer-on-two-and-three:hand:read",
        "why-not-turn:choice:read",
    ];
    let does = [
        Does::Right(1.5),
        Does::Wrong(2.0),
        Does::Listens,
        Does::Right(9.0),
    ];
    let steps = steps.map(step).to_vec();
    insta::assert_snapshot!(play(start(false, true), steps, &does, 0.1));
}

#[test]
fn a_later_day_without_sound_that_runs_out_of_time() {
    let from = Start {
        minutes: Some(2.0),
        ..start(true, false)
    };
    let does = [Does::Right(1.0), Does::Wrong(1.0), Does::Right(1.2)];
    insta::assert_snapshot!(play(from, all_steps(), &does, 0.15));
}
