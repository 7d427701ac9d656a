//! The kind of question that asks for a side or a direction.

use super::scene::{self, Scene};
use super::side_reasons::reasons;
use super::stop::{self, Stop};
use super::{Choice, Draw, Form, Kind, Mark, Prompt, QuestionParts, Sense, Setup};
use crate::clave::{self, Family, Side};
use crate::deck::{Card, States};
use crate::rhythm::Instrument;
use crate::sound::Take;

/// Chance that a part of several bars that states a direction is asked for it and not for the side of a bar.
const WHOLE: f64 = 0.75;
/// The same for a part that fits both.
const WHOLE_OF_BOTH: f64 = 0.5;

/// Which side of the clave does a bar belong to, or in which direction does a phrase go?
///
/// The clave is never heard or drawn with the question, and what the band adds is neutral: the part under study
/// alone has to tell. A bar lies on a side in every tune; where what is shown does not tell on which, nobody can tell. A
/// part that does the same on both sides fits both directions.
pub struct SideKind;

impl Kind for SideKind {
    fn name(&self) -> &'static str {
        "side"
    }

    fn about(&self) -> &'static str {
        "which side of the clave a bar belongs to, or in which direction a phrase goes"
    }

    fn drawn_concepts(&self) -> Vec<String> {
        let claves = Family::ALL
            .iter()
            .map(|family| format!("{} clave", family.name()));
        claves
            .chain(
                [Side::Two, Side::Three]
                    .iter()
                    .map(|side| side.name().to_string()),
            )
            .collect()
    }

    fn usual_guess(&self) -> f64 {
        0.4
    }

    fn fits(&self, card: &Card, _sense: Sense) -> bool {
        let score = scene::part(card);
        card.clave.is_some() && !score.is_empty() && !card.ear().score(&score).is_too_little()
    }

    fn concepts(&self, card: &Card, _sense: Sense) -> Vec<String> {
        let states = match card.states {
            States::Neither => "neutral part",
            States::Bar(side) => side.name(),
            States::Direction => "direction",
        };
        vec![states.to_string()]
    }

    fn may_turn(&self) -> bool {
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
        let most = match sense {
            _ if setup.as_written => 0,
            Sense::Read => 1,
            Sense::Hear => 3,
        };
        let Asked { scene, mark, stop } = Asked::draw(card, sense, setup, draw);
        let bars = scene.score.bars();
        // A card that is met is on the screen, whatever sense it will be asked in.
        let shown_as = if setup.as_written { Sense::Read } else { sense };
        let bar = match (stop, mark) {
            (Some(stop), _) => stop.asked,
            (None, Mark::Bar(bar)) => bar,
            _ => 0,
        };
        let side = scene::side_of(card, &scene, bar);
        let (choices, key) = match mark {
            Mark::Whole if stop.is_none() => (directions(&scene), side.map_or(FITS_BOTH, side_key)),
            _ => (sides(&scene), side.map_or(CANNOT_TELL, side_key)),
        };
        let mut score = scene.score.clone();
        match (stop, scene.clave) {
            (Some(stop), Some(clave)) => {
                let click = clave::band_line(card.grid, clave, Instrument::Click, 0);
                let lines = click.map(|c| c.line).into_iter();
                let lines = lines.chain(stop.bell_line(card.grid));
                lines.for_each(|line| score.set_line(line));
            }
            _ => {
                let lines = scene::band(card, &scene, 0..=most, false, draw);
                lines.into_iter().for_each(|line| score.set_line(line));
            }
        }
        let take = Take {
            count_in: scene::count_in(sense),
            ..Take::new(score, setup.bpm, draw.seed())
        };
        let answer = choices.iter().find(|c| c.key == key)?.label.clone();
        let mut reveal = scene::reveal(card, &scene, &take, answer);
        reveal.reasons = match (stop, scene.clave) {
            (Some(stop), Some(clave)) => {
                let mut first = reasons(card, &scene, Mark::Bar(0));
                first.push(stop.reason(clave));
                first
            }
            _ => reasons(card, &scene, mark),
        };
        let family = scene
            .clave
            .map(|clave| format!("{} clave", clave.family.name()));
        let mut concepts: Vec<String> = family.into_iter().collect();
        let of_a_bar = stop.is_some() || matches!(mark, Mark::Bar(_));
        concepts.extend(side.filter(|_| of_a_bar).map(|s| s.name().to_string()));
        let text = match &stop {
            Some(stop) => stop.text(),
            None => school(card) + &text(shown_as, mark, bars),
        };
        Some(QuestionParts {
            prompt: Prompt {
                mark,
                worded: stop.is_some(),
                ..Prompt::new(text, take, sense)
            },
            form: Form::key(choices, key),
            reveal,
            concepts,
        })
    }
}

