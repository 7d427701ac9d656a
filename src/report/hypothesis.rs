//! What may be wrong: the questions that a weakness would make go wrong, and the wrong answer that it would give.

use super::trials::{NameId, Trial, Trials};
use crate::rhythm::Tempo;
use crate::store::Sense;
use std::collections::BTreeSet;
use std::ops::Range;

/// A weakness that is looked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Hypothesis {
    pub cause: Cause,
    /// Only by eye or only by ear; `None` for both.
    pub sense: Option<Sense>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Cause {
    /// A sense as a whole.
    Sense,
    /// A kind of question.
    Kind(NameId),
    Concept(NameId),
    /// Two labels taken for each other.
    MixUp(NameId, NameId),
    /// The first label taken for the second.
    Taken(NameId, NameId),
    /// One answer given where another is right: an index into [`Trials::habits`].
    Habit(usize),
    /// A kind of question from this tempo on.
    Fast {
        kind: NameId,
        from: Tempo,
    },
}

impl Hypothesis {
    /// Would the weakness make this trial go wrong?
    pub fn covers(&self, trials: &Trials, t: &Trial) -> bool {
        if self.sense.is_some_and(|s| s != t.sense) {
            return false;
        }
        match self.cause {
            Cause::Sense => true,
            Cause::Kind(kind) => t.kind == kind,
            Cause::Concept(concept) => trials.about(t, concept),
            Cause::MixUp(a, b) => {
                let (other, truth) = match t.truth {
                    Some(truth) if truth == a => (b, truth),
                    Some(truth) if truth == b => (a, truth),
                    _ => return false,
                };
                truth != other && trials.offers(t, other)
            }
            Cause::Taken(truth, given) => t.truth == Some(truth) && trials.offers(t, given),
            Cause::Habit(set) => {
                let truth = |truth: NameId| !trials.habits[set].contains(&truth);
                t.truth.is_some_and(truth) && trials.habit(t, set).is_some()
            }
            Cause::Fast { kind, from } => t.kind == kind && t.tempo >= from,
        }
    }

    /// The wrong answer that the weakness would give on a trial that it covers; `None` if it names none.
    pub fn wrong_answer(&self, trials: &Trials, t: &Trial) -> Option<NameId> {
        match self.cause {
            Cause::MixUp(a, b) => Some(if t.truth == Some(a) { b } else { a }),
            Cause::Taken(_, given) => Some(given),
            Cause::Habit(set) => trials.habit(t, set),
            _ => None,
        }
    }

    /// What a hypothesis pays in log likelihood for being freer than plainer ones. There are many pairs of labels and
    /// few concepts, and a wrong answer that may be picked fits chance well: without a price most of what chance finds
    /// would be pairs. Tuned on simulated players, so that chance finds about as much of each sort.
    pub fn price(&self) -> f64 {
        let one_sense = self.sense.is_some();
        match self.cause {
            Cause::Taken(..) => 6.0,
            Cause::Habit(_) => 5.0,
            Cause::MixUp(..) => 4.0,
            Cause::Kind(_) if one_sense => 1.5,
            Cause::Fast { .. } if !one_sense => 0.0,
            _ => 1.0,
        }
    }
}

/// Tempos tried as the one from which it falls apart: thirtieths of the answers of a kind. The first few are not tried:
/// with less than a sixth of the answers below it, that would be said of the kind, not of a tempo.
const THIRTIETHS: std::ops::RangeInclusive<usize> = 5..=29;
/// Nor are tempos that are less than this times the slowest.
const FASTER: f64 = 1.1;

/// Every weakness that these trials could show, plainer ones first; and those that differ only in a tempo, together.
pub(super) fn all(trials: &Trials) -> (Vec<Hypothesis>, Vec<Range<usize>>) {
    let list = &trials.list;
    let senses: BTreeSet<Sense> = list.iter().map(|t| t.sense).collect();
    let kinds: BTreeSet<NameId> = list.iter().map(|t| t.kind).collect();
    let sets: BTreeSet<usize> = list.iter().map(|t| t.concepts).collect();
    let concepts: BTreeSet<NameId> = sets
        .iter()
        .flat_map(|s| &trials.concepts[*s])
        .copied()
        .collect();
    let offered: BTreeSet<usize> = list
        .iter()
        .filter(|t| t.truth.is_some())
        .map(|t| t.choices)
        .collect();
    let truths: BTreeSet<NameId> = list.iter().filter_map(|t| t.truth).collect();
    let mut pairs = BTreeSet::new();
    for set in offered.iter().map(|c| &trials.choices[*c]) {
        for (i, a) in set.iter().enumerate() {
            pairs.extend(set[i + 1..].iter().map(|b| (*a, *b)));
        }
    }

    let mut causes = Vec::new();
    causes.extend(concepts.into_iter().map(Cause::Concept));
    causes.extend(kinds.iter().copied().map(Cause::Kind));
    for (a, b) in pairs {
        if truths.contains(&a) && truths.contains(&b) {
            causes.push(Cause::MixUp(a, b));
        }
        let ways = [(a, b), (b, a)].into_iter();
        causes.extend(
            ways.filter(|(t, _)| truths.contains(t))
                .map(|(t, g)| Cause::Taken(t, g)),
        );
    }
    causes.extend((0..trials.habits.len()).map(Cause::Habit));
    let fast = kinds.iter().map(|&kind| {
        let of_kind = list.iter().filter(|t| t.kind == kind);
        let cuts = cuts(of_kind.map(|t| t.tempo).collect()).into_iter();
        cuts.map(|from| Cause::Fast { kind, from }).collect()
    });

    let (mut found, mut families): (Vec<Hypothesis>, Vec<Range<usize>>) = Default::default();
    let mut add = |family: &[Cause], sense| {
        let from = found.len();
        found.extend(family.iter().map(|c| Hypothesis { cause: *c, sense }));
        families.push(from..found.len());
    };
    let each = senses.iter().filter(|_| senses.len() > 1);
    each.clone().for_each(|s| add(&[Cause::Sense], Some(*s)));
    let alone = causes.into_iter().map(|cause| vec![cause]);
    for family in alone.chain(fast) {
        add(&family, None);
        each.clone().for_each(|s| add(&family, Some(*s)));
    }
    (found, families)
}

fn cuts(mut tempos: Vec<Tempo>) -> Vec<Tempo> {
    tempos.sort();
    let mut cuts: Vec<Tempo> = THIRTIETHS.map(|i| tempos[i * tempos.len() / 30]).collect();
    cuts.dedup();
    cuts.retain(|c| *c >= tempos[0] * FASTER);
    cuts
}
