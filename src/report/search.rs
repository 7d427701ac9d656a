//! The search among hypotheses, and how often chance alone would find as much.

use super::beta::at_least;
use super::evidence::{AnswerCounts, STEPS, Tables, normalised, share};
use super::hypothesis::{Cause, Hypothesis};
use super::spots::DOUBT;
use super::trials::{NameId, Trials};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use std::ops::Range;

/// Fewest answers that a weak spot is called on.
const FEWEST: f64 = 6.0;

/// How much more both senses must explain than one, in log likelihood, for a weakness to be called one of both (tuned
/// on simulated players).
const NARROW: f64 = 1.5;

/// Rise of the log likelihood from which on slow and fast questions of a kind are taken to differ. Where they do not,
/// chance gives as much one time in 22, and to the side of the fast ones one in 44 (twice the rise is about chi-squared with
/// one degree of freedom: Wilks 1938, *Annals of Mathematical Statistics* 9:60-62, from memory).
const BORNE_OUT: f64 = 2.0;

/// Logs of answers drawn without a weak spot, to see how much chance alone finds.
const DRAWN: usize = 399;

/// How one trial was answered.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct TrialAnswer {
    right: f64,
    given: Option<NameId>,
}

pub(super) struct Search<'a> {
    trials: &'a Trials,
    hypotheses: &'a [Hypothesis],
    /// For each hypothesis the trials that it covers, of those that are not set aside.
    covered: Vec<Vec<usize>>,
    open: Vec<usize>,
    /// Hypotheses that differ only in a tempo, together.
    families: &'a [Range<usize>],
    pub tables: Tables,
}

/// The hypothesis that explains answers best.
pub(super) struct Lead {
    pub gain: f64,
    pub hypothesis: usize,
    pub split: Split,
    /// All answers that are not set aside.
    pub all: AnswerCounts,
}

