use crate::clave::{Clave, Side};
use crate::rhythm::{Grid, Score};

/// A deck as read: its cards in the order in which they are to be learned.
#[derive(Clone, Debug, PartialEq)]
pub struct Deck {
    /// Short name, unique among decks: letters, digits and hyphens.
    pub id: String,
    pub title: String,
    /// What the deck is for, one or two sentences.
    pub about: String,
    /// Ids of decks that come before this one.
    pub needs: Vec<String>,
    pub cards: Vec<Card>,
}

/// One idea: a part or a phrase with what may be asked about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// `deck/name`: the card's identity in the log. A new title, order or tempo leaves it as it is.
    pub id: String,
    pub title: String,
    /// What the player reads when meeting the card: one or two sentences.
    pub about: String,
    pub grid: Grid,
    /// The part under study, without the clave, in the direction of `clave`. The player's drums where the card has
    /// them, otherwise the lines of the band.
    pub score: Score,
    /// The clave under the first bar of `score`. `None` where the card has nothing to do with clave.
    pub clave: Option<Clave>,
    /// What the part says about the clave.
    pub states: States,
    /// Slowest and fastest tempo at which the card is asked, beats a minute (see [`Grid`] for the beat).
    pub tempo: (f64, f64),
    /// Where in a phrase it comes.
    pub place: Option<Place>,
    /// Styles where it is at home, as players call them.
    pub styles: Vec<String>,
    /// Ideas that it shares with other cards.
    pub concepts: Vec<String>,
    /// Names of the kinds of question that it allows; empty means every kind that fits.
    pub kinds: Vec<String>,
    /// Where its truth comes from: a published source or `common practice, no source`.
    pub source: String,
}

/// What a part says about the clave.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum States {
    /// Nothing: it goes with either side (a neutral part).
    Neither,
    /// A single bar that belongs to one side.
    Bar(Side),
    /// Two or more bars that follow the direction of the card's clave.
    Direction,
}

/// Bar `bar` (from 1) of a phrase of `of` bars.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    pub bar: u32,
    pub of: u32,
}
