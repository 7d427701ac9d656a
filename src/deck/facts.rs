//! A card as data, for programs that read what `whichside deck show` says.

use super::show::{place, states, sticking, with_clave};
use super::{Card, School, WordChoice};
use crate::rhythm::notation::write_block;
use crate::rhythm::{Score, Tempo};
use serde::Serialize;
use std::collections::BTreeMap;

/// What a card says, in the words of the deck language.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CardFacts {
    /// `deck/name`.
    pub id: String,
    /// Its name as players read it.
    pub title: String,
    /// What the player reads when meeting it.
    pub about: String,
    /// The rows of its grid with the clave; `None` for a card of words.
    pub grid: Option<String>,
    /// The rows of the thinner form, where it has one.
    pub thinner: Option<String>,
    /// The tempo from which the thinner form is played.
    pub thin_from: Option<Tempo>,
    /// `two side`, `three side`, `direction` or `neither`.
    pub states: Option<String>,
    /// The clave under its first bar.
    pub clave: Option<String>,
    /// Slowest and fastest tempo.
    pub tempo: Option<(Tempo, Tempo)>,
    /// The hands of its strokes in order, `?` where open.
    pub sticking: Option<String>,
    /// The named sticking that is its idea.
    pub rudiment: Option<String>,
    /// Where it comes in a phrase.
    pub place: Option<String>,
    /// By style: at most once in this many bars.
    pub often: BTreeMap<String, u32>,
    /// The school of its deck.
    pub school: Option<String>,
    /// The concepts that it shares with other cards.
    pub concepts: Vec<String>,
    /// Ids of cards that come before it.
    pub needs: Vec<String>,
    /// Where its truth comes from.
    pub source: String,
    /// The question of a card of words with its answers.
    pub words: Option<WordChoice>,
    /// The ways in which it can be asked, such as `side:read`.
    pub asked: Vec<String>,
}

impl CardFacts {
    /// The facts of a card; `asked` names the ways in which it can be asked.
    pub fn new(card: &Card, asked: Vec<String>) -> CardFacts {
        let words = card.choice.as_ref();
        let music = words.is_none();
        CardFacts {
            id: card.id.clone(),
            title: card.title.clone(),
            about: card.about.clone(),
            grid: music.then(|| write_block(&with_clave(card))),
            thinner: card.thinned().map(|thin| write_block(&Score::of(thin))),
            thin_from: card.thin_from,
            states: music.then(|| states(card).to_string()),
            clave: card.clave.map(|c| c.to_string()),
            tempo: music.then_some(card.tempo),
            sticking: card.score.drums.as_ref().map(sticking),
            rudiment: card.rudiment.map(|r| r.name.to_string()),
            place: card.place.map(place),
            often: card.often.iter().cloned().collect(),
            school: card.school.as_ref().map(School::to_string),
            concepts: card.concepts.clone(),
            needs: card.needs.clone(),
            source: card.source.clone(),
            words: words.cloned(),
            asked,
        }
    }
}
