//! The course: three threads side by side, what opens it, and what a player is taken to know of it.

use super::{Item, ItemKey, Sense, candidates};
use crate::deck::{Card, Deck, States};
use crate::memory::{
    Candidate, Composition, Learned, Memory, Placement, PlanRole, Planned, Settings, UnseenAnswer,
    plan_composed,
};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

/// Where a player stands before the first evening.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stands {
    /// New to clave.
    #[default]
    New,
    /// Plays a tumbao.
    Tumbao,
    /// Plays in bands.
    Bands,
}

impl Stands {
    /// All of them, the least first.
    pub const ALL: [Stands; 3] = [Stands::New, Stands::Tumbao, Stands::Bands];

    /// The name in data and on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Stands::New => "new",
            Stands::Tumbao => "tumbao",
            Stands::Bands => "bands",
        }
    }

    /// As players read it.
    pub const fn spoken(self) -> &'static str {
        match self {
            Stands::New => "new to clave",
            Stands::Tumbao => "play a tumbao",
            Stands::Bands => "play in bands",
        }
    }

    /// What is expected of such a player (chosen): a player of tumbaos has the strokes and the plain tumbao, a player in
    /// bands half of the course, give or take much.
    fn learned(self) -> Learned {
        let (share, sure, floors) = match self {
            Stands::New => (0.02, 4.0, [0.0; 3]),
            Stands::Tumbao => (0.25, 3.0, [0.0, 0.25, 0.0]),
            Stands::Bands => (0.5, 2.0, [0.0, 0.25, 0.0]),
        };
        Learned {
            share,
            sure,
            floors: floors.to_vec(),
        }
    }
}

/// What a card is mostly good for. Each thread of the course moves at its own pace.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Thread {
    /// Hearing the side.
    Side,
    /// Strokes and hands.
    Strokes,
    /// Variations and phrases.
    Variations,
}

/// The thread of each shipped deck.
const THREADS: &[(&str, Thread)] = &[
    ("clave", Thread::Side),
    ("parts", Thread::Side),
    ("with-the-band", Thread::Side),
    ("six-eight", Thread::Side),
    ("rumba", Thread::Side),
    ("strokes", Thread::Strokes),
    ("tumbao", Thread::Strokes),
    ("by-ear", Thread::Strokes),
    ("hands", Thread::Strokes),
    ("variations", Thread::Variations),
    ("low-drum-three", Thread::Variations),
    ("low-drum-two", Thread::Variations),
    ("variations-two-bars", Thread::Variations),
    ("phrases", Thread::Variations),
    ("styles", Thread::Variations),
];

/// The deck of a card.
fn deck(card: &str) -> &str {
    card.split('/').next().unwrap_or_default()
}

/// The place of each card in the order of learning: first the opening; then in each thread the decks as they are listed, but
/// the second half of a deck takes turns with the first half of the next, so that no deck waits for the end of another.
/// The threads stand one behind the other.
fn order(candidates: &[Candidate], threads: &[Thread]) -> HashMap<String, usize> {
    let mut decks: Vec<(Thread, &str, Vec<&str>)> = Vec::new();
    let mut seen = HashSet::new();
    for (c, thread) in candidates.iter().zip(threads) {
        if !seen.insert(c.card.as_str()) || OPENING.contains(&c.card.as_str()) {
            continue;
        }
        let same = |d: &&mut (Thread, &str, Vec<&str>)| (d.0, d.1) == (*thread, deck(&c.card));
        match decks.iter_mut().find(same) {
            Some((.., cards)) => cards.push(&c.card),
            None => decks.push((*thread, deck(&c.card), vec![&c.card])),
        }
    }
    let mut rows: Vec<(Thread, f64, usize, &str)> = Vec::new();
    for (nth, (thread, _, cards)) in decks.iter().enumerate() {
        let before = decks[..nth].iter().filter(|d| d.0 == *thread).count() as f64;
        for (i, card) in cards.iter().enumerate() {
            let at = before / 2.0 + i as f64 / cards.len() as f64;
            rows.push((*thread, at, nth, card));
        }
    }
    rows.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2)));
    let opening = OPENING
        .iter()
        .copied()
        .filter(|id| candidates.iter().any(|c| c.card == *id));
    // What opens the course keeps its place, whether all of it is there or not.
    let opening = opening.map(|id| (id, OPENING.iter().position(|o| *o == id).unwrap_or(0)));
    let rest = rows.into_iter().map(|row| row.3).zip(OPENING.len()..);
    let all = opening.chain(rest);
    all.map(|(id, place)| (id.to_string(), place)).collect()
}

/// The cards with which the course opens, in this order: the clave, two kinds of stroke, the tumbao that they make, one
/// slow variation on it. Then the threads take turns.
const OPENING: &[&str] = &[
    "clave/son-2-3",
    "strokes/slap",
    "strokes/heel-tip",
    "tumbao/one-bar",
    "variations/corner-open",
    "clave/son-3-2",
];

impl Thread {
    /// All of them, in the order in which they are named.
    pub const ALL: [Thread; 3] = [Thread::Side, Thread::Strokes, Thread::Variations];

