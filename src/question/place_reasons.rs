//! Why a card's bars belong where they are laid in a phrase.

use super::phrase::{self, Phrase, PhrasePosition};
use super::scene::Scene;
use super::{Reason, words};
use crate::clave::{Clave, Direction, Side};
use crate::deck::Card;
use crate::rhythm::{Grid, Pattern, Tone, capital, listed};

/// Why a card's bars belong in the one or the other bar of the window; the picture is the card by itself.
pub(super) fn home_reasons(card: &Card, asked: &Phrase) -> Vec<Reason> {
    let first = asked.window.map(|w| both_bars(asked, w));
    all_reasons(card, asked, 0, first, |argument| argument.by_itself())
}

/// Why a card's bars lie as they do in `laid`, the phrase in which they begin in bar `start` (counted from 0).
pub(super) fn laid_reasons(card: &Card, laid: &Scene, asked: &Phrase, start: usize) -> Vec<Reason> {
    let shift = start * card.grid.pulses_per_bar();
    let (first, lies) = (ground(laid, asked, start), asked.lies(start));
    all_reasons(card, asked, shift, first, |argument| {
        argument.laid(lies, shift)
    })
}

/// What is told of a card that belongs on a side: the ground, and what its strokes argue. Of any other, why it fits both.
fn all_reasons(
    card: &Card,
    asked: &Phrase,
    shift: usize,
    first: Option<Reason>,
    argue: impl Fn(Argument) -> Reason,
) -> Vec<Reason> {
    let argument = asked.side.map(|side| argue(Argument::new(card, side)));
    let why = argument.unwrap_or_else(|| neutral(card, shift));
    let first = first.filter(|_| asked.side.is_some()).into_iter();
    let habit = Reason::of(habit(card, asked.direction));
    first.chain([why, habit]).collect()
}

/// The sides of the two bars to choose from.
fn both_bars(asked: &Phrase, window: [usize; 2]) -> Reason {
    let [a, b] = window.map(|bar| (bar + 1, asked.direction.side(bar).name()));
    let direction = asked.direction.name();
    Reason::of(format!(
        "In {direction} bar {} is the {}, bar {} the {}.",
        a.0, a.1, b.0, b.1
    ))
}

/// Which side the bar is where the card begins, and what the clave strikes there.
fn ground(laid: &Scene, asked: &Phrase, start: usize) -> Option<Reason> {
    let clave = laid.clave?;
    let grid = laid.score.grid;
    let per = grid.pulses_per_bar();
    let struck = clave.struck(grid, start * per..(start + 1) * per);
    Some(Reason::new(
        format!(
            "In {} bar {} is the {}: the clave strikes {} there.",
            asked.direction.name(),
            start + 1,
            asked.direction.side(start).name(),
            grid.spoken_all(&struck)
        ),
        struck,
    ))
}

/// What in a card's strokes says that it begins on a side.
struct Argument {
    grid: Grid,
    bars: usize,
    side: Side,
    /// Pulses of its strokes that fall on the clave where it begins on that side, and where it begins on the other.
    home: Vec<usize>,
    away: Vec<usize>,
    /// Where a school says on which side the low drum comes and it comes in one bar only: its pulses, and that bar.
    low: Option<(Vec<usize>, usize)>,
}

impl Argument {
    fn new(card: &Card, side: Side) -> Argument {
        let drums = card.score.drums.as_ref();
        let drum = drums.and_then(Pattern::low_drum);
        let carrying = drums.into_iter().flat_map(|d| d.carrying());
        let low = carrying.filter(|(_, s)| Some(s.drum) == drum);
        let low: Vec<usize> = low.map(|(p, _)| p).collect();
        let per = card.grid.pulses_per_bar();
        let one_bar = low.first().map(|p| p / per);
        let one_bar = one_bar.filter(|bar| low.iter().all(|p| p / per == *bar));
        let school = card.low_drum();
        Argument {
            grid: card.grid,
            bars: card.score.bars(),
            side,
            home: on_the_clave(card, side),
            away: on_the_clave(card, side.other()),
            low: school.and(one_bar).map(|bar| (low, bar)),
        }
    }

