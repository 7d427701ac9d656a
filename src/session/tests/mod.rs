//! A session driven by hand, and the tests of its stages.

mod hearing;
mod laws;
mod pause;
mod saving;
mod tapping;
mod turns;
mod unseen;
mod whole;
mod writing;

use super::*;
use crate::question::{self, ItemKey, Question, Sense, fixture};
use crate::time::{Moment, Seconds};
use std::collections::{BTreeMap, BTreeSet};

const NOON: Moment = Moment::new(1_764_072_000.0); // 2025-11-25 12:00 UTC

fn step(item: &str) -> Step {
    let mut parts = item.split(':');
    let mut part = || parts.next().unwrap().to_string();
    Step {
        item: ItemKey {
            card: format!("yard/{}", part()),
            kind: part(),
            sense: match part().as_str() {
                "read" => Sense::Read,
                _ => Sense::Hear,
            },
        },
        why: "for the test".into(),
        seconds: Seconds::new(12.0),
        last: None,
    }
}

fn all_steps() -> Vec<Step> {
    let items = question::items(&[fixture::deck()]);
    let steps = items.into_iter().map(|i| Step {
        item: i.key,
        why: "for the test".into(),
        seconds: Seconds::new(12.0),
        last: None,
    });
    steps.collect()
}

fn start(met: bool, sound: bool) -> Start {
    let deck = fixture::deck();
    let all = deck.cards.iter().map(|c| c.id.clone());
    Start {
        met: if met { all.collect() } else { BTreeSet::new() },
        decks: vec![deck].into(),
        profile: Some(Profile::default()),
        minutes: None,
        sound,
        seed: 7,
    }
}

/// A session with its world: what was put on disk, and the time.
struct Room {
    session: Session,
    now: Moment,
    saves: bool,
    saved: BTreeMap<u64, Review>,
    effects: Vec<Effect>,
}

impl Room {
    fn new(start: Start, steps: Vec<Step>) -> Room {
        let mut room = Room {
            session: Session::new(start),
            now: NOON,
            saves: true,
            saved: BTreeMap::new(),
            effects: Vec::new(),
        };
        room.tell(Event::Begin);
        room.tell(Event::Planned(steps));
        room
    }

    fn tell(&mut self, event: Event) {
        let effects = self.session.update(event, self.now);
        self.effects.extend(effects.iter().cloned());
        for effect in effects {
            if let Effect::Record { ticket, review } = effect {
                if self.saves {
                    self.saved.insert(ticket, *review);
                    self.tell(Event::Saved(ticket));
                } else {
                    self.tell(Event::NotSaved(ticket, "disk full".into()));
                }
            }
        }
    }

    fn asking(&self) -> &Asking {
        match self.session.stage() {
            Stage::Asking(asking) => asking,
            other => panic!("not asking: {other:?}"),
        }
    }

    fn told(&self) -> &Feedback {
        match self.session.stage() {
            Stage::Feedback(told) => told,
            other => panic!("not told: {other:?}"),
        }
    }

    fn done(&self) -> &Summary {
        match self.session.stage() {
            Stage::Done(summary) => summary,
            other => panic!("not done: {other:?}"),
        }
    }

    /// Answers after this many seconds on the clock, right or wrong, and goes on.
    fn answer(&mut self, right: bool, seconds: f64) {
        let asking = self.asking().clone();
        self.now = asking.clock + Seconds::new(seconds);
        if let question::Form::Taps { task, .. } = &asking.question.form {
            // A bar late is the other direction.
            let bar = if right {
                Seconds::ZERO
            } else {
                task.cycle_seconds() / 2.0
            };
            let question::Answer::Taps(mut taps) = asking.question.form.right().remove(0) else {
                panic!("taps are right");
            };
            taps.iter_mut().for_each(|tap| tap.seconds += bar);
            self.tell(Event::Taps(taps));
            self.told();
            return;
        }
        let keys = match right {
            true => asking.question.form.right()[0].text(),
            false => wrong_row(&asking.question),
        };
        let written = matches!(asking.question.form, question::Form::Written { .. });
        for key in keys.chars() {
            self.tell(Event::Key(key));
        }
        if written {
            self.tell(Event::Next);
        }
        self.told();
    }

    fn planned_again(&self) -> usize {
        let plans = |e: &&Effect| matches!(e, Effect::Plan { .. });
        self.effects.iter().filter(plans).count()
    }
}

#[test]
fn a_first_run_asks_who_you_are_and_keeps_it() {
    let mut session = Session::new(Start {
        profile: None,
        ..start(false, true)
    });
    assert!(matches!(session.stage(), Stage::Welcome(_)));
    let mine = Profile {
        two_drums: true,
        left_handed: true,
        minutes: 10.0,
        ..Profile::default()
    };
    session.update(Event::Choose(mine), NOON);
    let effects = session.update(Event::Begin, NOON);
    assert_eq!(effects[0], Effect::Keep(mine));
    assert!(
        matches!(&effects[1], Effect::Plan { profile, minutes, .. } if *profile == mine && *minutes == 10.0)
    );
    assert!(
        session.update(Event::Begin, NOON).is_empty(),
        "one plan at a time"
    );
    session.update(Event::Planned(all_steps()), NOON);
    assert!(matches!(session.stage(), Stage::Introduction(_)));
    assert_eq!(session.profile(), mine);
}