    /// The thread of a card: that of its deck, for a shipped one. For a deck of the player's own its music decides: no
    /// drums, the side; drums that state a side or have a place in a phrase, variations; else strokes and hands.
    pub fn of(card: &Card) -> Thread {
        let listed = THREADS.iter().find(|(id, _)| *id == deck(&card.id));
        match (listed, &card.score.drums) {
            (Some((_, thread)), _) => *thread,
            (None, None) => Thread::Side,
            (None, Some(_)) if card.states != States::Neither || card.place.is_some() => {
                Thread::Variations
            }
            (None, Some(_)) => Thread::Strokes,
        }
    }

    fn index(self) -> usize {
        self as usize
    }
}

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
    /// Candidates that sound the player out, after it.
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
    /// The places in a thread where a deck begins.
    begins: [Vec<usize>; 3],
    needs: HashMap<String, Vec<String>>,
    ears: bool,
}

/// Questions of sounding out at most.
pub const SOUNDINGS: usize = 25;
/// A thread is placed when its place is within one deck with this chance (chosen).
const PLACED: f64 = 0.96;
/// Questions in a thread at least before it is placed (chosen).
const LEAST: usize = 4;
/// How much less a question may tell that is of the sense of which there were fewer (chosen).
const SHORT: f64 = 0.1;
/// Cards that are known with at least this chance are not taught (chosen: more likely than not).
const HAS: f64 = 0.5;

/// Chance of guessing an item of a kind, as far as it can be said before the question is made: of the questions over the
/// shipped decks about the middle. Only the choice of questions goes by it; an answer counts with its own.
fn usual_guess(kind: &str) -> f64 {
    match kind {
        "strokes" | "hand" => 0.05,
        "place" | "thin" => 0.2,
        "choice" => 0.3,
        _ => 0.4,
    }
}

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
            begins,
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
        let begins = self.begins[thread.index()].iter();
        begins.take_while(|begin| **begin < place).count()
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
        };
        Composition {
            roles: self.items.iter().zip(&self.threads).map(role).collect(),
            met: Some(met),
            new_today,
            opening: OPENING.len(),
            ears: self.ears,
        }
    }

    /// The next questions that sound a player out, one of a thread at most, the one that tells most first; none where
    /// every thread is placed within one deck, enough was asked, or the player is not sounded out. Cards that were shown
    /// already or asked so are not among them.
    pub fn soundings(&self, memory: &Memory, standing: &Learner) -> Vec<usize> {
        let Some(since) = standing.sounded else {
            return Vec::new();
        };
        let asked = standing.unseen.len().saturating_sub(since);
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
        let mut best: [Option<(f64, usize)>; 3] = [None; 3];
        let now = standing.unseen.iter().skip(since);
        let now: Vec<&str> = now.map(|(item, _)| item.card.as_str()).collect();
        let asked_of = |t: Thread| {
            let of = now.iter().filter_map(|card| self.places.get(*card));
            of.filter(|(thread, _)| *thread == t.index()).count()
        };
        let open = Thread::ALL.map(|t| asked_of(t) < LEAST || !self.placed(&placement, t));
        let known = [0, 1, 2].map(|t| placement.known(t));
        for (i, item) in self.items.iter().enumerate() {
            let Some((t, place)) = self.places.get(&item.card) else {
                continue;
            };
            if !open[*t]
                || tried.contains(item.card.as_str())
                || standing.introduced.contains(&item.card)
                || standing.lesson.contains(&item.card)
            {
                continue;
            }
            let seconds = memory.seconds_estimate(&item.kind, &self.candidates[i].item) + 4.0;
            let short = f64::from(u8::from((item.sense == Sense::Hear) == by_ear));
            let tells = Placement::tells(known[*t][*place], usual_guess(&item.kind)) / seconds;
            let tells = tells * (1.0 + SHORT * short);
            if best[*t].is_none_or(|(most, _)| tells > most) {
                best[*t] = Some((tells, i));
            }
        }
        let mut best: Vec<(f64, usize)> = best.into_iter().flatten().collect();
        best.sort_by(|a, b| b.0.total_cmp(&a.0));
        let left = SOUNDINGS.saturating_sub(asked);
        best.into_iter().take(left).map(|(_, i)| i).collect()
    }

    /// What to ask in the seconds that there are: what is planned, and before it, where the player is sounded out and `left`
    /// questions may do so, what of the lesson is not held and then the questions that tell most; their answers decide
    /// the next ones, so that such a plan is short. `asked` as in [`crate::memory::plan_after`].
    #[allow(clippy::too_many_arguments)] // a plan is made of just these
    pub fn evening(
        &self,
        memory: &Memory,
        standing: &Learner,
        asked: &[usize],
        settings: &Settings,
        left: usize,
        now: f64,
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

    /// Is a thread placed: within one deck, as likely as is asked for?
    fn placed(&self, placement: &Placement, thread: Thread) -> bool {
        let t = thread.index();
        let deck = self.decks_begun(thread, placement.place(t));
        let near = |place: &usize| self.decks_begun(thread, *place).abs_diff(deck) <= 1;
        let places = 0..=self.chains[t].len();
        let least = places.clone().find(near).unwrap_or(0);
        let most = places.rev().find(near).unwrap_or(0);
        placement.between(t, least, most) >= PLACED
    }
}

#[cfg(test)]
mod tests;
