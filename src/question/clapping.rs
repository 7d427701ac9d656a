//! The kind `clap`: the band plays without its clave, and the player's hands put it in.

use super::scene::{self, Scene};
use super::side::school;
use super::side_reasons::reasons;
use super::{AnswerMode, Choice, Draw, Form, Kind, Mark, Prompt, QuestionParts, Sense, Setup};
use crate::clave::Family;
use crate::deck::{Card, States};
use crate::rhythm::Instrument;
use crate::sound::Take;
use crate::taps::TapTask;

/// The key that is tapped.
const TAP: char = 'j';
/// Cycles that are tapped (chosen: in two a lucky start counts for much).
const CYCLES: usize = 4;
/// Lines of the band around the part, at most.
const BAND: usize = 2;

/// Clap the clave to a part that states its direction, with the band around it: which direction, how tight, how far ahead
/// or behind.
pub(super) static CLAP: Kind = Kind {
    name: "clap",
    about: "the clave, clapped to a band that plays without it",
    usual_guess: 0.5,
    may_turn: true,
    answered: AnswerMode::Tapped,
    concepts: |_, _| vec!["direction", "clave clapped"],
    drawn_concepts: claves,
    usual_seconds: |card| super::timing::tapped(card, CYCLES),
    fits,
    make,
    ..Kind::CHOSEN
};

/// The concepts of the claves.
pub(super) fn claves() -> Vec<String> {
    Family::ALL.map(concept).to_vec()
}

/// The concept of a clave.
pub(super) fn concept(family: Family) -> String {
    format!("{} clave", family.name())
}

fn fits(card: &Card, sense: Sense) -> bool {
    let part = scene::part(card);
    sense == Sense::Hear
        && card.states == States::Direction
        && card.clave.is_some()
        && part.line(Instrument::Clave).is_none()
        && scene::loops(card)
        && !card.classifier().score(&part).is_too_little()
}

fn make(card: &Card, sense: Sense, draw: &mut Draw, setup: &Setup) -> Option<QuestionParts> {
    let scene = scene::begun(card, setup, draw);
    let clave = scene.clave?;
    let most = if setup.as_written { 0 } else { BAND };
    let mut score = scene::with_band(card, &scene, 0..=most, true, draw);
    score.remove(Instrument::Clave);
    let take = scene::take(score, setup.tempo, sense, draw);
    let family = clave.family.name();
    let text = match setup.as_written {
        true => format!("{}: the clave under it is", card.title),
        false => format!(
            "{}The band plays without its clave. Listen, then clap the {family} clave to it for {CYCLES} cycles.",
            school(card)
        ),
    };
    let task = TapTask::of_clave(clave, card.grid, take.playable_tempo()).by(setup.player);
    let prompt = Prompt::new(text, take.clone(), sense);
    clapped(card, &scene, prompt, &take, task, CYCLES)
}

/// A clave that is clapped for this many cycles, with what is said about it.
pub(super) fn clapped(
    card: &Card,
    scene: &Scene,
    prompt: Prompt,
    told: &Take,
    task: TapTask,
    cycles: usize,
) -> Option<QuestionParts> {
    let clave = scene.clave?;
    let answer = format!("{} {}", clave.family.name(), clave.direction.name());
    let mut reveal = scene::reveal(card, scene, told, answer);
    reveal.reasons = reasons(card, scene, Mark::Whole);
    Some(QuestionParts {
        form: Form::Taps {
            choices: vec![Choice::new(TAP, "a stroke")],
            task,
            cycles,
        },
        prompt,
        reveal,
        concepts: vec![concept(clave.family)],
    })
}
