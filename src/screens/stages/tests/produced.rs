//! Pages of answers that the player makes: written, clapped, held, played.

use super::*;
use crate::time::Seconds;

/// The bar is `H T S T O T O O`: written with another stroke on 2, then begun a pulse late. The right keys are those above
/// the rows that are answered by ear.
#[test]
fn a_bar_is_written_onto_an_empty_grid() {
    let mut session = about_a_variation("write", Sense::Read, 1);
    insta::assert_snapshot!(drawn(&session, USUAL));
    insta::assert_snapshot!(read_aloud(&session));
    // Nothing is written yet.
    session.update(Event::Next, EVENING + Seconds::new(1.0));
    assert!(drawn(&session, USUAL).contains("Nothing is written yet"));
    answered(&mut session, "htt", 2.0);
    session.update(Event::Move(-1), EVENING + Seconds::new(2.0));
    answered(&mut session, "o", 2.0);
    insta::assert_snapshot!(drawn(&session, USUAL));
    answered(&mut session, "totoo", 3.0);
    finished(&mut session, 9.0);
    insta::assert_snapshot!(drawn(&session, USUAL));
    insta::assert_snapshot!(read_aloud(&session));
}

#[test]
fn a_bar_that_is_written_right_or_shifted_is_told_so() {
    for keys in ["htstotoo", "ohtstoto"] {
        let mut session = about_a_variation("write", Sense::Hear, 1);
        if keys.starts_with('h') {
            insta::assert_snapshot!(drawn(&session, USUAL));
        }
        answered(&mut session, keys, 12.0);
        finished(&mut session, 12.0);
        insta::assert_snapshot!(drawn(&session, USUAL));
    }
}

/// Enter after a row that was written.
fn finished(session: &mut Session, seconds: f64) {
    for effect in session.update(Event::Next, EVENING + Seconds::new(seconds)) {
        if let Effect::Record { ticket, .. } = effect {
            session.update(Event::Saved(ticket), EVENING + Seconds::new(seconds));
        }
    }
}

/// Taps on the clave, then all of it a bar later; and a spread of ten milliseconds, every stroke 20 ms ahead.
#[test]
fn a_clave_is_clapped_to_the_band() {
    let at_clap = || about("yard/open-tones-in-clave", "clap", Sense::Hear, 1);
    let mut session = at_clap();
    insta::assert_snapshot!(drawn(&session, USUAL));
    insta::assert_snapshot!(read_aloud(&session));
    answered(&mut session, "jjj", 2.0);
    insta::assert_snapshot!(drawn(&session, USUAL));
    let Stage::Asking(asking) = session.stage() else {
        panic!("not asking");
    };
    let Form::Taps { task, .. } = &asking.question.form else {
        panic!("not to be tapped");
    };
    let bar = task.cycle_seconds().seconds() / 2.0;
    let Answer::Taps(exact) = asking.question.form.right().remove(0) else {
        panic!("taps are right");
    };
    for (later, loose) in [(-0.02, 0.01), (bar, 0.0), (0.0, 0.08)] {
        let mut session = at_clap();
        let taps = exact.iter().enumerate().map(|(i, tap)| {
            let way = if i % 2 == 0 { loose } else { -loose };
            Tap::at(tap.seconds + Seconds::new(later) + Seconds::new(way))
        });
        let at = EVENING + Seconds::new(20.0);
        for effect in session.update(Event::Taps(taps.collect()), at) {
            if let Effect::Record { ticket, .. } = effect {
                session.update(Event::Saved(ticket), at);
            }
        }
        insta::assert_snapshot!(drawn(&session, USUAL));
    }
}

#[test]
fn a_variation_is_played_with_two_hands() {
    tapped(
        "played",
        about("yard/answer-on-two-and-three", "play", Sense::Hear, 1),
        |taps| {
            taps.remove(5);
            taps[20].seconds += Seconds::new(0.06);
        },
    );
}

/// What is on the screen before and after these taps, under a name.
fn tapped(name: &str, mut session: Session, change: impl Fn(&mut Vec<Tap>)) {
    insta::assert_snapshot!(format!("{name}_asked"), drawn(&session, USUAL));
    let Stage::Asking(asking) = session.stage() else {
        panic!("not asking");
    };
    let Answer::Taps(mut taps) = asking.question.form.right().remove(0) else {
        panic!("taps are right");
    };
    change(&mut taps);
    for effect in session.update(Event::Taps(taps), EVENING + Seconds::new(20.0)) {
        if let Effect::Record { ticket, .. } = effect {
            session.update(Event::Saved(ticket), EVENING + Seconds::new(20.0));
        }
    }
    insta::assert_snapshot!(format!("{name}_told"), drawn(&session, USUAL));
}

/// A drift of 4 ms from second to second.
#[test]
fn a_clave_is_held() {
    tapped(
        "held",
        about("yard/son-clave", "hold", Sense::Hear, 1),
        |taps| {
            taps.iter_mut()
                .for_each(|tap| tap.seconds = tap.seconds * 1.004);
        },
    );
}

#[test]
fn a_call_is_answered() {
    tapped(
        "called",
        about_a_variation("call", Sense::Hear, 1),
        |taps| {
            taps.remove(5);
        },
    );
}

/// Each hand is the other one; then all of it with one hand, which has to leap.
#[test]
fn a_call_is_answered_by_a_left_hander() {
    let mine = Profile {
        left_handed: true,
        ..Profile::default()
    };
    let asked = || asked_of(mine, "yard/corner", "call", Sense::Hear, 1);
    tapped("called_left_handed", asked(), |taps| {
        taps.remove(5);
    });
    tapped("called_with_one_hand", asked(), |taps| {
        taps.iter_mut()
            .for_each(|tap| tap.hand = Some(crate::rhythm::Hand::Left));
    });
}

#[test]
fn a_variation_is_played_in_its_bar_of_the_phrase() {
    tapped(
        "in_phrase",
        about("yard/corner", "play", Sense::Hear, 1),
        |taps| {
            taps.remove(58);
        },
    );
}

/// The page says that the microphone listens, and what it does not tell.
#[test]
fn a_variation_is_played_to_a_microphone() {
    let session = about_a_variation("play", Sense::Hear, 1);
    let outside = AudioStatus {
        listens: true,
        ..OUTSIDE
    };
    insta::assert_snapshot!(drawn_with(&session, outside, USUAL));
    insta::assert_snapshot!(drawn_with(&session, outside, (50, 18)));
}
