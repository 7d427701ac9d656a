//! Today's plan: what is worth the minutes at hand.

use std::collections::{HashMap, HashSet};

use rand::RngExt;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use super::states::Memory;

/// An item that may be asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// The item's key, as in [`super::Outcome::item`].
    pub item: String,
    /// The card that it belongs to.
    pub card: String,
    pub kind: String,
    pub concepts: Vec<String>,
    /// Place of the card in the order of learning.
    pub order: usize,
    /// Cards that come first.
    pub needs: Vec<String>,
}

/// What the player wants.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Minutes of this session, above 0.
    pub minutes: f64,
    /// How hard it may be: an item whose chance of recall is below this is due. 0..1.
    pub target: f64,
    /// Cards met for the first time a day, at most.
    pub new_cards_a_day: usize,
    /// Seconds that the answer is looked at after each question.
    pub reveal_seconds: f64,
    /// Seconds that it takes to meet a new card.
    pub meet_seconds: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            minutes: 5.0,
            target: 0.6,
            new_cards_a_day: 5,
            reveal_seconds: 4.0,
            meet_seconds: 12.0,
        }
    }
}

/// Why an item is in the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Why {
    /// Its chance of recall is below the target.
    Fading,
    /// Never asked before.
    New,
    /// Longest unseen of what is still known, since there is time left.
    Rotation,
}

/// One item of a plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Planned {
    /// Index into the candidates.
    pub candidate: usize,
    pub why: Why,
    /// Seconds that it is likely to take, the answer and a first meeting included.
    pub seconds: f64,
}

/// Fills the minutes: fading items (longest unseen first), then new ones in the order of the decks, then what was
/// longest unseen. Neighbours are of different cards where that is possible. Never plans more seconds than there are.
///
/// `now` is in seconds UTC, `new_today` the number of cards already met for the first time today. The same arguments
/// give the same plan.
pub fn plan(
    memory: &Memory,
    candidates: &[Candidate],
    settings: &Settings,
    now: f64,
    new_today: usize,
    seed: u64,
) -> Vec<Planned> {
    let sorted = Sorted::new(memory, candidates, settings, now);
    let mut left = settings.minutes * 60.0;
    let mut chosen = Vec::new();
    let mut take = |index: usize, why: Why, extra: f64| {
        let c = &candidates[index];
        let seconds = memory.seconds_estimate(&c.kind, &c.item) + settings.reveal_seconds + extra;
        let fits = seconds <= left;
        if fits {
            left -= seconds;
            chosen.push(Planned {
                candidate: index,
                why,
                seconds,
            });
        }
        fits
    };
    for &index in &sorted.fading {
        if !take(index, Why::Fading, 0.0) {
            break;
        }
    }
    let mut met: HashSet<&str> = sorted.met.clone();
    let mut fresh: HashMap<&str, usize> = HashMap::new();
    let mut new_cards = new_today;
    for &index in &sorted.new {
        let c = &candidates[index];
        if c.needs.iter().any(|n| !met.contains(n.as_str())) || fresh.contains_key(c.card.as_str())
        {
            continue;
        }
        let first = !met.contains(c.card.as_str());
        if first && new_cards >= settings.new_cards_a_day {
            continue;
        }
        if !take(
            index,
            Why::New,
            if first { settings.meet_seconds } else { 0.0 },
        ) {
            break;
        }
        fresh.insert(&c.card, index);
        if first {
            new_cards += 1;
            met.insert(&c.card);
        }
    }
    for &index in &sorted.known {
        if !take(index, Why::Rotation, 0.0) {
            break;
        }
    }
    interleave(candidates, chosen, seed)
}

/// The candidates by what they are today.
struct Sorted<'a> {
    /// Below the target, longest unseen first.
    fading: Vec<usize>,
    /// Never asked, in the order of the decks.
    new: Vec<usize>,
    /// Above the target, longest unseen first.
    known: Vec<usize>,
    /// Cards of which any item was asked.
    met: HashSet<&'a str>,
}

impl<'a> Sorted<'a> {
    fn new(memory: &Memory, candidates: &'a [Candidate], settings: &Settings, now: f64) -> Self {
        let mut sorted = Self {
            fading: Vec::new(),
            new: Vec::new(),
            known: Vec::new(),
            met: HashSet::new(),
        };
        let mut last = vec![f64::NEG_INFINITY; candidates.len()];
        for (index, c) in candidates.iter().enumerate() {
            match memory.names.find(&c.item) {
                None => sorted.new.push(index),
                Some(item) => {
                    last[index] = memory.items[item].last;
                    sorted.met.insert(&c.card);
                    if memory.chance_of(item, now) < settings.target {
                        sorted.fading.push(index);
                    } else {
                        sorted.known.push(index);
                    }
                }
            }
        }
        let unseen = |a: &usize, b: &usize| last[*a].total_cmp(&last[*b]).then(a.cmp(b));
        sorted.fading.sort_unstable_by(unseen);
        sorted.known.sort_unstable_by(unseen);
        sorted.new.sort_by_key(|&i| candidates[i].order);
        sorted
    }
}

/// Shuffles a plan so that neighbours are of different cards and, where possible, different kinds. New items keep
/// their order among themselves.
fn interleave(candidates: &[Candidate], mut chosen: Vec<Planned>, seed: u64) -> Vec<Planned> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut out: Vec<Planned> = Vec::with_capacity(chosen.len());
    while !chosen.is_empty() {
        let first_new = chosen.iter().position(|p| p.why == Why::New);
        let last = out.last().map(|p| &candidates[p.candidate]);
        let cost = |i: usize, p: &Planned| {
            let c = &candidates[p.candidate];
            let same_card = last.is_some_and(|l| l.card == c.card);
            let same_kind = last.is_some_and(|l| l.kind == c.kind);
            let shared = last.map_or(0, |l| {
                c.concepts.iter().filter(|n| l.concepts.contains(n)).count()
            });
            let out_of_order = p.why == Why::New && first_new != Some(i);
            usize::from(out_of_order) * 10_000
                + usize::from(same_card) * 1000
                + usize::from(same_kind) * 10
                + shared
        };
        // The first few only: what is longest unseen stays near the front, in case the player stops early.
        let window = chosen.len().min(6);
        let least = (0..window).map(|i| cost(i, &chosen[i])).min().unwrap_or(0);
        let ties: Vec<usize> = (0..window)
            .filter(|&i| cost(i, &chosen[i]) == least)
            .collect();
        let pick = ties[rng.random_range(0..ties.len())];
        out.push(chosen.remove(pick));
    }
    out
}
