//! Decks and their cards as the rest of the program has them.

use super::thinning_effect::ThinningEffect;
use crate::clave::{Clave, Direction, LowDrum, Side, SideClassifier};
use crate::hands::{Player, Rudiment};
use crate::rhythm::{Grid, Pattern, Score, Tempo};

/// A deck as read: its cards in the order in which they are to be learned.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Deck {
    /// Short name, unique among decks: letters, digits and hyphens.
    pub id: String,
    /// Its name as players read it.
    pub title: String,
    /// What the deck is for, one or two sentences.
    pub about: String,
    /// Ids of decks that come before this one.
    pub needs: Vec<String>,
    /// The school that the deck teaches, where there are several. Where two decks differ only in the way of one
    /// subject, a player drills one of them.
    pub school: Option<School>,
    /// In the order in which they are to be learned.
    pub cards: Vec<Card>,
}

/// One idea: a part or a phrase with what may be asked about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// `deck/name`: the card's identity in the log. A new title, order or tempo leaves it as it is.
    pub id: String,
    /// Its name as players read it.
    pub title: String,
    /// What the player reads when meeting the card: one or two sentences.
    pub about: String,
    /// The grid of its part; it does not matter on a card of words.
    pub grid: Grid,
    /// The part under study, without the clave, in the direction of `clave`. The player's drums where the card has
    /// them, otherwise the lines of the band. A card about the clave itself has the clave as its only line; a card
    /// that is only a choice of words (`choice`) has an empty score.
    pub score: Score,
    /// The clave under the first bar of `score`. `None` where the card has nothing to do with clave.
    pub clave: Option<Clave>,
    /// What the part says about the clave. [`States::Bar`] cards are one bar long.
    pub states: States,
    /// Slowest and fastest tempo at which the card is asked (see [`Grid`] for the beat).
    pub tempo: (Tempo, Tempo),
    /// Where in a phrase it comes.
    pub place: Option<PhrasePlace>,
    /// Styles where it is at home, as players call them.
    pub styles: Vec<String>,
    /// Concepts that it shares with other cards.
    pub concepts: Vec<String>,
    /// Names of the kinds of question that it allows; empty means every kind that fits.
    pub kinds: Vec<String>,
    /// Where its truth comes from: a published source or `common practice, no source`.
    pub source: String,
    /// Ids of cards that come before this one.
    pub needs: Vec<String>,
    /// The school that it follows, where there are several; that of the deck where the card names none.
    pub school: Option<School>,
    /// The named sticking that is the idea of the card: its hands are right by definition, and no other.
    pub rudiment: Option<&'static Rudiment>,
    /// Pulses of the drums whose strokes are left out where the hands do not get through all of them: the thinner
    /// form.
    pub thin: Vec<usize>,
    /// The slowest tempo of the thinner form. `None`: the tempo at which the hands no longer get through every stroke.
    pub thin_from: Option<Tempo>,
    /// How sparingly it comes: usually at most once in this many bars, by style.
    pub often: Vec<(String, u32)>,
    /// Knowledge asked in words.
    pub choice: Option<WordChoice>,
}

impl Card {
    /// The clave under its first bar, if it has one. A bar that belongs to a side lies on that side.
    pub fn clave_under(&self) -> Option<Clave> {
        let clave = self.clave?;
        Some(match self.states {
            States::Bar(side) => Clave {
                direction: Direction::starting(side),
                ..clave
            },
            States::Neither | States::Direction => clave,
        })
    }

    /// The side on which its school brings in the low drum, where it follows one that says so.
    pub fn low_drum(&self) -> Option<LowDrum> {
        self.school.as_ref().and_then(School::low_drum)
    }

    /// How its parts are listened to: with its school of the low drum.
    pub fn classifier(&self) -> SideClassifier {
        SideClassifier {
            low_drum: self.low_drum(),
            ..SideClassifier::default()
        }
    }

