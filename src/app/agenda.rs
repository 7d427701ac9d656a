//! What may be asked of a player now, and the plans made of it.

use super::deck_library::DeckLibrary;
use super::record::Record;
use crate::memory::{self, Candidate, Composition, Day, PlanReason, Planned, Settings};
use crate::question::{self, Course, Evening, Item, ItemKey, Learner, Sense, Setup};
use crate::rhythm::{counted, nearest};
use crate::session::{Profile, Step, Tomorrow};
use crate::store::StoreError;
use crate::time::{Moment, Seconds};
use std::collections::{BTreeSet, HashMap, HashSet};

/// Cards that are named when it is said what comes tomorrow.
const NAMED: usize = 3;
/// Questions that sound a player out in one evening: so many for each minute of it, about half of the time, and at least
/// the second (chosen).
const SOUNDINGS_AN_EVENING: (f64, usize) = (2.4, 4);

/// Narrows a drill to what the player asked for.
#[derive(Clone, Debug, Default)]
pub struct Scope {
    /// Name of the only kind of question.
    pub kind: Option<String>,
    pub sense: Option<Sense>,
    /// Concepts of which the questions must be able to exercise one; none for any question.
    pub concepts: Vec<String>,
}

/// What may be asked, and the plans made of it.
pub struct Agenda {
    items: Vec<Item>,
    course: Course,
    profile: Profile,
    lesson: BTreeSet<String>,
    /// Is it an evening of all there is, not narrowed down?
    whole: bool,
}

/// What to ask.
#[derive(Clone, Debug, Default)]
pub struct DrillScope {
    /// The questions, in order.
    pub steps: Vec<Step>,
    /// Cards that are asked without being shown first.
    pub unseen: BTreeSet<String>,
    /// Cards that are about to be lost, the most urgent first.
    pub fading: Vec<String>,
}

impl Agenda {
    /// All items of the decks that the scope leaves and the player has drums for, and those of the rest that are in the
    /// lesson. Without `sound`, what can only be asked by ear has to wait; if there is nothing else, it comes by eye.
    pub fn new(
        library: &DeckLibrary,
        scope: &Scope,
        profile: Profile,
        lesson: &BTreeSet<String>,
        sound: bool,
    ) -> Agenda {
        let drums = match profile.two_drums {
            false => 1,
            true => usize::MAX,
        };
        let works = |item: &&Item| {
            let chosen = library.chosen.as_ref();
            let works_on = lesson.contains(&item.key.card);
            chosen.is_none_or(|cards| cards.contains(&item.key.card))
                && (works_on || !library.left_out.contains(&item.key.card))
                && scope.kind.as_ref().is_none_or(|k| *k == item.key.kind)
                && scope.sense.is_none_or(|s| s == item.key.sense)
                && (works_on || item.drums <= drums)
                && (scope.concepts.is_empty() || exercises(library, item, &scope.concepts))
        };
        let mut items: Vec<Item> = library.items().iter().filter(works).cloned().collect();
        let by_eye = |item: &Item| item.key.sense == Sense::Read;
        if !sound && items.iter().any(by_eye) {
            items.retain(by_eye);
        }
        let narrow = scope.kind.is_some() || scope.sense.is_some() || !scope.concepts.is_empty();
        Agenda {
            course: Course::new(&library.decks, &items),
            items,
            profile,
            lesson: lesson.clone(),
            whole: !narrow && library.chosen.is_none(),
        }
    }

    /// The planner's settings for this many minutes.
    fn settings(&self, minutes: f64) -> Settings {
        Settings {
            minutes,
            ..Settings::default()
        }
    }

    /// What may be asked, as the memory model takes it.
    pub fn candidates(&self) -> &[Candidate] {
        self.course.candidates()
    }

    /// The cards of the lesson.
    pub fn lesson(&self) -> &BTreeSet<String> {
        &self.lesson
    }

    /// The cards that count as met: those that were, and those that are known without.
    ///
    /// # Errors
    /// Those of the store, where it is looked up what was met.
    pub fn known(&self, record: &Record) -> Result<HashSet<String>, StoreError> {
        let (standing, _) = self.standing(record)?;
        Ok(self.course.composition(&standing).met.unwrap_or_default())
    }

    /// True where there is nothing to ask at all.
    pub fn is_empty(&self) -> bool {
        self.items.is_empty()
    }

