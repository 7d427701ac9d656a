//! The kind `choice`: a question in words with its answers.

use super::{Choice, Draw, Kind, Prompt, QuestionParts, Reason, Reveal, Sense, Setup};
use crate::deck::Card;
use crate::rhythm::Score;
use crate::sound::Take;

/// Most answers that are offered.
const MOST: usize = 5;
const KEYS: [char; MOST] = ['a', 'b', 'c', 'd', 'e'];

/// Knowledge that has no grid, asked in words with several answers in an order that changes.
pub(super) static CHOICE: Kind = Kind {
    name: "choice",
    about: "a question in words with several answers",
    usual_guess: 0.3,
    concepts: |_, _| vec!["in words"],
    fits,
    make,
    ..Kind::CHOSEN
};

fn fits(card: &Card, sense: Sense) -> bool {
    let answers = card.choice.as_ref().is_some_and(|c| !c.wrong.is_empty());
    sense == Sense::Read && answers
}

fn make(card: &Card, sense: Sense, draw: &mut Draw, setup: &Setup) -> Option<QuestionParts> {
    let words = card.choice.as_ref()?;
    let mut wrong: Vec<&String> = words.wrong.iter().collect();
    while wrong.len() > MOST - 1 {
        wrong.swap_remove(draw.below(wrong.len()));
    }
    let mut labels = vec![&words.right];
    labels.extend(draw.shuffled(wrong));
    let at = draw.below(labels.len());
    labels.swap(0, at);
    let choices = KEYS.iter().zip(labels);
    let choices = choices
        .map(|(key, label)| Choice::new(*key, label))
        .collect();
    let take = Take::new(Score::empty(card.grid), setup.tempo, draw.seed());
    let prompt = Prompt {
        worded: true,
        ..Prompt::new(&words.ask, take.clone(), sense)
    };
    let reveal = Reveal {
        reasons: vec![Reason::of(&words.why)],
        ..Reveal::new(take)
    };
    QuestionParts::one_key(prompt, choices, KEYS[at], reveal)
}