    /// What leaving out the strokes of the thinner form does for the hands of `player`. `None` where there is no
    /// thinner form.
    pub fn relief(&self, player: &Player) -> Option<ThinningEffect> {
        let drums = self.score.drums.as_ref()?;
        ThinningEffect::new(drums, &self.thin, player)
    }

    /// Is the thinner form played at `tempo`: is that more than these hands can do with every stroke, and
    /// do they get through clearly more tempo without the strokes named? `thin_from` may only make it start later.
    pub fn is_thin_at(&self, tempo: Tempo, player: &Player) -> bool {
        let helps = self.relief(player).filter(ThinningEffect::is_clear);
        let from = |relief: ThinningEffect| self.thin_from.max(Some(relief.whole.floor()));
        helps.is_some_and(|relief| Some(tempo) >= from(relief))
    }

    /// The drums in the thinner form for fast tempos, where the card has one.
    pub fn thinned(&self) -> Option<Pattern> {
        let drums = self.score.drums.as_ref()?;
        (!self.thin.is_empty()).then(|| drums.without(&self.thin))
    }
}

/// A question in words with its answers.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct WordChoice {
    /// The question.
    pub ask: String,
    /// The right answer.
    pub right: String,
    /// At least one.
    pub wrong: Vec<String>,
    /// The reason, shown with the answer.
    pub why: String,
}

/// One of several ways in which a thing is taught, none of them wrong. Written `subject: way`.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct School {
    /// The thing that is taught in several ways.
    pub subject: String,
    /// The way of this school.
    pub way: String,
}

impl School {
    /// The school that is written `subject: way`; `None` where there is no colon.
    pub fn parse(text: &str) -> Option<School> {
        let (subject, way) = text.split_once(':')?;
        Some(School {
            subject: subject.trim().into(),
            way: way.trim().into(),
        })
    }

    /// The side on which this school brings in the low drum, where that is its subject: `low drum: three side`. Only
    /// the first word of the way decides.
    pub fn low_drum(&self) -> Option<LowDrum> {
        let mut words = self.way.split(|c: char| !c.is_alphabetic());
        match (self.subject.as_str(), words.next()) {
            ("low drum", Some("three")) => Some(LowDrum::OnThreeSide),
            ("low drum", Some("two")) => Some(LowDrum::OnTwoSide),
            _ => None,
        }
    }
}

/// As it is written: `subject: way`.
impl std::fmt::Display for School {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.subject, self.way)
    }
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
pub struct PhrasePlace {
    /// Where it comes, from 1.
    pub bar: u32,
    /// Bars of the phrase.
    pub of: u32,
    /// The direction in which the phrase begins. `None` where the bar may come in either.
    pub phrase: Option<Direction>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_low_drum_is_read_from_the_first_word_of_its_school() {
        let low_drum = |subject: &str, way: &str| {
            let (subject, way) = (subject.into(), way.into());
            School { subject, way }.low_drum()
        };
        assert_eq!(
            low_drum("low drum", "three side"),
            Some(LowDrum::OnThreeSide)
        );
        assert_eq!(
            low_drum("low drum", "two-side, always"),
            Some(LowDrum::OnTwoSide)
        );
        assert_eq!(low_drum("low drum", "twofold"), None);
        assert_eq!(low_drum("bell", "three side"), None);
    }

    #[test]
    fn a_bar_of_a_side_lies_on_that_side_of_the_clave() {
        let decks = crate::deck::shipped();
        let mut bars = 0;
        for card in decks.iter().flat_map(|d| &d.cards) {
            let under = card.clave_under();
            assert_eq!(under.map(|c| c.family), card.clave.map(|c| c.family));
            match card.states {
                States::Bar(side) => {
                    bars += 1;
                    assert_eq!(under.unwrap().direction.side(0), side, "{}", card.id);
                }
                States::Neither | States::Direction => assert_eq!(under, card.clave),
            }
        }
        assert!(bars > 20, "{bars}");
    }
}
