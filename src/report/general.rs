//! What is known by eye and by ear, of each kind of question, and at which tempos, whatever the idea.

use super::concepts::{Concept, Describing};
use super::evidence::Tables;
use super::population::Population;
use super::trials::{Trial, Trials};
use super::{Focus, Input};
use serde::Serialize;
use std::collections::{BTreeMap, HashMap};

/// Upper ends of the stretches of tempo, beats a minute; the last stretch has none.
const TEMPOS: [u32; 4] = [80, 120, 160, 200];

/// A way of looking at all questions.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum View {
    /// By eye or by ear.
    Sense,
    /// By kind of question.
    Kind,
    /// By tempo.
    Tempo,
}

/// What is known of one part of all questions.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct General {
    /// What all questions were parted by.
    pub view: View,
    /// Of which part; its name in place of a concept's.
    #[serde(flatten)]
    pub line: Concept,
    /// The drill on it; absent where a drill cannot be narrowed down to it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drill: Option<Focus>,
}

/// The parts with an answer: senses, then kinds, then tempos from slow to fast.
pub(super) fn lines(
    input: &Input<'_>,
    trials: &Trials,
    describing: &Describing<'_>,
) -> Vec<General> {
    // An item belongs to the stretch of tempo in which it was asked last.
    let mut asked_at: HashMap<String, usize> = HashMap::new();
    for fact in input.recent {
        let item = input.words.items[fact.item].to_string();
        asked_at.insert(item, stretch_of(fact.bpm));
    }
    let mut tables = Tables::new();
    let mut found = Vec::new();
    for view in [View::Sense, View::Kind, View::Tempo] {
        let mut groups: BTreeMap<usize, Vec<&Trial>> = BTreeMap::new();
        for t in &trials.list {
            let group = match view {
                View::Sense => t.sense,
                View::Kind => t.kind,
                View::Tempo => stretch_of(t.bpm),
            };
            groups.entry(group).or_default().push(t);
        }
        let answers: Vec<_> = groups
            .values()
            .map(|list| super::concepts::evidence(list))
            .collect();
        let population = Population::of(&answers, &mut tables);
        for ((group, list), own) in groups.iter().zip(&answers) {
            let known = population.strength(own, &mut tables);
            let (name, drill) = match view {
                View::Sense => {
                    let sense = trials.name(*group).to_string();
                    let name = format!("all {}", super::phrases::by(&sense));
                    (
                        name,
                        Some(Focus {
                            sense: Some(sense),
                            ..Focus::default()
                        }),
                    )
                }
                View::Kind => {
                    let kind = trials.name(*group).to_string();
                    (
                        format!("kind {kind}"),
                        Some(Focus {
                            kind: Some(kind),
                            ..Focus::default()
                        }),
                    )
                }
                View::Tempo => (stretch(*group), None),
            };
            let pick = |item: &crate::memory::Candidate| match view {
                View::Sense => item.item.rsplit(':').next() == Some(trials.name(*group)),
                View::Kind => item.kind == trials.name(*group),
                View::Tempo => asked_at.get(&item.item) == Some(group),
            };
            found.push(General {
                view,
                line: describing.general(name, list, known, &pick, &mut tables),
                drill,
            });
        }
    }
    found
}

/// The stretch in which a tempo lies.
fn stretch_of(bpm: f64) -> usize {
    TEMPOS.partition_point(|end| f64::from(*end) <= bpm)
}

/// A stretch of tempo in words.
fn stretch(n: usize) -> String {
    match n {
        0 => format!("below {}", TEMPOS[0]),
        n if n < TEMPOS.len() => format!("{} to {}", TEMPOS[n - 1], TEMPOS[n] - 1),
        n => format!("from {} on", TEMPOS[n - 1]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::memory::Memory;
    use crate::report::Practice;
    use crate::report::fixture::{answer, candidate, item, reply};
    use crate::store::{Fact, Words};

    #[test]
    fn an_item_counts_at_the_tempo_where_it_was_asked_last() {
        let words = Words {
            items: (0..2).map(|n| item(n, "side")).collect(),
            concepts: vec![vec!["tumbao".into()]],
            replies: vec![reply(&["two side", "three side"], 0, 0)],
        };
        // The first item at 70, then at 170; the second at 70 alone, and wrong.
        let asked = [(0, 70.0, 1.0), (1, 70.0, 0.0), (0, 170.0, 1.0)];
        let facts: Vec<Fact> = (0i64..)
            .zip(asked)
            .map(|(n, (item, bpm, correct))| Fact {
                item,
                bpm,
                correct,
                ..answer(n * 86_400, 2.0)
            })
            .collect();
        let mut memory = Memory::new();
        facts.iter().for_each(|f| {
            memory.observe(&f.outcome(&words));
        });
        let items = [0, 1].map(|n| candidate(n, &words.concepts[0]));
        let input = Input {
            words: &words,
            recent: &facts,
            memory: &memory,
            items: &items,
            now: facts[2].at as f64 / 1000.0 + 86_400.0,
            practice: Practice::default(),
        };
        let found = lines(
            &input,
            &Trials::new(&words, &facts),
            &Describing::new(&input),
        );
        let tempos: Vec<&General> = found.iter().filter(|g| g.view == View::Tempo).collect();
        let names: Vec<&str> = tempos.iter().map(|g| g.line.concept.as_str()).collect();
        assert_eq!(names, ["below 80", "160 to 199"]);
        assert_eq!((tempos[0].line.cards, tempos[1].line.cards), (1, 1));
        let now = |g: &General| g.line.now.as_ref().expect("its item is on a deck").mean;
        assert!(now(tempos[1]) > now(tempos[0]), "{tempos:?}");
    }
}
