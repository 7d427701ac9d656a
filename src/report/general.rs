//! What is known by eye and by ear, of each kind of question, and at which tempos, whatever the idea.

use super::Focus;
use super::concepts::{Concept, Describing};
use super::evidence::Tables;
use super::population::Population;
use super::trials::{Trial, Trials};
use serde::Serialize;
use std::collections::BTreeMap;

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
pub(super) fn lines(trials: &Trials, describing: &Describing<'_>) -> Vec<General> {
    let mut tables = Tables::new();
    let mut found = Vec::new();
    for view in [View::Sense, View::Kind, View::Tempo] {
        let mut groups: BTreeMap<usize, Vec<&Trial>> = BTreeMap::new();
        for t in &trials.list {
            let group = match view {
                View::Sense => t.sense,
                View::Kind => t.kind,
                View::Tempo => TEMPOS.partition_point(|end| f64::from(*end) <= t.bpm),
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
                View::Tempo => false,
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

/// A stretch of tempo in words.
fn stretch(n: usize) -> String {
    match n {
        0 => format!("below {}", TEMPOS[0]),
        n if n < TEMPOS.len() => format!("{} to {}", TEMPOS[n - 1], TEMPOS[n] - 1),
        n => format!("from {} on", TEMPOS[n - 1]),
    }
}
