//! What was answered instead of what.

use super::beta::at_least;
use super::trials::{NameId, Trials};
use crate::store::Sense;
use serde::Serialize;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

/// Chance below which a confusion is called a pattern, all those looked at taken together.
const DOUBT: f64 = 0.05;
/// Situations that are named.
const SITUATIONS: usize = 3;

/// One answer given instead of another.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Confusion {
    /// What was right.
    pub truth: String,
    /// What was answered.
    pub given: String,
    /// `read` or `hear`.
    pub sense: Sense,
    /// How often; each key of a row of strokes or hands counts by itself.
    pub count: usize,
    /// How often `truth` was right and `given` could have been answered.
    pub asked: usize,
    /// How often it was missed among those.
    pub wrong: usize,
    /// How many of the wrong answers it would be if wrong answers were drawn evenly.
    pub by_chance: f64,
    /// Upper bound of the chance of as many if wrong answers had been drawn evenly, allowing for every confusion that
    /// was looked at.
    pub doubt: f64,
    /// More than chance would give.
    pub pattern: bool,
    /// Concepts with which it happened more often than without, the strongest first.
    pub situations: Vec<String>,
}

#[derive(Default)]
struct Count {
    /// What else could have been answered.
    offered: BTreeSet<NameId>,
    given: BTreeMap<NameId, usize>,
    concepts: BTreeMap<(NameId, NameId), usize>,
    /// How often each concept came up at all.
    there: BTreeMap<NameId, usize>,
    asked: usize,
    wrong: usize,
    by_chance: f64,
}

/// Every confusion in these trials: patterns first, then by how often it happened.
pub(super) fn table(trials: &Trials) -> Vec<Confusion> {
    let mut counts: BTreeMap<(Sense, NameId), Count> = BTreeMap::new();
    for t in &trials.list {
        let Some(truth) = t.truth else { continue };
        let count = counts.entry((t.sense, truth)).or_default();
        count.asked += 1;
        for concept in &trials.concepts[t.concepts] {
            *count.there.entry(*concept).or_default() += 1;
        }
        let others = trials.choices[t.choices].iter().filter(|c| **c != truth);
        count.offered.extend(others);
        if t.right >= 1.0 {
            continue;
        }
        count.wrong += 1;
        count.by_chance += trials.wrong_guess(t);
        if let Some(given) = t.given.filter(|g| *g != truth) {
            *count.given.entry(given).or_default() += 1;
            for concept in &trials.concepts[t.concepts] {
                *count.concepts.entry((given, *concept)).or_default() += 1;
            }
        }
    }
    // Bonferroni over every confusion that could have been seen, seen or not.
    let tests: usize = counts.values().map(|c| c.offered.len()).sum();
    let mut found = Vec::new();
    for ((sense, truth), count) in &counts {
        for (given, times) in &count.given {
            let p = count.by_chance / count.wrong as f64;
            let chance = match p < 1.0 {
                true => at_least(*times as f64, count.wrong as f64, p),
                false => 1.0,
            };
            let doubt = (chance * tests as f64).min(1.0);
            found.push(Confusion {
                truth: trials.name(*truth).to_string(),
                given: trials.name(*given).to_string(),
                sense: *sense,
                count: *times,
                asked: count.asked,
                wrong: count.wrong,
                by_chance: count.by_chance,
                doubt,
                pattern: doubt < DOUBT,
                situations: situations(trials, count, *given),
            });
        }
    }
    found.sort_by_key(|c| Reverse((c.pattern, c.count)));
    found
}

fn situations(trials: &Trials, count: &Count, given: NameId) -> Vec<String> {
    let all = count.given.get(&given).copied().unwrap_or(0) as f64 / count.asked as f64;
    let with = count.concepts.iter().filter(|((g, _), _)| *g == given);
    let mut with: Vec<(f64, NameId)> = with
        .map(|((_, concept), n)| {
            let there = count.there.get(concept).copied().unwrap_or(0) as f64;
            (*n as f64 - all * there, *concept)
        })
        .filter(|(more, _)| *more >= 1.0)
        .collect();
    with.sort_by(|a, b| b.0.total_cmp(&a.0));
    let names = with.into_iter().take(SITUATIONS);
    names
        .map(|(_, concept)| trials.name(concept).to_string())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::trials::Trial;
    use crate::rhythm::Tempo;

    /// `hits` right answers, and for each wrong label this many wrong ones; the truth is label 0 of three.
    fn trials(hits: usize, wrong: [usize; 2]) -> Trials {
        let trial = |given: NameId| Trial {
            review: 0,
            kind: 4,
            sense: Sense::Hear,
            concepts: 0,
            truth: Some(0),
            given: Some(given),
            choices: 0,
            guess: 1.0 / 3.0,
            right: f64::from(u8::from(given == 0)),
            weight: 1.0,
            tempo: Tempo::new(120.0),
            echo: false,
        };
        let mut list = vec![trial(0); hits];
        list.extend(vec![trial(1); wrong[0]]);
        list.extend(vec![trial(2); wrong[1]]);
        Trials {
            list,
            names: ["slap", "open tone", "bass", "hear", "strokes", "tumbao"]
                .map(String::from)
                .to_vec(),
            concepts: vec![vec![5]],
            choices: vec![vec![0, 1, 2]],
            habits: Vec::new(),
        }
    }

    #[test]
    fn only_more_than_chance_is_a_pattern() {
        let even = table(&trials(10, [5, 5]));
        assert!(
            even.iter().all(|c| !c.pattern) && even.len() == 2,
            "{even:?}"
        );
        let all = table(&trials(10, [12, 0]));
        // Twelve of twelve at one half, two confusions possible: 2 / 2^12.
        assert!((all[0].doubt - 2.0 / 4096.0).abs() < 1e-9, "{all:?}");
        let c = &all[0];
        assert_eq!(
            (c.truth.as_str(), c.given.as_str(), c.sense.name()),
            ("slap", "open tone", "hear")
        );
        assert_eq!((c.count, c.asked, c.wrong, c.pattern), (12, 22, 12, true));
        assert!(c.situations.is_empty(), "it is there in all of them");
    }
}
