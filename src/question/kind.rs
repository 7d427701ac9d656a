//! What every kind of question can do, and the list of kinds.

use super::{Draw, Form, ItemKey, Prompt, Question, Reason, Reveal, Sense};
use crate::deck::{Card, Deck};
use crate::hands::{Handed, Player};
use crate::rhythm::{Hand, Pattern};
use std::borrow::Cow;

/// What a question takes from the player: who they are and where they stand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setup {
    /// Beats a minute at which to ask.
    pub bpm: f64,
    /// Whose hands they are.
    pub player: Player,
    /// The card as it is written, for meeting it: begun at its first bar, nothing put around it, all of it answered.
    pub as_written: bool,
    /// Strokes that are asked by ear are weighed against the band, and what hides them stays out. It takes as long as
    /// playing a part of the mix: for a question that is put to a player.
    pub weighed: bool,
}

/// A sort of question. The same card, sense, seed and set-up always give the same question.
pub trait Kind: Sync {
    /// The name in decks, logs and on the command line.
    fn name(&self) -> &'static str;

    /// One line for the player: what is asked.
    fn about(&self) -> &'static str;

    /// Can this card be asked so? Looks at the card's music only, not at its list of kinds.
    fn fits(&self, card: &Card, sense: Sense) -> bool;

    /// Ideas that every question of this kind about this card exercises, besides the card's own.
    fn concepts(&self, card: &Card, sense: Sense) -> Vec<String>;

    /// Concepts that only some questions of this kind exercise: which, is decided when a question is made.
    fn drawn_concepts(&self) -> Vec<String> {
        Vec::new()
    }

    /// Chance of guessing, as far as it can be said before the question is made: of the questions over the shipped decks
    /// about the middle. Only the choice of questions goes by it; an answer counts with its own.
    fn usual_guess(&self) -> f64;

    /// Seconds that an answer is likely to take before one of this kind was given (chosen: four).
    fn usual_seconds(&self, _card: &Card) -> f64 {
        4.0
    }

    /// Bars that are heard before the answer as a rule, where it is asked by ear: the part once; a single bar is mostly
    /// heard with another one.
    fn usual_bars(&self, card: &Card) -> usize {
        super::scene::part(card).bars().max(2)
    }

    /// May the bars begin at another bar than on the card?
    fn may_turn(&self) -> bool {
        false
    }

    /// Is the answer made by the player's own hands, and not chosen? Such a question comes once the card is known by an
    /// easier kind.
    fn is_produced(&self) -> bool {
        self.is_tapped()
    }

    /// Is the answer tapped while the band plays?
    fn is_tapped(&self) -> bool {
        false
    }

    /// What is asked of the card. `None` where it does not fit.
    fn make(
        &self,
        card: &Card,
        sense: Sense,
        draw: &mut Draw,
        setup: &Setup,
    ) -> Option<QuestionParts>;

    /// The question. `None` where the card does not fit.
    fn ask(&self, card: &Card, sense: Sense, seed: u64, setup: &Setup) -> Option<Question> {
        let parts = self.make(card, sense, &mut Draw::new(seed), setup)?;
        Some(Question {
            item: key(self.name(), card, sense),
            seed,
            prompt: parts.prompt,
            form: parts.form,
            reveal: parts.reveal,
            concepts: concepts(card, [self.concepts(card, sense), parts.concepts].concat()),
        })
    }
}

/// What a kind makes of a card; the rest of the question follows from the card and the kind.
pub struct QuestionParts {
    /// What is shown or played.
    pub prompt: Prompt,
    /// How it is answered, and what is right.
    pub form: Form,
    /// What is shown after the answer.
    pub reveal: Reveal,
    /// Ideas that this very question exercises, besides those of the card and of every question of the kind.
    pub concepts: Vec<String>,
}

/// Every kind of question.
pub static KINDS: &[&dyn Kind] = &[
    &super::side::SideKind,
    &super::strokes::Strokes,
    &super::hand::HandKind,
    &super::place::Place,
    &super::thin::Thin,
    &super::choice::InWords,
    &super::write::Write,
    &super::clapping::Clap,
    &super::hold::HoldKind,
    &super::playing::Play,
    &super::call::CallKind,
];

/// The kind of a name.
pub fn kind(name: &str) -> Option<&'static dyn Kind> {
    KINDS.iter().copied().find(|k| k.name() == name)
}

/// Can this card be asked in this kind and sense: its music fits and its list of kinds allows it.
pub fn allows(card: &Card, kind: &dyn Kind, sense: Sense) -> bool {
    (card.kinds.is_empty() || card.kinds.iter().any(|k| k == kind.name())) && kind.fits(card, sense)
}

