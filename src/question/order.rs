//! What may be asked and what comes first, as the memory model takes it.

use super::timing::timing;
use super::{Item, kind};
use crate::deck::{Card, Deck};
use crate::memory::{Candidate, Need, Timing};
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// The items as candidates of a plan. A card comes after the cards that it names, and after half of the cards
/// (rounded up) of each deck that its deck names. Cards that are not among the items cannot come, so that they are
/// not waited for; where a whole deck is missing, what that deck would have waited for comes in its place.
pub fn candidates(decks: &[Deck], items: &[Item]) -> Vec<Candidate> {
    let there: HashSet<&str> = items.iter().map(|i| i.key.card.as_str()).collect();
    let mut of_card: HashMap<&str, Vec<Need>> = HashMap::new();
    let mut of_deck = DeckNeeds::new(decks, &there);
    for deck in decks {
        let before = of_deck.before(deck);
        for card in deck.cards.iter().filter(|c| there.contains(c.id.as_str())) {
            let named = card.needs.iter().filter(|n| there.contains(n.as_str()));
            let needs = named.map(Need::card).chain(before.iter().cloned());
            of_card.insert(&card.id, needs.collect());
        }
    }
    let cards: HashMap<&str, &Card> = (decks.iter().flat_map(|d| &d.cards))
        .map(|card| (card.id.as_str(), card))
        .collect();
    let timing = |item: &Item| {
        let (card, kind) = (cards.get(item.key.card.as_str()), kind(&item.key.kind));
        let both = card.zip(kind);
        both.map_or_else(Timing::default, |(card, kind)| {
            timing(card, kind, item.key.sense)
        })
    };
    let candidate = |item: &Item| Candidate {
        item: item.key.to_string(),
        card: item.key.card.clone(),
        kind: item.key.kind.clone(),
        concepts: item.concepts.clone(),
        produced: kind(&item.key.kind).is_some_and(|k| k.is_produced()),
        timing: timing(item),
        order: item.order,
        needs: of_card
            .get(item.key.card.as_str())
            .cloned()
            .unwrap_or_default(),
    };
    items.iter().map(candidate).collect()
}

/// Cards of decks that others may need.
struct DeckNeeds<'a> {
    decks: &'a [Deck],
    there: &'a HashSet<&'a str>,
    made: HashMap<&'a str, Arc<[String]>>,
}

impl<'a> DeckNeeds<'a> {
    fn new(decks: &'a [Deck], there: &'a HashSet<&'a str>) -> Self {
        let made = HashMap::new();
        DeckNeeds { decks, there, made }
    }

    /// What comes before any card of a deck.
    fn before(&mut self, deck: &'a Deck) -> Vec<Need> {
        let mut open: Vec<&str> = deck.needs.iter().map(String::as_str).collect();
        let (mut seen, mut needs) = (HashSet::from([deck.id.as_str()]), Vec::new());
        while let Some(id) = open.pop() {
            if !seen.insert(id) {
                continue;
            }
            let Some(needed) = self.decks.iter().find(|d| d.id == id) else {
                continue;
            };
            let of = self.cards(needed);
            if of.is_empty() {
                open.extend(needed.needs.iter().map(String::as_str));
                continue;
            }
            let enough = of.len().div_ceil(2);
            needs.push(Need { of, enough });
        }
        needs
    }

