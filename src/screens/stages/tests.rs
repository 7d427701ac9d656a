//! Every page at several sizes, frozen.

mod pages;
mod produced;

use super::{AudioStatus, page};
use crate::deck::{Deck, States};
use crate::question::{Answer, Form, ItemKey, Sense};
use crate::rhythm::{Grid, Score};
use crate::screens::lines;
use crate::session::{Effect, Event, Profile, Session, Stage, Start, Step, Tomorrow};
use crate::taps::Tap;
use crate::time::Seconds;
use pages::*;

#[test]
fn the_first_run() {
    let session = start(None, false);
    insta::assert_snapshot!(drawn(&session, USUAL));
    insta::assert_snapshot!(read_aloud(&session));
}

#[test]
fn meeting_a_card() {
    let session = begun("side", Sense::Read, false);
    assert!(matches!(session.stage(), Stage::Introduction(_)));
    insta::assert_snapshot!(drawn(&session, USUAL));
    insta::assert_snapshot!(read_aloud(&session));
}

#[test]
fn a_read_question() {
    let session = begun("side", Sense::Read, true);
    insta::assert_snapshot!(drawn(&session, USUAL));
    insta::assert_snapshot!(read_aloud(&session));
}

#[test]
fn a_heard_question() {
    let session = begun("side", Sense::Hear, true);
    insta::assert_snapshot!(drawn(&session, USUAL));
    insta::assert_snapshot!(read_aloud(&session));
}

#[test]
fn a_question_about_strokes() {
    let session = begun("strokes", Sense::Read, true);
    insta::assert_snapshot!(drawn(&session, USUAL));
}

#[test]
fn a_question_about_a_hand() {
    let session = begun("hand", Sense::Read, true);
    insta::assert_snapshot!(drawn(&session, USUAL));
}

#[test]
fn the_answer_with_its_reasons() {
    let mut session = begun("side", Sense::Read, true);
    answered(&mut session, "b", 2.0);
    assert!(matches!(session.stage(), Stage::Feedback(_)));
    insta::assert_snapshot!(drawn(&session, USUAL));
    insta::assert_snapshot!(drawn(&session, (120, 40)));
    insta::assert_snapshot!(read_aloud(&session));
}

#[test]
fn the_end_of_the_session() {
    let mut session = begun("side", Sense::Read, true);
    answered(&mut session, "b", 2.0);
    session.update(Event::Quit, EVENING + Seconds::new(301.0));
    let tomorrow = Tomorrow {
        again: 12,
        new_cards: 3,
        titles: vec!["Bell on the two side".into(), "Tumbao, one drum".into()],
    };
    session.update(Event::Tomorrow(tomorrow), EVENING + Seconds::new(301.0));
    insta::assert_snapshot!(drawn(&session, USUAL));
    insta::assert_snapshot!(read_aloud(&session));
}

#[test]
fn leaving_before_an_answer_does_not_say_that_it_is_done() {
    let mut session = begun("side", Sense::Read, true);
    session.update(Event::Quit, EVENING + Seconds::new(5.0));
    session.update(Event::Quit, EVENING + Seconds::new(5.0));
    insta::assert_snapshot!(drawn(&session, USUAL));
    assert!(read_aloud(&session).starts_with("Nothing was asked yet."));
}

/// A question in words with answers too long to stand side by side.
fn in_words() -> Session {
    let mut card = card("in-words", "H T S T H T O O", "LLRLLLRR", States::Neither);
    card.score = Score::empty(Grid::Eighths);
    card.clave = None;
    let answer = |n: usize| format!("answer {n}, which is as long as answers in words can well be");
    card.choice = Some(crate::deck::WordChoice {
        ask: "When does a variation disturb the band most?".into(),
        right: answer(1),
        wrong: (2..5).map(answer).collect(),
        why: "The singer has the floor then.".into(),
    });
    let mut session = Session::new(Start {
        decks: vec![Deck {
            cards: vec![card],
            ..decks().remove(0)
        }]
        .into(),
        met: ["test/in-words".to_string()].into(),
        profile: Some(Profile::default()),
        minutes: None,
        sound: true,
        seed: 7,
    });
    session.update(Event::Begin, EVENING);
    let step = Step {
        item: ItemKey {
            card: "test/in-words".into(),
            kind: "choice".into(),
            sense: Sense::Read,
        },
        why: "Not asked before.".into(),
        seconds: Seconds::new(10.0),
        last: None,
    };
    session.update(Event::Planned(vec![step]), EVENING);
    session
}

