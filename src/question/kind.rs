//! What every kind of question can do, and the list of kinds.

use super::{Choice, Draw, Form, ItemKey, Prompt, Question, Reason, Reveal, Sense};
use crate::deck::{Card, Deck};
use crate::hands::{Handed, Player};
use crate::rhythm::{Hand, Pattern, Tempo, spaced};
use crate::time::Seconds;
use std::borrow::Cow;
use std::collections::BTreeSet;

/// What a question takes from the player: who they are and where they stand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setup {
    /// Beats a minute at which to ask.
    pub tempo: Tempo,
    /// Whose hands they are.
    pub player: Player,
    /// The card as it is written, for meeting it: begun at its first bar, nothing put around it, all of it answered.
    pub as_written: bool,
    /// Strokes that are asked by ear are weighed against the band, and what hides them stays out. It takes as long as
    /// playing a part of the mix: only for a question that is put to a player.
    pub weighed: bool,
    /// Its card was never shown: the hands are those of the card, not started with the other one.
    pub unseen: bool,
}

/// A kind of question. The same card, sense, seed and set-up always give the same question.
pub struct Kind {
    /// The name in decks, logs and on the command line.
    pub name: &'static str,
    /// One line for the player: what is asked.
    pub about: &'static str,
    /// Chance of guessing, as far as it is known before the question is made: about the middle of the questions over
    /// the shipped decks. Only the choice of questions uses it; an answer counts with its own.
    pub usual_guess: f64,
    /// May the bars begin at a different bar from the card's?
    pub may_turn: bool,
    /// How the answer is given.
    pub answered: AnswerMode,
    /// Ideas that every question of this kind about a card exercises, besides the card's own.
    pub(super) concepts: fn(&Card, Sense) -> Vec<&'static str>,
    /// Concepts that only some questions of this kind exercise: which, is decided when a question is made.
    pub drawn_concepts: fn() -> Vec<String>,
    /// How long an answer is likely to take before one of this kind was given.
    pub(super) usual_seconds: fn(&Card) -> Seconds,
    /// Bars that are heard before the answer as a rule, where it is asked by ear.
    pub(super) usual_bars: fn(&Card) -> usize,
    /// Can this card be asked in this way? Looks at the card's music only, not at its list of kinds.
    pub fits: fn(&Card, Sense) -> bool,
    /// What is asked of a card that fits.
    pub(super) make: fn(&Card, Sense, &mut Draw, &Setup) -> Option<QuestionParts>,
}

/// How an answer is given. One that is written or tapped is made by the player's own hands: it comes once the card is known
/// by an easier kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AnswerMode {
    /// Chosen from a few keys.
    Chosen,
    /// Written onto a grid.
    Written,
    /// Tapped while the band plays.
    Tapped,
}

impl Kind {
    /// What holds of most kinds: four seconds for an answer (chosen); by ear the part is heard once, a single bar mostly
    /// with another one.
    pub(super) const CHOSEN: Kind = Kind {
        name: "",
        about: "",
        usual_guess: 0.5,
        may_turn: false,
        answered: AnswerMode::Chosen,
        concepts: |_, _| Vec::new(),
        drawn_concepts: Vec::new,
        usual_seconds: |_| Seconds::new(4.0),
        usual_bars: |card| super::scene::part(card).bars().max(2),
        fits: |_, _| false,
        make: |_, _, _, _| None,
    };

    /// Is the answer made by the player's own hands, and not chosen?
    pub fn is_produced(&self) -> bool {
        self.answered != AnswerMode::Chosen
    }

    /// Is the answer tapped while the band plays?
    pub fn is_tapped(&self) -> bool {
        self.answered == AnswerMode::Tapped
    }

    /// The card's concepts, those of every question of this kind about it and these, each once.
    fn all_concepts(&self, card: &Card, sense: Sense, more: Vec<String>) -> Vec<String> {
        let own = (self.concepts)(card, sense).into_iter().map(String::from);
        let all: BTreeSet<String> = card
            .concepts
            .iter()
            .cloned()
            .chain(own)
            .chain(more)
            .collect();
        all.into_iter().collect()
    }

    /// The key of the item that it makes of a card.
    fn item(&self, card: &Card, sense: Sense) -> ItemKey {
        ItemKey {
            card: card.id.clone(),
            kind: self.name.to_string(),
            sense,
        }
    }