    /// No school decides, and more of its strokes fall on the clave on its side than on the other.
    fn counts(&self) -> bool {
        self.low.is_none() && self.home.len() > self.away.len()
    }

    fn strokes(&self, pulses: &[usize]) -> String {
        let at = by_bar(self.grid, self.bars, pulses);
        match pulses.len() {
            1 => format!("stroke on {at} falls"),
            _ => format!("strokes on {at} fall"),
        }
    }

    /// What of its strokes is left on the other side: `only the one on 4 would`, `neither would`.
    fn rest(&self, one: &str, many: &str) -> String {
        let at = by_bar(self.grid, self.bars, &self.away);
        match self.away.len() {
            0 => match self.home.len() {
                1 => format!("it {one} not"),
                2 => format!("neither {one}"),
                _ => format!("none {one}"),
            },
            1 => format!("only the one on {at} {one}"),
            _ => format!("only the ones on {at} {many}"),
        }
    }

    /// What speaks for the side where the clave alone does not: the school of the low drum, and which of its strokes
    /// the clave strikes there.
    fn other_ground(&self) -> Reason {
        let Some((low, bar)) = &self.low else {
            return Reason::of(format!("It is taught on the {}.", self.side.name()));
        };
        let side = Direction::starting(self.side).side(*bar).name();
        let mut met = low.clone();
        met.retain(|p| self.home.contains(p));
        let struck = match met.is_empty() {
            true => String::new(),
            false => format!(
                ", where the clave strikes with it on {}",
                by_bar(self.grid, 1, &met)
            ),
        };
        Reason::new(
            format!("You play the low drum on the {side}{struck}."),
            low.clone(),
        )
    }

    fn by_itself(&self) -> Reason {
        if !self.counts() {
            return self.other_ground();
        }
        let (side, other) = (self.side.name(), self.side.other().name());
        let begun = match self.bars {
            1 => "on",
            _ => "begun on",
        };
        let text = format!(
            "{begun} the {side} its {} on the clave; {begun} the {other} {}.",
            self.strokes(&self.home),
            self.rest("does", "do")
        );
        Reason::new(capital(&text), self.home.clone())
    }

    /// Why it lies as it does in a phrase, where it begins `shift` pulses later.
    fn laid(&self, lies: PhrasePosition, shift: usize) -> Reason {
        let side = self.side.name();
        let mut reason = match (self.counts(), lies) {
            (true, PhrasePosition::Crossed) => {
                let belongs = match self.bars {
                    1 => format!("It belongs on the {side}"),
                    _ => format!("It should begin on the {side}"),
                };
                let (strokes, rest) = (self.strokes(&self.home), self.rest("does", "do"));
                let text = format!("{belongs}, where its {strokes} on the clave. Here {rest}.");
                Reason::new(text, self.home.clone())
            }
            (true, _) => {
                let (strokes, rest) = (self.strokes(&self.home), self.rest("would", "would"));
                let text = format!("Its {strokes} on the clave here; on the other side {rest}.");
                Reason::new(text, self.home.clone())
            }
            (false, PhrasePosition::Crossed) => {
                let mut reason = self.other_ground();
                let bar = self.low.as_ref().map_or(0, |(_, bar)| *bar);
                let other = Direction::starting(self.side).side(bar).other().name();
                reason.text += &format!(" Here it comes on the {other}.");
                reason
            }
            (false, _) => self.other_ground(),
        };
        reason.pulses.iter_mut().for_each(|p| *p += shift);
        reason
    }
}

/// Pulses of a card's strokes that fall on the clave where it begins on `side`.
fn on_the_clave(card: &Card, side: Side) -> Vec<usize> {
    let Some(clave) = card.clave else {
        return Vec::new();
    };
    let clave = Clave {
        direction: Direction::starting(side),
        ..clave
    };
    clave.struck(card.grid, strong(card))
}