#[test]
fn a_card_is_met_before_it_is_asked_and_only_once() {
    let steps = vec![
        step("plain-tumbao:side:read"),
        step("plain-tumbao:strokes:read"),
    ];
    let mut room = Room::new(start(false, true), steps);
    let Stage::Introduction(meeting) = room.session.stage() else {
        panic!("a new card is met first")
    };
    assert_eq!(meeting.title, "plain tumbao");
    assert!(!meeting.question.reveal.reasons.is_empty());
    assert!(matches!(
        room.effects.last(),
        Some(Effect::Play { looped: true, .. })
    ));
    room.now += Seconds::new(9.0);
    room.tell(Event::Next);
    let met = Effect::Met {
        card: "yard/plain-tumbao".into(),
        at: NOON + Seconds::new(9.0),
        seconds: Seconds::new(9.0),
    };
    assert!(room.effects.contains(&met));
    room.answer(true, 1.0);
    assert!(room.told().again_today, "what was met comes a second time");
    room.tell(Event::Next);
    assert_eq!(room.asking().question.item.kind, "strokes");
    room.answer(true, 1.0);
    assert!(!room.told().again_today);
    room.tell(Event::Next);
    assert_eq!(room.asking().question.item.kind, "side");
}

#[test]
fn a_card_is_met_as_it_is_written() {
    for seed in 0..20 {
        let from = Start {
            seed,
            ..start(false, true)
        };
        let room = Room::new(from, vec![step("open-tones-in-clave:side:hear")]);
        let Stage::Introduction(meeting) = room.session.stage() else {
            panic!("a new card is met first")
        };
        let deck = fixture::deck();
        let card = question::card(std::slice::from_ref(&deck), "yard/open-tones-in-clave").unwrap();
        assert_eq!(meeting.question.prompt.take.score, card.score);
        assert_eq!(meeting.question.reveal.answer, "3-2");
    }
}

#[test]
fn a_missed_item_comes_back_fresh_after_two_others() {
    let steps = ["plain-tumbao", "low-drum", "open-tones-in-clave", "shell"]
        .map(|c| step(&format!("{c}:side:read")));
    let mut room = Room::new(start(true, true), steps.to_vec());
    let first = room.asking().question.clone();
    room.answer(false, 1.0);
    assert!(room.told().again_today && !room.told().review.verdict.right);
    let mut seen = Vec::new();
    for n in 0..4 {
        room.tell(Event::Next);
        let why = if n == 2 {
            "Missed earlier today."
        } else {
            "for the test"
        };
        assert_eq!(room.asking().why, why);
        seen.push(room.asking().question.clone());
        room.answer(true, 1.0);
    }
    let cards: Vec<&str> = seen.iter().map(|q| q.item.card.as_str()).collect();
    assert_eq!(
        cards,
        [
            "yard/low-drum",
            "yard/open-tones-in-clave",
            "yard/plain-tumbao",
            "yard/shell"
        ]
    );
    assert_ne!(seen[2].seed, first.seed);
    assert_ne!(
        (&seen[2].prompt.take.score, seen[2].prompt.mark),
        (&first.prompt.take.score, first.prompt.mark)
    );
    room.tell(Event::Quit);
    room.tell(Event::Quit);
    let missed = &room.done().missed;
    assert!(missed.len() == 1 && missed[0].times == 1 && missed[0].mended);
}

/// A session whose first question is a row of eight strokes.
fn at_a_row() -> Room {
    let sessions = (0..100).map(|seed| {
        let from = Start {
            seed,
            ..start(true, true)
        };
        Room::new(from, vec![step("plain-tumbao:strokes:hear")])
    });
    let mut rows = sessions.filter(|r| r.asking().question.form.length() == 8);
    rows.next().expect("some seed asks a whole bar")
}

#[test]
fn a_row_that_is_partly_right_counts_for_its_share_and_comes_again_today() {
    let mut room = at_a_row();
    let right = room.asking().question.form.right()[0].text();
    let last = if right.ends_with('s') { 'o' } else { 's' };
    for key in right[..7].chars().chain([last]) {
        room.tell(Event::Key(key));
    }
    let told = room.told();
    assert!(told.review.verdict.partly && !told.review.verdict.right && told.again_today);
    assert_eq!(told.review.verdict.hits, 7);
    let review = room.saved.values().next().expect("it is on disk");
    let row = review.row("s", 0, "test");
    assert_eq!((row.correct, row.in_time), (0.875, false));
    room.tell(Event::Next);
    assert_eq!(room.asking().why, "Partly right earlier today.");
    room.tell(Event::Quit);
    room.tell(Event::Quit);
    let done = room.done();
    let counts = (done.asked, done.in_time, done.late, done.partly);
    assert_eq!(counts, (1, 0, 0, 1));
    let missed = &done.missed[0];
    assert!(missed.partly && missed.times == 1 && !missed.mended);
}

