//! The course: how much of it a player is taken to know, and what an evening brings.

use super::stands::Stands;
use super::strokes::BY_HEART;
use super::thread::{OPENING, Thread, deck, order};
use super::{Item, ItemKey, Sense, candidates, kind};
use crate::deck::{Card, Deck};
use crate::memory::{
    Candidate, Composition, Memory, Placement, PlanRole, Planned, Settings, UnseenAnswer,
    plan_composed,
};
use crate::time::{Moment, Seconds};
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::ops::Range;

/// What is known of a player when an evening is composed.
#[derive(Clone, Debug, Default)]
pub struct Learner {
    /// What the player said.
    pub stands: Stands,
    /// Cards that were shown in full.
    pub introduced: BTreeSet<String>,
    /// Cards among them that were shown today.
    pub today: BTreeSet<String>,
    /// The first answer to each item whose card had not been shown in full, the first one first.
    pub unseen: Vec<(ItemKey, UnseenAnswer)>,
    /// Cards of the lesson.
    pub lesson: BTreeSet<String>,
    /// Is the player sounded out, or was once? Then what they are taken to know is not taught. The number is that of the
    /// entries in `unseen` when the sounding out began.
    pub sounded: Option<usize>,
}

/// What to ask next.
#[derive(Clone, Debug, Default)]
pub struct Evening {
    /// What is planned.
    pub planned: Vec<Planned>,
    /// Candidates that sound the player out, after the plan.
    pub soundings: Vec<usize>,
    /// Cards that are asked without being shown first.
    pub unseen: BTreeSet<String>,
}

/// What may be asked, and what comes first.
#[derive(Clone, Debug)]
pub struct Course {
    candidates: Vec<Candidate>,
    items: Vec<ItemKey>,
    threads: Vec<Thread>,
    /// The cards of each thread in their order.
    chains: [Vec<String>; 3],
    /// Place of a card: its thread, and its place in it.
    places: HashMap<String, (usize, usize)>,
    /// The places of the decks in a thread: those before the first deck, and those from the first card of each deck to
    /// that of the next.
    decks: [Vec<Range<usize>>; 3],
    needs: HashMap<String, Vec<String>>,
    ears: bool,
}

/// Questions of sounding out at most.
pub const SOUNDINGS: usize = 25;
/// A thread is placed when its place is within one deck with this chance (chosen).
const PLACED: f64 = 0.98;
/// Questions in a thread at least before it is placed (chosen).
const LEAST: usize = 4;
/// How much less a question may tell if it is in the sense that has had fewer (chosen).
const SHORT: f64 = 0.1;
/// How much less a question tells that is of the same kind as the one before (chosen): an evening that sounds a player
/// out should not be about hands alone.
const AGAIN: f64 = 0.5;
/// By how much each of these questions makes a thread less urgent (chosen).
const FEW: f64 = 0.1;
/// A question tells nearly as much as another where it tells at least this share of it (chosen).
const NEARLY: f64 = 0.85;
/// Chance of a right answer above which a question gets no more pleasant (chosen): an evening that is half misses is
/// dull.
const PLEASANT: f64 = 0.75;
/// Cards that are known with at least this chance are not taught (chosen: more likely than not).
const HAS: f64 = 0.5;