    /// What is known of the player, and how many questions may sound them out now.
    fn standing(&self, record: &Record) -> Result<(Learner, usize), StoreError> {
        let (standing, tonight) = record.standing(self.profile.stands, &self.lesson)?;
        let (a_minute, least) = SOUNDINGS_AN_EVENING;
        let most = ((a_minute * self.profile.minutes) as usize).max(least);
        let left = match self.whole {
            true => most.saturating_sub(tonight),
            false => 0,
        };
        Ok((standing, left))
    }

    /// Plans `minutes` from `now` (seconds since 1970 UTC), after what was `asked` already in this session, in that order.
    ///
    /// # Errors
    /// Those of the store, where earlier answers are looked up.
    pub fn steps(
        &self,
        record: &Record,
        minutes: f64,
        asked: &[ItemKey],
        now: Moment,
        seed: u64,
    ) -> Result<DrillScope, StoreError> {
        let places = self.items.iter().map(|item| &item.key).zip(0..);
        let places: HashMap<&ItemKey, usize> = places.collect();
        let asked = asked.iter().filter_map(|item| places.get(item).copied());
        let asked: Vec<usize> = asked.collect();
        let (standing, left) = self.standing(record)?;
        let memory = record.memory();
        let settings = self.settings(minutes);
        let evening = match self.whole {
            true => {
                let course = &self.course;
                course.evening(memory, &standing, &asked, &settings, left, now, seed)
            }
            // What was chosen is asked by what is worth most alone.
            false => Evening {
                planned: memory::plan_composed(
                    memory,
                    self.candidates(),
                    &Composition::default(),
                    &asked,
                    &settings,
                    now,
                    standing.today.len(),
                    seed,
                ),
                ..Evening::default()
            },
        };
        let mut fading: Vec<String> = Vec::new();
        for planned in evening
            .planned
            .iter()
            .filter(|p| p.why == PlanReason::Fading)
        {
            let card = &self.items[planned.candidate].key.card;
            if !fading.contains(card) {
                fading.push(card.clone());
            }
        }
        let in_lesson = |i: usize| self.whole && self.lesson.contains(&self.items[i].key.card);
        let why = |planned: Planned| {
            let item = &self.items[planned.candidate];
            let why = why(record, item, planned, now);
            match in_lesson(planned.candidate) {
                true => format!("This week's lesson. {why}"),
                false => why,
            }
        };
        let planned = evening.planned.into_iter().map(|planned| {
            Ok(Step {
                why: why(planned),
                seconds: planned.seconds,
                last: record.last_answer(&self.items[planned.candidate].key)?,
                item: self.items[planned.candidate].key.clone(),
            })
        });
        let mut steps = planned.collect::<Result<Vec<Step>, StoreError>>()?;
        for i in evening.soundings {
            let item = &self.items[i].key;
            steps.push(Step {
                item: item.clone(),
                why: "This finds out what you already know.".into(),
                seconds: self.course.sounding_seconds(memory, i),
                last: None,
            });
        }
        Ok(DrillScope {
            steps,
            unseen: evening.unseen,
            fading,
        })
    }

    /// The coming days at this many minutes each, today from `now` on the first of them.
    ///
    /// # Errors
    /// Those of the store, where it is looked up what was met today.
    pub fn outlook(
        &self,
        record: &Record,
        minutes: f64,
        now: Moment,
        days: usize,
        seed: u64,
    ) -> Result<Vec<Day>, StoreError> {
        let (standing, _) = self.standing(record)?;
        Ok(memory::outlook(
            record.memory(),
            self.candidates(),
            &self.course.composition(&standing),
            &self.settings(minutes),
            now,
            standing.today.len(),
            days,
            seed,
        ))
    }

