//! The page of a card: what it says, its bar grid over the clave, how well it is held.

use super::cards::lesson_choice;
use super::chart::Chart;
use super::page::{Keys, Page, Paragraph};
use super::stages::{AudioStatus, tempo_in_words};
use super::theme::Role;
use crate::deck::{self, Card};
use crate::memory::Hold;
use crate::question::Choice;
use crate::report::HeldTempo;
use crate::rhythm::{Tempo, counted};
use crossterm::event::{KeyCode, KeyEvent};

/// What a key of the page asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CardAction {
    /// Hear it, or stop the sound.
    Hear,
    /// Hear it a step slower.
    Slower,
    /// Louder (positive) or softer, in steps.
    Volume(i8),
    /// Put it into the lesson, or take it out.
    Lesson,
    /// Play it in the practice room.
    Play,
    /// The next (positive) or the previous card of the list.
    Turn(i8),
    /// Keys and words.
    Help,
    /// Back to the list.
    Leave,
}

/// What each key does, for the help page.
pub const HELP: &[(&str, &str)] = &[
    ("Space", "hear it with the clave, or stop the sound"),
    ("-", "hear it slower"),
    ("up, down", "louder, softer; the wheel does too"),
    ("l", "into this week's lesson, or out of it"),
    (
        "p",
        "the practice room: play it with the band, in a phrase, at any tempo",
    ),
    ("left, right", "the previous card, the next; Tab does too"),
    ("Esc", "back"),
];

/// What a key asks for; `None` if it is not a key of the page.
pub fn action(key: KeyEvent) -> Option<CardAction> {
    match key.code {
        KeyCode::Char(' ') => Some(CardAction::Hear),
        KeyCode::Char('-') => Some(CardAction::Slower),
        KeyCode::Up => Some(CardAction::Volume(1)),
        KeyCode::Down => Some(CardAction::Volume(-1)),
        KeyCode::Char('l' | 'L') => Some(CardAction::Lesson),
        KeyCode::Char('p' | 'P') => Some(CardAction::Play),
        KeyCode::Right | KeyCode::Tab => Some(CardAction::Turn(1)),
        KeyCode::Left | KeyCode::BackTab => Some(CardAction::Turn(-1)),
        KeyCode::Char('?') => Some(CardAction::Help),
        KeyCode::Esc | KeyCode::Enter => Some(CardAction::Leave),
        _ => None,
    }
}

/// The page of a card that is played at `tempo`; `tempo_held` if something about it was asked.
pub fn page<'a>(
    card: &'a Card,
    tempo: Tempo,
    lesson: bool,
    hold: Hold,
    tempo_held: Option<&HeldTempo>,
    audio: AudioStatus,
) -> Page<'a> {
    let music = card.choice.is_none();
    let state = match (hold.held, hold.chance) {
        (true, _) => "Held.".into(),
        (false, None) => "Not asked yet.".into(),
        (false, Some(chance)) => format!(
            "{}; known after a night with a chance of {:.0} in 100.",
            counted(hold.answers as usize, "answer"),
            100.0 * chance
        ),
    };
    let state = match lesson {
        true => format!("In this week's lesson. {state}"),
        false => state,
    };
    let state = match tempo_held {
        Some(tempos) => format!("{state} Tempo: {}.", tempos.in_words()),
        None => state,
    };
    let mut body = vec![Paragraph::plain(&card.about)];
    if let Some(choice) = &card.choice {
        body.push(Paragraph::led(
            format!("{} ", choice.ask),
            Role::Strong,
            &choice.right,
        ));
        body.push(Paragraph::plain(&choice.why));
    }
    body.push(Paragraph::plain(""));
    let facts = deck::facts(card).into_iter();
    body.extend(facts.map(Paragraph::quiet));
    let chart = Chart {
        clave: card.clave_under(),
        playhead: audio.playhead.map(|p| p % card.score.pulses().max(1)),
        ..Chart::new(&card.score).with_written_hands()
    };
    let mut choices = vec![lesson_choice(lesson)];
    if music {
        choices.push(Choice::new('p', "practice room"));
    }
    let sound = music && audio.volume.is_some();
    Page {
        place: card.id.clone(),
        left: match music {
            true => tempo_in_words(card.grid, tempo),
            false => String::new(),
        },
        head: vec![Paragraph::strong(&card.title), Paragraph::quiet(state)],
        chart: music.then_some(chart),
        body,
        choices,
        keys: Keys {
            arrows: audio.volume.map(|percent| format!("{percent} %")),
            pause: Some("help"),
            escape: Some("back"),
            ..Keys::hearing("back", sound)
        },
        ..Page::default()
    }
}
