//! Sessions at a page, and the page as text.

use crate::clave::{Clave, Direction, Family};
use crate::deck::{Card, Deck, States};
use crate::question::{Form, ItemKey, Sense};
use crate::rhythm::{Grid, Hand, Score, Tempo, notation};
use crate::screens::screen_settings::ExtraKeys;
use crate::screens::stages::{AudioStatus, page};
use crate::screens::theme::{Depth, Theme};
use crate::screens::{draw, lines};
use crate::session::{Effect, Event, Profile, Session, Stage, Start, Step};
use crate::time::{Moment, Seconds};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// 2026-11-25 18:00 UTC.
pub(super) const EVENING: Moment = Moment::new(1_795_629_600.0);

pub(super) fn card(name: &str, strokes: &str, hands: &str, states: States) -> Card {
    let pattern = notation::read_line(strokes, Grid::Eighths).unwrap();
    let hands: Vec<_> = hands.chars().map(Hand::from_letter).collect();
    Card {
        id: format!("test/{name}"),
        title: "Two bars with a lead-in".into(),
        about: "The open tones at the end of the first bar push into the second; the left hand keeps time below."
            .into(),
        grid: Grid::Eighths,
        score: Score {
            drums: Some(pattern.with_hands(&hands)),
            ..Score::empty(Grid::Eighths)
        },
        clave: Some(Clave {
            family: Family::Son,
            direction: Direction::TwoThree,
        }),
        states,
        tempo: (Tempo::new(160.0), Tempo::new(200.0)),
        place: None,
        styles: Vec::new(),
        concepts: vec!["open against slap".into()],
        kinds: Vec::new(),
        source: "common practice, no source".into(),
        needs: Vec::new(),
        school: None,
        thin: Vec::new(),
        rudiment: None,
        thin_from: None,
        often: Vec::new(),
        choice: None,
    }
}

pub(super) fn decks() -> Vec<Deck> {
    let strokes = "H T S T H T O O | H T S T H tO tO .";
    let hands = "LLRLLLRRLLRLLRR";
    vec![Deck {
        id: "test".into(),
        title: "Test".into(),
        about: "A deck of one card.".into(),
        school: None,
        needs: Vec::new(),
        cards: vec![card("lead-in", strokes, hands, States::Direction)],
    }]
}

pub(super) fn start(profile: Option<Profile>, met: bool) -> Session {
    Session::new(Start {
        decks: decks().into(),
        met: met
            .then(|| "test/lead-in".to_string())
            .into_iter()
            .collect(),
        profile,
        minutes: None,
        sound: true,
        seed: 7,
    })
}

pub(super) fn begun(kind: &str, sense: Sense, met: bool) -> Session {
    let mut session = start(Some(Profile::default()), met);
    session.update(Event::Begin, EVENING);
    let step = Step {
        item: ItemKey {
            card: "test/lead-in".into(),
            kind: kind.into(),
            sense,
        },
        why: "It has not been asked for nine days.".into(),
        seconds: Seconds::new(10.0),
        last: None,
    };
    session.update(Event::Planned(vec![step]), EVENING);
    session
}

pub(super) fn answered(session: &mut Session, keys: &str, seconds: f64) {
    let at = EVENING + Seconds::new(seconds);
    for key in keys.chars() {
        for effect in session.update(Event::Key(key), at) {
            if let Effect::Record { ticket, .. } = effect {
                session.update(Event::Saved(ticket), at);
            }
        }
    }
}

pub(super) const OUTSIDE: AudioStatus = AudioStatus {
    playhead: Some(5),
    volume: Some(60),
    keys: ExtraKeys::USUAL,
    listens: false,
};

pub(super) fn drawn(session: &Session, size: (u16, u16)) -> String {
    drawn_with(session, OUTSIDE, size)
}

pub(super) fn drawn_with(
    session: &Session,
    outside: AudioStatus,
    (width, height): (u16, u16),
) -> String {
    let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
    let page = page(session, outside, EVENING + Seconds::new(61.0));
    draw::page(&page, Theme::new(Depth::None), buffer.area, &mut buffer);
    let rows = buffer.content().chunks(width.into());
    let rows = rows.map(|row| {
        let line: String = row.iter().map(|cell| cell.symbol()).collect();
        line.trim_end().to_string() + "\n"
    });
    rows.collect()
}

pub(super) fn read_aloud(session: &Session) -> String {
    lines::page(&page(session, OUTSIDE, EVENING + Seconds::new(61.0)))
}

pub(super) const USUAL: (u16, u16) = (80, 24);

/// A question of a kind about a variation that says where it comes and how often.
pub(super) fn about_a_variation(kind: &str, sense: Sense, seed: u64) -> Session {
    about("yard/corner", kind, sense, seed)
}

pub(super) fn about(card: &str, kind: &str, sense: Sense, seed: u64) -> Session {
    asked_of(Profile::default(), card, kind, sense, seed)
}

pub(super) fn asked_of(
    profile: Profile,
    card: &str,
    kind: &str,
    sense: Sense,
    seed: u64,
) -> Session {
    let card = card.to_string();
    let mut session = Session::new(Start {
        decks: vec![crate::question::fixture::deck()].into(),
        met: [card.clone()].into(),
        profile: Some(profile),
        minutes: None,
        sound: true,
        seed,
    });
    session.update(Event::Begin, EVENING);
    let step = Step {
        item: ItemKey {
            card,
            kind: kind.into(),
            sense,
        },
        why: "Not asked before.".into(),
        seconds: Seconds::new(10.0),
        last: None,
    };
    session.update(Event::Planned(vec![step]), EVENING);
    session
}

/// A question about a row of this many keys, or of any number.
pub(super) fn at_a_row(kind: &str, sense: Sense, length: Option<usize>) -> Session {
    let mut rows = (1..).map(|seed| about_a_variation(kind, sense, seed));
    let row = |session: &Session| match session.stage() {
        Stage::Asking(asking) => match &asking.question.form {
            form @ Form::Row { .. } => length.is_none_or(|length| form.length() == length),
            Form::Key { .. } | Form::Written { .. } | Form::Taps { .. } => false,
        },
        _ => false,
    };
    rows.find(row).unwrap()
}

pub(super) fn right_row(session: &Session) -> String {
    match session.stage() {
        Stage::Asking(asking) => asking.question.form.right()[0].text(),
        other => panic!("not asking: {other:?}"),
    }
}