/// Makes the question of an item. `None` where the kind is unknown or the card does not fit (any more).
pub fn ask(card: &Card, item: &ItemKey, seed: u64, setup: &Setup) -> Option<Question> {
    let kind = kind(&item.kind)?;
    if card.id != item.card || !allows(card, kind, item.sense) {
        return None;
    }
    let card = for_player(card, setup.player);
    let mut question = kind.ask(&card, item.sense, seed, setup)?;
    keep_own_marks(&mut question.reveal.reasons);
    Some(question)
}

/// A reason points at pulses by its number, and a pulse shows one number, that of the first reason. One that would
/// have none left to itself points at nothing, so that no number is looked for in vain.
fn keep_own_marks(reasons: &mut [Reason]) {
    let mut taken: Vec<usize> = Vec::new();
    for reason in reasons {
        if reason.pulses.iter().all(|p| taken.contains(p)) {
            reason.pulses.clear();
        }
        taken.extend(&reason.pulses);
    }
}

/// The card as this player plays it: cards are written for right-handers, a left-hander plays the mirror image.
fn for_player(card: &Card, player: Player) -> Cow<'_, Card> {
    match (player.handed, &card.score.drums) {
        (Handed::Left, Some(drums)) => {
            let mut card = card.clone();
            card.score.drums = Some(mirrored(drums));
            Cow::Owned(card)
        }
        _ => Cow::Borrowed(card),
    }
}

/// What a card says of itself, as this player plays it: for a left-hander the words left and right change places
/// where they speak of hands.
pub fn about(card: &Card, player: Player) -> String {
    match (player.handed, &card.score.drums) {
        (Handed::Left, Some(_)) => mirrored_words(&card.about),
        _ => card.about.clone(),
    }
}

fn mirrored_words(text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let bare = |i: usize| {
        let word = words.get(i).copied().unwrap_or("");
        word.trim_matches(|c: char| !c.is_alphabetic())
            .to_lowercase()
    };
    let side = |i: usize| matches!(bare(i).as_str(), "left" | "right");
    let of_a_hand = |i: usize| {
        let before = i.checked_sub(1).map_or(String::new(), bare);
        before == "the" || bare(i + 1).starts_with("hand") || side(i + 1) || i > 0 && side(i - 1)
    };
    let turned = words
        .iter()
        .enumerate()
        .map(|(i, word)| match of_a_hand(i) {
            true if side(i) && word.contains("eft") => {
                word.replace("left", "right").replace("Left", "Right")
            }
            true if side(i) => word.replace("right", "left").replace("Right", "Left"),
            _ => word.to_string(),
        });
    turned.collect::<Vec<_>>().join(" ")
}

/// The same strokes with the hands exchanged.
pub(super) fn mirrored(drums: &Pattern) -> Pattern {
    let hands: Vec<Option<Hand>> = drums.hands().iter().map(|h| h.map(Hand::other)).collect();
    drums.with_hands(&hands)
}

/// An item with what planning needs to know of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Card, kind and sense.
    pub key: ItemKey,
    /// The ideas that it exercises.
    pub concepts: Vec<String>,
    /// Place in the order of learning, from 0: decks as given, cards as written.
    pub order: usize,
    /// Ids of cards that come first.
    pub needs: Vec<String>,
    /// Drums that the player needs to play it; 0 where only the band plays.
    pub drums: usize,
}

/// Every item of these decks, in the order of learning.
pub fn items(decks: &[Deck]) -> Vec<Item> {
    let mut items = Vec::new();
    for deck in decks {
        for card in &deck.cards {
            for kind in KINDS {
                for sense in Sense::ALL {
                    if allows(card, *kind, sense) {
                        items.push(item(card, *kind, sense, items.len()));
                    }
                }
            }
        }
    }
    items
}

/// The card's concepts and these, in order, each once.
fn concepts(card: &Card, more: Vec<String>) -> Vec<String> {
    let mut concepts = card.concepts.clone();
    concepts.extend(more);
    concepts.sort();
    concepts.dedup();
    concepts
}

/// The key of the item that a card, a kind and a sense make.
fn key(kind: &str, card: &Card, sense: Sense) -> ItemKey {
    ItemKey {
        card: card.id.clone(),
        kind: kind.to_string(),
        sense,
    }
}

fn item(card: &Card, kind: &dyn Kind, sense: Sense, order: usize) -> Item {
    Item {
        key: key(kind.name(), card, sense),
        concepts: concepts(card, kind.concepts(card, sense)),
        order,
        needs: card.needs.clone(),
        drums: card.score.drums.as_ref().map_or(0, |p| p.drums().len()),
    }
}

/// The card of an item in these decks.
pub fn card<'a>(decks: &'a [Deck], id: &str) -> Option<&'a Card> {
    decks.iter().flat_map(|d| &d.cards).find(|c| c.id == id)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_about_hands_are_mirrored_and_others_stay() {
        let text =
            "The left hand rocks, so that the right is free; 4 is left out. Right left right.";
        assert_eq!(
            mirrored_words(text),
            "The right hand rocks, so that the left is free; 4 is left out. Left right left."
        );
    }
}
