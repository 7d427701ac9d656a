//! What decks cover: concepts, kinds and senses, tempos, and whether the sides are in balance.

use super::show::ways;
use super::{Card, Deck, States};
use crate::clave::{Direction, Side};
use crate::rhythm::Tempo;
use serde::Serialize;
use std::collections::BTreeMap;

/// What one or more decks cover.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Coverage {
    /// Cards of all the decks.
    pub cards: usize,
    /// Deck by deck.
    pub decks: Vec<DeckCoverage>,
    /// What there is of each concept.
    pub concepts: BTreeMap<String, ConceptCoverage>,
    /// Cards by the way in which they can be asked, such as `side:read`.
    pub asked: BTreeMap<String, usize>,
    /// What the cards state.
    pub sides: Sides,
    /// What looks unbalanced, one sentence each.
    pub remarks: Vec<String>,
}

/// One concept in a coverage report.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct ConceptCoverage {
    /// Cards that have it.
    pub cards: usize,
    /// Slowest and fastest tempo of its cards; `None` where it has only cards of words.
    pub tempo: Option<(Tempo, Tempo)>,
    /// Its cards by the way in which they can be asked, such as `side:read`.
    pub asked: BTreeMap<String, usize>,
}

impl ConceptCoverage {
    fn add(&mut self, card: &Card, ways: &[String]) {
        self.cards += 1;
        widen(&mut self.tempo, card);
        for way in ways {
            *self.asked.entry(way.clone()).or_default() += 1;
        }
    }
}

/// Takes in the tempo range of a card; a card of words has none.
fn widen(range: &mut Option<(Tempo, Tempo)>, card: &Card) {
    if card.choice.is_none() {
        let (low, high) = range.unwrap_or(card.tempo);
        *range = Some((low.min(card.tempo.0), high.max(card.tempo.1)));
    }
}

/// A tempo range as it is written in a table.
fn range(tempo: Option<(Tempo, Tempo)>) -> String {
    tempo.map_or("-".into(), |(low, high)| format!("{low}-{high}"))
}

/// One deck in a coverage report.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct DeckCoverage {
    /// Short name of the deck.
    pub id: String,
    /// Cards in it.
    pub cards: usize,
    /// Slowest and fastest tempo of its cards; `None` where it has only cards of words.
    pub tempo: Option<(Tempo, Tempo)>,
    /// What its cards state.
    pub sides: Sides,
}

/// Cards by what they state, and those with a direction by the side that they begin on as written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Sides {
    /// Cards that state the two side.
    pub two: usize,
    /// Cards that state the three side.
    pub three: usize,
    /// Cards that follow a direction.
    pub direction: usize,
    /// Of those with a direction, written in 2-3.
    pub written_two_three: usize,
    /// Of those with a direction, written in 3-2.
    pub written_three_two: usize,
    /// Cards that fit both sides.
    pub neither: usize,
    /// Nothing to do with clave.
    pub without: usize,
}

