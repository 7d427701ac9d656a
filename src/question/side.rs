use super::grade::guess_chance;
use super::scene::{self, Scene};
use super::side_reasons::reasons;
use super::{Choice, Draw, Form, Kind, Mark, Prompt, Question, Sense, Setup, stop};
use crate::clave;
use crate::deck::{Card, States};
use crate::rhythm::Instrument;
use crate::sound::Take;

/// Chance that a part of several bars is asked for its direction and not for the side of one of its bars.
const WHOLE: f64 = 0.75;

/// Which side of the clave does a bar belong to, or in which direction does a phrase go?
///
/// The clave is never heard or drawn with the question, and what the band adds is neutral: the part under study
/// alone has to tell.
pub struct Side;

impl Kind for Side {
    fn name(&self) -> &'static str {
        "side"
    }

    fn about(&self) -> &'static str {
        "which side of the clave a bar belongs to, or in which direction a phrase goes"
    }

    fn fits(&self, card: &Card, _sense: Sense) -> bool {
        let score = scene::part(card);
        let sounds = score.drums.is_some() || !score.lines.is_empty();
        card.clave.is_some() && sounds
    }

    fn concepts(&self, card: &Card, _sense: Sense) -> Vec<String> {
        let states = match card.states {
            States::Neither => "neutral part",
            States::Bar(side) => side.name(),
            States::Direction => "direction",
        };
        vec![states.to_string()]
    }

    fn ask(&self, card: &Card, sense: Sense, seed: u64, setup: &Setup) -> Option<Question> {
        if !self.fits(card, sense) {
            return None;
        }
        let mut draw = Draw::new(seed);
        let (most, among) = match sense {
            _ if setup.as_written => (0, 0.0),
            Sense::Read => (1, 0.85),
            Sense::Hear => (3, 1.0),
        };
        let scene = scene::among_plain(card, setup, among, &mut draw);
        let (scene, stop) = match setup.as_written {
            true => (scene, None),
            false => stop::maybe(scene, &mut draw),
        };
        let bars = scene.score.bars();
        // A card that is met is on the screen, whatever sense it will be asked in.
        let shown_as = if setup.as_written { Sense::Read } else { sense };
        let whole = match setup.as_written {
            true => bars > 1,
            // A phrase that does not go round begins always on the same side.
            false => stop.is_none() && bars > 1 && scene::loops(card) && draw.chance(WHOLE),
        };
        let (mark, form, key) = if whole {
            (Mark::Whole, directions(), direction_key(card, &scene))
        } else {
            let bar = match stop {
                Some(stop) => stop.asked,
                None => a_bar(&scene, &mut draw),
            };
            let side = scene::side_of(card, &scene, bar);
            // A clave that is carried on has a side in every bar.
            let form = sides(stop.is_none());
            (Mark::Bar(bar), form, side.map_or('n', side_key))
        };
        let mut score = scene.score.clone();
        for line in scene::band(&scene, most, false, &mut draw) {
            score.set_line(line);
        }
        if let (Some(_), Sense::Hear, Some(clave)) = (&stop, sense, scene.clave) {
            let click = clave::band_line(card.grid, clave, Instrument::Click, 0);
            click.into_iter().for_each(|c| score.set_line(c.line));
        }
        let take = Take {
            count_in: sense == Sense::Hear,
            ..Take::new(score, setup.bpm, draw.seed())
        };
        let right = vec![key.to_string()];
        let choices = match &form {
            Form::One(c) | Form::Row { choices: c, .. } => c.clone(),
        };
        let answer = choices.iter().find(|c| c.key == key)?.label.clone();
        let mut reveal = scene::reveal(card, &scene, &take, answer);
        reveal.reasons = reasons(card, &scene, mark);
        if let (Some(stop), Some(clave)) = (stop, scene.clave) {
            reveal.reasons.push(stop.reason(clave));
        }
        let mut concepts = self.concepts(card, sense);
        if let Some(clave) = scene.clave {
            concepts.push(format!("{} clave", clave.family.name()));
        }
        if let (Mark::Bar(bar), Some(_)) = (mark, scene.clave)
            && let Some(side) = scene::side_of(card, &scene, bar)
        {
            concepts.push(side.name().to_string());
        }
        Some(Question {
            item: super::kind::key(self, card, sense),
            seed,
            prompt: Prompt {
                text: match &stop {
                    Some(stop) => stop.text(shown_as),
                    None => text(shown_as, mark, bars),
                },
                take,
                mark,
                show_hands: false,
                hidden: Vec::new(),
                audible: sense == Sense::Hear,
                worded: stop.is_some(),
            },
            guess: guess_chance(&right, choices.len()),
            form,
            right,
            reveal,
            concepts: super::kind::concepts(card, concepts),
        })
    }
}

/// One of the card's bars: each side is drawn equally often where there are bars on both.
fn a_bar(scene: &Scene, draw: &mut Draw) -> usize {
    let turned = draw.below(2);
    let alike: Vec<usize> = scene.own.clone().filter(|b| b % 2 == turned).collect();
    draw.pick(&alike).unwrap_or(scene.own.start)
}

fn text(sense: Sense, mark: Mark, bars: usize) -> String {
    match (sense, mark) {
        (Sense::Read, Mark::Bar(_)) if bars == 1 => "Which side is this bar?".into(),
        (Sense::Read, Mark::Bar(_)) => "Which side is the marked bar?".into(),
        (Sense::Read, _) => "Which way does this phrase go?".into(),
        (Sense::Hear, Mark::Bar(_)) if bars == 1 => "Which side is the bar that you hear?".into(),
        (Sense::Hear, Mark::Bar(bar)) => {
            format!("Which side is bar {} after the count-in?", bar + 1)
        }
        (Sense::Hear, _) => "Which way does the phrase go that you hear?".into(),
    }
}

/// The two sides, and whether neither may be answered.
fn sides(neither: bool) -> Form {
    let sides = [Choice::new('2', "two side"), Choice::new('3', "three side")];
    let neither = neither.then(|| Choice::new('n', "neither"));
    Form::One(sides.into_iter().chain(neither).collect())
}

fn directions() -> Form {
    Form::One(vec![
        Choice::new('2', "2-3"),
        Choice::new('3', "3-2"),
        Choice::new('n', "neither"),
    ])
}

fn side_key(side: clave::Side) -> char {
    match side {
        clave::Side::Two => '2',
        clave::Side::Three => '3',
    }
}

fn direction_key(card: &Card, scene: &Scene) -> char {
    scene::side_of(card, scene, 0).map_or('n', side_key)
}
