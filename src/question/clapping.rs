//! The kind `clap`: the band plays without its clave, and the player's hands put it in.

use super::side::school;
use super::side_reasons::reasons;
use super::{Choice, Draw, Form, Kind, Mark, Prompt, QuestionParts, Sense, Setup, scene};
use crate::clave::Family;
use crate::deck::{Card, States};
use crate::rhythm::Instrument;
use crate::sound::Take;
use crate::taps::TapTask;

/// Clap the clave to a part that states its direction, with the band around it: which direction, how tight, how far ahead
/// or behind.
pub struct Clap;

/// The key that is tapped.
pub(super) const TAP: char = 'j';
/// Cycles that are tapped (chosen: in two a lucky start counts for much).
const CYCLES: usize = 4;
/// Lines of the band around the part, at most.
const BAND: usize = 2;

impl Kind for Clap {
    fn name(&self) -> &'static str {
        "clap"
    }

    fn about(&self) -> &'static str {
        "the clave, clapped to a band that plays without it"
    }

    fn drawn_concepts(&self) -> Vec<String> {
        Family::ALL
            .map(|family| format!("{} clave", family.name()))
            .to_vec()
    }

    fn usual_guess(&self) -> f64 {
        0.5
    }

    fn fits(&self, card: &Card, sense: Sense) -> bool {
        let part = scene::part(card);
        sense == Sense::Hear
            && card.states == States::Direction
            && card.clave.is_some()
            && part.line(Instrument::Clave).is_none()
            && scene::loops(card)
            && !card.ear().score(&part).is_too_little()
    }

    fn concepts(&self, _card: &Card, _sense: Sense) -> Vec<String> {
        vec!["direction".to_string(), "clave clapped".to_string()]
    }

    fn usual_seconds(&self, card: &Card) -> f64 {
        super::timing::tapped(card, CYCLES)
    }

    fn may_turn(&self) -> bool {
        true
    }

    fn is_tapped(&self) -> bool {
        true
    }

    fn make(
        &self,
        card: &Card,
        sense: Sense,
        draw: &mut Draw,
        setup: &Setup,
    ) -> Option<QuestionParts> {
        if !self.fits(card, sense) {
            return None;
        }
        let scene = scene::begun(card, setup, draw);
        let clave = scene.clave?;
        let mut score = scene.score.clone();
        let most = if setup.as_written { 0 } else { BAND };
        let band = scene::band(card, &scene, 0..=most, true, draw).into_iter();
        for line in band.filter(|line| line.instrument() != Instrument::Clave) {
            score.set_line(line);
        }
        let take = Take {
            count_in: scene::count_in(sense),
            ..Take::new(score, setup.bpm, draw.seed())
        };
        let family = clave.family.name();
        let answer = format!("{family} {}", clave.direction.name());
        let mut reveal = scene::reveal(card, &scene, &take, answer);
        reveal.reasons = reasons(card, &scene, Mark::Whole);
        let text = match setup.as_written {
            true => format!("{}: the clave under it is", card.title),
            false => format!(
                "{}The band plays without its clave. Listen, then clap the {family} clave to it for {CYCLES} cycles.",
                school(card)
            ),
        };
        Some(QuestionParts {
            form: Form::Taps {
                choices: vec![Choice::new(TAP, "a stroke")],
                task: TapTask::of_clave(clave, card.grid, take.tempo()).by(setup.player),
                cycles: CYCLES,
            },
            prompt: Prompt::new(text, take, sense),
            reveal,
            concepts: vec![format!("{family} clave")],
        })
    }
}