/// Key of the answer that a bar lies on a side, but that what is shown does not tell on which.
const CANNOT_TELL: char = 'c';
/// Key of the answer that a part goes with both directions.
const FITS_BOTH: char = 'b';

/// What is shown, and what is asked of it.
pub(super) struct Asked {
    pub scene: Scene,
    pub mark: Mark,
    pub stop: Option<Stop>,
}

impl Asked {
    pub fn draw(card: &Card, sense: Sense, setup: &Setup, draw: &mut Draw) -> Asked {
        let scene = scene::in_company(card, setup, draw);
        let (scene, stop) = match setup.as_written {
            true => (scene, None),
            false => stop::maybe(scene, sense, draw),
        };
        let several = scene.score.bars() > 1;
        let whole = match (setup.as_written, card.states) {
            // Met, a part that fits both is told to do so.
            (true, States::Neither) => true,
            (true, _) => several,
            (false, States::Neither) => several && draw.chance(WHOLE_OF_BOTH),
            // A phrase that does not go round begins always on the same side.
            (false, _) => several && scene::loops(card) && draw.chance(WHOLE),
        };
        let mark = match whole || stop.is_some() {
            true => Mark::Whole,
            false => Mark::Bar(a_bar(&scene, draw)),
        };
        Asked { scene, mark, stop }
    }
}

/// One of the card's bars: each side is drawn equally often where there are bars on both.
fn a_bar(scene: &Scene, draw: &mut Draw) -> usize {
    let turned = draw.below(2);
    let alike: Vec<usize> = scene.own.clone().filter(|b| b % 2 == turned).collect();
    draw.pick(&alike).unwrap_or(scene.own.start)
}

/// The bar in which the low drum comes is a matter of school, and strokes alone do not tell it: it is said.
pub(super) fn school(card: &Card) -> String {
    let drums = card.score.drums.as_ref();
    let low = drums.is_some_and(|d| d.low_drum().is_some());
    let school = card.low_drum();
    let told = school.filter(|_| low && card.states != States::Neither);
    told.map_or_else(String::new, |school| {
        // Not by the words of an answer: those would give it away.
        let strokes = match school.side() {
            clave::Side::Three => "three",
            clave::Side::Two => "two",
        };
        format!("You play the low drum where the clave has {strokes} strokes. ")
    })
}

fn text(sense: Sense, mark: Mark, bars: usize) -> String {
    match (sense, mark) {
        (Sense::Read, Mark::Bar(_)) if bars == 1 => {
            "This is one bar of a two-bar part. Which side is it?".into()
        }
        (Sense::Read, Mark::Bar(_)) => "Which side is the marked bar?".into(),
        (Sense::Read, _) if bars == 1 => "In which direction does this part go?".into(),
        (Sense::Read, _) => "In which direction does this phrase go?".into(),
        (Sense::Hear, Mark::Bar(_)) if bars == 1 => {
            "You hear one bar of a two-bar part. Which side is it?".into()
        }
        (Sense::Hear, Mark::Bar(bar)) => {
            format!(
                "Which side is bar {}, counted from where the part comes in?",
                bar + 1
            )
        }
        (Sense::Hear, _) => "You hear a phrase. In which direction does it go?".into(),
    }
}

/// The two sides, and that what is shown does not tell; the clave itself always does.
fn sides(scene: &Scene) -> Vec<Choice> {
    let sides = [Choice::new('2', "two side"), Choice::new('3', "three side")];
    let unclear = Choice::new(CANNOT_TELL, "cannot tell");
    with_third(sides, unclear, scene)
}

/// The two directions, and that it fits both; the clave itself never does.
fn directions(scene: &Scene) -> Vec<Choice> {
    let directions = [Choice::new('2', "2-3"), Choice::new('3', "3-2")];
    with_third(directions, Choice::new(FITS_BOTH, "fits both"), scene)
}

fn with_third(two: [Choice; 2], third: Choice, scene: &Scene) -> Vec<Choice> {
    let third = Some(third).filter(|_| !scene::is_clave(&scene.score));
    two.into_iter().chain(third).collect()
}

fn side_key(side: clave::Side) -> char {
    match side {
        clave::Side::Two => '2',
        clave::Side::Three => '3',
    }
}