#[test]
fn an_item_that_was_missed_as_well_is_not_called_partly_right() {
    let mut room = at_a_row();
    room.answer(false, 1.0);
    assert!(!room.told().review.verdict.partly);
    room.tell(Event::Quit);
    room.tell(Event::Quit);
    assert!(!room.done().missed[0].partly);
    assert_eq!(room.done().partly, 0);
}

#[test]
fn an_item_is_asked_three_times_a_session_at_most() {
    let mut room = Room::new(start(true, true), vec![step("shell:side:read")]);
    for again in [true, true, false] {
        room.answer(false, 1.0);
        assert_eq!(room.told().again_today, again);
        room.tell(Event::Next);
    }
    assert_eq!(room.planned_again(), 2, "time is left: another plan");
    room.tell(Event::Planned(Vec::new()));
    assert_eq!(room.done().missed[0].times, 3);
}

#[test]
fn a_row_can_be_erased_until_it_is_full() {
    let row = (0..100)
        .map(|seed| {
            let from = Start {
                seed,
                ..start(true, true)
            };
            Room::new(from, vec![step("plain-tumbao:strokes:hear")])
        })
        .find(|r| r.asking().question.form.length() > 1);
    let mut room = row.expect("some seed asks a whole bar");
    let right = room.asking().question.form.right_texts();
    room.tell(Event::Key(
        right[0].chars().next().unwrap().to_ascii_uppercase(),
    ));
    room.tell(Event::Key('x'));
    assert_eq!(
        room.asking().typed.len(),
        1,
        "capitals count, other keys do nothing"
    );
    room.tell(Event::Erase);
    room.tell(Event::Erase);
    assert_eq!(room.asking().typed, "");
    room.answer(true, 2.0);
    assert!(room.told().review.verdict.right);
}

#[test]
fn it_stops_on_its_minutes_and_lets_the_question_on_the_screen_be_finished() {
    let short = Start {
        minutes: Some(1.0),
        ..start(true, true)
    };
    let mut room = Room::new(short, all_steps());
    room.answer(true, 80.0);
    assert_eq!(room.saved.len(), 1);
    room.tell(Event::Next);
    assert_eq!(room.done().asked, 1);
    assert!(room.effects.contains(&Effect::Outlook));
    room.tell(Event::Tomorrow(Tomorrow {
        again: 3,
        ..Tomorrow::default()
    }));
    assert_eq!(room.done().tomorrow.as_ref().unwrap().again, 3);
    room.tell(Event::Next);
    assert!(room.session.finished());
}

#[test]
fn time_away_is_not_counted_and_the_question_is_replaced() {
    let mut room = Room::new(start(true, true), all_steps());
    let before = room.asking().question.clone();
    room.now += Seconds::new(3600.0);
    room.tell(Event::Away(Seconds::new(3600.0)));
    assert_ne!(room.asking().question.seed, before.seed);
    assert!(room.session.seconds_left(room.now) > Seconds::new(299.0));
    assert!(room.saved.is_empty());
}

#[test]
fn an_unknown_card_or_an_empty_plan_ends_politely() {
    let room = Room::new(start(true, true), Vec::new());
    assert_eq!(room.done().asked, 0);
    let room = Room::new(start(true, true), vec![step("gone:side:read")]);
    assert_eq!(room.done().asked, 0);
}

#[test]
fn a_thousand_plans_never_loop() {
    // A planner that always answers with something unaskable must not keep the session busy for ever.
    let mut room = Room::new(start(true, true), vec![step("gone:side:read")]);
    assert!(matches!(room.session.stage(), Stage::Done(_)));
    room.tell(Event::Planned(vec![step("shell:side:read")]));
    assert!(
        matches!(room.session.stage(), Stage::Done(_)),
        "no plan was asked for"
    );
}

/// A row that is wrong at as many places as there are wrong keys for.
fn wrong_row(question: &Question) -> String {
    let choices: Vec<char> = question.form.choices().iter().map(|c| c.key).collect();
    let wrong = |right: &String| {
        let wrong = choices.iter().find(|k| !right.contains(**k));
        *wrong.unwrap_or(&choices[0])
    };
    let right = question.form.right_at(&question.form.right()[0]);
    let same = choices.iter().map(|k| k.to_string().repeat(right.len()));
    let mut rows = std::iter::once(right.iter().map(wrong).collect()).chain(same);
    rows.find(|row| !question.form.right_texts().contains(row))
        .unwrap()
}
