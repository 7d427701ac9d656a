//! Weak spots: which explanation of the wrong answers is best borne out, and whether it is more than chance.

use super::Strength;
use super::evidence::{normalised, strength};
use super::hypothesis::{self, Cause, Hypothesis};
use super::search::Search;
use super::trials::{NameId, Trials};
use crate::rhythm::Tempo;
use crate::store::Sense;
use serde::Serialize;
use std::collections::BTreeSet;

/// How often, at most, a player without any weak spot is told of one.
pub const DOUBT: f64 = 0.015;
/// A weak spot lies at least this far below the rest of what the player knows.
pub const GAP: f64 = 0.1;
/// Most spots that are named.
const MOST: usize = 5;

/// What is weak.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "is", rename_all = "kebab-case")]
pub enum Weakness {
    /// One of the two senses as a whole.
    Sense,
    /// A kind of question.
    Kind {
        /// Its name.
        kind: String,
    },
    /// A concept.
    Concept {
        /// Its name.
        concept: String,
    },
    /// Two things taken for each other.
    MixUp {
        /// The first by name.
        one: String,
        /// The second by name.
        other: String,
    },
    /// One thing taken for another, and not the other way round.
    Taken {
        /// What was right.
        truth: String,
        /// What was answered.
        given: String,
    },
    /// One answer given where others are right; several labels where they are given by the same key.
    Habit {
        /// Labels of the key that is given too often.
        answers: Vec<String>,
    },
    /// A kind of question from a tempo on.
    Fast {
        /// Name of the kind.
        kind: String,
        /// The tempo.
        from: Tempo,
    },
}

/// What a drill can be narrowed down to.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Focus {
    /// Concepts of which each question exercises one; none for any.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub concepts: Vec<String>,
    /// The only kind of question.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kind: Option<String>,
    /// Where only that sense is asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sense: Option<Sense>,
}

impl Focus {
    /// The command that drills on it.
    pub fn command(&self) -> String {
        let mut command = "whichside drill".to_string();
        for concept in &self.concepts {
            command += &format!(" --concept \"{concept}\"");
        }
        if let Some(kind) = &self.kind {
            command += &format!(" --kind {kind}");
        }
        if let Some(sense) = self.sense {
            command += &format!(" --sense {}", sense.name());
        }
        command
    }
}

/// A weak spot with what it rests on.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Spot {
    /// What is weak.
    pub what: Weakness,
    /// Where only that sense is weak.
    pub sense: Option<Sense>,
    /// What is known here, guessing taken out.
    pub here: Strength,
    /// What is known of everything else that was asked.
    pub elsewhere: Strength,
    /// Answers that it rests on.
    pub answers: usize,
    /// How many of them were wrong, and how many of those were the wrong answer that the spot names.
    pub wrong: usize,
    /// How many of those were the wrong answer that the spot names; `None` if it names none.
    pub named: Option<usize>,
    /// Chance of finding as much anywhere in answers without a weak spot, at most.
    pub doubt: f64,
    /// Share of all questions that it touches, 0 to 1.
    pub touches: f64,
    /// The drill on it.
    pub drill: Focus,
}

impl Spot {
    /// What would be gained by bringing it up to the rest: points in a hundred questions as they were asked.
    pub fn to_gain(&self) -> f64 {
        100.0 * self.touches * (self.elsewhere.mean - self.here.mean)
    }

    /// The same as far as it is certain, which is what spots are ranked by.
    fn sure_to_gain(&self) -> f64 {
        self.touches * (self.elsewhere.mean - self.here.high)
    }
}

/// The weak spots in these trials, the one with the most to gain first.
///
/// Each round takes the hypothesis that raises the likelihood of all answers most, keeps it if such a rise is unlikely
/// by chance and the gap is worth the trouble, and sets its answers aside.
pub(super) fn find(trials: &Trials) -> Vec<Spot> {
    let all = hypothesis::all(trials);
    let hypotheses = &all.0;
    let total: f64 = trials.list.iter().map(|t| t.weight).sum();
    let mut search = Search::new(trials, &all);
    let mut spots = Vec::new();
    while spots.len() < MOST {
        let answers = search.answers();
        let Some(lead) = search.best(&answers) else {
            break;
        };
        let lead = search.narrowed(lead, &answers);
        if !search.borne_out(&lead, &answers) {
            search.rule_out(lead.hypothesis);
            continue;
        }
        let outside = lead.all.without(&lead.split.inside);
        let known = normalised(&outside.log_likelihood(&mut search.tables));
        let inside = lead.split.inside.log_likelihood(&mut search.tables);
        let here = strength(&normalised(&inside));
        let elsewhere = strength(&known);
        if lead.gain <= 0.0 || elsewhere.mean - here.mean < GAP {
            break;
        }
        let doubt = (lead.split.chance(&known) * hypotheses.len() as f64).min(1.0);
        let doubt = if doubt > DOUBT {
            search.doubt(&lead)
        } else {
            doubt
        };
        if doubt > DOUBT {
            break;
        }
        let h = &hypotheses[lead.hypothesis];
        let split = &lead.split;
        spots.push(Spot {
            what: what(trials, h),
            sense: h.sense,
            here,
            elsewhere,
            answers: split.answers,
            wrong: split.wrong_answers,
            named: matches!(
                h.cause,
                Cause::MixUp(..) | Cause::Taken(..) | Cause::Habit(_)
            )
            .then_some(split.named_answers),
            doubt,
            touches: split.inside.count() / total,
            drill: focus(trials, h, search.covered(lead.hypothesis)),
        });
        search.set_aside(lead.hypothesis);
    }
    spots.sort_by(|a, b| b.sure_to_gain().total_cmp(&a.sure_to_gain()));
    spots
}