/// Reckons what decks cover. `asked` names the ways in which a card can be asked; `beside` are decks that are drilled
/// along with them: a concept that has other cards there is not alone.
pub fn coverage(decks: &[Deck], beside: &[Deck], asked: impl Fn(&Card) -> Vec<String>) -> Coverage {
    let mut found = Coverage::default();
    for deck in decks {
        let mut here = DeckCoverage {
            id: deck.id.clone(),
            cards: deck.cards.len(),
            ..DeckCoverage::default()
        };
        for card in &deck.cards {
            found.cards += 1;
            let ways = asked(card);
            for concept in &card.concepts {
                let entry = found.concepts.entry(concept.clone()).or_default();
                entry.add(card, &ways);
            }
            for way in ways {
                *found.asked.entry(way).or_default() += 1;
            }
            here.sides.count(card);
            found.sides.count(card);
            widen(&mut here.tempo, card);
        }
        found.decks.push(here);
    }
    found.remarks = remarks(&found, beside);
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

fn remarks(found: &Coverage, beside: &[Deck]) -> Vec<String> {
    let mut remarks = Vec::new();
    let (two, three, direction) = (found.sides.two, found.sides.three, found.sides.direction);
    let sided = two + three;
    if sided >= 4 && !(0.45..=0.55).contains(&(two as f64 / sided as f64)) {
        remarks.push(format!(
            "of {sided} single bars {two} state the two side and {three} the three side: always giving the same answer would do well"
        ));
    }
    let (forth, back) = (found.sides.written_two_three, found.sides.written_three_two);
    if direction >= 8 && !(0.35..=0.65).contains(&(forth as f64 / direction as f64)) {
        remarks.push(format!(
            "of {direction} cards with a direction {forth} are written in 2-3 and {back} in 3-2: phrases of odd length and places are asked as written"
        ));
    }
    if sided + direction >= 8 && found.sides.neither == 0 {
        let both = "no part fits both sides: a player learns to look for a side everywhere";
        remarks.push(both.into());
    }
    let elsewhere = |concept: &String| {
        let mut cards = beside.iter().flat_map(|d| &d.cards);
        cards.any(|c| c.concepts.contains(concept))
    };
    let once = found.concepts.iter().filter(|(_, c)| c.cards == 1);
    let alone: Vec<String> = once
        .filter(|(concept, _)| !elsewhere(concept))
        .map(|(concept, _)| format!("`{concept}`"))
        .collect();
    if !alone.is_empty() {
        remarks.push(format!(
            "only one card has each of these: {}; a concept is learned from several cards",
            alone.join(", ")
        ));
    }
    remarks
}

impl std::fmt::Display for Coverage {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let width = self.decks.iter().map(|d| d.id.len()).max();
        let width = width.unwrap_or(4).max(5);
        writeln!(
            f,
            "{:width$} cards    tempo  two  three  direction     both  without",
            "deck"
        )?;
        let decks = self.decks.iter();
        let decks = decks.map(|d| (d.id.as_str(), d.cards, range(d.tempo), d.sides));
        for (name, cards, tempo, s) in decks.chain([("all", self.cards, String::new(), self.sides)])
        {
            write!(
                f,
                "{name:width$} {cards:>5} {tempo:>8} {:>4} {:>6}",
                s.two, s.three
            )?;
            let (direction, both) = (s.direction, s.neither);
            writeln!(f, " {direction:>10} {both:>8} {:>8}", s.without)?;
        }
        writeln!(
            f,
            "Of the cards with a direction {} are written in 2-3 and {} in 3-2; a question begins at any bar.",
            self.sides.written_two_three, self.sides.written_three_two
        )?;
        let asked = self.asked.iter();
        let asked = asked.map(|(way, n)| format!("{} {n}", ways([way])));
        let asked = asked.collect::<Vec<_>>().join(", ");
        writeln!(f, "\nCards by the way they can be asked: {asked}")?;
        let width = self.concepts.keys().map(|c| c.chars().count()).max();
        let width = width.unwrap_or(7).max(7);
        writeln!(f, "\n{:width$} cards    tempo  can be asked", "concept")?;
        for (name, concept) in &self.concepts {
            let (cards, tempo) = (concept.cards, range(concept.tempo));
            let ways = ways(concept.asked.keys());
            writeln!(f, "{name:width$} {cards:>5} {tempo:>8}  {ways}")?;
        }
        for remark in &self.remarks {
            writeln!(f, "\nLook at this: {remark}.")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deck::read;

    /// Cards with these sides, and one in words; each bar is of the same strokes, since only counts matter here.
    fn deck(states: &[&str]) -> Deck {
        let mut text = "title = \"T\"\nsource = \"s\"\n".to_string();
        for (i, states) in states.iter().enumerate() {
            let clave = if *states == "three side" {
                "3-2"
            } else {
                "2-3"
            };
            text += &format!(
                "[[card]]\nid = \"c{i}\"\ntitle = \"C\"\nclave = \"son {clave}\"\nstates = \"{states}\"\n\
                 concepts = [\"corner\"]\ntempo = [{}, {}]\ngrid = \"\"\"\ncount | 1 & 2 & 3 & 4 & |\n\
                 conga | H T S T H T O O |\n\"\"\"\n",
                100 + i,
                150 + i
            );
        }
        text += "[[card]]\nid = \"w\"\ntitle = \"W\"\nconcepts = [\"corner\", \"words\"]\nask = \"?\"\nright = \"a\"\n\
                 wrong = [\"b\"]\nwhy = \"c\"\n";
        let (deck, found) = read("t.toml", &text);
        assert_eq!(found, []);
        deck
    }

    fn asked(card: &Card) -> Vec<String> {
        match card.choice {
            Some(_) => vec!["choice:read".into()],
            None => vec!["side:read".into(), "side:hear".into()],
        }
    }

    #[test]
    fn each_concept_is_counted_by_cards_tempos_and_ways() {
        let found = coverage(&[deck(&["two side", "three side"])], &[], asked);
        let corner = &found.concepts["corner"];
        let tempo = corner.tempo.map(|(low, high)| (low.bpm(), high.bpm()));
        assert_eq!((corner.cards, tempo), (3, Some((100.0, 151.0))));
        assert_eq!(corner.asked["side:read"], 2);
        assert_eq!(
            ways(corner.asked.keys()),
            "choice by eye, side by eye and by ear"
        );
        let words = &found.concepts["words"];
        assert_eq!((words.cards, words.tempo), (1, None));
        assert_eq!((found.sides.two, found.sides.three), (1, 1));
        assert_eq!(found.asked["side:hear"], 2);
    }

    #[test]
    fn a_concept_is_alone_only_where_no_deck_beside_has_it() {
        let own = deck(&["two side"]);
        let says = |beside: &[Deck]| {
            let found = coverage(std::slice::from_ref(&own), beside, asked);
            found.remarks.iter().any(|r| r.contains("`words`"))
        };
        assert!(says(&[]) && !says(&[deck(&[])]));
    }

    #[test]
    fn sides_out_of_balance_are_remarked_on() {
        let balanced = coverage(&[deck(&["two side", "three side"].repeat(4))], &[], asked);
        let turned = coverage(&[deck(&["two side"; 8])], &[], asked);
        let says = |c: &Coverage| c.remarks.iter().any(|r| r.contains("the two side and"));
        assert!(!says(&balanced) && says(&turned));
        assert!(
            turned
                .to_string()
                .contains("Look at this: of 8 single bars")
        );
    }
}
