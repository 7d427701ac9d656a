//! Tests of saving.

use super::*;

#[test]
fn a_failed_save_is_kept_shown_and_tried_again() {
    let steps = vec![step("shell:side:read"), step("bass:side:read")];
    let mut room = Room::new(start(true, true), steps);
    room.saves = false;
    room.answer(true, 1.0);
    assert!(matches!(
        room.session.notice(),
        Some(Notice::NotSaved(1, _))
    ));
    room.tell(Event::Next);
    assert!(
        matches!(room.session.stage(), Stage::Asking(_)),
        "the drill goes on"
    );
    room.answer(true, 1.0);
    room.saves = true;
    room.tell(Event::Next);
    assert_eq!(room.saved.len(), 2);
    assert_eq!(room.session.unsaved().count(), 0);
    assert_eq!(room.session.notice(), None);
}

#[test]
fn leaving_with_unsaved_answers_is_warned_about_once() {
    let mut room = Room::new(start(true, true), vec![step("shell:side:read")]);
    room.saves = false;
    room.answer(true, 1.0);
    room.tell(Event::Quit);
    room.tell(Event::Quit);
    assert_eq!(room.done().unsaved, 1);
    room.tell(Event::Quit);
    assert_eq!(room.session.notice(), Some(&Notice::LeavesUnsaved(1)));
    assert!(!room.session.finished());
    room.tell(Event::Quit);
    assert!(room.session.finished());
    assert_eq!(room.effects.last(), Some(&Effect::Finish));
}

#[test]
fn the_next_question_waits_until_the_review_is_on_disk() {
    let mut session = Session::new(start(true, true));
    session.update(Event::Begin, NOON);
    let steps = vec![step("shell:side:read"), step("bass:side:read")];
    session.update(Event::Planned(steps), NOON);
    let effects = session.update(Event::Key('2'), NOON + Seconds::new(1.0));
    let Some(Effect::Record { ticket, .. }) = effects.last() else {
        panic!("an answer is recorded")
    };
    session.update(Event::Next, NOON + Seconds::new(3.0));
    assert!(matches!(session.stage(), Stage::Feedback(_)));
    session.update(Event::Saved(*ticket), NOON + Seconds::new(3.1));
    assert!(matches!(session.stage(), Stage::Asking(_)));
}
