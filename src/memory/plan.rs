//! Today's plan: what is worth the minutes at hand.

use crate::time::{Moment, Seconds};
use std::collections::{HashMap, HashSet};

use super::candidate::{Candidate, Need, Planned, Settings, Why};
use super::compose::Composer;
use super::composition::Composition;
use super::constants::{FADING, HELD};
use super::fold::Memory;
use super::order::{in_deck_order, interleave};
use super::produced::waiting;
use super::scheduler::{ReviewIndex, Scheduler};
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
/// `new_today` is the number of cards already met for the first time today. The same arguments
/// give the same plan.
#[cfg(any(test, feature = "internals"))]
pub fn plan(
    memory: &Memory,
    candidates: &[Candidate],
    settings: &Settings,
    now: Moment,
    new_today: usize,
    seed: u64,
) -> Vec<Planned> {
    plan_after(memory, candidates, &[], settings, now, new_today, seed)
}

/// The same after some questions of the same session: `asked` are their candidates (by index) in the order in which they
/// were asked, one as often as it was. Nothing of it comes again while there is anything else; then the weakest of it
/// does, some questions apart, until it was asked often enough for one day.
#[cfg(any(test, feature = "internals"))]
pub fn plan_after(
    memory: &Memory,
    candidates: &[Candidate],
    asked: &[usize],
    settings: &Settings,
    now: Moment,
    new_today: usize,
    seed: u64,
) -> Vec<Planned> {
    let composition = Composition::default();
    plan_composed(
        memory,
        candidates,
        &composition,
        asked,
        settings,
        now,
        new_today,
        seed,
    )
}

/// The same, composed: first what of the lesson is not held, as long as it lasts ([`super::hold`]); then new cards, the
/// opening in its order and then one thread after the other, of each thread in its own order; then what is worth most,
/// half of it by ear where there is an ear. The cards of the lesson wait for each other and for nothing else, and their
/// number has no limit but that at most half of the minutes goes to what is met for the first time, the lesson included.
///
/// Composed or not, an answer that is produced is asked for from a week after the first answer about its card on, or sooner
/// where the card is held by its other questions; where it has no others, at once. In a composed plan every second question
/// about such a card is then a produced one.
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
    let ask = PlanRequest {
        memory,
        candidates,
        composition,
        asked,
        settings,
        now,
        new_today,
        seed,
    };
    ask.plan()
}

/// Everything that a plan takes into account.
struct PlanRequest<'a> {
    memory: &'a Memory,
    candidates: &'a [Candidate],
    composition: &'a Composition,
    asked: &'a [usize],
    settings: &'a Settings,
    now: Moment,
    new_today: usize,
    seed: u64,
}

impl PlanRequest<'_> {
    fn plan(&self) -> Vec<Planned> {
        let (candidates, settings) = (self.candidates, self.settings);
        let scheduler = Scheduler::new(self.memory, candidates, settings, self.now);
        let met = match &self.composition.met {
            Some(met) => met.iter().map(String::as_str).collect(),
            None => met(candidates, &scheduler),
        };
        let asked: HashSet<usize> = self.asked.iter().copied().collect();
        let locks = Prerequisites::new(candidates, &met);
        let overdue = scheduler.overdue(|candidate| !asked.contains(&candidate));
        let waiting = waiting(self.memory, candidates, self.now);
        let indices = scheduler.all(|c| asked.contains(&c) || waiting.contains(&c));
        let tomorrow = match self.composition.is_empty() {
            true => scheduler.tomorrow(),
            false => self.tomorrow(&met),
        };
        let early = !self.composition.is_empty() && met.len() < EARLY;
        let tomorrow = if early { 1.0 } else { tomorrow };
        let may_meet = new_cards(settings, &scheduler, tomorrow).min(match self.was_away() {
            true => settings.new_cards_a_day.div_ceil(2),
            false => usize::MAX,
        });
        let may_meet = may_meet.saturating_sub(self.new_today);
        let (lead, chosen) = match self.composition.is_empty() {
            true => {
                let choice = PlanBuilder::new(settings, &locks, &indices, may_meet, overdue);
                (Vec::new(), choice.take())
            }
            false => {
                let choice = Composer {
                    memory: self.memory,
                    candidates,
                    composition: self.composition,
                    settings,
                    indices: &indices,
                    locks: &locks,
                    asked: self.asked,
                    now: self.now,
                    may_meet,
                    overdue,
                };
                choice.take()
            }
        };
        if lead.is_empty() && chosen.is_empty() {
            return second_round::round(&scheduler, candidates, self.asked, settings.length());
        }
        interleave(
            candidates,
            &met,
            lead,
            chosen,
            !self.composition.is_empty(),
            self.seed,
        )
    }
}

