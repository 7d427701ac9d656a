//! How strong each idea is, and what is known of that.

use super::evidence::{Evidence, STEPS, Tables, normalised};
use super::misfit::Misfit;
use super::population::{Population, parts};
use super::trials::{Name, Trial, Trials};
use super::{Input, Strength};
use crate::memory::{Candidate, Sight};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet, HashMap};

const DAY: f64 = 86_400.0;
/// Weeks whose answers are compared with those of as many weeks before.
pub const TREND_WEEKS: f64 = 4.0;
/// Fewest answers in each of the two stretches of a trend.
const TREND_ANSWERS: f64 = 8.0;

/// What is known of one concept, or of one concept in one sense.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Concept {
    /// Its name.
    pub concept: String,
    /// `read` or `hear`; absent for both together.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sense: Option<String>,
    /// Share of its questions that the player knew when they were asked, guessing taken out.
    pub known: Strength,
    /// Chance of recall now, averaged over its items that were asked before: as the memory model forecasts it, corrected
    /// by what came of its forecasts for this player, with the interval that the answers so far allow. Absent where none
    /// of them is on a deck.
    pub now: Option<Strength>,
    /// Answers that this rests on.
    pub answers: usize,
    /// Cards on the decks that exercise it.
    pub cards: usize,
    /// Change of what is known from the four weeks before the last to the last four.
    pub trend: Option<Trend>,
    /// Days since it was last asked.
    pub days_ago: f64,
    /// Median time of right answers, as a share of the time that counts as in time.
    pub pace: Option<f64>,
    /// Share of answers that were right and in time.
    pub in_time: f64,
    /// What the ranking goes by: the share that is missed for certain, times the weight of its cards.
    pub worth_working_on: f64,
}

/// A change of what is known.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Trend {
    /// From before to now, -1 to 1.
    pub change: f64,
    /// Probability that it rose.
    pub rose: f64,
}

/// The concepts of these trials as wholes, then in each sense; both with the one most worth working on first.
pub(super) fn lines(describing: &Describing<'_>, trials: &Trials) -> (Vec<Concept>, Vec<Concept>) {
    let mut tables = Tables::new();
    let groups = groups(trials);
    let wholes: Vec<(Name, Vec<&Trial>)> = groups.iter().map(|(c, t)| (*c, t.clone())).collect();
    let answers: Vec<Evidence> = wholes.iter().map(|(_, t)| evidence(t)).collect();
    let population = Population::of(&answers, &mut tables);
    let known = answers.iter().map(|a| population.strength(a, &mut tables));
    let known: Vec<Strength> = known.collect();
    let mut halves = Vec::new();
    let mut told = Vec::new();
    for ((concept, list), whole) in wholes.iter().zip(&answers) {
        let senses: BTreeSet<Name> = list.iter().map(|t| t.sense).collect();
        for sense in senses {
            let part: Vec<&Trial> = list.iter().copied().filter(|t| t.sense == sense).collect();
            let own = evidence(&part);
            let rest = population.strength(&whole.without(&own), &mut tables);
            told.push((own, rest));
            halves.push((*concept, sense, part));
        }
    }
    let halves_known = parts(&told, &mut tables);
    let line = |concept: Name, sense: Option<Name>, list: &[&Trial], known, tables: &mut Tables| {
        let (concept, sense) = (trials.name(concept), sense.map(|s| trials.name(s)));
        describing.concept((concept, sense), list, known, tables)
    };
    let mut first: Vec<Concept> = Vec::new();
    for ((concept, list), known) in wholes.iter().zip(known) {
        first.push(line(*concept, None, list, known, &mut tables));
    }
    let mut second: Vec<Concept> = Vec::new();
    for ((concept, sense, list), known) in halves.iter().zip(halves_known) {
        second.push(line(*concept, Some(*sense), list, known, &mut tables));
    }
    for lines in [&mut first, &mut second] {
        lines.sort_by(|a, b| {
            let by_worth = b.worth_working_on.total_cmp(&a.worth_working_on);
            by_worth.then(a.known.mean.total_cmp(&b.known.mean))
        });
    }
    (first, second)
}

fn groups(trials: &Trials) -> BTreeMap<Name, Vec<&Trial>> {
    let mut groups: BTreeMap<Name, Vec<&Trial>> = BTreeMap::new();
    for t in &trials.list {
        for concept in &trials.concepts[t.concepts] {
            groups.entry(*concept).or_default().push(t);
        }
    }
    groups
}

pub(super) fn evidence(trials: &[&Trial]) -> Evidence {
    let mut sum = Evidence::default();
    trials
        .iter()
        .for_each(|t| sum.add(t.guess, t.right, t.weight));
    sum
}

type Key<'a> = (&'a str, Option<&'a str>);

/// Some items, by their places in the list of items, and their cards by number.
#[derive(Default)]
struct Held {
    items: BTreeSet<usize>,
    cards: BTreeSet<usize>,
}

/// Makes the lines of a report.
pub(super) struct Describing<'a> {
    input: &'a Input<'a>,
    /// Of each item the number of its card.
    cards: Vec<usize>,
    pub misfit: Misfit,
    /// By concept, as a whole and in each sense.
    held: BTreeMap<Key<'a>, Held>,
}

