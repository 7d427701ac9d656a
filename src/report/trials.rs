//! Reviews taken apart into what each key of an answer says.

use crate::rhythm::Tempo;
use crate::store::{Fact, Sense, Words};
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// A name by number, see [`Trials::names`].
pub(super) type NameId = usize;

/// One key of one answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Trial {
    /// Index of its review among the facts given.
    pub review: usize,
    pub kind: NameId,
    pub sense: Sense,
    /// Index into [`Trials::concepts`].
    pub concepts: usize,
    /// What was right, where a single label was.
    pub truth: Option<NameId>,
    /// What was answered, where it was one of the choices.
    pub given: Option<NameId>,
    /// Index into [`Trials::choices`].
    pub choices: usize,
    /// Chance of hitting it without knowing.
    pub guess: f64,
    /// Share that was right.
    pub right: f64,
    /// The keys of one answer share a weight of one.
    pub weight: f64,
    pub tempo: Tempo,
    /// The item had been asked just before: its answer was on the screen within the last [`ECHO`] minutes.
    pub echo: bool,
}

/// Minutes within which an item that comes again is an echo (chosen; a session is not much longer). The drill asks what
/// was missed again soon, and slower: what is known then says nothing about tempo.
const ECHO: i64 = 10;

/// The trials of some reviews, with the names that they use.
#[derive(Clone, Debug, Default)]
pub(super) struct Trials {
    pub list: Vec<Trial>,
    pub names: Vec<String>,
    /// Sets of concepts, sorted.
    pub concepts: Vec<Vec<NameId>>,
    /// Sets of labels to choose from, sorted.
    pub choices: Vec<Vec<NameId>>,
    /// Labels that may be one habit: each by itself, and those of one key of a kind together.
    pub habits: Vec<Vec<NameId>>,
}

/// Most labels of one key that may be one habit.
const LABELS: usize = 3;
/// Longest label, in characters, that is a name of something; longer ones are sentences and not compared.
const LONGEST_NAME: usize = 24;

impl Trials {
    pub fn new(words: &Words, facts: &[Fact]) -> Trials {
        let mut names = NameIds::default();
        let mut trials = Trials {
            concepts: words
                .concepts
                .iter()
                .map(|set| names.set(set.iter()))
                .collect(),
            choices: words
                .replies
                .iter()
                .map(|r| names.set(r.choices.values()))
                .collect(),
            ..Trials::default()
        };
        let mut by_key: BTreeMap<(NameId, char), BTreeSet<NameId>> = BTreeMap::new();
        let mut asked: BTreeSet<(NameId, usize)> = BTreeSet::new();
        let mut before: HashMap<usize, i64> = HashMap::new();
        for (review, fact) in facts.iter().enumerate() {
            let (item, reply) = (&words.items[fact.item], &words.replies[fact.reply]);
            let (kind, sense) = (names.number(&item.kind), item.sense);
            let keys = reply.keys.len().max(1);
            let before = before.insert(fact.item, fact.at);
            let echo = before.is_some_and(|at| fact.at - at <= ECHO * 60_000);
            let first = asked.insert((kind, fact.reply));
            let given: Vec<char> = reply.answer.chars().collect();
            let label = |key: Option<char>, names: &mut NameIds| {
                let label = reply.choices.get(&key?)?;
                (label.chars().count() <= LONGEST_NAME).then(|| names.number(label))
            };
            for key in reply.choices.keys().filter(|_| first) {
                let labels = by_key.entry((kind, *key)).or_default();
                labels.extend(label(Some(*key), &mut names));
            }
            for at in 0..keys {
                let right = reply.keys.get(at).map_or("", String::as_str);
                let only = Some(right).filter(|r| r.chars().count() == 1);
                let hit = given.get(at).is_some_and(|k| right.contains(*k));
                let one = keys == 1;
                trials.list.push(Trial {
                    review,
                    kind,
                    sense,
                    concepts: fact.concepts,
                    truth: label(only.and_then(|r| r.chars().next()), &mut names),
                    given: label(given.get(at).copied(), &mut names),
                    choices: fact.reply,
                    guess: if one {
                        fact.guess
                    } else {
                        right.chars().count() as f64 / reply.choices.len().max(1) as f64
                    }
                    .clamp(0.0, 0.99),
                    right: if one {
                        fact.correct
                    } else {
                        f64::from(u8::from(hit))
                    },
                    weight: 1.0 / keys as f64,
                    tempo: fact.tempo,
                    echo,
                });
            }
        }
        let truths: BTreeSet<NameId> = trials.list.iter().filter_map(|t| t.truth).collect();
        let alone = truths.iter().map(|label| vec![*label]);
        let together = by_key.into_values().filter(|labels| {
            (2..=LABELS).contains(&labels.len()) && labels.iter().any(|l| truths.contains(l))
        });
        let sets = alone.chain(together.map(|labels| labels.into_iter().collect()));
        trials.habits = sets.collect::<BTreeSet<_>>().into_iter().collect();
        trials.names = names.list;
        trials
    }

    pub fn name(&self, name: NameId) -> &str {
        &self.names[name]
    }

    /// Does the trial exercise this concept?
    pub fn about(&self, trial: &Trial, concept: NameId) -> bool {
        self.concepts[trial.concepts]
            .binary_search(&concept)
            .is_ok()
    }

    /// Could this label have been answered?
    pub fn offers(&self, trial: &Trial, label: NameId) -> bool {
        self.choices[trial.choices].binary_search(&label).is_ok()
    }

    /// The label of a habit that could have been answered here.
    pub fn habit(&self, trial: &Trial, set: usize) -> Option<NameId> {
        let mut labels = self.habits[set].iter().copied();
        labels.find(|label| self.offers(trial, *label))
    }

    /// Chance that a wrong answer is one given wrong label rather than another.
    pub fn wrong_guess(&self, trial: &Trial) -> f64 {
        1.0 / (self.choices[trial.choices].len().max(2) - 1) as f64
    }
}

#[derive(Default)]
struct NameIds {
    list: Vec<String>,
    numbers: HashMap<String, NameId>,
}

impl NameIds {
    fn number(&mut self, name: &str) -> NameId {
        if let Some(n) = self.numbers.get(name) {
            return *n;
        }
        self.list.push(name.to_string());
        self.numbers.insert(name.to_string(), self.list.len() - 1);
        self.list.len() - 1
    }

    fn set<'a>(&mut self, names: impl Iterator<Item = &'a String>) -> Vec<NameId> {
        let mut set: Vec<NameId> = names.map(|n| self.number(n)).collect();
        set.sort_unstable();
        set.dedup();
        set
    }
}
