use super::Step;
use crate::question::ItemKey;

/// How often an item is asked in one session at most.
const TIMES: usize = 3;

/// What is still to be asked: the plan, and items that come back.
#[derive(Clone, Debug, Default)]
pub(super) struct Queue {
    plan: std::collections::VecDeque<Step>,
    back: Vec<Back>,
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
        self.plan.len() + self.back.len()
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
        let planned = self.plan.iter().chain(self.back.iter().map(|b| &b.step));
        self.asked.contains(item) || planned.into_iter().any(|s| s.item == *item)
    }

    /// Notes that the item of `step` was asked.
    pub fn note_asked(&mut self, step: &Step) {
        self.asked.push(step.item.clone());
    }

    /// Lets an item come again after `between` other questions. False where it was asked often enough for today.
    pub fn bring_back(&mut self, step: Step, between: usize) -> bool {
        let times = self.asked.iter().filter(|i| **i == step.item).count();
        if times >= TIMES {
            return false;
        }
        let ready = self.asked.len() + between;
        self.back.push(Back { step, ready });
        true
    }

    /// The next step that fits into `seconds`: an item that comes back and is ready, else the plan, else one
    /// that comes back before its turn. Planned steps that are too long are passed over and gone for today.
    pub fn next(&mut self, seconds: f64) -> Option<Step> {
        let fits = |b: &Back| b.step.seconds <= seconds;
        let count = self.asked.len();
        if let Some(i) = self.back.iter().position(|b| b.ready <= count && fits(b)) {
            return Some(self.back.remove(i).step);
        }
        while let Some(step) = self.plan.pop_front() {
            if step.seconds <= seconds {
                return Some(step);
            }
        }
        let i = self.back.iter().position(fits)?;
        Some(self.back.remove(i).step)
    }
}
