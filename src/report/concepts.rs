//! How well each concept, and each kind of question, is known.

use super::evidence::{AnswerCounts, STEPS, Tables, normalised, share};
use super::population::{Population, parts};
use super::trials::{NameId, Trial, Trials};
use super::{Input, Strength};
use crate::store::Sense;
use crate::time::{Moment, Seconds};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// Weeks whose answers are compared with those of as many weeks before.
pub const TREND_WEEKS: f64 = 4.0;
/// Fewest answers in each of the two stretches of a trend.
const TREND_ANSWERS: f64 = 8.0;

/// How well one concept, or one kind of question, is known.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Standing {
    /// Its name.
    pub name: String,
    /// Share of its questions that the player knew when they were asked, corrected for guessing.
    pub known: Strength,
    /// The same for questions by eye only; absent if it was not asked by eye.
    pub by_eye: Option<Strength>,
    /// The same for questions by ear only.
    pub by_ear: Option<Strength>,
    /// Chance of recall now as memory forecasts it, averaged over its items that were asked before. No interval: the
    /// spread that a law of forgetting gives is too narrow for players whom the law does not fit. Absent where none of
    /// its items is on a deck.
    pub now: Option<f64>,
    /// The same a week from now, without practice.
    pub in_a_week: Option<f64>,
    /// The answers that this rests on.
    pub answers: usize,
    /// Cards on the decks that exercise it.
    pub cards: usize,
    /// Change of what is known from the four weeks before the last to the last four.
    pub trend: Option<Trend>,
    /// Share of answers that were right and in time.
    pub in_time: f64,
    /// What the order depends on: the share that is missed times the weight of its cards, `ln(2 + cards)`.
    pub priority: f64,
}

/// A change of what is known.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Trend {
    /// From before to now, -1 to 1.
    pub change: f64,
    /// Probability that it rose.
    pub rose: f64,
}

impl Standing {
    /// Share that is known: now where there is a forecast, else when it was asked.
    pub fn share(&self) -> f64 {
        self.now.unwrap_or(self.known.mean)
    }
}

/// Items of the decks that belong together.
#[derive(Default)]
struct Held<'a> {
    cards: BTreeSet<&'a str>,
    /// Of those that were asked before, the chance of recall now and in a week.
    chances: Vec<(f64, f64)>,
}

/// Every concept, the one most worth practising first.
pub(super) fn concepts(input: &Input<'_>, trials: &Trials) -> Vec<Standing> {
    // Some concepts show only in the questions that were made of an item.
    let mut shown: HashMap<String, BTreeSet<&str>> = HashMap::new();
    let pairs: BTreeSet<(usize, usize)> =
        input.recent.iter().map(|f| (f.item, f.concepts)).collect();
    for (item, set) in pairs {
        let item = input.words.items[item].to_string();
        let names = input.words.concepts[set].iter().map(String::as_str);
        shown.entry(item).or_default().extend(names);
    }
    let held = held(input, |c| {
        let mut names = shown.get(&c.item).cloned().unwrap_or_default();
        names.extend(c.concepts.iter().map(String::as_str));
        names
    });
    let of = |t: &Trial| trials.concepts[t.concepts].clone();
    standings(input, trials, of, &held)
}

/// Every kind of question, in the same order.
pub(super) fn kinds(input: &Input<'_>, trials: &Trials) -> Vec<Standing> {
    let held = held(input, |c| BTreeSet::from([c.kind.as_str()]));
    standings(input, trials, |t| vec![t.kind], &held)
}

/// The items of the decks by the names under which they are looked at.
fn held<'a>(
    input: &Input<'a>,
    names: impl Fn(&'a crate::memory::Candidate) -> BTreeSet<&'a str>,
) -> BTreeMap<&'a str, Held<'a>> {
    let mut held: BTreeMap<&str, Held<'_>> = BTreeMap::new();
    for candidate in input.items {
        let chance = |at: Moment| input.memory.chance(&candidate.item, at);
        let chances = chance(input.now).zip(chance(input.now + 7.0 * Seconds::DAY));
        for name in names(candidate) {
            let held = held.entry(name).or_default();
            held.cards.insert(&candidate.card);
            held.chances.extend(chances);
        }
    }
    held
}