impl<'a> Search<'a> {
    pub fn new(
        trials: &'a Trials,
        (hypotheses, families): &'a (Vec<Hypothesis>, Vec<Range<usize>>),
    ) -> Search<'a> {
        let open: Vec<usize> = (0..trials.list.len()).collect();
        let covers = |h: &Hypothesis| {
            let covered = open.iter().filter(|t| h.covers(trials, &trials.list[**t]));
            covered.copied().collect()
        };
        Search {
            covered: hypotheses.iter().map(covers).collect(),
            trials,
            hypotheses,
            open,
            families,
            tables: Tables::new(),
        }
    }

    /// The answers as they were given.
    pub fn answers(&self) -> Vec<TrialAnswer> {
        let given = self.trials.list.iter().map(|t| TrialAnswer {
            right: t.right,
            given: t.given,
        });
        given.collect()
    }

    /// The hypothesis that raises the likelihood of these answers most, its price taken off. `None` where there are
    /// too few answers for any.
    pub fn best(&mut self, answers: &[TrialAnswer]) -> Option<Lead> {
        let mut all = AnswerCounts::default();
        for &t in &self.open {
            let trial = &self.trials.list[t];
            all.add(trial.guess, answers[t].right, trial.weight);
        }
        let whole = highest(&all.log_likelihood(&mut self.tables));
        let gains: Vec<f64> = (0..self.hypotheses.len())
            .map(|n| self.gain(n, answers, &all, whole))
            .collect();
        let mut lead: Option<(usize, f64)> = None;
        for family in self.families.iter() {
            let (hypothesis, gain) = typical(&gains[family.clone()]);
            if gain > f64::NEG_INFINITY && lead.is_none_or(|(_, most)| gain > most + 1e-9) {
                lead = Some((family.start + hypothesis, gain));
            }
        }
        lead.map(|(hypothesis, gain)| Lead {
            gain,
            hypothesis,
            split: self.split(hypothesis, answers),
            all,
        })
    }

    fn gain(&mut self, n: usize, answers: &[TrialAnswer], all: &AnswerCounts, whole: f64) -> f64 {
        let split = self.split(n, answers);
        let count = split.inside.count();
        if count < FEWEST || all.count() - count < FEWEST {
            return f64::NEG_INFINITY;
        }
        split.gain(all, whole, &mut self.tables) - self.hypotheses[n].price()
    }

    /// The same weakness in one sense only, where it was found in both and one of them explains the answers nearly as
    /// well: then the other sense has shown next to nothing of it.
    pub fn narrowed(&mut self, lead: Lead, answers: &[TrialAnswer]) -> Lead {
        let found = self.hypotheses[lead.hypothesis];
        if found.sense.is_some() {
            return lead;
        }
        let whole = highest(&lead.all.log_likelihood(&mut self.tables));
        let narrow = (0..self.hypotheses.len())
            .filter(|n| self.hypotheses[*n].cause == found.cause && *n != lead.hypothesis);
        let narrow: Vec<usize> = narrow.collect();
        let mut best = (lead.gain - NARROW, lead.hypothesis);
        for n in narrow {
            let gain = self.gain(n, answers, &lead.all, whole);
            if gain > best.0 {
                best = (gain, n);
            }
        }
        Lead {
            hypothesis: best.1,
            split: self.split(best.1, answers),
            ..lead
        }
    }

    /// Where a weakness is said to begin at a tempo: do the questions of its kind bear that out, with what was asked just
    /// before left out? Where it is just as bad slowly, or nothing slow was asked, the tempo is not what is weak.
    pub fn borne_out(&mut self, lead: &Lead, answers: &[TrialAnswer]) -> bool {
        let hypothesis = self.hypotheses[lead.hypothesis];
        let Cause::Fast { kind, from } = hypothesis.cause else {
            return true;
        };
        let mut sides = [AnswerCounts::default(), AnswerCounts::default()];
        for &t in &self.open {
            let trial = &self.trials.list[t];
            let sense = hypothesis.sense.is_none_or(|s| s == trial.sense);
            if trial.kind == kind && sense && !trial.echo {
                let side = &mut sides[usize::from(trial.tempo >= from)];
                side.add(trial.guess, answers[t].right, trial.weight);
            }
        }
        let mut both = sides[0].clone();
        both.join(&sides[1]);
        let [slow, fast, both] =
            [&sides[0], &sides[1], &both].map(|e| e.log_likelihood(&mut self.tables));
        let gain = highest(&slow) + highest(&fast) - highest(&both);
        sides[0].count() >= FEWEST && place(&fast) < place(&slow) && gain > BORNE_OUT
    }

    /// Takes a hypothesis out of the search, with those that differ from it only in a tempo.
    pub fn rule_out(&mut self, hypothesis: usize) {
        let family = self.families.iter().find(|f| f.contains(&hypothesis));
        for n in family.cloned().unwrap_or(hypothesis..hypothesis + 1) {
            self.covered[n].clear();
        }
    }

    /// The trials that a hypothesis covers, of those not set aside.
    pub fn covered(&self, hypothesis: usize) -> &[usize] {
        &self.covered[hypothesis]
    }

    /// Takes the trials of a hypothesis out of the search.
    pub fn set_aside(&mut self, hypothesis: usize) {
        let gone = std::mem::take(&mut self.covered[hypothesis]);
        let stays = |t: &usize| gone.binary_search(t).is_err();
        self.open.retain(stays);
        for covered in &mut self.covered {
            covered.retain(stays);
        }
    }

    /// Share of logs drawn without a weak spot in which some hypothesis gains as much as `lead` does here. The logs have
    /// the same questions; what is known is the same for all of them, wrong answers are drawn evenly. Drawing ends
    /// early when the share is bound to be too large (Besag & Clifford 1991, *Biometrika* 78:301-304).
    pub fn doubt(&mut self, lead: &Lead) -> f64 {
        // The same log gives the same report.
        let mut rng = ChaCha8Rng::seed_from_u64(0x7765_616b);
        let known = normalised(&lead.all.log_likelihood(&mut self.tables));
        let known: f64 = (0..STEPS).map(|i| known[i] * share(i)).sum();
        let most = (DOUBT * (DRAWN + 1) as f64) as usize;
        let mut as_much = 1;
        for drawn in 1..=DRAWN {
            let answers = self.drawn(known, &mut rng);
            if self.best(&answers).is_some_and(|l| l.gain >= lead.gain) {
                as_much += 1;
            }
            if as_much > most {
                return as_much as f64 / (drawn + 1) as f64;
            }
        }
        as_much as f64 / (DRAWN + 1) as f64
    }

    fn drawn(&self, known: f64, rng: &mut ChaCha8Rng) -> Vec<TrialAnswer> {
        let mut answers = vec![TrialAnswer::default(); self.trials.list.len()];
        for &t in &self.open {
            let trial = &self.trials.list[t];
            if rng.random::<f64>() < known + trial.guess * (1.0 - known) {
                answers[t] = TrialAnswer {
                    right: 1.0,
                    given: trial.truth,
                };
                continue;
            }
            let choices = &self.trials.choices[trial.choices];
            let wrong = choices.iter().filter(|c| Some(**c) != trial.truth);
            let pick = rng.random_range(0..choices.len().max(2) - 1);
            answers[t].given = wrong.copied().nth(pick);
        }
        answers
    }

    fn split(&self, n: usize, answers: &[TrialAnswer]) -> Split {
        let mut split = Split::default();
        // The keys of a row stand next to each other; what is counted for people is the answer, not its keys.
        let mut last = [None; 3];
        let mut count = |nth: usize, review: usize, count: &mut usize| {
            *count += usize::from(last[nth].replace(review) != Some(review));
        };
        for &t in &self.covered[n] {
            let (trial, answer) = (&self.trials.list[t], answers[t]);
            split.inside.add(trial.guess, answer.right, trial.weight);
            count(0, trial.review, &mut split.answers);
            if answer.right >= 1.0 {
                continue;
            }
            count(1, trial.review, &mut split.wrong_answers);
            if let Some(name) = self.hypotheses[n].wrong_answer(self.trials, trial) {
                split.wrong += trial.weight;
                split.by_chance += trial.weight * self.trials.wrong_guess(trial);
                if answer.given == Some(name) {
                    split.named += trial.weight;
                    count(2, trial.review, &mut split.named_answers);
                }
            }
        }
        split
    }
}

