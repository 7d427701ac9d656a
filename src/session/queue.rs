//! The questions that are still to come.

use super::Step;
use crate::question::{ItemKey, kind};
use crate::time::Seconds;
use std::collections::{BTreeSet, VecDeque};

/// How often an item is asked in one session at most, and one whose answer is produced, which takes longer (chosen).
const TIMES: usize = 3;
const TIMES_PRODUCED: usize = 2;

/// Planned steps that one may overtake (chosen).
const AHEAD: usize = 4;

/// What is still to be asked: the plan, and items that come back.
#[derive(Clone, Debug, Default)]
pub(super) struct Queue {
    plan: VecDeque<Step>,
    back: Vec<RepeatedStep>,
    asked: Vec<ItemKey>,
    /// A first meeting of this plan was passed over, so that those after it wait too.
    no_meeting: bool,
}

#[derive(Clone, Debug)]
struct RepeatedStep {
    step: Step,
    /// Number of questions asked at which it is ready.
    ready: usize,
}

impl Queue {
    pub fn extend(&mut self, steps: Vec<Step>) {
        self.plan.extend(steps);
        self.no_meeting = false;
    }

    /// Items asked so far, in that order, each as often as it was.
    pub fn asked(&self) -> Vec<ItemKey> {
        self.asked.clone()
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
        let produced = kind(&step.item.kind).is_some_and(|kind| kind.is_produced());
        if times >= if produced { TIMES_PRODUCED } else { TIMES } {
            return false;
        }
        let ready = self.asked.len() + between;
        self.back.push(RepeatedStep { step, ready });
        true
    }

    /// Takes it back that an item comes again.
    pub fn forget(&mut self, item: &ItemKey) {
        self.back.retain(|b| b.step.item != *item);
    }

    /// The next step that fits into `seconds`: an item that comes back and is ready, else the plan, else one
    /// that comes back before its turn. Planned steps that are too long are passed over and gone for today. With a card
    /// that is to be met (it is not among `met`) all those to be met after it go: they may need it.
    ///
    /// A planned step to which the band `goes_on` comes before up to [`AHEAD`] others, but before none that is to be met.
    pub fn next(
        &mut self,
        seconds: Seconds,
        met: &BTreeSet<String>,
        goes_on: impl Fn(&Step) -> bool,
    ) -> Option<Step> {
        let fits = |b: &RepeatedStep| b.step.seconds <= seconds;
        let count = self.asked.len();
        if let Some(i) = self.back.iter().position(|b| b.ready <= count && fits(b)) {
            return Some(self.back.remove(i).step);
        }
        let known = self
            .plan
            .iter()
            .take(AHEAD + 1)
            .take_while(|s| met.contains(&s.item.card));
        let last = self.asked.last().map(|item| item.card.as_str());
        let mut near =
            known.map(|s| s.seconds <= seconds && last != Some(&s.item.card) && goes_on(s));
        if let Some(i) = near.position(|goes_on| goes_on) {
            return self.plan.remove(i);
        }
        while let Some(step) = self.plan.pop_front() {
            let meets = !met.contains(&step.item.card);
            if step.seconds <= seconds && !(meets && self.no_meeting) {
                return Some(step);
            }
            self.no_meeting |= meets;
        }
        let i = self.back.iter().position(fits)?;
        Some(self.back.remove(i).step)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::question::Sense;

    fn step(card: &str, seconds: f64) -> Step {
        Step {
            item: ItemKey {
                card: card.into(),
                kind: "side".into(),
                sense: Sense::Read,
            },
            why: String::new(),
            seconds: Seconds::new(seconds),
            last: None,
        }
    }

    /// What comes of a plan in the seconds that are left, with some cards met before.
    fn comes(plan: &[(&str, f64)], seconds: f64, met: &[&str]) -> Vec<String> {
        let mut queue = Queue::default();
        queue.extend(plan.iter().map(|(card, s)| step(card, *s)).collect());
        let met = met.iter().map(|card| card.to_string()).collect();
        let next = || {
            queue
                .next(Seconds::new(seconds), &met, |_| false)
                .map(|step| step.item.card)
        };
        std::iter::from_fn(next).collect()
    }

    /// A card, one that needs it and its own second question: without the first none of them may come.
    #[test]
    fn no_card_is_met_after_one_that_was_too_long_to_be_met() {
        let plan = [
            ("known", 8.0),
            ("first", 30.0),
            ("first", 10.0),
            ("needs first", 20.0),
            ("known too", 9.0),
        ];
        let known = ["known", "known too"];
        assert_eq!(comes(&plan, 25.0, &known), known);
        assert_eq!(comes(&plan, 40.0, &known).len(), 5);
    }

    #[test]
    fn what_the_band_goes_on_to_overtakes_some_but_no_meeting() {
        let plan = ["a", "b", "c", "new", "d"].map(|card| step(card, 10.0));
        let met: BTreeSet<String> = ["a", "b", "c", "d"].map(String::from).into();
        let mut queue = Queue::default();
        queue.extend(plan.to_vec());
        let mut next = |card: &str| {
            let step = queue
                .next(Seconds::new(90.0), &met, |step| step.item.card == card)
                .unwrap();
            queue.note_asked(&step);
            step.item.card
        };
        // The last one stands behind a meeting, and a card does not come twice in a row.
        assert_eq!(
            [next("c"), next("d"), next("c"), next("d")],
            ["c", "a", "b", "new"]
        );
    }

    #[test]
    fn what_is_missed_comes_back_twice_and_once_where_it_is_produced() {
        for (kind, times) in [("side", 3), ("write", 2), ("play", 2)] {
            let mut queue = Queue::default();
            let mut missed = step("a", 10.0);
            missed.item.kind = kind.into();
            let mut asked = 1;
            queue.note_asked(&missed);
            while queue.bring_back(missed.clone(), 0) {
                queue.note_asked(&missed);
                asked += 1;
            }
            assert_eq!(asked, times, "{kind}");
        }
    }

    #[test]
    fn a_known_card_that_is_too_long_holds_nothing_up() {
        let plan = [("known", 30.0), ("new", 20.0)];
        assert_eq!(comes(&plan, 25.0, &["known"]), ["new"]);
    }

    #[test]
    fn another_plan_may_bring_what_was_passed_over() {
        let mut queue = Queue::default();
        queue.extend(vec![step("first", 30.0)]);
        assert_eq!(
            queue.next(Seconds::new(25.0), &BTreeSet::new(), |_| false),
            None
        );
        queue.extend(vec![step("first", 20.0)]);
        assert!(
            queue
                .next(Seconds::new(25.0), &BTreeSet::new(), |_| false)
                .is_some()
        );
    }
}
