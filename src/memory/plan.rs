//! Today's plan: what is worth the minutes at hand.

use std::collections::{HashMap, HashSet};

use rand::RngExt;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use super::constants::{FADING, WINDOW};
use super::states::Memory;
use super::worth::{Worth, worths};

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
    /// How hard it may be: the share of answers about items met before, lucky guesses included, that is to be right
    /// at least, 0 to 1. A plan that would fall below gives up some of its worth for easier items, as far as there are any.
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
    /// It is being forgotten.
    Fading,
    /// Never asked before.
    New,
    /// Still known; it comes so that it stays so.
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
    /// Chance of recall when it is asked.
    pub recall: f64,
    /// Chance of a right answer, lucky guesses included.
    pub expected: f64,
}

/// Items of one card in a plan, as long as there is anything else.
const SIBLINGS: usize = 2;

/// Fills the minutes with what is worth most for each second, several reviews ahead (see the module `value`). New
/// cards come in the order of the decks, after those that they need. Neighbours are of different cards, and of
/// different kinds, where that is possible. Never plans more seconds than there are.
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
    let worths = worths(memory, candidates, settings, now);
    let met: HashSet<&str> = worths
        .iter()
        .filter(|w| !w.new)
        .map(|w| candidates[w.candidate].card.as_str())
        .collect();
    // Far more than can fit; the rest need not be sorted.
    let shortest = worths
        .iter()
        .map(|w| w.seconds)
        .fold(f64::INFINITY, f64::min)
        .max(0.5);
    let most = ((settings.minutes * 60.0 / shortest) as usize * 8 + 64).max(1);
    // Apart, because there may be any number of new items that look better than what is known, of which the limit of
    // the day lets only a few in.
    let (mut new, known): (Vec<_>, Vec<_>) = worths.into_iter().partition(|w| w.new);
    let (mut worths, _) = foremost(known, most);
    if new.len() > most {
        let (foremost, rest) = foremost(new, most);
        new = foremost;
        new.extend(opening(candidates, &met, rest, settings));
    }
    worths.append(&mut new);
    let choose = |comfort: f64, most_new: usize| {
        choose(
            candidates, settings, &met, new_today, &worths, comfort, most_new,
        )
    };
    let chosen = comfortable(settings.target, choose);
    interleave(candidates, chosen, seed)
}

/// The `most` items of the highest order, and the rest.
fn foremost(mut worths: Vec<Worth>, most: usize) -> (Vec<Worth>, Vec<Worth>) {
    if worths.len() <= most {
        return (worths, Vec::new());
    }
    worths.select_nth_unstable_by(most, |a, b| {
        b.order()
            .total_cmp(&a.order())
            .then(a.candidate.cmp(&b.candidate))
    });
    let rest = worths.split_off(most);
    (worths, rest)
}

/// New items that would be lost by looking at the most valuable alone, although they may be needed as the first of
/// the order: the earliest cards.
fn opening(
    candidates: &[Candidate],
    met: &HashSet<&str>,
    rest: Vec<Worth>,
    settings: &Settings,
) -> Vec<Worth> {
    let mut new: Vec<Worth> = rest.into_iter().filter(|w| w.new).collect();
    let key = |w: &Worth| {
        (
            !met.contains(candidates[w.candidate].card.as_str()),
            candidates[w.candidate].order,
            w.candidate,
        )
    };
    let most = 64 + 8 * settings.new_cards_a_day.min(64);
    if new.len() > most {
        new.select_nth_unstable_by_key(most, key);
        new.truncate(most);
    }
    new
}

/// However hard everything is, worth is never quite given up for ease.
const MOST_COMFORT: f64 = 8.0;

/// The plan of most worth whose expected share of right answers reaches the target, or comes as near as it can.
fn comfortable(target: f64, choose: impl Fn(f64, usize) -> Vec<Planned>) -> Vec<Planned> {
    // Answers right after a first meeting are easy and say nothing about how hard the rest is.
    let share = |plan: &[Planned]| {
        let asked: Vec<f64> = plan
            .iter()
            .filter(|p| p.why != Why::New)
            .map(|p| p.expected)
            .collect();
        if asked.is_empty() {
            1.0
        } else {
            asked.iter().sum::<f64>() / asked.len() as f64
        }
    };
    let free = choose(0.0, usize::MAX);
    if share(&free) >= target {
        return free;
    }
    // Hard reviews make room for easier reviews, not for more new items.
    let new = free.iter().filter(|p| p.why == Why::New).count();
    // `comfort` is what a right answer is worth beside what it teaches, in units of the best worth.
    let (mut low, mut high, mut best) = (0.0, MOST_COMFORT, choose(MOST_COMFORT, new));
    if share(&best) < target {
        return best;
    }
    for _ in 0..14 {
        let middle = (low + high) / 2.0;
        let tried = choose(middle, new);
        if share(&tried) >= target {
            (high, best) = (middle, tried);
        } else {
            low = middle;
        }
    }
    best
}

