use super::Step;
use crate::question::ItemKey;

/// Questions asked in between before a missed item comes again.
const BETWEEN: usize = 2;
/// How often an item is asked in one session at most.
const TIMES: usize = 3;

/// What is still to be asked: the plan, and missed items that come back.
#[derive(Clone, Debug, Default)]
pub(super) struct Queue {
    plan: std::collections::VecDeque<Step>,
    missed: Vec<Back>,
    asked: Vec<ItemKey>,
}

#[derive(Clone, Debug)]
struct Back {
    step: Step,
    /// Number of questions asked at which it is ready.
    ready: usize,
}

impl Queue {
    pub fn extend(&mut self, steps: Vec<Step>) {
        self.plan.extend(steps);
    }

    pub fn len(&self) -> usize {
        self.plan.len() + self.missed.len()
    }

    /// Items asked so far, once each.
    pub fn asked(&self) -> Vec<ItemKey> {
        let mut asked = self.asked.clone();
        asked.sort();
        asked.dedup();
        asked
    }

    /// Was this item asked, or is it still to come?
    pub fn holds(&self, item: &ItemKey) -> bool {
        let planned = self.plan.iter().chain(self.missed.iter().map(|b| &b.step));
        self.asked.contains(item) || planned.into_iter().any(|s| s.item == *item)
    }

    /// Notes that the item of `step` was asked.
    pub fn note_asked(&mut self, step: &Step) {
        self.asked.push(step.item.clone());
    }

    /// Puts a missed item back. False where it was asked often enough for today.
    pub fn bring_back(&mut self, step: Step) -> bool {
        let times = self.asked.iter().filter(|i| **i == step.item).count();
        if times >= TIMES {
            return false;
        }
        let ready = self.asked.len() + BETWEEN;
        self.missed.push(Back { step, ready });
        true
    }

    /// The next step that fits into `seconds`: a missed item that is ready, else the plan, else a missed item
    /// before its turn. Planned steps that are too long are passed over and gone for today.
    pub fn next(&mut self, seconds: f64) -> Option<Step> {
        let fits = |b: &Back| b.step.seconds <= seconds;
        let count = self.asked.len();
        if let Some(i) = self.missed.iter().position(|b| b.ready <= count && fits(b)) {
            return Some(self.missed.remove(i).step);
        }
        while let Some(step) = self.plan.pop_front() {
            if step.seconds <= seconds {
                return Some(step);
            }
        }
        let i = self.missed.iter().position(fits)?;
        Some(self.missed.remove(i).step)
    }
}
