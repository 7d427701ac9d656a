//! What the start page says, from log and decks.

use crate::app::command_context::CommandContext;
use crate::app::lesson;
use crate::deck::Card;
use crate::question::{self, Draw, Thread};
use crate::report::{SPOTS_IN, spots};
use crate::screens::start::{Overview, ThreadProgress};
use crate::time::Moment;
use std::collections::HashSet;

/// What the start page tells at `now` (seconds since 1970 UTC).
///
/// # Errors
/// Those of the log.
pub fn overview(context: &CommandContext, now: Moment) -> anyhow::Result<Overview> {
    let (record, library) = (&context.record, &context.library);
    let agenda = context.agenda()?;
    let minutes = context.profile()?.minutes;
    let agreed = agenda.steps(record, minutes, &[], now, Draw::new(0).seed())?;
    let (steps, known) = (agreed.steps, agenda.known(record)?);
    let unseen = |card: &String| agreed.unseen.contains(card) && !known.contains(card);
    let title = |id: &str| question::card(&library.decks, id).map(|c| c.title.clone());
    let fading = agreed
        .fading
        .iter()
        .filter_map(|card| title(card))
        .collect();
    let mut seen = HashSet::new();
    let new = steps
        .iter()
        .filter(|s| !known.contains(&s.item.card) && !unseen(&s.item.card));
    let new = new
        .filter(|s| seen.insert(&s.item.card))
        .filter_map(|s| title(&s.item.card));
    let again = steps
        .iter()
        .filter(|s| known.contains(&s.item.card))
        .count();
    let holds = lesson::holds(record, library);
    let held = |id: &String| holds.get(id).is_some_and(|h| h.held);
    let lesson = agenda.lesson();
    let drilled: HashSet<&str> = agenda
        .candidates()
        .iter()
        .map(|c| c.card.as_str())
        .collect();
    let cards = library.cards().filter(|c| drilled.contains(c.id.as_str()));
    let threads = Thread::ALL.map(|thread| {
        let of: Vec<&Card> = cards.clone().filter(|c| Thread::of(c) == thread).collect();
        ThreadProgress {
            thread,
            cards: of.len(),
            met: of.iter().filter(|c| known.contains(&c.id)).count(),
            held: of.iter().filter(|c| held(&c.id)).count(),
        }
    });
    let recent = record.recent(SPOTS_IN, |_| ())?;
    let weak = spots(&recent.words, &recent.facts);
    Ok(Overview {
        minutes,
        again,
        sounded_out: steps.iter().any(|s| unseen(&s.item.card)),
        new: new.collect(),
        fading,
        lesson: (lesson.len(), lesson.iter().filter(|id| held(id)).count()),
        not_held: lesson
            .iter()
            .filter(|id| !held(id))
            .filter_map(|id| title(id))
            .collect(),
        threads: threads.to_vec(),
        weak: weak.first().map(|spot| spot.title()),
    })
}