    /// The question. `None` where the card, as it is written, does not fit.
    pub fn ask(&self, card: &Card, sense: Sense, seed: u64, setup: &Setup) -> Option<Question> {
        if !(self.fits)(card, sense) {
            return None;
        }
        let card = &for_player(card, setup.player);
        let parts = (self.make)(card, sense, &mut Draw::new(seed), setup)?;
        Some(Question {
            item: self.item(card, sense),
            seed,
            prompt: parts.prompt,
            form: parts.form,
            reveal: parts.reveal,
            concepts: self.all_concepts(card, sense, parts.concepts),
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

impl QuestionParts {
    /// A question with no ideas but those of the card and of every question of the kind.
    pub(super) fn new(prompt: Prompt, form: Form, reveal: Reveal) -> QuestionParts {
        QuestionParts {
            prompt,
            form,
            reveal,
            concepts: Vec::new(),
        }
    }

    /// A question of one key, whose answer in words is what stands beside the key. `None` where the right key is none of the
    /// choices.
    pub(super) fn one_key(
        prompt: Prompt,
        choices: Vec<Choice>,
        key: char,
        mut reveal: Reveal,
    ) -> Option<QuestionParts> {
        reveal.answer = choices.iter().find(|c| c.key == key)?.label.clone();
        let form = Form::key(choices, key);
        Some(QuestionParts::new(prompt, form, reveal))
    }
}

/// Every kind of question.
pub static KINDS: &[&Kind] = &[
    &super::side::SIDE,
    &super::strokes::STROKES,
    &super::hand::HAND,
    &super::place::PLACE,
    &super::thin::THIN,
    &super::choice::CHOICE,
    &super::write::WRITE,
    &super::clapping::CLAP,
    &super::hold::HOLD,
    &super::playing::PLAY,
    &super::call::CALL,
];

/// The kind of a name.
pub fn kind(name: &str) -> Option<&'static Kind> {
    KINDS.iter().copied().find(|k| k.name == name)
}

/// Does the card's list of kinds allow this one?
fn lists(card: &Card, kind: &Kind) -> bool {
    card.kinds.is_empty() || card.kinds.iter().any(|k| k == kind.name)
}

/// Can this card be asked in this kind and sense: its music fits and its list of kinds allows it.
pub fn allows(card: &Card, kind: &Kind, sense: Sense) -> bool {
    lists(card, kind) && (kind.fits)(card, sense)
}

/// Makes the question of an item. `None` where the kind is unknown or the card does not fit (any more).
pub fn ask(card: &Card, item: &ItemKey, seed: u64, setup: &Setup) -> Option<Question> {
    let kind = kind(&item.kind)?;
    if card.id != item.card || !lists(card, kind) {
        return None;
    }
    let mut question = kind.ask(card, item.sense, seed, setup)?;
    keep_own_marks(&mut question.reveal.reasons);
    Some(question)
}

/// A reason points at pulses by its number, and a pulse shows one number, that of the first reason. A reason that would
/// have no pulse left points at nothing, so that nobody looks for its number in vain.
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

/// What a card says about itself, as this player plays it: for a left-hander the words left and right change places
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
    spaced(turned)
}

/// Strokes that are written for a right-hander, for these hands.
pub(super) fn for_hands(drums: Pattern, handed: Handed) -> Pattern {
    match handed {
        Handed::Right => drums,
        Handed::Left => mirrored(&drums),
    }
}

/// The same strokes with the hands exchanged.
pub(super) fn mirrored(drums: &Pattern) -> Pattern {
    drums.with_each_hand(|_, s| s.hand.map(Hand::other))
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
    let cards = decks.iter().flat_map(|deck| &deck.cards);
    let ways = KINDS
        .iter()
        .flat_map(|kind| Sense::ALL.map(|sense| (*kind, sense)));
    let all = cards.flat_map(|card| ways.clone().map(move |(kind, sense)| (card, kind, sense)));
    let asked = all.filter(|(card, kind, sense)| allows(card, kind, *sense));
    let item = |(order, (card, kind, sense)): (usize, (&Card, &Kind, Sense))| Item {
        key: kind.item(card, sense),
        concepts: kind.all_concepts(card, sense, Vec::new()),
        order,
        needs: card.needs.clone(),
        drums: card.score.drums.as_ref().map_or(0, |p| p.drums().len()),
    };
    asked.enumerate().map(item).collect()
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
