//! Today's plan: what is worth the minutes at hand.

use crate::time::{Moment, Seconds};
use std::collections::{HashMap, HashSet};

use super::candidate::{Candidate, Planned, Settings};
use super::composition::Composition;
use super::constants::HELD;
use super::fold::Memory;
use super::order::{in_deck_order, interleave};
use super::produced::waiting;
use super::scheduler::{ReviewIndex, SAMPLE, Scheduler};
use super::second_round;

/// Until so many cards are met, a composed evening brings new ones however it goes: too little is known then (chosen).
const EARLY: usize = 12;
/// After this long without an answer, at most half of the new cards come in a composed evening (chosen).
const AWAY: Seconds = Seconds::from_days(3.5);
/// Items of one card in a plan, as long as there is anything else.
pub(super) const SIBLINGS: usize = 2;

/// Fills the minutes by the tiers of the module `scheduler`: what is fading, what is new, the rest in turn. New
/// cards come after those that they need, and those of one plan in the order of the decks. Neighbours are of different
/// cards, and of different kinds, where that is possible. Never plans more seconds than there are.
///
/// Fewer new cards come when things go badly. What counts is how much of everything met will be recalled a day from
/// now. Where that is half or more, new cards come in the number of the settings; below it they are fewer; and at about
/// a third there are none until what was met is held better. On the first evenings, which could not be filled
/// otherwise, twice as many may come.
///
/// Where there is something to compose, first comes what of the lesson is not held, as long as it lasts
/// ([`super::hold`]); then new cards, the opening in its order and then one thread after the other, of each thread in its
/// own order; then what is worth most, half of it by ear where there is an ear. The cards of the lesson wait for each other
/// and for nothing else, and their number has no limit but that at most half of the minutes goes to what is met for the
/// first time, the lesson included.
///
/// Composed or not, an answer that is produced is asked for from a week after the first answer about its card on, or sooner
/// where the card is held by its other questions; where it has no others, at once. In a composed plan every second question
/// about such a card is then a produced one.
///
/// `asked` are the candidates (by index) of the same session so far, in the order in which they were asked, one as often as
/// it was. Nothing of it comes again while there is anything else; then the weakest of it does, some questions apart, until
/// it was asked often enough for one day. `new_today` is the number of cards already met for the first time today. The same
/// arguments give the same plan.
#[allow(clippy::too_many_arguments)] // a plan is made of just these
pub fn plan_composed(
    memory: &Memory,
    candidates: &[Candidate],
    composition: &Composition,
    asked: &[usize],
    settings: &Settings,
    now: Moment,
    new_today: usize,
    seed: u64,
) -> Vec<Planned> {
    let request = PlanRequest {
        memory,
        candidates,
        composition,
        asked,
        settings,
        now,
        new_today,
        seed,
    };
    request.plan()
}

/// Everything that a plan takes into account, see [`plan_composed`].
#[derive(Clone, Copy)]
pub(super) struct PlanRequest<'a> {
    pub memory: &'a Memory,
    pub candidates: &'a [Candidate],
    pub composition: &'a Composition,
    pub asked: &'a [usize],
    pub settings: &'a Settings,
    pub now: Moment,
    pub new_today: usize,
    pub seed: u64,
}

impl PlanRequest<'_> {
    pub fn plan(&self) -> Vec<Planned> {
        let (candidates, settings) = (self.candidates, self.settings);
        let composed = !self.composition.is_empty();
        let scheduler = Scheduler::new(self);
        let met = match &self.composition.met {
            Some(met) => met.iter().map(String::as_str).collect(),
            None => met(candidates, &scheduler),
        };
        let asked: HashSet<usize> = self.asked.iter().copied().collect();
        let overdue = scheduler.overdue(|candidate| !asked.contains(&candidate));
        let waiting = waiting(self.memory, candidates, self.now);
        let indices = scheduler.all(|c| asked.contains(&c) || waiting.contains(&c));
        // What was missed before it was ever shown says nothing of how well it goes.
        let tomorrow = match composed {
            true if met.len() < EARLY => 1.0,
            true => scheduler.tomorrow(usize::MAX, |c| met.contains(c.card.as_str())),
            false => scheduler.tomorrow(SAMPLE, |_| true),
        };
        let may_meet = new_cards(settings, &scheduler, tomorrow).min(match self.was_away() {
            true => settings.new_cards_a_day.div_ceil(2),
            false => usize::MAX,
        });
        let builder = PlanBuilder {
            request: self,
            indices: &indices,
            met: &met,
            may_meet: may_meet.saturating_sub(self.new_today),
            overdue,
        };
        let (lead, chosen) = match composed {
            true => builder.composed(),
            false => (Vec::new(), builder.by_worth()),
        };
        if lead.is_empty() && chosen.is_empty() {
            return second_round::round(&scheduler, candidates, self.asked, settings.length());
        }
        interleave(candidates, &met, lead, chosen, composed, self.seed)
    }

    /// Was nothing asked for days before this session? Then there is more to bring back than to bring, see [`AWAY`].
    fn was_away(&self) -> bool {
        let asked: HashSet<usize> = self.asked.iter().copied().collect();
        let others = self.candidates.iter().enumerate();
        let others = others.filter(|(i, _)| !asked.contains(i));
        let last = others.filter_map(|(_, c)| self.memory.last_seen(&c.item));
        let last = last.max_by(Moment::total_cmp);
        !self.composition.is_empty() && last.is_some_and(|last| self.now - last > AWAY)
    }
}