impl<'a> Describing<'a> {
    pub fn new(input: &'a Input<'a>) -> Describing<'a> {
        // Some ideas show only in the questions that were made of an item.
        let mut shown: HashMap<String, BTreeSet<&str>> = HashMap::new();
        let pairs: BTreeSet<(usize, usize)> =
            input.recent.iter().map(|f| (f.item, f.concepts)).collect();
        for (item, set) in pairs {
            let names = input.words.concepts[set].iter().map(String::as_str);
            let item = input.words.items[item].to_string();
            shown.entry(item).or_default().extend(names);
        }
        let mut held: BTreeMap<Key<'a>, Held> = BTreeMap::new();
        let mut numbers: BTreeMap<&str, usize> = BTreeMap::new();
        let mut seen: Vec<(Option<Sight>, Vec<&str>)> = Vec::with_capacity(input.items.len());
        let mut cards = Vec::with_capacity(input.items.len());
        for (item, candidate) in input.items.iter().enumerate() {
            let next = numbers.len();
            let card = *numbers.entry(&candidate.card).or_insert(next);
            cards.push(card);
            let sense = candidate.item.rsplit(':').next();
            let mut concepts = shown.remove(&candidate.item).unwrap_or_default();
            concepts.extend(candidate.concepts.iter().map(String::as_str));
            for concept in &concepts {
                for key in [(*concept, None), (*concept, sense)] {
                    let held = held.entry(key).or_default();
                    held.cards.insert(card);
                    held.items.insert(item);
                }
            }
            let sight = input.memory.sight(&candidate.item, input.now);
            seen.push((sight, concepts.into_iter().collect()));
        }
        Describing {
            input,
            cards,
            misfit: Misfit::new(input, &seen),
            held,
        }
    }

    fn concept(
        &self,
        key: Key<'_>,
        list: &[&Trial],
        known: Strength,
        tables: &mut Tables,
    ) -> Concept {
        let none = Held::default();
        let held = self.held.get(&key).unwrap_or(&none);
        let sense = key.1.map(str::to_string);
        self.line(key.0.to_string(), sense, list, known, held, tables)
    }

    /// A line about something that is no concept; `pick` says which items belong to it.
    pub fn general(
        &self,
        name: String,
        list: &[&Trial],
        known: Strength,
        pick: &dyn Fn(&Candidate) -> bool,
        tables: &mut Tables,
    ) -> Concept {
        let mut held = Held::default();
        for (item, candidate) in self.input.items.iter().enumerate() {
            if pick(candidate) {
                held.cards.insert(self.cards[item]);
                held.items.insert(item);
            }
        }
        self.line(name, None, list, known, &held, tables)
    }

    fn line(
        &self,
        concept: String,
        sense: Option<String>,
        list: &[&Trial],
        known: Strength,
        held: &Held,
        tables: &mut Tables,
    ) -> Concept {
        let input = self.input;
        let mut reviews: Vec<usize> = list.iter().map(|t| t.review).collect();
        reviews.dedup();
        let facts = || reviews.iter().map(|r| &input.recent[*r]);
        let mut paces: Vec<f64> = facts()
            .filter(|f| f.correct >= 1.0)
            .map(|f| f.seconds / f.limit)
            .collect();
        paces.sort_by(f64::total_cmp);
        let last = facts().map(|f| f.at).max().unwrap_or_default() as f64 / 1000.0;
        let cards = held.cards.len();
        let now = self.misfit.now(&held.items);
        // What is known for certain to be missed: now where there is a forecast, else when it was asked.
        let missed = 1.0 - now.as_ref().map_or(known.high, |n| n.high);
        Concept {
            concept,
            sense,
            known,
            now,
            answers: reviews.len(),
            cards,
            trend: trend(input, list, tables),
            days_ago: ((input.now - last) / DAY).max(0.0),
            pace: paces.get(paces.len() / 2).copied(),
            in_time: facts().filter(|f| f.in_time).count() as f64 / reviews.len().max(1) as f64,
            worth_working_on: missed * (2.0 + cards as f64).ln(),
        }
    }
}

fn trend(input: &Input<'_>, list: &[&Trial], tables: &mut Tables) -> Option<Trend> {
    let stretch = TREND_WEEKS * 7.0 * DAY;
    let mut parts = [Evidence::default(), Evidence::default()];
    for t in list {
        let ago = input.now - input.recent[t.review].at as f64 / 1000.0;
        let part = (ago / stretch) as usize;
        if let Some(part) = parts.get_mut(part) {
            part.add(t.guess, t.right, t.weight);
        }
    }
    if parts.iter().any(|p| p.count() < TREND_ANSWERS) {
        return None;
    }
    let [now, before] = parts.map(|p| normalised(&p.log_likelihood(tables)));
    let mut below = 0.0;
    let mut rose = 0.0;
    for i in 0..STEPS {
        rose += now[i] * (below + 0.5 * before[i]);
        below += before[i];
    }
    let mean =
        |w: &[f64; STEPS]| -> f64 { (0..STEPS).map(|i| w[i] * super::evidence::share(i)).sum() };
    Some(Trend {
        change: mean(&now) - mean(&before),
        rose,
    })
}