    fn cards(&mut self, deck: &'a Deck) -> Arc<[String]> {
        let there = self.there;
        let of = self.made.entry(&deck.id).or_insert_with(|| {
            let ids = deck.cards.iter().map(|c| c.id.clone());
            ids.filter(|id| there.contains(id.as_str())).collect()
        });
        of.clone()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deck::shipped;
    use crate::memory::{Composition, Memory, Outcome, Settings, plan_composed};
    use crate::question::items;
    use crate::time::{Moment, Seconds};
    use rand::rngs::ChaCha8Rng;
    use rand::{RngExt, SeedableRng};

    fn needs<'a>(candidates: &'a [Candidate], deck: &str) -> &'a [Need] {
        let card = candidates
            .iter()
            .find(|c| c.card.starts_with(&format!("{deck}/")));
        &card.unwrap().needs
    }

    #[test]
    fn a_deck_waits_for_half_of_each_deck_that_it_needs() {
        let decks = shipped();
        let candidates = candidates(&decks, &items(&decks));
        assert!(needs(&candidates, "clave").is_empty());
        let rumba = needs(&candidates, "rumba");
        let parts = decks.iter().find(|d| d.id == "parts").unwrap();
        let half = parts.cards.len().div_ceil(2);
        let whole = |n: &&Need| n.of.len() == parts.cards.len();
        assert_eq!(rumba.iter().find(whole).unwrap().enough, half);
    }

    #[test]
    fn what_is_left_out_is_not_waited_for() {
        let decks = shipped();
        let mut items = items(&decks);
        items.retain(|i| i.key.card.starts_with("tumbao/"));
        let alone = candidates(&decks, &items);
        assert!(alone.iter().all(|c| {
            c.needs
                .iter()
                .all(|n| n.of.iter().all(|id| id.starts_with("tumbao/")))
        }));
    }

    #[test]
    fn a_deck_that_is_left_out_passes_on_what_it_waits_for() {
        let decks = shipped();
        let mut items = items(&decks);
        items.retain(|i| !i.key.card.starts_with("parts/"));
        let without = candidates(&decks, &items);
        let waits: Vec<_> = needs(&without, "rumba")
            .iter()
            .map(|n| n.of[0].split('/').next().unwrap())
            .collect();
        assert!(waits.contains(&"clave"), "{waits:?}");
    }

    /// Cards in the order in which a player who is right at two answers of three meets them, day by day.
    fn meetings(candidates: &[Candidate], days: u32, seed: u64) -> Vec<String> {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let (mut memory, mut order) = (Memory::new(), Vec::new());
        for day in 0..days {
            let now = Moment::EPOCH + Seconds::from_days(f64::from(day));
            let settings = Settings::default();
            let planned = plan_composed(
                &memory,
                candidates,
                &Composition::default(),
                &[],
                &settings,
                now,
                0,
                rng.random(),
            );
            for (nth, step) in planned.iter().enumerate() {
                let c = &candidates[step.candidate];
                if !order.contains(&c.card) {
                    order.push(c.card.clone());
                }
                memory.observe(&Outcome {
                    item: c.item.clone(),
                    concepts: c.concepts.clone(),
                    kind: c.kind.clone(),
                    at: now + Seconds::new(nth as f64 * 8.0),
                    correct: f64::from(u8::from(rng.random_bool(0.85))),
                    guess: 0.5,
                    seconds: Seconds::new(3.0),
                    limit: Seconds::new(4.0),
                    replays: 0,
                    slowed: false,
                });
            }
        }
        order
    }

    /// The rule of the deck language, written once more from the decks themselves.
    fn nothing_comes_before_what_it_needs(decks: &[Deck], order: &[String]) {
        for (nth, id) in order.iter().enumerate() {
            let before = &order[..nth];
            let deck = decks.iter().find(|d| d.cards.iter().any(|c| c.id == *id));
            let deck = deck.unwrap();
            let card = deck.cards.iter().find(|c| c.id == *id).unwrap();
            assert!(card.needs.iter().all(|n| before.contains(n)), "{id}");
            for need in &deck.needs {
                let needed = decks.iter().find(|d| d.id == *need).unwrap();
                let met = needed.cards.iter().filter(|c| before.contains(&c.id));
                assert!(2 * met.count() >= needed.cards.len(), "{id} before {need}");
            }
        }
    }

    #[test]
    fn the_first_days_begin_with_the_first_deck_and_its_first_card() {
        let decks = shipped();
        let candidates = candidates(&decks, &items(&decks));
        for seed in 0..30 {
            let order = meetings(&candidates, 2, seed);
            nothing_comes_before_what_it_needs(&decks, &order);
            assert_eq!(order[0], decks[0].cards[0].id, "seed {seed}");
            assert!(
                order[1].starts_with(&format!("{}/", decks[0].id)),
                "seed {seed}"
            );
        }
    }

    #[test]
    fn a_month_brings_no_card_before_what_it_needs() {
        let decks = shipped();
        let candidates = candidates(&decks, &items(&decks));
        for seed in 100..103 {
            let order = meetings(&candidates, 30, seed);
            nothing_comes_before_what_it_needs(&decks, &order);
            // Far enough that decks came which wait for others.
            let waiting = |id: &String| {
                decks
                    .iter()
                    .any(|d| !d.needs.is_empty() && id.starts_with(&format!("{}/", d.id)))
            };
            assert!(order.iter().any(waiting), "{order:?}");
        }
    }
}