/// How many new cards today. The limit of the settings, or twice as many on the first evenings, which could not be
/// filled otherwise. Fewer where the mean chance of recall tomorrow, of all that was met, is below the upper of [`HELD`],
/// and none where it is below the lower.
fn new_cards(settings: &Settings, scheduler: &Scheduler, tomorrow: f64) -> usize {
    let limit = settings.new_cards_a_day;
    if limit == usize::MAX {
        return limit;
    }
    let most = match scheduler.fills(limit, second_round::TIMES) {
        true => limit,
        false => limit.saturating_mul(2),
    };
    let held = (tomorrow - HELD.0) / (HELD.1 - HELD.0);
    (most as f64 * held.clamp(0.0, 1.0)).round() as usize
}

/// Cards of which something was asked before.
fn met<'a>(candidates: &'a [Candidate], scheduler: &Scheduler) -> HashSet<&'a str> {
    let mut met: HashSet<&str> = HashSet::new();
    let mut last = "";
    for (candidate, c) in candidates.iter().enumerate() {
        // Items of a card mostly stand together.
        if scheduler.asked_before(candidate) && c.card != last {
            last = &c.card;
            met.insert(last);
        }
    }
    met
}

/// What plans are made of.
pub(super) struct PlanBuilder<'a> {
    pub request: &'a PlanRequest<'a>,
    pub indices: &'a [ReviewIndex],
    /// Cards that count as met.
    met: &'a HashSet<&'a str>,
    /// Cards that may be met for the first time; those of the lesson have no limit.
    pub may_meet: usize,
    /// A candidate that comes whatever it is worth.
    pub overdue: Option<usize>,
}

impl PlanBuilder<'_> {
    /// A card that was never met.
    pub fn first(&self, candidate: usize) -> bool {
        let card = &self.request.candidates[candidate].card;
        !self.met.contains(card.as_str())
    }

    /// Does a card that was never met need more than was met before, and is met in this very plan?
    pub fn waits(&self, candidate: usize, newly: &HashSet<&str>) -> bool {
        let there = |card: &str| self.met.contains(card) || newly.contains(card);
        let needs = &self.request.candidates[candidate].needs;
        !needs.iter().all(|need| need.is_met(there))
    }

    /// Takes items by their worth until the time is full.
    fn by_worth(&self) -> Vec<Planned> {
        let (candidates, settings) = (self.request.candidates, self.request.settings);
        let mut sorted = ReviewIndex::sorted(self.indices.iter());
        in_deck_order(candidates, &mut sorted, ReviewIndex::order);
        if let Some(first) = sorted
            .iter()
            .position(|w| Some(w.candidate) == self.overdue)
        {
            sorted[..=first].rotate_right(1);
        }
        let mut left = settings.length();
        let mut chosen: Vec<Planned> = Vec::new();
        let mut taken = HashSet::new();
        let mut of_card: HashMap<&str, (usize, usize)> = HashMap::new();
        let mut newly: HashSet<&str> = HashSet::new();
        // First with all the manners, then what is left of the time with fewer.
        for polite in [true, false] {
            for worth in &sorted {
                let card = candidates[worth.candidate].card.as_str();
                let first = worth.new && self.first(worth.candidate) && !newly.contains(card);
                let (siblings, new_siblings) = of_card.get(card).copied().unwrap_or_default();
                if taken.contains(&worth.candidate)
                    || first && newly.len() >= self.may_meet
                    || first && self.waits(worth.candidate, &newly)
                    || polite
                        && (!worth.rested || siblings >= SIBLINGS || worth.new && new_siblings > 0)
                {
                    continue;
                }
                let planned = worth.planned(match first {
                    true => settings.meet_seconds,
                    false => Seconds::ZERO,
                });
                if planned.seconds > left {
                    continue;
                }
                left -= planned.seconds;
                taken.insert(worth.candidate);
                of_card.insert(card, (siblings + 1, new_siblings + usize::from(worth.new)));
                if first {
                    newly.insert(card);
                }
                chosen.push(planned);
            }
        }
        chosen
    }
}

#[cfg(test)]
mod tests;