impl Course {
    /// The course over these decks and items.
    pub fn new(decks: &[Deck], items: &[Item]) -> Course {
        let mut candidates = candidates(decks, items);
        let cards: HashMap<&str, &Card> = decks
            .iter()
            .flat_map(|d| &d.cards)
            .map(|c| (c.id.as_str(), c))
            .collect();
        let thread = |card: &str| cards.get(card).map_or(Thread::Side, |c| Thread::of(c));
        let threads: Vec<Thread> = items.iter().map(|i| thread(&i.key.card)).collect();
        let order = order(&candidates, &threads);
        for candidate in &mut candidates {
            candidate.order = order[&candidate.card];
        }
        let mut first: BTreeMap<usize, (&str, usize)> = BTreeMap::new();
        for (c, t) in candidates.iter().zip(&threads) {
            first.entry(c.order).or_insert((&c.card, t.index()));
        }
        let mut chains: [Vec<String>; 3] = Default::default();
        let mut begins: [Vec<usize>; 3] = Default::default();
        let mut places = HashMap::new();
        let mut begun = HashSet::new();
        for (order, (card, t)) in first {
            // A card that opens the course does not begin a deck.
            if order >= OPENING.len() && begun.insert(deck(card)) {
                begins[t].push(chains[t].len());
            }
            places.insert(card.to_string(), (t, chains[t].len()));
            chains[t].push(card.to_string());
        }
        // Who knows this many cards has come to the deck of the last of them.
        let decks = [0, 1, 2].map(|t| {
            let from = [0].into_iter().chain(begins[t].iter().map(|b| b + 1));
            let to = begins[t].iter().map(|b| b + 1).chain([chains[t].len() + 1]);
            from.zip(to).map(|(from, to)| from..to).collect()
        });
        let needs = cards
            .values()
            .map(|c| (c.id.clone(), c.needs.clone()))
            .collect();
        Course {
            ears: items.iter().any(|i| i.key.sense == Sense::Hear),
            items: items.iter().map(|i| i.key.clone()).collect(),
            candidates,
            threads,
            chains,
            places,
            decks,
            needs,
        }
    }

    /// What may be asked, as the memory model takes it.
    pub fn candidates(&self) -> &[Candidate] {
        &self.candidates
    }

    /// The cards of a thread, in the order in which they are learned.
    #[cfg(any(test, feature = "internals"))]
    pub fn chain(&self, thread: Thread) -> &[String] {
        &self.chains[thread.index()]
    }

    /// The thread of a candidate.
    #[cfg(any(test, feature = "internals"))]
    pub fn thread(&self, candidate: usize) -> Thread {
        self.threads[candidate]
    }

    /// How many decks of a thread have begun before the card after so many.
    pub fn decks_begun(&self, thread: Thread, place: usize) -> usize {
        let decks = self.decks[thread.index()].iter().skip(1);
        decks.take_while(|deck| deck.start <= place).count()
    }

    /// What the answers about things never shown say of the player.
    pub fn placement(&self, standing: &Learner) -> Placement {
        let sizes: Vec<usize> = self.chains.iter().map(Vec::len).collect();
        let mut placement = Placement::new(&sizes, &standing.stands.learned());
        for (item, reply) in &standing.unseen {
            if let Some((thread, place)) = self.places.get(&item.card) {
                placement.observe(*thread, *place, *reply);
            }
        }
        placement
    }

    /// Cards that count as met without having been shown: those answered right and in time, and for players who are
    /// sounded out those that they are taken to know, with all that these rest on. What was missed is not among them.
    pub fn known(&self, standing: &Learner) -> BTreeSet<String> {
        let mut known = BTreeSet::new();
        if standing.sounded.is_some() {
            let placement = self.placement(standing);
            for (t, chain) in self.chains.iter().enumerate() {
                let sure = placement.known(t);
                let has = chain.iter().zip(sure).filter(|(_, sure)| *sure >= HAS);
                let cards = has
                    .map(|(card, _)| card)
                    .filter(|c| !standing.lesson.contains(*c));
                known.extend(cards.cloned());
            }
            let mut open: Vec<String> = known.iter().cloned().collect();
            while let Some(card) = open.pop() {
                for need in self.needs.get(&card).into_iter().flatten() {
                    if self.places.contains_key(need) && known.insert(need.clone()) {
                        open.push(need.clone());
                    }
                }
            }
        }
        for (item, _) in standing.unseen.iter().filter(|(_, reply)| !reply.right) {
            known.remove(&item.card);
        }
        let right = standing.unseen.iter();
        let right = right.filter(|(_, reply)| reply.right && reply.in_time);
        known.extend(right.map(|(item, _)| item.card.clone()));
        known
    }