    /// What the same minutes bring a day after `now`.
    ///
    /// # Errors
    /// Those of the store, where it is looked up what was met.
    pub fn tomorrow(
        &self,
        record: &Record,
        library: &DeckLibrary,
        minutes: f64,
        now: Moment,
        seed: u64,
    ) -> Result<Tomorrow, StoreError> {
        let settings = self.settings(minutes);
        let memory = record.memory();
        let (mut standing, _) = self.standing(record)?;
        standing.today.clear();
        let composition = match self.whole {
            true => self.course.composition(&standing),
            false => Composition::default(),
        };
        let introduced = || standing.introduced.into_iter().collect();
        let met: HashSet<String> = composition.met.clone().unwrap_or_else(introduced);
        let tomorrow = now + Seconds::DAY;
        let plan = memory::plan_composed(
            memory,
            self.candidates(),
            &composition,
            &[],
            &settings,
            tomorrow,
            0,
            seed,
        );
        let mut tomorrow = Tomorrow::default();
        let mut new = HashSet::new();
        for planned in plan {
            let card = &self.candidates()[planned.candidate].card;
            match met.contains(card) {
                true => tomorrow.again += 1,
                false => {
                    new.insert(card);
                }
            }
            let title = question::card(&library.decks, card).map(|c| c.title.clone());
            if let Some(title) = title.filter(|t| !tomorrow.titles.contains(t))
                && tomorrow.titles.len() < NAMED
            {
                tomorrow.titles.push(title);
            }
        }
        tomorrow.new_cards = new.len();
        Ok(tomorrow)
    }
}

/// Questions made of an item to see which concepts they exercise.
const TRIED: u64 = 24;

/// Can a question of this item exercise one of these concepts? Some are decided only when the question is made, so that
/// some are made to see.
fn exercises(library: &DeckLibrary, item: &Item, concepts: &[String]) -> bool {
    let wanted = |among: &[String]| among.iter().any(|c| concepts.contains(c));
    if wanted(&item.concepts) {
        return true;
    }
    let card = question::card(&library.decks, &item.key.card);
    let card = card.filter(|_| wanted(&drawn_concepts(item)));
    card.is_some_and(|card| {
        let setup = Setup {
            tempo: card.tempo.0,
            player: Profile::default().player(),
            as_written: false,
            weighed: false,
            unseen: false,
        };
        let mut made = (0..TRIED).filter_map(|seed| question::ask(card, &item.key, seed, &setup));
        made.any(|q| wanted(&q.concepts))
    })
}

fn drawn_concepts(item: &Item) -> Vec<String> {
    question::kind(&item.key.kind).map_or(Vec::new(), |kind| (kind.drawn_concepts)())
}

/// The concept of this name as the decks write it, whatever the case of its letters.
///
/// # Errors
/// Where there is none; the message names the nearest one.
pub fn concept_named(library: &DeckLibrary, name: &str) -> anyhow::Result<String> {
    let items = library.items();
    let same = |c: &&String| c.to_lowercase() == name.to_lowercase();
    let drawn: BTreeSet<String> = items.iter().flat_map(drawn_concepts).collect();
    let all: BTreeSet<&String> = items
        .iter()
        .flat_map(|i| &i.concepts)
        .chain(&drawn)
        .collect();
    if let Some(found) = all.iter().find(|c| same(c)) {
        return Ok(found.to_string());
    }
    match nearest(name, all.into_iter().map(|c| (c, c)), 0.75) {
        Some(near) => anyhow::bail!("no concept is called `{name}`; did you mean `{near}`?"),
        None => {
            anyhow::bail!("no concept is called `{name}`; `whichside deck cover` lists them all")
        }
    }
}

/// Why an item comes, as the player reads it.
fn why(record: &Record, item: &Item, planned: Planned, now: Moment) -> String {
    let last = record.memory().last_seen(&item.key.to_string());
    let ago = last.map(|last| ago(now - last));
    match (planned.why, ago) {
        (PlanReason::New, _) | (_, None) => "Not asked before.".into(),
        (PlanReason::Fading, Some(ago)) => format!("Fading: last asked {ago}."),
        (PlanReason::Rotation, Some(ago)) => format!("To keep it fresh: last asked {ago}."),
    }
}

/// `3 days ago`.
fn ago(gone: Seconds) -> String {
    let (n, unit) = match gone.minutes() {
        minutes if minutes < 60.0 => (minutes, "minute"),
        minutes if minutes < 36.0 * 60.0 => (minutes / 60.0, "hour"),
        minutes => (minutes / 60.0 / 24.0, "day"),
    };
    format!("{} ago", counted(n.round().max(1.0) as usize, unit))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn time_gone_by_is_said_in_round_figures() {
        assert_eq!(ago(Seconds::new(-5.0)), "1 minute ago");
        assert_eq!(ago(Seconds::new(119.0)), "2 minutes ago");
        assert_eq!(ago(Seconds::new(3600.0)), "1 hour ago");
        assert_eq!(ago(Seconds::new(86_400.0)), "24 hours ago");
        assert_eq!(ago(9.0 * Seconds::DAY), "9 days ago");
    }
}
