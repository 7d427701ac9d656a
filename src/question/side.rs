//! The kind of question that asks for a side or a direction.

use super::clapping::{claves, concept};
use super::scene::{self, Scene};
use super::side_reasons::reasons;
use super::stop::{self, Stop};
use super::{Choice, Draw, Kind, Mark, Prompt, QuestionParts, Sense, Setup};
use crate::clave::{self, Side};
use crate::deck::{Card, States};
use crate::rhythm::Instrument;

/// Chance that a part of several bars that states a direction is asked for it and not for the side of a bar.
const WHOLE: f64 = 0.75;
/// The same for a part that fits both.
const WHOLE_OF_BOTH: f64 = 0.5;

/// Which side of the clave does a bar belong to, or in which direction does a phrase go?
///
/// The clave is never heard or drawn with the question, and what the band adds is neutral: the part under study
/// alone has to tell. A bar lies on a side in every tune; where what is shown does not tell on which, nobody can tell. A
/// part that does the same on both sides fits both directions.
pub(super) static SIDE: Kind = Kind {
    name: "side",
    about: "which side of the clave a bar belongs to, or in which direction a phrase goes",
    usual_guess: 0.4,
    may_turn: true,
    concepts: |card, _| match card.states {
        States::Neither => vec!["neutral part"],
        States::Bar(side) => vec![side.name()],
        States::Direction => vec!["direction"],
    },
    drawn_concepts,
    fits,
    make,
    ..Kind::CHOSEN
};

fn drawn_concepts() -> Vec<String> {
    let sides = [Side::Two, Side::Three].map(|side| side.name().to_string());
    [claves(), sides.to_vec()].concat()
}

fn fits(card: &Card, _sense: Sense) -> bool {
    let score = scene::part(card);
    card.clave.is_some() && !score.is_empty() && !card.classifier().score(&score).is_too_little()
}

fn make(card: &Card, sense: Sense, draw: &mut Draw, setup: &Setup) -> Option<QuestionParts> {
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
    let score = match (stop, scene.clave) {
        (Some(stop), Some(clave)) => {
            let mut score = scene.score.clone();
            let click = clave::band(card.grid, clave, &[Instrument::Click]).into_iter();
            let lines = click.chain(stop.bell_line(card.grid));
            lines.for_each(|line| score.set_line(line));
            score
        }
        _ => scene::with_band(card, &scene, 0..=most, false, draw),
    };
    let take = scene::take(score, setup.tempo, sense, draw);
    let mut reveal = scene::reveal(card, &scene, &take, String::new());
    reveal.reasons = match (stop, scene.clave) {
        (Some(stop), Some(clave)) => {
            let mut first = reasons(card, &scene, Mark::Bar(0));
            first.push(stop.reason(clave));
            first
        }
        _ => reasons(card, &scene, mark),
    };
    let mut concepts: Vec<String> = scene.clave.iter().map(|c| concept(c.family)).collect();
    let of_a_bar = stop.is_some() || matches!(mark, Mark::Bar(_));
    concepts.extend(side.filter(|_| of_a_bar).map(|s| s.name().to_string()));
    let text = match &stop {
        Some(stop) => stop.text(),
        None => school(card) + &text(shown_as, mark, bars),
    };
    let prompt = Prompt {
        mark,
        worded: stop.is_some(),
        ..Prompt::new(text, take, sense)
    };
    let parts = QuestionParts::one_key(prompt, choices, key, reveal)?;
    Some(QuestionParts { concepts, ..parts })
}

/// Key of the answer that a bar lies on a side, but what is shown does not tell which.
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

/// The two sides, and "cannot tell"; the clave itself always tells.
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
