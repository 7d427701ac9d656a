use super::phrase::{Fit, Phrase};
use super::scene::{self, Scene};
use super::side_reasons::reasons;
use super::{Mark, Reason, words};
use crate::clave::{self, Direction, Meeting, Side};
use crate::deck::Card;

/// Most reasons taken over from the question of the side.
const OF_THE_SIDE: usize = 2;

/// Why a card's bars belong where they belong. `own` is the card by itself.
pub(super) fn home_reasons(card: &Card, own: &Scene, asked: &Phrase) -> Vec<Reason> {
    let mut all = of_the_side(card, own, 0);
    all.push(says(bars_and_sides(asked.direction)));
    all.push(says(habit(card, asked)));
    all
}

/// Why a card's bars lie well or badly in `laid`, the phrase in which they begin in bar `start` (counted from 0). `own`
/// is the card by itself.
pub(super) fn laid_reasons(
    card: &Card,
    own: &Scene,
    laid: &Scene,
    asked: &Phrase,
    start: usize,
    fit: Fit,
) -> Vec<Reason> {
    let bar = start + 1;
    let mut all = match asked.side {
        Some(side) => on_its_bar(card, laid, asked, side, start, fit.side),
        None => of_the_side(card, own, start),
    };
    if !fit.part {
        all.push(says(match asked.at_end {
            true => format!("In bar {bar} the phrase has hardly begun: nothing is led into."),
            false => format!("Bar {bar} is another part of the phrase."),
        }));
    }
    all.push(says(habit(card, asked)));
    all
}

/// How strokes that belong on `side` meet the clave where they begin in bar `start`, and which side that bar is.
fn on_its_bar(
    card: &Card,
    laid: &Scene,
    asked: &Phrase,
    side: Side,
    start: usize,
    right: bool,
) -> Vec<Reason> {
    let Some(clave) = laid.clave else {
        return Vec::new();
    };
    let grid = laid.score.grid;
    let per = grid.pulses_per_bar();
    let carrying = scene::carrying(&laid.score, laid.score.pulses());
    let met = clave::meets(&carrying, clave, grid, scene::wrong_side(card, laid));
    let how = match right {
        true => Meeting::Locks,
        false => Meeting::Crosses,
    };
    let bars = start * per..(start + asked.own) * per;
    let pulses: Vec<usize> = bars.filter(|p| met[*p] == how).collect();
    let at = match asked.own {
        1 => words::pulses(grid, &pulses),
        n => {
            let said: Vec<String> = pulses.iter().map(|p| words::place(grid, n, *p)).collect();
            words::list(&said)
        }
    };
    let (its, they, lock, cross) = match pulses.len() {
        1 => ("its stroke", "it", "locks", "crosses"),
        _ => ("its strokes", "they", "lock", "cross"),
    };
    let home = side.name();
    let here = asked.direction.side(start);
    let (direction, bar) = (asked.direction.name(), start + 1);
    let strikes = clave.onsets(grid);
    let struck: Vec<usize> = (start * per..(start + 1) * per)
        .filter(|p| strikes[p % strikes.len()])
        .collect();
    let ground = Reason {
        text: format!(
            "In a phrase that goes {direction}, bar {bar} is the {}: the clave strikes {} there.",
            here.name(),
            words::pulses(grid, &struck)
        ),
        pulses: struck,
    };
    let text = match (pulses.is_empty(), right) {
        (true, true) => format!("It belongs on the {home}, and that is where it lies."),
        (true, false) => format!("It belongs on the {home}, and it lies on the other side."),
        (false, true) => {
            format!("It belongs on the {home}: {its} on {at} {lock} with the clave here.")
        }
        (false, false) => format!(
            "Here {its} on {at} {cross} the clave. It belongs on the {home}: there {they} {lock}."
        ),
    };
    vec![Reason { text, pulses }, ground]
}

/// What its strokes say about the side, for bars that begin in bar `start`.
fn of_the_side(card: &Card, own: &Scene, start: usize) -> Vec<Reason> {
    let shift = start * card.grid.pulses_per_bar();
    let mut found = reasons(card, own, Mark::Whole);
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