/// The drill on a weak spot that covers these trials.
fn focus(trials: &Trials, h: &Hypothesis, covered: &[usize]) -> Focus {
    let list = || covered.iter().map(|t| &trials.list[*t]);
    let kinds: BTreeSet<NameId> = list().map(|t| t.kind).collect();
    // What is mixed up is practised where it is the right answer, if that has a name as a concept.
    let concepts = match h.cause {
        Cause::Concept(concept) => vec![concept],
        Cause::MixUp(..) | Cause::Taken(..) => {
            let truths: BTreeSet<NameId> = list().filter_map(|t| t.truth).collect();
            let named = |n: &NameId| list().any(|t| trials.about(t, *n));
            truths.into_iter().filter(named).collect()
        }
        _ => Vec::new(),
    };
    let only = kinds.first().filter(|_| kinds.len() == 1);
    Focus {
        concepts: concepts
            .iter()
            .map(|n| trials.name(*n).to_string())
            .collect(),
        kind: only
            .filter(|_| !matches!(h.cause, Cause::Concept(_)))
            .map(|k| trials.name(*k).to_string()),
        sense: h.sense,
    }
}

fn what(trials: &Trials, h: &Hypothesis) -> Weakness {
    let name = |n| trials.name(n).to_string();
    match h.cause {
        Cause::Sense => Weakness::Sense,
        Cause::Kind(kind) => Weakness::Kind { kind: name(kind) },
        Cause::Concept(concept) => Weakness::Concept {
            concept: name(concept),
        },
        Cause::MixUp(one, other) => Weakness::MixUp {
            one: name(one),
            other: name(other),
        },
        Cause::Taken(truth, given) => Weakness::Taken {
            truth: name(truth),
            given: name(given),
        },
        Cause::Habit(set) => Weakness::Habit {
            answers: trials.habits[set].iter().copied().map(name).collect(),
        },
        Cause::Fast { kind, from } => Weakness::Fast {
            kind: name(kind),
            from,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture::{answer, item, reply};
    use crate::store::{Fact, Words};
    use rand::rngs::ChaCha8Rng;
    use rand::{RngExt, SeedableRng};

    /// Answers to fast questions about sides, half of them known, and slow ones about the same items, `after` seconds
    /// later, all known; in between as many about hands, of which nine in ten are known.
    fn log(after: i64) -> (Words, Vec<Fact>) {
        let words = Words {
            items: (0..60).map(|n| item(n, ["side", "hand"][n % 2])).collect(),
            concepts: vec![vec!["tumbao".into()]],
            replies: (0..3)
                .map(|n| reply(&["one", "two", "three"], n, 0))
                .collect(),
        };
        let mut rng = ChaCha8Rng::seed_from_u64(11);
        let mut facts = Vec::new();
        for n in 0..180 {
            let (item, side, at) = (n % 60, n % 2 == 0, n as i64 * 3600);
            let mut ask = |known: f64, tempo: Tempo, at: i64| {
                let given = match rng.random::<f64>() < known {
                    true => 0,
                    false => rng.random_range(0..3),
                };
                facts.push(Fact {
                    item,
                    reply: given,
                    tempo,
                    correct: f64::from(u8::from(given == 0)),
                    guess: 1.0 / 3.0,
                    ..answer(at, 2.0)
                });
            };
            match side {
                true => {
                    ask(0.4, Tempo::new(150.0), at);
                    ask(1.0, Tempo::new(90.0), at + after);
                }
                false => ask(0.9, Tempo::new(150.0), at),
            }
        }
        (words, facts)
    }

    fn first(after: i64) -> Option<Weakness> {
        let (words, facts) = log(after);
        let found = find(&Trials::new(&words, &facts)).into_iter().next();
        found.map(|spot| spot.what)
    }

    #[test]
    fn what_comes_again_at_once_and_slower_makes_no_weakness_of_tempo() {
        assert!(
            !matches!(first(60), Some(Weakness::Fast { .. })),
            "{:?}",
            first(60)
        );
        let fast = first(1800);
        assert!(matches!(fast, Some(Weakness::Fast { .. })), "{fast:?}");
    }
}