    /// What an evening is made up of for this player.
    pub fn composition(&self, standing: &Learner) -> Composition {
        let mut met: HashSet<String> = standing.introduced.iter().cloned().collect();
        met.extend(self.known(standing));
        let mut new_today = vec![0; Thread::ALL.len()];
        for card in standing
            .today
            .iter()
            .filter(|c| !standing.lesson.contains(*c))
        {
            if let Some((thread, _)) = self.places.get(card) {
                new_today[*thread] += 1;
            }
        }
        let role = |(item, thread): (&ItemKey, &Thread)| PlanRole {
            thread: thread.index(),
            lesson: standing.lesson.contains(&item.card),
            by_ear: item.sense == Sense::Hear,
            main: thread.asks(&item.kind),
        };
        Composition {
            roles: self.items.iter().zip(&self.threads).map(role).collect(),
            met: Some(met),
            new_today,
            opening: OPENING.len(),
            ears: self.ears,
        }
    }

    /// The next question that sounds a player out; none where every thread is placed within one deck, enough was asked, or the
    /// player is not sounded out. It is of the thread that is least sure, about a card that was neither shown nor asked
    /// like this, and tells most about the deck that the player has come to, or nearly so: of those it is the likeliest
    /// to be answered right, up to [`PLEASANT`].
    pub fn soundings(&self, memory: &Memory, standing: &Learner) -> Vec<usize> {
        let Some(since) = standing.sounded else {
            return Vec::new();
        };
        if standing.unseen.len().saturating_sub(since) >= SOUNDINGS {
            return Vec::new();
        }
        let placement = self.placement(standing);
        let tried: HashSet<&str> = standing
            .unseen
            .iter()
            .map(|(item, _)| item.card.as_str())
            .collect();
        // Of two questions that tell the same the one of the sense that is short.
        let heard = standing.unseen.iter();
        let heard = heard.filter(|(item, _)| item.sense == Sense::Hear).count();
        let by_ear = 2 * heard < standing.unseen.len();
        let now = standing.unseen.iter().skip(since);
        let last_kind = now.clone().last().map(|(item, _)| &item.kind);
        let now: Vec<&str> = now.map(|(item, _)| item.card.as_str()).collect();
        let asked_of = |t: Thread| {
            let of = now.iter().filter_map(|card| self.places.get(*card));
            of.filter(|(thread, _)| *thread == t.index()).count()
        };
        // How unsure each thread is; one of few questions yet comes first.
        let unsure = Thread::ALL.map(|t| {
            let unsure = 1.0 - self.near(&placement, t);
            match asked_of(t) {
                few if few < LEAST => Some(unsure + 1.0 - FEW * few as f64),
                _ => Some(unsure).filter(|unsure| 1.0 - unsure < PLACED),
            }
        });
        let places = [0, 1, 2].map(|t| placement.places(t));
        let known = [0, 1, 2].map(|t| placement.known(t));
        let mut told: HashMap<(usize, usize, u64), f64> = HashMap::new();
        let mut telling: [Vec<ExpectedInformation>; 3] = Default::default();
        for (i, item) in self.items.iter().enumerate() {
            let Some((t, place)) = self.places.get(&item.card) else {
                continue;
            };
            // A bar of our own that was never shown cannot be known by heart.
            let concepts = &self.candidates[i].concepts;
            let by_heart = concepts.iter().any(|c| c == BY_HEART);
            let unknowable = by_heart && self.threads[i] != Thread::Strokes;
            if unsure[*t].is_none()
                || unknowable
                || self.candidates[i].produced
                || tried.contains(item.card.as_str())
                || standing.introduced.contains(&item.card)
                || standing.lesson.contains(&item.card)
            {
                continue;
            }
            let guess = kind(&item.kind).map_or(0.5, |k| k.usual_guess);
            let bits = told
                .entry((*t, *place, guess.to_bits()))
                .or_insert_with(|| Placement::tells(&places[*t], *place, guess, &self.decks[*t]));
            let short = f64::from(u8::from((item.sense == Sense::Hear) == by_ear));
            let again = last_kind == Some(&item.kind);
            telling[*t].push(ExpectedInformation {
                // Neither questions nor time are at will: the root of the seconds stands between the two.
                tells: *bits / self.sounding_seconds(memory, i).seconds().sqrt()
                    * (1.0 + SHORT * short)
                    * if again { AGAIN } else { 1.0 },
                right: Placement::expected(known[*t][*place], guess).min(PLEASANT),
                item: i,
            });
        }
        let threads = unsure.iter().zip(&telling);
        let threads = threads.filter_map(|(unsure, of)| Some(((*unsure)?, best(of)?)));
        let next = threads.max_by(|(a, _), (b, _)| a.total_cmp(b));
        next.map(|(_, item)| item).into_iter().collect()
    }