#[test]
fn a_question_in_words() {
    let mut session = in_words();
    insta::assert_snapshot!(drawn(&session, USUAL));
    insta::assert_snapshot!(read_aloud(&session));
    answered(&mut session, "c", 4.0);
    insta::assert_snapshot!(drawn(&session, USUAL));
}

#[test]
fn a_question_about_a_place() {
    // The first seed that gives a question of this many bars.
    let of = |bars: usize, sense: Sense| {
        let sessions = (1..).map(|seed| about_a_variation("place", sense, seed));
        let mut fitting = sessions.filter(|session| match session.stage() {
            Stage::Asking(asking) => asking.question.prompt.take.score.bars() == bars,
            _ => false,
        });
        fitting.next().unwrap()
    };
    for bars in [1, 4, 8] {
        let mut session = of(bars, Sense::Read);
        insta::assert_snapshot!(drawn(&session, USUAL));
        answered(&mut session, if bars == 1 { "e" } else { "y" }, 4.0);
        insta::assert_snapshot!(drawn(&session, USUAL));
    }
    insta::assert_snapshot!(drawn(&of(4, Sense::Hear), USUAL));
}

#[test]
fn a_question_about_the_thinner_form() {
    let mut session = about("yard/tips-in-a-row", "thin", Sense::Read, 1);
    insta::assert_snapshot!(drawn(&session, USUAL));
    answered(&mut session, "a", 4.0);
    insta::assert_snapshot!(drawn(&session, USUAL));
}

#[test]
fn a_row_is_told_in_the_letters_that_players_write() {
    let mut session = at_a_row("strokes", Sense::Read, None);
    answered(&mut session, "oooo", 2.0);
    insta::assert_snapshot!(drawn(&session, USUAL));
    answered(&mut session, "oooo", 4.0);
    insta::assert_snapshot!(drawn(&session, USUAL));
}

/// The strokes of the card are `H T S T O T O O`.
#[test]
fn right_late_partly_right_and_missed_look_different() {
    for (keys, seconds) in [
        ("htstotoo", 4.0),
        ("htstotoo", 30.0),
        ("htstotos", 4.0),
        ("oooooooo", 4.0),
    ] {
        for sense in Sense::ALL {
            let mut session = at_a_row("strokes", Sense::Hear, Some(8));
            assert_eq!(right_row(&session), "htstotoo");
            let heard = match session.stage() {
                Stage::Asking(asking) => (asking.clock - EVENING).seconds(),
                other => panic!("not asking: {other:?}"),
            };
            answered(&mut session, keys, heard + seconds);
            match sense {
                Sense::Read => insta::assert_snapshot!(drawn(&session, USUAL)),
                Sense::Hear => insta::assert_snapshot!(read_aloud(&session)),
            }
        }
    }
}

#[test]
fn hands_that_are_partly_right_lie_under_the_right_hands() {
    let mut session = at_a_row("hand", Sense::Read, Some(8));
    let right = right_row(&session);
    // The heel on 1: its tip stays in the other hand. The last open tone would go to either.
    let first = if right.starts_with('l') { 'r' } else { 'l' };
    answered(&mut session, &format!("{first}{}", &right[1..]), 4.0);
    insta::assert_snapshot!(drawn(&session, USUAL));
    let page = page(&session, OUTSIDE, EVENING + Seconds::new(61.0));
    insta::assert_snapshot!(lines::chart_in_words(&page));
    session.update(Event::Quit, EVENING + Seconds::new(65.0));
    session.update(Event::Quit, EVENING + Seconds::new(65.0));
    insta::assert_snapshot!(drawn(&session, USUAL));
}

#[test]
fn one_bar_has_room_in_a_small_window_and_a_large_one_is_used() {
    let mut session = begun("side", Sense::Read, true);
    insta::assert_snapshot!(drawn(&session, (50, 18)));
    insta::assert_snapshot!(drawn(&session, (200, 60)));
    answered(&mut session, "b", 1.0);
    insta::assert_snapshot!(drawn(&session, (50, 18)));
}

#[test]
fn a_pause_shows_the_keys_and_the_words() {
    let mut session = begun("side", Sense::Read, true);
    session.update(Event::Pause, EVENING + Seconds::new(1.0));
    insta::assert_snapshot!(drawn(&session, USUAL));
}

#[test]
fn a_small_window_is_told_so() {
    let session = begun("side", Sense::Read, true);
    insta::assert_snapshot!(drawn(&session, (40, 20)));
    insta::assert_snapshot!(drawn(&session, (20, 5)));
    for width in 1..130 {
        for height in [1, 2, 5, 23, 24, 25, 60] {
            drawn(&session, (width, height));
        }
    }
}