/// The pulses that carry a card's part.
fn strong(card: &Card) -> Vec<usize> {
    let carrying = card.score.carrying(card.score.pulses());
    (0..carrying.len()).filter(|p| carrying[*p]).collect()
}

/// Why a bar goes with either side.
fn neutral(card: &Card, shift: usize) -> Reason {
    let weight = strong(card);
    let said = |pulses: &[usize]| match pulses {
        [] => "none".to_string(),
        _ => by_bar(card.grid, card.score.bars(), pulses),
    };
    let [two, three] = [Side::Two, Side::Three].map(|side| on_the_clave(card, side));
    let bass = |p: &usize| {
        let drums = card.score.drums.as_ref();
        drums
            .and_then(|d| d.at(*p))
            .is_some_and(|s| s.tone == Tone::Bass)
    };
    let end = match two.len() == three.len() {
        true => "no side stands out",
        false if two.iter().chain(&three).any(bass) => {
            "the bass is low and soft, too little to state a side"
        }
        false => "too little to state a side",
    };
    Reason::new(
        format!(
            "Its strong strokes are on {}. The two side of the clave shares {} with them, the three side {}: {end}.",
            said(&weight),
            said(&two),
            said(&three)
        ),
        weight.iter().map(|p| p + shift).collect(),
    )
}

/// Pulses of a card as a player says them: `2 and 3`, and where it has several bars `2 and 3 of the first bar`.
fn by_bar(grid: Grid, bars: usize, pulses: &[usize]) -> String {
    const NAMES: [&str; 2] = ["first", "second"];
    if bars == 1 {
        return grid.spoken_all(pulses);
    }
    let per = grid.pulses_per_bar();
    let said = NAMES.iter().enumerate().filter_map(|(bar, name)| {
        let inside: Vec<usize> = pulses.iter().copied().filter(|p| p / per == bar).collect();
        let at = grid.spoken_all(&inside);
        (!inside.is_empty()).then(|| format!("{at} of the {name} bar"))
    });
    listed(said)
}

/// Where and how sparingly the card comes, which is a habit and not a law.
fn habit(card: &Card, direction: Direction) -> String {
    let own = card.score.bars();
    let place = card.place.map(|place| {
        let of = place.of;
        // A card that belongs on a side comes a bar earlier or later where the phrase goes the other way.
        let turned = place.phrase.is_some_and(|d| d != direction);
        let homes = phrase::phrase(card, of as usize, direction).map(|p| p.homes());
        let home = homes.filter(|h| turned && h.len() == 1).map(|h| h[0] + 1);
        let first = home.unwrap_or(place.bar as usize);
        let bars = words::bars(&(first - 1..first - 1 + own));
        let written = place.phrase.filter(|_| home.is_none());
        let goes = written.or(place.phrase.map(|_| direction));
        let phrase = goes.map_or(String::new(), |d| format!(" in {}", d.name()));
        match phrase::is_at_end(card) {
            true => format!("near the end of a phrase ({bars} of {of}{phrase})"),
            false => format!("in {bars} of {of}{phrase}"),
        }
    });
    let often = card
        .often
        .iter()
        .enumerate()
        .map(|(i, (style, bars))| match (bars, i) {
            (1, _) => format!("in {} in every bar", named(style)),
            (n, 0) => format!("in {} about once in {n} bars", named(style)),
            (n, _) => format!("in {} about once in {n}", named(style)),
        });
    let often = listed(often);
    let facts: Vec<String> = place
        .into_iter()
        .chain([often])
        .filter(|f| !f.is_empty())
        .collect();
    format!("Usually it comes {}. A habit, not a law.", facts.join("; "))
}

/// A style as it is written in a sentence.
fn named(style: &str) -> String {
    style.replace("latin", "Latin")
}
