//! What decks cover: concepts, kinds and senses, tempos, and whether the sides are in balance.

use super::{Card, Deck, States};
use crate::clave::{Direction, Side};
use serde::Serialize;
use std::collections::BTreeMap;

/// What one or more decks cover.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Coverage {
    pub cards: usize,
    pub decks: Vec<DeckCoverage>,
    /// Cards by concept.
    pub concepts: BTreeMap<String, usize>,
    /// Cards by the way in which they can be asked, such as `side:read`.
    pub asked: BTreeMap<String, usize>,
    pub sides: Sides,
    /// What looks unbalanced, one sentence each.
    pub remarks: Vec<String>,
}

/// One deck in a coverage report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DeckCoverage {
    pub id: String,
    pub cards: usize,
    /// Slowest and fastest tempo of its cards; `None` where it has only cards of words.
    pub tempo: Option<(f64, f64)>,
    pub sides: Sides,
}

/// Cards by what they state, and those with a direction by the side that they begin on as written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Sides {
    pub two: usize,
    pub three: usize,
    pub direction: usize,
    /// Of those with a direction, written in 2-3.
    pub written_two_three: usize,
    /// Of those with a direction, written in 3-2.
    pub written_three_two: usize,
    pub neither: usize,
    /// Nothing to do with clave.
    pub without: usize,
}

/// Reckons what decks cover. `asked` names the ways in which a card can be asked.
pub fn coverage(decks: &[Deck], asked: impl Fn(&Card) -> Vec<String>) -> Coverage {
    let mut found = Coverage {
        cards: 0,
        decks: Vec::new(),
        concepts: BTreeMap::new(),
        asked: BTreeMap::new(),
        sides: Sides::default(),
        remarks: Vec::new(),
    };
    for deck in decks {
        let mut here = DeckCoverage {
            id: deck.id.clone(),
            cards: deck.cards.len(),
            tempo: None,
            sides: Sides::default(),
        };
        for card in &deck.cards {
            found.cards += 1;
            for concept in &card.concepts {
                *found.concepts.entry(concept.clone()).or_default() += 1;
            }
            for way in asked(card) {
                *found.asked.entry(way).or_default() += 1;
            }
            here.sides.count(card);
            found.sides.count(card);
            if card.choice.is_none() {
                let (low, high) = here.tempo.unwrap_or(card.tempo);
                here.tempo = Some((low.min(card.tempo.0), high.max(card.tempo.1)));
            }
        }
        found.decks.push(here);
    }
    found.remarks = remarks(&found);
    found
}

impl Sides {
    fn count(&mut self, card: &Card) {
        let count = match (card.states, card.clave) {
            (_, None) => &mut self.without,
            (States::Neither, _) => &mut self.neither,
            (States::Bar(Side::Two), _) => &mut self.two,
            (States::Bar(Side::Three), _) => &mut self.three,
            (States::Direction, Some(clave)) => {
                match clave.direction {
                    Direction::TwoThree => self.written_two_three += 1,
                    Direction::ThreeTwo => self.written_three_two += 1,
                }
                &mut self.direction
            }
        };
        *count += 1;
    }
}

fn remarks(found: &Coverage) -> Vec<String> {
    let mut remarks = Vec::new();
    let Sides {
        two,
        three,
        neither,
        direction,
        ..
    } = found.sides;
    let sided = two + three;
    if sided >= 4 && !(0.45..=0.55).contains(&(two as f64 / sided as f64)) {
        remarks.push(format!(
            "{two} single bars state the two side and {three} the three side: always answering the same would do well"
        ));
    }
    let all = sided + direction + neither;
    if all >= 8 && neither == 0 {
        remarks.push(
            "no part states neither side: a player learns to look for a side everywhere".into(),
        );
    }
    for (concept, _) in found.concepts.iter().filter(|(_, n)| **n == 1) {
        remarks.push(format!("only one card has the concept `{concept}`"));
    }
    remarks
}

impl std::fmt::Display for Coverage {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let width = self
            .decks
            .iter()
            .map(|d| d.id.len())
            .max()
            .unwrap_or(4)
            .max(5);
        let side = |s: &Sides| {
            let Sides {
                two,
                three,
                direction,
                neither,
                without,
                ..
            } = *s;
            format!("{two:>4} {three:>6} {direction:>10} {neither:>8} {without:>8}")
        };
        writeln!(
            f,
            "{:width$} cards    tempo  two  three  direction  neither  without",
            "deck"
        )?;
        for deck in &self.decks {
            let tempo = deck
                .tempo
                .map_or("-".into(), |(low, high)| format!("{low}-{high}"));
            writeln!(
                f,
                "{:width$} {:>5} {tempo:>8} {}",
                deck.id,
                deck.cards,
                side(&deck.sides)
            )?;
        }
        writeln!(
            f,
            "{:width$} {:>5} {:>8} {}",
            "all",
            self.cards,
            "",
            side(&self.sides)
        )?;
        writeln!(
            f,
            "Of the cards with a direction {} are written in 2-3 and {} in 3-2; a question begins at any bar.",
            self.sides.written_two_three, self.sides.written_three_two
        )?;
        let list = |counts: &BTreeMap<String, usize>| {
            counts
                .iter()
                .map(|(name, n)| format!("{name} {n}"))
                .collect::<Vec<_>>()
                .join(", ")
        };
        writeln!(
            f,
            "\nCards by the way they can be asked: {}",
            list(&self.asked)
        )?;
        writeln!(f, "\nCards by concept: {}", list(&self.concepts))?;
        for remark in &self.remarks {
            writeln!(f, "\nLook at this: {remark}.")?;
        }
        Ok(())
    }
}
