use super::phrase::{Fit, Phrase};
use super::scene::Scene;
use super::side_reasons::reasons;
use super::{Mark, Reason, words};
use crate::clave::Direction;
use crate::deck::Card;

/// Most reasons taken over from the question of the side.
const OF_THE_SIDE: usize = 2;

/// Why a card's bars belong where they belong. `own` is the card by itself.
pub(super) fn home_reasons(card: &Card, own: &Scene, asked: &Phrase) -> Vec<Reason> {
    let mut all = of_the_side(card, own, asked, 0);
    all.push(says(bars_and_sides(asked.direction)));
    all.push(says(habit(card, asked)));
    all
}

/// Why a card's bars lie well or badly from bar `start` on (counted from 0).
pub(super) fn laid_reasons(
    card: &Card,
    own: &Scene,
    asked: &Phrase,
    start: usize,
    fit: Fit,
) -> Vec<Reason> {
    let here = asked.direction.side(start).name();
    let direction = asked.direction.name();
    let bar = start + 1;
    let mut all = of_the_side(card, own, asked, start);
    match (asked.side, fit.side) {
        (Some(side), false) => all.push(says(format!(
            "In a phrase that goes {direction}, bar {bar} is the {here}; this belongs on the {}.",
            side.name()
        ))),
        (Some(_), true) => all.push(says(format!(
            "In a phrase that goes {direction}, bar {bar} is the {here}, where this belongs."
        ))),
        (None, _) => {}
    }
    if !fit.part {
        all.push(says(match asked.at_end {
            true => format!("But in bar {bar} the phrase has hardly begun: nothing is led into."),
            false => format!("But bar {bar} is another part of the phrase."),
        }));
    }
    all.push(says(habit(card, asked)));
    all
}

/// What its strokes say about the side, for bars that begin in bar `start`.
fn of_the_side(card: &Card, own: &Scene, asked: &Phrase, start: usize) -> Vec<Reason> {
    let shift = start * card.grid.pulses_per_bar();
    let mut found = reasons(card, own, Mark::Whole);
    if asked.own > 1 && asked.side.is_some() {
        // Bars are named by their number in the phrase here, not in the card.
        let side = own.clave.map(|c| c.direction.side(0).name());
        let text = format!(
            "These two bars begin on the {}.",
            side.unwrap_or("side of the clave")
        );
        found = vec![Reason {
            text,
            pulses: found.first().map_or_else(Vec::new, |r| r.pulses.clone()),
        }];
    }
    found.truncate(OF_THE_SIDE);
    for reason in &mut found {
        reason.pulses.iter_mut().for_each(|p| *p += shift);
    }
    found
}

fn bars_and_sides(direction: Direction) -> String {
    let (odd, even) = (direction.side(0).name(), direction.side(1).name());
    format!(
        "In {} the odd bars are the {odd}, the even ones the {even}.",
        direction.name()
    )
}

fn habit(card: &Card, asked: &Phrase) -> String {
    let Some(place) = card.place else {
        return "Where in a phrase it comes is a habit.".into();
    };
    let near = match asked.at_end {
        true => ", where it leads into the next phrase",
        false => "",
    };
    let bars = match asked.own {
        1 => format!("bar {}", place.bar),
        n => format!("bars {} and {}", place.bar, place.bar as usize + n - 1),
    };
    let phrase = place
        .phrase
        .map_or(String::new(), |d| format!(" in {}", d.name()));
    words::capital(&format!(
        "usually it comes in {bars} of {}{phrase}{near}: a habit, not a law.",
        place.of
    ))
}

fn says(text: String) -> Reason {
    Reason {
        text,
        pulses: Vec::new(),
    }
}
