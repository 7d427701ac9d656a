//! The kind `place`: where in a phrase a variation is in clave.

use super::phrase::{self, Phrase, PhrasePosition};
use super::place_reasons::{home_reasons, laid_reasons};
use super::scene::{self, Scene};
use super::side::school;
use super::{Choice, Draw, Kind, Mark, Prompt, QuestionParts, Sense, Setup, words};
use crate::clave::Direction;
use crate::deck::Card;
use crate::sound::Take;
use std::collections::BTreeSet;

/// Longest phrase that is asked by ear, in bars: nobody should listen for half a minute.
const HEARD: usize = 4;
/// Share of the questions by eye that ask for the bar.
const WHICH: f64 = 0.4;

/// Where in a phrase is a variation in clave? Either: in which of two bars of the phrase. Or: it is laid into a phrase of
/// the plain tumbao; is it on its side there?
///
/// Only the side is right or wrong. In which part of the phrase it comes, and how sparingly, is a habit, and the answer
/// calls it one. By eye the direction is said; by ear the clave plays.
pub(super) static PLACE: Kind = Kind {
    name: "place",
    about: "in which bar of a phrase a variation is in clave, or whether it is",
    usual_guess: 0.2,
    concepts: |_, _| vec!["place in the phrase"],
    fits,
    make,
    ..Kind::CHOSEN
};

fn fits(card: &Card, sense: Sense) -> bool {
    match sense {
        Sense::Read => phrase::has_place(card),
        Sense::Hear => !laid_lengths(card, sense).is_empty(),
    }
}

fn make(card: &Card, sense: Sense, draw: &mut Draw, setup: &Setup) -> Option<QuestionParts> {
    let lengths = laid_lengths(card, sense);
    let which = sense == Sense::Read && (lengths.is_empty() || draw.chance(WHICH));
    match which || setup.as_written {
        true => which_bar(card, setup, draw),
        false => laid(card, sense, &lengths, setup, draw),
    }
}

/// Lengths of phrases of the plain tumbao into which the card can be laid, in bars.
fn laid_lengths(card: &Card, sense: Sense) -> Vec<usize> {
    if scene::plain_tumbao(card.grid).is_none() || !stands_out(card) {
        return Vec::new();
    }
    let mut lengths = phrase::lengths(card);
    if sense == Sense::Hear {
        lengths.retain(|n| *n <= HEARD);
    }
    lengths
}

/// In which of two bars of the phrase is the card in clave? One of them is on each side.
fn which_bar(card: &Card, setup: &Setup, draw: &mut Draw) -> Option<QuestionParts> {
    let of = card.place?.of as usize;
    let asked = match setup.as_written {
        true => phrase::phrase(card, of, phrase::own_direction(card)?)?,
        false => {
            let direction = draw.pick(&Direction::ALL)?;
            let all: Vec<Phrase> = BTreeSet::from([of, 4, 8, 16])
                .into_iter()
                .filter_map(|n| phrase::phrase(card, n, direction))
                .filter(|p| p.window.is_some())
                .collect();
            draw.pick(&all)?
        }
    };
    let scene = scene::as_written(card, setup, draw);
    let take = Take::new(scene.score.clone(), setup.tempo, draw.seed());
    let [first, second] = asked.window?;
    let bar = |start: usize| words::bars(&(start..start + asked.own));
    let choices = vec![
        Choice::new('a', bar(first)),
        Choice::new('b', bar(second)),
        Choice::new('e', "either"),
    ];
    let key = match asked.homes()[..] {
        [home] if home == first => 'a',
        [_] => 'b',
        _ => 'e',
    };
    let are = match asked.own {
        1 => "In which bar is this one",
        _ => "In which bars are these two",
    };
    let text = format!(
        "{}A phrase of {} bars is in {}. {are} in clave?",
        school(card),
        asked.bars,
        asked.direction.name()
    );
    let prompt = Prompt {
        audible: true,
        worded: true,
        ..Prompt::new(text, take.clone(), Sense::Read)
    };
    let mut reveal = scene::reveal(card, &scene, &take, String::new());
    reveal.reasons = home_reasons(card, &asked);
    QuestionParts::one_key(prompt, choices, key, reveal)
}

/// Is each of the card's bars different from the plain tumbao, so that it stands out there?
fn stands_out(card: &Card) -> bool {
    let drums = card.score.drums.as_ref();
    drums.is_some_and(|d| (0..d.bars()).all(|bar| !scene::is_plain(d, bar)))
}

/// Is the card on its side in a phrase of the plain tumbao?
fn laid(
    card: &Card,
    sense: Sense,
    lengths: &[usize],
    setup: &Setup,
    draw: &mut Draw,
) -> Option<QuestionParts> {
    let direction = draw.pick(&Direction::ALL)?;
    let asked = phrase::phrase(card, draw.pick(lengths)?, direction)?;
    let lies = draw.pick(&asked.ways())?;
    let start = draw.pick(&asked.starts(lies))?;
    let own = scene::as_written(card, setup, draw);
    let score = asked.lay(own.score.drums.as_ref()?, start, setup.player.handed)?;
    let clave = asked.clave(card)?;
    let scene = Scene {
        score: score.clone(),
        clave: Some(clave),
        own: start..start + asked.own,
    };
    let mut score = score;
    let (text, mark) = match sense {
        Sense::Read => (read_text(&asked, start), Mark::of_bars(&scene.own)),
        Sense::Hear => {
            score.set_line(clave.line(card.grid));
            (heard_text(&asked), Mark::Whole)
        }
    };
    let take = scene::take(score, setup.tempo, sense, draw);
    let mut reveal = scene::reveal(card, &scene, &take, String::new());
    reveal.reasons = laid_reasons(card, &scene, &asked, start);
    let prompt = Prompt {
        mark,
        worded: true,
        ..Prompt::new(school(card) + &text, take, sense)
    };
    let choices = vec![
        Choice::new('y', "in clave, on this side only"),
        Choice::new('n', "crossed"),
        Choice::new('e', "in clave on either side"),
    ];
    QuestionParts::one_key(prompt, choices, key(lies), reveal)
}

fn key(lies: PhrasePosition) -> char {
    match lies {
        PhrasePosition::InClave => 'y',
        PhrasePosition::Crossed => 'n',
        PhrasePosition::Either => 'e',
    }
}

fn read_text(asked: &Phrase, start: usize) -> String {
    let (bars, direction) = (asked.bars, asked.direction.name());
    let own = words::bars(&(start..start + asked.own));
    let question = match asked.own {
        1 => format!("Is {own} on the right side?"),
        _ => "Are they on the right side?".into(),
    };
    format!("{bars} bars in {direction}, all tumbao except {own}. {question}")
}

fn heard_text(asked: &Phrase) -> String {
    let bars = asked.bars;
    match asked.own {
        1 => format!(
            "{bars} bars over the clave, all tumbao except one. Is that bar on the right side?"
        ),
        _ => format!(
            "{bars} bars over the clave, all tumbao except two in a row. Are they on the right side?"
        ),
    }
}