    /// How long the item of this number takes when it sounds a player out: answering, and looking at the answer.
    pub fn sounding_seconds(&self, memory: &Memory, item: usize) -> Seconds {
        memory.seconds_estimate(&self.candidates[item]) + Settings::default().reveal_seconds
    }

    /// What to ask in the seconds that there are: what is planned, and before it, where the player is sounded out and `left`
    /// questions may do so, what of the lesson is not held and then the questions that tell most; their answers decide
    /// the next ones, so that such a plan is short. `asked` as in [`crate::memory::plan_composed`].
    #[allow(clippy::too_many_arguments)] // a plan is made of just these
    pub fn evening(
        &self,
        memory: &Memory,
        standing: &Learner,
        asked: &[usize],
        settings: &Settings,
        left: usize,
        now: Moment,
        seed: u64,
    ) -> Evening {
        let mut planned = plan_composed(
            memory,
            &self.candidates,
            &self.composition(standing),
            asked,
            settings,
            now,
            standing.today.len(),
            seed,
        );
        let mut soundings = match left {
            0 => Vec::new(),
            _ => self.soundings(memory, standing),
        };
        soundings.truncate(left);
        if !soundings.is_empty() {
            planned.retain(|p| standing.lesson.contains(&self.items[p.candidate].card));
        }
        let mut unseen = self.known(standing);
        unseen.retain(|card| !standing.introduced.contains(card));
        unseen.extend(soundings.iter().map(|i| self.items[*i].card.clone()));
        Evening {
            planned,
            soundings,
            unseen,
        }
    }

    /// How likely a player is within one deck of their place in a thread.
    fn near(&self, placement: &Placement, thread: Thread) -> f64 {
        let (t, decks) = (thread.index(), &self.decks[thread.index()]);
        let deck = self.decks_begun(thread, placement.place(t));
        let (first, last) = (deck.saturating_sub(1), (deck + 1).min(decks.len() - 1));
        placement.between(t, decks[first].start, decks[last].end - 1)
    }
}

/// What a question would tell.
struct ExpectedInformation {
    /// Bits of the deck, for the root of the seconds.
    tells: f64,
    /// Chance of a right answer, up to [`PLEASANT`].
    right: f64,
    item: usize,
}

/// The item that is likeliest to be answered right among those that tell most or nearly so.
fn best(of: &[ExpectedInformation]) -> Option<usize> {
    let most = of.iter().map(|t| t.tells).fold(0.0, f64::max);
    let nearly = of.iter().filter(|t| t.tells >= NEARLY * most);
    let best = nearly.max_by(|a, b| {
        a.right
            .total_cmp(&b.right)
            .then(a.tells.total_cmp(&b.tells))
            .then(b.item.cmp(&a.item))
    });
    best.map(|t| t.item)
}

#[cfg(test)]
mod tests;
