//! A row that is written: changed until it is finished, heard beside the right one, kept with its rests.

use super::*;

/// The plain tumbao, `H T S T H T O O` (Wikipedia, *Conga* and *Tumbao*).
fn writing(sense: &str) -> Room {
    Room::new(
        start(true, true),
        vec![step(&format!("plain-tumbao:write:{sense}"))],
    )
}

fn write(room: &mut Room, keys: &str) {
    for key in keys.chars() {
        room.tell(Event::Key(key));
    }
}

#[test]
fn a_row_is_changed_until_enter() {
    let mut room = writing("read");
    let typed = |room: &Room| (room.asking().typed.clone(), room.asking().cursor);
    assert_eq!(typed(&room), ("........".into(), 0));
    room.tell(Event::Next);
    assert_eq!(room.session.notice(), Some(&Notice::NothingWritten));
    write(&mut room, "HTO");
    assert_eq!(typed(&room), ("hto.....".into(), 3));
    room.tell(Event::Move(-1));
    write(&mut room, "s");
    assert_eq!(typed(&room), ("hts.....".into(), 3));
    room.tell(Event::Move(-9));
    room.tell(Event::Erase);
    assert_eq!(typed(&room), ("hts.....".into(), 0));
    room.tell(Event::Move(9));
    assert_eq!(typed(&room), ("hts.....".into(), 7));
    write(&mut room, "oo");
    assert_eq!(typed(&room), ("hts....o".into(), 8), "the row is full");
    room.tell(Event::Erase);
    assert_eq!(typed(&room), ("hts.....".into(), 7));
    room.tell(Event::Key('q'));
    assert!(matches!(
        room.session.notice(),
        Some(Notice::NoAnswer('q', _))
    ));
    room.tell(Event::Move(-4));
    write(&mut room, "thtoo");
    room.tell(Event::Next);
    assert!(room.told().review.verdict.right);
    let review = room.saved.values().next().unwrap();
    let row = review.row("s", 0, "1");
    assert_eq!((row.answer.as_str(), row.correct), ("htsthtoo", 1.0));
    // From memory the slap may be closed.
    assert_eq!(row.keys, ["h", "t", "sc", "t", "h", "t", "o", "o"]);
}

/// In a tumbao the slap on 2 may be closed (common practice, no source): from memory both are right, by ear what was heard.
#[test]
fn a_closed_slap_on_two_is_right_from_memory_and_not_by_ear() {
    for (sense, right) in [("read", true), ("hear", false)] {
        let mut room = writing(sense);
        write(&mut room, "htcthtoo");
        room.tell(Event::Next);
        assert_eq!(room.told().review.verdict.right, right, "{sense}");
    }
    // A mistake besides is told beside the row that was meant.
    let mut room = writing("read");
    write(&mut room, "htchhtoo");
    room.tell(Event::Next);
    let verdict = &room.told().review.verdict;
    assert_eq!((verdict.right, verdict.hits, verdict.of), (false, 7, 8));
    let why = verdict.why.clone().unwrap().text;
    assert_eq!(why, "On 2& heel instead of tip.");
}

#[test]
fn what_was_written_is_heard_beside_what_is_right() {
    let mut room = writing("hear");
    write(&mut room, "h.sthtoo");
    room.tell(Event::HearOwn);
    assert!(!room.session.playing.as_ref().unwrap().take.score.is_empty());
    room.tell(Event::Next);
    let told = room.told();
    assert!(told.review.verdict.partly && told.review.verdict.correct == 7.0 / 8.0);
    let rests = |room: &Room| {
        let playing = room.session.playing.as_ref().unwrap();
        let drums = playing.take.score.drums.as_ref().unwrap();
        drums.pulses() - drums.strokes().count()
    };
    room.tell(Event::HearOwn);
    assert_eq!(rests(&room), 1);
    room.tell(Event::Slower);
    assert_eq!(rests(&room), 1, "slower plays the same");
    room.tell(Event::HearAgain);
    assert_eq!(rests(&room), 0);
    let row = room.saved.values().next().unwrap().row("s", 0, "1");
    assert_eq!(row.answer, "h.sthtoo");
}

#[test]
fn of_a_shifted_row_no_single_key_is_called_wrong() {
    let mut room = writing("read");
    write(&mut room, "ohtsthto");
    room.tell(Event::Next);
    let verdict = &room.told().review.verdict;
    assert!(!verdict.right && !verdict.partly && verdict.correct == 0.5);
    let why = verdict.why.as_ref().unwrap();
    assert_eq!(why.text, "All of it comes 1 pulse late.");
    let row = room.saved.values().next().unwrap().row("s", 0, "1");
    assert!(row.keys.is_empty());
}