fn standings(
    input: &Input<'_>,
    trials: &Trials,
    names: impl Fn(&Trial) -> Vec<NameId>,
    held: &BTreeMap<&str, Held<'_>>,
) -> Vec<Standing> {
    let mut groups: BTreeMap<NameId, Vec<&Trial>> = BTreeMap::new();
    for t in &trials.list {
        names(t)
            .into_iter()
            .for_each(|name| groups.entry(name).or_default().push(t));
    }
    let mut tables = Tables::new();
    let answers: Vec<AnswerCounts> = groups.values().map(|t| evidence(t.iter())).collect();
    let population = Population::of(&answers, &mut tables);
    // In one sense a concept is taken to be near what it is in the other.
    let (mut told, mut senses) = (Vec::new(), Vec::new());
    for ((name, list), whole) in groups.iter().zip(&answers) {
        for sense in list.iter().map(|t| t.sense).collect::<BTreeSet<Sense>>() {
            let own = evidence(list.iter().filter(|t| t.sense == sense));
            let rest = population.strength(&whole.without(&own), &mut tables);
            told.push((own, rest));
            senses.push((*name, sense));
        }
    }
    let halves: BTreeMap<(NameId, Sense), Strength> =
        senses.into_iter().zip(parts(&told, &mut tables)).collect();
    let mut found = Vec::new();
    let none = Held::default();
    for ((name, list), whole) in groups.iter().zip(&answers) {
        let half = |sense| halves.get(&(*name, sense)).copied();
        let known = population.strength(whole, &mut tables);
        let name = trials.name(*name);
        let mut reviews: Vec<usize> = list.iter().map(|t| t.review).collect();
        reviews.dedup();
        let in_time = reviews.iter().filter(|r| input.recent[**r].in_time);
        let held = held.get(name).unwrap_or(&none);
        let asked = held.chances.len() as f64;
        let mean = |of: fn(&(f64, f64)) -> f64| {
            (asked > 0.0).then(|| held.chances.iter().map(of).sum::<f64>() / asked)
        };
        let now = mean(|c| c.0);
        found.push(Standing {
            name: name.to_string(),
            known,
            by_eye: half(Sense::Read),
            by_ear: half(Sense::Hear),
            now,
            in_a_week: mean(|c| c.1),
            answers: reviews.len(),
            cards: held.cards.len(),
            trend: trend(input, list, &mut tables),
            in_time: in_time.count() as f64 / reviews.len().max(1) as f64,
            priority: (1.0 - now.unwrap_or(known.mean)) * (2.0 + held.cards.len() as f64).ln(),
        });
    }
    found.sort_by(|a, b| {
        let by_priority = b.priority.total_cmp(&a.priority);
        by_priority.then(a.known.mean.total_cmp(&b.known.mean))
    });
    found
}

fn evidence<'a>(trials: impl Iterator<Item = &'a &'a Trial>) -> AnswerCounts {
    let mut sum = AnswerCounts::default();
    trials.for_each(|t| sum.add(t.guess, t.right, t.weight));
    sum
}

fn trend(input: &Input<'_>, list: &[&Trial], tables: &mut Tables) -> Option<Trend> {
    let stretch = TREND_WEEKS * 7.0 * Seconds::DAY;
    let mut parts = [AnswerCounts::default(), AnswerCounts::default()];
    for t in list {
        let ago = input.now - Moment::from_millis(input.recent[t.review].at);
        if let Some(part) = parts.get_mut((ago / stretch) as usize) {
            part.add(t.guess, t.right, t.weight);
        }
    }
    if parts.iter().any(|p| p.count() < TREND_ANSWERS) {
        return None;
    }
    let [now, before] = parts.map(|p| normalised(&p.log_likelihood(tables)));
    let (mut below, mut rose) = (0.0, 0.0);
    for i in 0..STEPS {
        rose += now[i] * (below + 0.5 * before[i]);
        below += before[i];
    }
    let mean = |w: &[f64; STEPS]| -> f64 { (0..STEPS).map(|i| w[i] * share(i)).sum() };
    Some(Trend {
        change: mean(&now) - mean(&before),
        rose,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::memory::Memory;
    use crate::report::Practice;
    use crate::report::fixture::{answer, candidate, item, reply};
    use crate::store::{Fact, Words};

    #[test]
    fn what_was_asked_lately_is_recalled_now_and_less_of_it_in_a_week() {
        let words = Words {
            items: (0..3).map(|n| item(n, "side")).collect(),
            concepts: vec![vec!["tumbao".into()], vec!["bell".into()]],
            replies: vec![reply(&["two side", "three side"], 0, 0)],
        };
        // Two items of one concept, right and missed; the third item is on a deck and was never asked.
        let facts: Vec<Fact> = [(0, 0, 1.0), (1, 1, 0.0), (0, 0, 1.0)]
            .into_iter()
            .zip(0i64..)
            .map(|((item, concepts, correct), day)| Fact {
                item,
                concepts,
                correct,
                ..answer(day * 86_400, 2.0)
            })
            .collect();
        let mut memory = Memory::new();
        facts.iter().for_each(|f| {
            memory.observe(&f.outcome(&words));
        });
        let items = [0, 1, 2].map(|n| candidate(n, &words.concepts[usize::from(n == 1)]));
        let input = Input {
            words: &words,
            recent: &facts,
            memory: &memory,
            items: &items,
            now: Moment::new(facts[2].at as f64 / 1000.0 + 3600.0),
            practice: Practice::default(),
        };
        let trials = Trials::new(&words, &facts);
        let found = concepts(&input, &trials);
        let of = |name: &str| found.iter().find(|s| s.name == name).expect("it was asked");
        let (tumbao, bell) = (of("tumbao"), of("bell"));
        assert_eq!((tumbao.cards, tumbao.answers, bell.cards), (2, 2, 1));
        let now = |s: &Standing| s.now.expect("its item is on a deck");
        assert!(now(tumbao) > now(bell), "{found:?}");
        assert!(tumbao.in_a_week.expect("as now") < now(tumbao));
        assert!(tumbao.by_eye.is_some() && tumbao.by_ear.is_none());
        let kinds = kinds(&input, &trials);
        assert_eq!((kinds[0].name.as_str(), kinds[0].answers), ("side", 3));
    }
}
