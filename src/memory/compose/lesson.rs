//! The steps of the lesson: what was met and is not held, then what is to be met.

use super::Chosen;
use crate::memory::composition::hold;
use crate::memory::constants::FADING;
use crate::memory::plan::PlanBuilder;
use crate::memory::scheduler::ReviewIndex;
use crate::time::Seconds;
use std::collections::HashMap;

/// Share of the minutes that goes to second questions about cards of the lesson at most (chosen).
const LESSON: f64 = 0.5;
/// Items of one card that are not firm at once: only then another question about it is new (chosen).
const AT_ONCE: usize = 2;
/// An item is firm where it will be recalled tomorrow with this chance (chosen).
const FIRM: f64 = 0.6;

impl<'a> PlanBuilder<'a> {
    /// The cards of the lesson that are not held, or fade again: first those met before, one question each, then those to be
    /// met, then a second question about what was met before. Gives how many are met now.
    pub(super) fn lesson(&self, chosen: &mut Chosen<'a>) -> usize {
        let mut items: HashMap<&str, Vec<usize>> = HashMap::new();
        let mut order: Vec<(usize, &str)> = Vec::new();
        for (i, c) in self.request.candidates.iter().enumerate() {
            if self.role(i).lesson {
                let of = items.entry(&c.card).or_default();
                if of.is_empty() {
                    order.push((c.order, &c.card));
                }
                of.push(i);
            }
        }
        order.sort_unstable();
        let keys = |card: &str| {
            items[card]
                .iter()
                .map(|i| self.request.candidates[*i].item.as_str())
        };
        let open: Vec<&str> = order
            .iter()
            .map(|(_, card)| *card)
            .filter(|card| {
                let fades = |item: &str| {
                    let chance = self.request.memory.chance(item, self.request.now);
                    chance.is_some_and(|c| c < FADING)
                };
                !hold(self.request.memory, keys(card)).held || keys(card).any(fades)
            })
            .collect();
        let met = |card: &&&str| !self.first(items[**card][0]);
        let asked = |card: &str| {
            self.request
                .asked
                .iter()
                .any(|a| self.request.candidates[*a].card == card)
        };
        let loose = self.loose();
        let spare = self.request.settings.length() * (1.0 - LESSON);
        for round in 0..2 {
            for card in open.iter().filter(met) {
                if round == 0 && asked(card) || round == 1 && chosen.left <= spare {
                    continue;
                }
                let of = self
                    .of_card(card)
                    .filter(|i| !chosen.taken.contains(&i.candidate));
                // What was asked comes before what was not, the weakest first.
                let weakest = |i: &ReviewIndex| if i.new { -2.0 } else { -i.recall };
                let new = |i: &ReviewIndex| f64::from(u8::from(i.new)) - i.recall;
                let next = match round == 0 || loose.get(card).is_some_and(|n| *n >= AT_ONCE) {
                    true => self.best(chosen, of, weakest),
                    false => self.best(chosen, of, new),
                };
                if let Some(next) = next {
                    self.put(chosen, next);
                }
            }
            if round == 1 {
                break;
            }
            let mut to_meet: Vec<&str> = open.iter().filter(|c| !met(c)).copied().collect();
            // A card that needs another one of the lesson comes after it.
            while let Some(at) = to_meet.iter().position(|card| {
                let needs = &self.request.candidates[items[card][0]].needs;
                let waits = needs.iter().flat_map(|n| n.of.iter());
                waits
                    .filter(|n| *n != card && items.contains_key(n.as_str()))
                    .all(|n| !to_meet.contains(&n.as_str()))
            }) {
                let card = to_meet.remove(at);
                if let Some(next) = self.first_question(card)
                    && !self.put(chosen, next)
                {
                    break;
                }
            }
        }
        chosen.newly.len()
    }

    /// Of each card the number of items that were asked and are not firm.
    fn loose(&self) -> HashMap<&'a str, usize> {
        let mut loose: HashMap<&str, usize> = HashMap::new();
        let tomorrow = self.request.now + Seconds::DAY;
        for c in self.request.candidates {
            let chance = self.request.memory.chance(&c.item, tomorrow);
            if chance.is_some_and(|chance| chance < FIRM) {
                *loose.entry(&c.card).or_default() += 1;
            }
        }
        loose
    }
}