/// Takes items by their worth until the time is full. `worths` are sorted here by worth plus comfort.
fn choose(
    candidates: &[Candidate],
    settings: &Settings,
    met: &HashSet<&str>,
    new_today: usize,
    worths: &[Worth],
    comfort: f64,
    most_new: usize,
) -> Vec<Planned> {
    let scale = worths
        .iter()
        .map(|w| w.order())
        .filter(|v| v.is_finite())
        .fold(0.0, f64::max);
    let key = |w: &Worth| {
        let ease = if w.new {
            0.0
        } else {
            w.expected - settings.target
        };
        w.order() + comfort * scale * ease
    };
    let mut sorted: Vec<&Worth> = worths.iter().collect();
    sorted.sort_by(|a, b| {
        key(b)
            .total_cmp(&key(a))
            .then(a.candidate.cmp(&b.candidate))
    });
    in_deck_order(candidates, &mut sorted, key);
    let mut left = settings.minutes * 60.0;
    let mut chosen: Vec<Planned> = Vec::new();
    let mut taken = HashSet::new();
    let mut of_card: HashMap<&str, (usize, usize)> = HashMap::new();
    let mut newly: HashSet<&str> = HashSet::new();
    // First with all the manners, then what is left of the time with fewer.
    for polite in [true, false] {
        for worth in &sorted {
            let c = &candidates[worth.candidate];
            let card = c.card.as_str();
            let first = worth.new && !met.contains(card) && !newly.contains(card);
            let (siblings, new_siblings) = of_card.get(card).copied().unwrap_or_default();
            if taken.contains(&worth.candidate)
                || worth.new && chosen.iter().filter(|p| p.why == Why::New).count() >= most_new
                || worth.new
                    && c.needs
                        .iter()
                        .any(|n| !met.contains(n.as_str()) && !newly.contains(n.as_str()))
                || first && new_today + newly.len() >= settings.new_cards_a_day
                || polite
                    && (!worth.rested || siblings >= SIBLINGS || worth.new && new_siblings > 0)
            {
                continue;
            }
            let seconds = worth.seconds + if first { settings.meet_seconds } else { 0.0 };
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

/// Puts new items into the order of the decks, give or take [`WINDOW`]: of that many next in order the one of most
/// worth comes first. The places of the others stay.
fn in_deck_order<'a>(
    candidates: &[Candidate],
    sorted: &mut [&'a Worth],
    key: impl Fn(&Worth) -> f64,
) {
    let places: Vec<usize> = (0..sorted.len()).filter(|&i| sorted[i].new).collect();
    let mut ahead: Vec<&Worth> = places.iter().map(|&i| sorted[i]).collect();
    ahead.sort_by_key(|w| std::cmp::Reverse((candidates[w.candidate].order, w.candidate)));
    let mut window: Vec<&'a Worth> = Vec::new();
    for place in places {
        while window.len() < WINDOW
            && let Some(next) = ahead.pop()
        {
            window.push(next);
        }
        let best = (0..window.len())
            .max_by(|&a, &b| key(window[a]).total_cmp(&key(window[b])).then(b.cmp(&a)));
        if let Some(best) = best {
            sorted[place] = window.remove(best);
        }
    }
}

/// Orders a plan so that neighbours are of different cards and, where possible, of different kinds and concepts. A
/// new card stays behind the first item of those that it needs.
fn interleave(candidates: &[Candidate], mut chosen: Vec<Planned>, seed: u64) -> Vec<Planned> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut out: Vec<Planned> = Vec::with_capacity(chosen.len());
    let mut left: HashMap<&str, usize> = HashMap::new();
    let mut begun: HashSet<&str> = HashSet::new();
    for planned in &chosen {
        *left.entry(&candidates[planned.candidate].card).or_default() += 1;
    }
    while !chosen.is_empty() {
        let last = out.last().map(|p| &candidates[p.candidate]);
        // A card that makes up half of what is left must come now, or it will stand beside itself in the end.
        let half = |card: &str| left[card] * 2 > chosen.len();
        let crowded = chosen.iter().any(|p| half(&candidates[p.candidate].card));
        let cost = |p: &Planned| {
            let c = &candidates[p.candidate];
            let waits = p.why == Why::New
                && c.needs
                    .iter()
                    .any(|n| left.contains_key(n.as_str()) && !begun.contains(n.as_str()));
            let same_card = last.is_some_and(|l| l.card == c.card);
            let same_kind = last.is_some_and(|l| l.kind == c.kind);
            let shared = last.map_or(0, |l| {
                c.concepts.iter().filter(|n| l.concepts.contains(n)).count()
            });
            usize::from(waits) * 100_000
                + usize::from(same_card) * 10_000
                + usize::from(crowded && !half(&c.card)) * 1000
                + usize::from(same_kind) * 10
                + shared.min(9)
        };
        // The first few only: what is worth most stays near the front, in case the player stops early. Further on
        // only where none of those will do.
        let costs: Vec<usize> = chosen.iter().map(cost).collect();
        let least = |window: usize| costs[..window].iter().copied().min().unwrap_or(0);
        let few = chosen.len().min(6);
        let window = if least(few) < 1000 { few } else { chosen.len() };
        let ties: Vec<usize> = (0..window).filter(|&i| costs[i] == least(window)).collect();
        let planned = chosen.remove(ties[rng.random_range(0..ties.len())]);
        let card = candidates[planned.candidate].card.as_str();
        begun.insert(card);
        left.entry(card).and_modify(|n| *n -= 1);
        out.push(planned);
    }
    out
}

#[cfg(test)]
mod tests;
