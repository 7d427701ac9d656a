//! Cards of the player's own decks whose strokes have changed: still the same idea, or a new one?

use super::input;
use super::record::{Idea, Record};
use crate::deck::{self, Deck};
use std::io::{self, BufRead, Write};

/// A player who can be asked.
pub struct IdeaPrompt<'a> {
    pub input: &'a mut dyn BufRead,
    pub out: &'a mut dyn Write,
}

/// Compares the cards of the player's `own` decks with what they were when last seen. Where the strokes of a card that has a history
/// differ, the player is asked whether it is the same idea: if so it keeps its history, if not it starts over. Without
/// anybody to ask, the history stays and the question waits; a remark says so.
///
/// # Errors
/// Those of the store and the terminal.
pub fn settle<'a>(
    record: &mut Record,
    own: impl Iterator<Item = &'a Deck>,
    mut prompt: Option<IdeaPrompt>,
) -> anyhow::Result<Vec<String>> {
    let mut ideas = record.ideas()?;
    let before = ideas.clone();
    let mut remarks = Vec::new();
    for card in own.flat_map(|d| &d.cards) {
        let now = deck::idea(card);
        let known = ideas.get(&card.id).cloned();
        let changed = known.as_ref().filter(|k| !deck::same_idea(&k.text, &now));
        let answers = match changed {
            Some(_) => record.answers(&card.id)?,
            None => 0,
        };
        let mut since = known.as_ref().map_or(0, |k| k.since);
        if let Some(changed) = changed.filter(|_| answers > 0) {
            let Some(prompt) = &mut prompt else {
                remarks.push(format!(
                    "The strokes of {} have changed since you answered it. Start the drill in a terminal to say whether it is still the same idea.",
                    card.id
                ));
                continue;
            };
            match same(&card.title, &card.id, answers, &changed.text, &now, prompt)? {
                Some(true) => {}
                Some(false) => since = record.start_over(&card.id)?,
                None => continue,
            }
        }
        ideas.insert(card.id.clone(), Idea { text: now, since });
    }
    if ideas != before {
        record.keep_ideas(&ideas)?;
    }
    Ok(remarks)
}

/// Asks; `None` where no answer comes.
fn same(
    title: &str,
    id: &str,
    answers: usize,
    before: &str,
    now: &str,
    prompt: &mut IdeaPrompt,
) -> io::Result<Option<bool>> {
    let times = match answers {
        1 => "once".to_string(),
        n => format!("{n} times"),
    };
    writeln!(
        prompt.out,
        "{title} ({id}) has changed. You have answered it {times}.\n\nIt was:\n{before}\nIt is:\n{now}"
    )?;
    let question =
        "Is it still the same idea? y: what you remember of it stays; n: it starts over: ";
    input::yes(question, prompt.input, prompt.out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::{Clock, Folder};
    use crate::deck::Card;
    use crate::question::{self, Sense, Setup};
    use crate::rhythm::Tempo;
    use crate::session::Review;
    use crate::time::{Moment, Seconds};
    use std::path::Path;

    const DECK: &str = include_str!("../../tests/decks/block-party.toml");

    fn open(folder: &Path) -> Record {
        let folder = Folder::find(Some(folder)).unwrap();
        Record::open(&folder, Clock::new(None)).unwrap()
    }

    fn decks(text: &str) -> Vec<Deck> {
        vec![deck::read("block-party.toml", text).0]
    }

    /// Settles with `typed` as the player's answers; gives what was written.
    fn settle_with(record: &mut Record, text: &str, typed: &str) -> String {
        let mut out = Vec::new();
        let prompt = IdeaPrompt {
            input: &mut typed.as_bytes(),
            out: &mut out,
        };
        settle(record, decks(text).iter(), Some(prompt)).unwrap();
        String::from_utf8(out).unwrap()
    }

    fn answer(record: &mut Record, card: &Card) {
        record
            .meet(&card.id, Moment::new(1.0e9), Seconds::new(5.0))
            .unwrap();
        let strokes = question::kind("strokes").unwrap();
        let setup = Setup {
            tempo: Tempo::new(100.0),
            player: Default::default(),
            as_written: false,
            weighed: false,
            unseen: false,
        };
        let question = strokes.ask(card, Sense::Read, 1, &setup).unwrap();
        let answer = question.form.right().remove(0);
        let verdict = question::grade(&question, &answer, Seconds::new(1.0));
        let review = Review {
            at: Moment::new(1.0e9),
            question,
            answer,
            verdict,
            seconds: Seconds::new(1.0),
            replays: 0,
            slowed: false,
        };
        record.add(&review).unwrap();
    }

    #[test]
    fn a_new_title_asks_nothing_and_new_strokes_ask() {
        let folder = tempfile::tempdir().unwrap();
        let mut record = open(folder.path());
        let decks = decks(DECK);
        let card = decks[0]
            .cards
            .iter()
            .find(|c| c.score.drums.is_some())
            .unwrap();
        assert_eq!(settle_with(&mut record, DECK, ""), "");
        answer(&mut record, card);
        assert_eq!(settle_with(&mut record, DECK, ""), "");
        let title = DECK.replace(&card.title, "Another title");
        assert_eq!(settle_with(&mut record, &title, ""), "");

        let drums = card.score.drums.as_ref().unwrap();
        let row: String = drums
            .bar(0)
            .iter()
            .map(|c| format!(" {}", c.map_or('.', |s| s.tone.letter())))
            .collect();
        let struck = row.find(|c: char| c != ' ' && c != '.').unwrap();
        let mut other = row.clone();
        let letter = if &row[struck..=struck] == "C" {
            "S"
        } else {
            "C"
        };
        other.replace_range(struck..=struck, letter);
        let strokes = DECK.replacen(&row, &other, 1);
        assert_ne!(strokes, DECK);

        // Nobody answers: the question waits and the history stays.
        assert!(settle_with(&mut record, &strokes, "").contains("same idea?"));
        assert_eq!(record.answers(&card.id).unwrap(), 1);
        let said = settle_with(&mut record, &strokes, "what?\nn\n");
        assert!(said.contains("Answer y or n."), "{said}");
        assert_eq!(record.answers(&card.id).unwrap(), 0);
        assert!(!record.met().unwrap().0.contains(&card.id));
        assert_eq!(settle_with(&mut record, &strokes, ""), "");

        // The same idea again: the history stays.
        answer(&mut record, card);
        settle_with(&mut record, DECK, "y\n");
        assert_eq!(record.answers(&card.id).unwrap(), 1);
        assert_eq!(settle_with(&mut record, DECK, ""), "");
    }
}
