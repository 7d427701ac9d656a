//! Composing an evening: the lesson, then what is new in each thread, then what is worth most.

mod lesson;
#[cfg(test)]
mod tests;

use crate::time::{Moment, Seconds};
use std::collections::{HashMap, HashSet, VecDeque};

use super::candidate::Planned;
use super::composition::PlanRole;
use super::plan::{PlanBuilder, SIBLINGS};
use super::scheduler::ReviewIndex;

/// Share of the minutes that goes to cards met for the first time at most.
const NEW: f64 = 0.5;
/// Share of the minutes that goes to first questions about cards that count as met without having been asked at most,
/// while there is anything else (chosen).
const UNTRIED: f64 = 0.25;

/// New cards among the others: after each of them two others, as long as there are any; none about a card that is still to
/// be met.
fn spread<'a>(
    new: Vec<Planned>,
    mut others: Vec<Planned>,
    card: impl Fn(&Planned) -> &'a str,
) -> Vec<Planned> {
    let mut to_meet: VecDeque<&str> = new.iter().map(&card).collect();
    let mut all = Vec::new();
    for step in new {
        all.push(step);
        to_meet.pop_front();
        for _ in 0..2 {
            if let Some(at) = others.iter().position(|p| !to_meet.contains(&card(p))) {
                all.push(others.remove(at));
            }
        }
    }
    all.extend(others);
    all
}

/// What was chosen so far.
struct Chosen<'a> {
    left: Seconds,
    new_left: Seconds,
    steps: Vec<Planned>,
    taken: HashSet<usize>,
    of_card: HashMap<&'a str, usize>,
    newly: HashSet<&'a str>,
    /// Questions by ear, and all, those among them that are likely to come back.
    by_ear: f64,
    asked: f64,
}

impl<'a> PlanBuilder<'a> {
    /// The steps of the lesson, then the others, each in the order in which they were chosen.
    pub fn composed(&self) -> (Vec<Planned>, Vec<Planned>) {
        let seconds = self.request.settings.length();
        let asked = self.request.asked;
        let mut chosen = Chosen {
            left: seconds,
            new_left: seconds * NEW,
            steps: Vec::new(),
            taken: HashSet::new(),
            of_card: HashMap::new(),
            newly: HashSet::new(),
            by_ear: asked.iter().filter(|c| self.role(**c).by_ear).count() as f64,
            asked: asked.len() as f64,
        };
        let lessons = self.lesson(&mut chosen);
        let lead = std::mem::take(&mut chosen.steps);
        self.threads(&mut chosen, self.may_meet.saturating_sub(lessons));
        let new = std::mem::take(&mut chosen.steps);
        self.others(&mut chosen);
        let card = |p: &Planned| self.request.candidates[p.candidate].card.as_str();
        (lead, spread(new, chosen.steps, card))
    }

    pub(super) fn role(&self, candidate: usize) -> PlanRole {
        self.request.composition.role(candidate)
    }