impl PlanRequest<'_> {
    /// Mean chance of recall a day from now of what was asked about cards that count as met; 1 where nothing was. What was
    /// missed before it was ever shown says nothing of how well it goes.
    fn tomorrow(&self, met: &HashSet<&str>) -> f64 {
        let of = self.candidates.iter();
        let of = of.filter(|c| met.contains(c.card.as_str()));
        let chances = of.filter_map(|c| self.memory.chance(&c.item, self.now + Seconds::DAY));
        let (sum, n) = chances.fold((0.0, 0usize), |(sum, n), chance| (sum + chance, n + 1));
        match n {
            0 => 1.0,
            n => sum / n as f64,
        }
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

/// Which cards wait for others.
pub(super) struct Prerequisites<'a> {
    candidates: &'a [Candidate],
    met: &'a HashSet<&'a str>,
}

impl<'a> Prerequisites<'a> {
    fn new(candidates: &'a [Candidate], met: &'a HashSet<&'a str>) -> Self {
        Self { candidates, met }
    }

    /// A card that was never met.
    pub(super) fn first(&self, candidate: usize) -> bool {
        !self.met.contains(self.candidates[candidate].card.as_str())
    }

    /// What is still short before the card of a candidate may be met: the needs, and of how many cards.
    pub(super) fn short(&self, candidate: usize) -> Vec<(&'a Need, usize)> {
        if !self.first(candidate) {
            return Vec::new();
        }
        let needs = self.candidates[candidate].needs.iter();
        needs
            .map(|need| (need, need.short(|card| self.met.contains(card))))
            .filter(|(_, short)| *short > 0)
            .collect()
    }
}

/// What plans are made of.
struct PlanBuilder<'a> {
    candidates: &'a [Candidate],
    settings: &'a Settings,
    indices: &'a [ReviewIndex],
    /// Cards that may be met for the first time.
    may_meet: usize,
    /// A candidate that comes whatever it is worth.
    overdue: Option<usize>,
    /// Candidates whose card was never met.
    first: HashSet<usize>,
    /// What candidates wait for.
    waits: HashMap<usize, Vec<(&'a Need, usize)>>,
}

impl<'a> PlanBuilder<'a> {
    fn new(
        settings: &'a Settings,
        locks: &Prerequisites<'a>,
        indices: &'a [ReviewIndex],
        may_meet: usize,
        overdue: Option<usize>,
    ) -> Self {
        let new = || indices.iter().filter(|w| w.new).map(|w| w.candidate);
        let waits = new().map(|candidate| (candidate, locks.short(candidate)));
        Self {
            candidates: locks.candidates,
            settings,
            indices,
            may_meet,
            overdue,
            first: new().filter(|&candidate| locks.first(candidate)).collect(),
            waits: waits.filter(|(_, short)| !short.is_empty()).collect(),
        }
    }

    /// Does a card wait for more than these, met in this very plan?
    fn waits(&self, candidate: usize, newly: &HashSet<&str>) -> bool {
        self.waits.get(&candidate).is_some_and(|needs| {
            needs.iter().any(|(need, short)| {
                let of = need.of.iter();
                of.filter(|card| newly.contains(card.as_str())).count() < *short
            })
        })
    }

    /// Takes items by their worth until the time is full.
    fn take(&self) -> Vec<Planned> {
        let (candidates, settings) = (self.candidates, self.settings);
        let key = ReviewIndex::order;
        let mut sorted: Vec<&ReviewIndex> = self.indices.iter().collect();
        sorted.sort_by(|a, b| {
            key(b)
                .total_cmp(&key(a))
                .then(a.candidate.cmp(&b.candidate))
        });
        in_deck_order(candidates, &mut sorted, key);
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
                let first = self.first.contains(&worth.candidate) && !newly.contains(card);
                let (siblings, new_siblings) = of_card.get(card).copied().unwrap_or_default();
                if taken.contains(&worth.candidate)
                    || first && newly.len() >= self.may_meet
                    || first && self.waits(worth.candidate, &newly)
                    || polite
                        && (!worth.rested || siblings >= SIBLINGS || worth.new && new_siblings > 0)
                {
                    continue;
                }
                let seconds = worth.seconds
                    + if first {
                        settings.meet_seconds
                    } else {
                        Seconds::ZERO
                    };
                if seconds > left {
                    continue;
                }
                left -= seconds;
                taken.insert(worth.candidate);
                of_card.insert(card, (siblings + 1, new_siblings + usize::from(worth.new)));
                if first {
                    newly.insert(card);
                }
                let why = match (worth.new, worth.recall < FADING) {
                    (true, _) => Why::New,
                    (false, true) => Why::Fading,
                    (false, false) => Why::Rotation,
                };
                let (recall, expected) = (worth.recall, worth.expected);
                chosen.push(Planned {
                    candidate: worth.candidate,
                    why,
                    seconds,
                    recall,
                    expected,
                });
            }
        }
        chosen
    }
}

#[cfg(test)]
mod tests;
