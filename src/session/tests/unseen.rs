//! Cards that are asked without having been shown.

use super::*;

/// A session with one card that is asked unseen.
fn room(items: &[&str]) -> Room {
    let mut room = Room::new(start(false, true), Vec::new());
    room.session = Session::new(start(false, true));
    room.effects.clear();
    room.tell(Event::Begin);
    room.tell(Event::Unseen(BTreeSet::from([
        "yard/plain-tumbao".to_string()
    ])));
    room.tell(Event::Planned(
        items.iter().map(|item| step(item)).collect(),
    ));
    room
}

fn shown(room: &Room) -> bool {
    matches!(room.session.stage(), Stage::Introduction(_))
}

#[test]
fn what_is_asked_unseen_and_known_is_not_shown() {
    let mut room = room(&["plain-tumbao:side:read", "plain-tumbao:strokes:read"]);
    room.answer(true, 1.0);
    assert!(!room.told().again_today);
    room.tell(Event::Unseen(BTreeSet::new()));
    room.tell(Event::Next);
    assert_eq!(room.asking().question.item.kind, "strokes");
    assert!(!room.effects.iter().any(|e| matches!(e, Effect::Met { .. })));
}

#[test]
fn what_is_asked_unseen_and_missed_is_shown_before_it_is_asked_again() {
    let mut room = room(&["plain-tumbao:side:read", "plain-tumbao:strokes:read"]);
    room.answer(false, 1.0);
    assert!(!room.told().again_today, "it waits its turn");
    room.tell(Event::Next);
    assert!(shown(&room));
}

#[test]
fn i_know_this_asks_at_once_and_shows_what_was_missed() {
    let items = [
        "open-tones-in-clave:side:read",
        "plain-tumbao:side:read",
        "plain-tumbao:strokes:read",
    ];
    let ask = |right: bool| {
        let mut room = room(&items);
        assert!(shown(&room));
        room.tell(Event::AskMe);
        assert_eq!(room.asking().question.item.card, "yard/open-tones-in-clave");
        assert!(!room.effects.iter().any(|e| matches!(e, Effect::Met { .. })));
        room.answer(right, 1.0);
        room
    };
    assert!(!ask(true).told().again_today);
    let mut room = ask(false);
    assert!(room.told().again_today);
    for _ in 0..2 {
        room.tell(Event::Next);
        room.answer(true, 1.0);
    }
    room.tell(Event::Next);
    assert!(shown(&room), "missed, it is shown when it comes back");
    // At a question it means nothing.
    room.tell(Event::Next);
    let before = room.asking().clone();
    room.tell(Event::AskMe);
    assert_eq!(*room.asking(), before);
}