/// The trials that a hypothesis covers, counted.
#[derive(Clone, Debug, Default)]
pub(super) struct Split {
    pub inside: AnswerCounts,
    pub answers: usize,
    pub wrong_answers: usize,
    pub named_answers: usize,
    /// Weight of wrong answers on which the hypothesis names the wrong answer, of those that were it, and of what
    /// chance would give.
    wrong: f64,
    named: f64,
    by_chance: f64,
}

impl Split {
    /// Rise of the log likelihood when these trials have a share of knowledge of their own, and their wrong answers
    /// a distribution of their own. Minus infinity where they are not the weaker part.
    fn gain(&self, all: &AnswerCounts, whole: f64, tables: &mut Tables) -> f64 {
        let inside = self.inside.log_likelihood(tables);
        let outside = all.without(&self.inside).log_likelihood(tables);
        if place(&inside) >= place(&outside) {
            return f64::NEG_INFINITY;
        }
        highest(&inside) + highest(&outside) - whole + self.wrong_gain()
    }

    fn wrong_gain(&self) -> f64 {
        if self.wrong <= 0.0 || self.named <= self.by_chance {
            return 0.0;
        }
        let (p, q) = (self.named / self.wrong, self.by_chance / self.wrong);
        let other = if p < 1.0 {
            (1.0 - p) * ((1.0 - p) / (1.0 - q)).ln()
        } else {
            0.0
        };
        self.wrong * (p * (p / q).ln() + other)
    }

    /// Chance of as many wrong answers here if no less were known than elsewhere (of which `known` is what the other
    /// answers tell), and of as many of the named one if wrong answers were drawn evenly; the two put together as in
    /// Fisher 1932, *Statistical Methods for Research Workers*, sec. 21.1. Answers with different guess chances are
    /// taken as if all had their mean, which can only overstate the tail (Hoeffding 1956, *Annals of Mathematical
    /// Statistics* 27:713-721).
    pub fn chance(&self, known: &[f64; STEPS]) -> f64 {
        let (count, wrong, no_luck) = (
            self.inside.count(),
            self.inside.wrong(),
            self.inside.no_luck(),
        );
        let fewer: f64 = (0..STEPS)
            .filter(|i| known[*i] > 1e-9)
            .map(|i| known[i] * at_least(wrong, count, no_luck * (1.0 - share(i))))
            .sum();
        if self.wrong <= 0.0 || self.by_chance >= self.wrong {
            return fewer;
        }
        let named = at_least(self.named, self.wrong, self.by_chance / self.wrong);
        let both = (fewer * named).max(f64::MIN_POSITIVE);
        both * (1.0 - both.ln())
    }
}

/// The hypothesis of a family in the middle of what is believed of them, and what the family gains: the logarithm of
/// the mean of their likelihoods. The best of them would be a matter of luck.
fn typical(gains: &[f64]) -> (usize, f64) {
    let top = gains.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if gains.len() == 1 || top == f64::NEG_INFINITY {
        return (0, top);
    }
    let weights: Vec<f64> = gains.iter().map(|g| (g - top).exp()).collect();
    let total: f64 = weights.iter().sum();
    let mut sum = 0.0;
    let middle = weights.iter().position(|w| {
        sum += w;
        sum >= 0.5 * total
    });
    let mean = total / gains.len() as f64;
    (middle.unwrap_or(0), top + mean.ln())
}

fn highest(logs: &[f64; STEPS]) -> f64 {
    logs.iter().copied().fold(f64::NEG_INFINITY, f64::max)
}

fn place(logs: &[f64; STEPS]) -> usize {
    (0..STEPS)
        .max_by(|a, b| logs[*a].total_cmp(&logs[*b]))
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: where chance alone would name the answer as often as there are wrong ones, it tells nothing, and the chance is
    /// that of this many wrong answers. Five of five wrong with a half known and no guessing: 1 in 32.
    #[test]
    fn an_answer_that_chance_names_as_often_adds_nothing() {
        let mut known = [0.0; STEPS];
        let half = (0..STEPS).min_by(|a, b| {
            let off = |i: usize| (share(i) - 0.5).abs();
            off(*a).total_cmp(&off(*b))
        });
        known[half.unwrap()] = 1.0;
        let mut split = Split::default();
        (0..5).for_each(|_| split.inside.add(0.0, 0.0, 1.0));
        let plain = split.chance(&known);
        assert!((plain - 1.0 / 32.0).abs() < 0.01, "{plain}");
        (split.wrong, split.named, split.by_chance) = (5.0, 5.0, 5.0);
        assert_eq!(split.chance(&known), plain);
        // Where it would name it in half of them: Fisher's way to put two chances together, p (1 - ln p).
        split.by_chance = 2.5;
        let both = plain / 32.0;
        let fisher = both * (1.0 - both.ln());
        assert!((split.chance(&known) - fisher).abs() < 1e-9);
    }
}
