//! The order of a plan: new items as the decks have them, neighbours that do not give each other away.

use std::collections::{HashMap, HashSet, VecDeque};

use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};

use super::candidate::{Candidate, Planned};
use super::constants::WINDOW;
use super::scheduler::ReviewIndex;

/// Puts new items into the order of the decks, give or take [`WINDOW`]: of that many next in order the one of most
/// worth comes first. The places of the others stay.
pub(super) fn in_deck_order<'a>(
    candidates: &[Candidate],
    sorted: &mut [&'a ReviewIndex],
    key: impl Fn(&ReviewIndex) -> f64,
) {
    let places: Vec<usize> = (0..sorted.len()).filter(|&i| sorted[i].new).collect();
    let mut ahead: Vec<&ReviewIndex> = places.iter().map(|&i| sorted[i]).collect();
    ahead.sort_by_key(|w| std::cmp::Reverse((candidates[w.candidate].order, w.candidate)));
    let mut window: Vec<&'a ReviewIndex> = Vec::new();
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

/// Orders a plan so that neighbours are of different cards and, where possible, of different kinds and concepts. Cards
/// that were never met (`met` are those that were) come in the order of the decks, or as they were chosen where the evening is
/// `composed`, each after those that it needs and with the question that was chosen first for it. What
/// leads comes before the rest, unless a card would stand beside itself.
pub(super) fn interleave(
    candidates: &[Candidate],
    met: &HashSet<&str>,
    lead: Vec<Planned>,
    rest: Vec<Planned>,
    composed: bool,
    seed: u64,
) -> Vec<Planned> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let leads: HashSet<usize> = lead.iter().map(|p| p.candidate).collect();
    let mut chosen = lead;
    let mut leading = chosen.len();
    chosen.extend(rest);
    let mut out: Vec<Planned> = Vec::with_capacity(chosen.len());
    let mut left: HashMap<&str, usize> = HashMap::new();
    let mut first = meetings(candidates, met, &leads, composed, &chosen);
    for planned in &chosen {
        *left.entry(&candidates[planned.candidate].card).or_default() += 1;
    }
    while !chosen.is_empty() {
        let last = out.last().map(|p| &candidates[p.candidate]);
        // A card that makes up half of what is left must come now, or it will stand beside itself in the end.
        let half = |card: &str| left[card] * 2 > chosen.len();
        let crowded = chosen.iter().any(|p| half(&candidates[p.candidate].card));
        let cost = |(i, p): (usize, &Planned)| {
            let c = &candidates[p.candidate];
            let of_it = |p: &Planned| candidates[p.candidate].card == c.card;
            let waits = first.iter().skip(1).any(|card| *card == c.card)
                || composed
                    && first.iter().any(|card| *card == c.card)
                    && chosen[..i].iter().any(of_it);
            let same_card = last.is_some_and(|l| l.card == c.card);
            let same_kind = last.is_some_and(|l| l.kind == c.kind);
            let shared = last.map_or(0, |l| {
                c.concepts.iter().filter(|n| l.concepts.contains(n)).count()
            });
            usize::from(waits) * 100_000
                + usize::from(same_card) * 10_000
                + usize::from(crowded && !half(&c.card)) * 1000
                + usize::from(leading > 0 && !leads.contains(&p.candidate)) * 500
                + usize::from(same_kind) * 10
                + shared.min(9)
        };
        // The first few only: what is worth most stays near the front, in case the player stops early. Further on
        // only where none of those will do.
        let costs: Vec<usize> = chosen.iter().enumerate().map(cost).collect();
        let least = |window: usize| costs[..window].iter().copied().min().unwrap_or(0);
        let few = chosen.len().min(6);
        let window = if least(few) < 1000 { few } else { chosen.len() };
        let ties: Vec<usize> = (0..window).filter(|&i| costs[i] == least(window)).collect();
        let planned = chosen.remove(ties[rng.random_range(0..ties.len())]);
        leading -= usize::from(leads.contains(&planned.candidate));
        let card = candidates[planned.candidate].card.as_str();
        first.retain(|c| *c != card);
        left.entry(card).and_modify(|n| *n -= 1);
        out.push(planned);
    }
    out
}

/// The cards of a plan that are met for the first time, in the order in which that is to be.
fn meetings<'a>(
    candidates: &'a [Candidate],
    met: &HashSet<&str>,
    leads: &HashSet<usize>,
    composed: bool,
    chosen: &[Planned],
) -> VecDeque<&'a str> {
    let new = chosen
        .iter()
        .map(|p| (!leads.contains(&p.candidate), &candidates[p.candidate]));
    let mut new: Vec<(bool, &Candidate)> = new
        .filter(|(_, c)| !met.contains(c.card.as_str()))
        .collect();
    new.sort_by_key(|(later, c)| (*later, if composed { 0 } else { c.order }));
    // What leads waits for nothing but what leads as well.
    let lead = new.iter().filter(|(later, _)| !later);
    let lead: HashSet<&str> = lead.map(|(_, c)| c.card.as_str()).collect();
    let mut new: Vec<&Candidate> = new.into_iter().map(|(_, c)| c).collect();
    let mut open = VecDeque::new();
    // A card may need one that stands behind it, in another deck: each round takes the first that may come.
    while !new.is_empty() {
        let may = |c: &&Candidate| {
            let there = |card: &str| met.contains(card) || open.contains(&card);
            let mut named = c.needs.iter().flat_map(|need| need.of.iter());
            match lead.contains(c.card.as_str()) {
                true => named.all(|n| *n == c.card || !lead.contains(n.as_str()) || there(n)),
                false => c.needs.iter().all(|need| need.is_met(there)),
            }
        };
        let next = new.iter().position(may).unwrap_or(0);
        let card = new[next].card.as_str();
        open.push_back(card);
        new.retain(|c| c.card != card);
    }
    open
}