    pub(super) fn card(&self, index: &ReviewIndex) -> &'a str {
        &self.request.candidates[index.candidate].card
    }

    /// The items of a card.
    pub(super) fn of_card(&self, card: &str) -> impl Iterator<Item = &'a ReviewIndex> + Clone {
        self.indices.iter().filter(move |i| self.card(i) == card)
    }

    /// Takes an item if there is time for it.
    fn put(&self, chosen: &mut Chosen<'a>, index: &ReviewIndex) -> bool {
        let card = self.card(index);
        let first = self.first(index.candidate) && !chosen.newly.contains(card);
        let planned = index.planned(match first {
            true => self.request.settings.meet_seconds,
            false => Seconds::ZERO,
        });
        let seconds = planned.seconds;
        if seconds > chosen.left || first && seconds > chosen.new_left {
            return false;
        }
        chosen.left -= seconds;
        if first {
            chosen.new_left -= seconds;
            chosen.newly.insert(card);
        }
        chosen.taken.insert(index.candidate);
        *chosen.of_card.entry(card).or_default() += 1;
        // What is missed comes back tonight.
        let times = 2.0 - index.expected;
        chosen.asked += times;
        if self.role(index.candidate).by_ear {
            chosen.by_ear += times;
        }
        chosen.steps.push(planned);
        true
    }

    /// The question with which a card is met: by eye where there is one, since it was just shown; the one that comes first.
    fn first_question(&self, card: &str) -> Option<&'a ReviewIndex> {
        let by_eye = |i: &ReviewIndex| !self.role(i.candidate).by_ear;
        self.of_card(card).max_by(|a, b| {
            by_eye(a)
                .cmp(&by_eye(b))
                .then(a.priority.total_cmp(&b.priority))
                .then(b.candidate.cmp(&a.candidate))
        })
    }

    /// Are fewer than half of the questions so far by ear?
    fn wants_ear(&self, chosen: &Chosen) -> bool {
        self.request.composition.ears && 2.0 * chosen.by_ear < chosen.asked + 1.0
    }

    /// The best of some items by `key`, in the sense that is short if there is one.
    fn best<'i>(
        &self,
        chosen: &Chosen,
        of: impl Iterator<Item = &'i ReviewIndex> + Clone,
        key: impl Fn(&ReviewIndex) -> f64,
    ) -> Option<&'i ReviewIndex> {
        let best = |of: &mut dyn Iterator<Item = &'i ReviewIndex>| {
            of.max_by(|a, b| {
                key(a)
                    .total_cmp(&key(b))
                    .then(b.candidate.cmp(&a.candidate))
            })
        };
        let want = self.wants_ear(chosen);
        let short = |i: &&ReviewIndex| self.role(i.candidate).by_ear == want;
        best(&mut of.clone().filter(short)).or_else(|| best(&mut of.clone()))
    }

    /// New cards of the course: the opening in its order, then from each thread in turn.
    fn threads(&self, chosen: &mut Chosen<'a>, may_meet: usize) {
        let composition = self.request.composition;
        let threads = composition.roles.iter().map(|r| r.thread + 1).max();
        let threads = threads.unwrap_or(1);
        let today = |t: usize| composition.new_today.get(t).copied().unwrap_or(0);
        let mut tonight: Vec<usize> = (0..threads).map(today).collect();
        let (mut all, mut met) = (vec![0usize; threads], vec![0usize; threads]);
        let mut new: Vec<Vec<usize>> = vec![Vec::new(); threads];
        let mut seen = HashSet::new();
        for (i, c) in self.request.candidates.iter().enumerate() {
            let role = self.role(i);
            if seen.insert(c.card.as_str()) {
                all[role.thread] += 1;
                match self.first(i) {
                    false => met[role.thread] += 1,
                    true if !role.lesson => new[role.thread].push(i),
                    true => {}
                }
            }
        }
        for of in &mut new {
            of.sort_by_key(|i| self.request.candidates[*i].order);
        }
        for _ in 0..may_meet {
            // The next card of each thread that waits for nothing.
            let next = |t: usize| {
                let of = new[t].iter().copied();
                let mut of = of.filter(|&i| {
                    !chosen
                        .newly
                        .contains(self.request.candidates[i].card.as_str())
                });
                of.find(|&i| !self.waits(i, &chosen.newly))
            };
            let ready: Vec<(usize, usize)> = (0..threads)
                .filter_map(|t| next(t).map(|i| (t, i)))
                .collect();
            let order = |i: usize| self.request.candidates[i].order;
            let opening = ready
                .iter()
                .filter(|(_, i)| order(*i) < self.request.composition.opening)
                .min_by_key(|(_, i)| order(*i));
            let turn = ready.iter().min_by(|(a, _), (b, _)| {
                let share = |t: usize| met[t] as f64 / all[t].max(1) as f64;
                tonight[*a]
                    .cmp(&tonight[*b])
                    .then(share(*a).total_cmp(&share(*b)))
            });
            let Some(&(thread, i)) = opening.or(turn) else {
                return;
            };
            let card = self.request.candidates[i].card.as_str();
            let Some(index) = self.first_question(card) else {
                return;
            };
            if !self.put(chosen, index) {
                return;
            }
            tonight[thread] += 1;
            met[thread] += 1;
        }
    }

    /// What was met, by its worth, half of it by ear.
    fn others(&self, chosen: &mut Chosen<'a>) {
        let known =
            |i: &&ReviewIndex| !self.first(i.candidate) || chosen.newly.contains(self.card(i));
        let sorted = ReviewIndex::sorted(self.indices.iter().filter(known));
        if let Some(i) = self.overdue
            && let Some(index) = sorted.iter().find(|x| x.candidate == i)
            && !chosen.taken.contains(&i)
        {
            self.put(chosen, index);
        }
        let tried: HashSet<&str> = (self.request.candidates.iter())
            .filter(|c| self.request.memory.reviews(&c.item) > 0)
            .map(|c| c.card.as_str())
            .collect();
        let untried = |i: &ReviewIndex| !tried.contains(self.card(i));
        let mut untried_left = self.request.settings.length() * UNTRIED;
        for polite in [true, false] {
            // Places in the list where each sense has come to.
            let mut at = [0, 0];
            loop {
                let may = |i: &ReviewIndex| {
                    let siblings = chosen.of_card.get(self.card(i)).copied().unwrap_or(0);
                    !chosen.taken.contains(&i.candidate)
                        && i.seconds <= chosen.left
                        && (!polite
                            || i.rested
                                && siblings < SIBLINGS
                                && !(i.new && siblings > 0)
                                && !(untried(i) && i.seconds > untried_left))
                };
                let mut find = |ear: bool| {
                    let at = &mut at[usize::from(ear)];
                    while let Some(i) = sorted.get(*at) {
                        if self.role(i.candidate).by_ear == ear && may(i) {
                            return Some(*i);
                        }
                        *at += 1;
                    }
                    None
                };
                let want = self.wants_ear(chosen);
                let Some(next) = find(want).or_else(|| find(!want)) else {
                    break;
                };
                // One that was asked lately may come again so.
                let free = |i: &&ReviewIndex| {
                    !chosen.taken.contains(&i.candidate) && i.seconds <= chosen.left
                };
                let next = self.produced_of(next).filter(free).unwrap_or(next);
                let main = untried(next).then(|| self.main_of(next)).flatten();
                let next = main.filter(free).unwrap_or(next);
                if untried(next) {
                    untried_left -= next.seconds;
                }
                self.put(chosen, next);
            }
        }
    }

    /// A question about what the thread is about instead of the one that is chosen, which is not: a card of which nothing was
    /// asked begins so.
    fn main_of(&self, chosen: &ReviewIndex) -> Option<&'a ReviewIndex> {
        let role = |i: &ReviewIndex| self.role(i.candidate);
        self.of_card(self.card(chosen))
            .filter(|i| role(i).main && !role(chosen).main)
            .max_by_key(|i| role(i).by_ear == role(chosen).by_ear)
    }

    /// A produced question instead of the one that is chosen, the one that has gone unasked longest: of a card that has
    /// such ones every second question is produced.
    fn produced_of(&self, chosen: &ReviewIndex) -> Option<&'a ReviewIndex> {
        let card = self.card(chosen);
        let last = |item: &str| self.request.memory.last_seen(item).unwrap_or(Moment::NEVER);
        let latest = |produced: bool| {
            let of = self.request.candidates.iter();
            let of = of.filter(|c| c.card == card && c.produced == produced);
            of.map(|c| last(&c.item)).fold(Moment::NEVER, Moment::max)
        };
        let of = |i: usize| &self.request.candidates[i];
        if of(chosen.candidate).produced || latest(true) > latest(false) {
            return None;
        }
        let produced = self.of_card(card).filter(|i| of(i.candidate).produced);
        produced.min_by(|a, b| last(&of(a.candidate).item).total_cmp(&last(&of(b.candidate).item)))
    }
}
