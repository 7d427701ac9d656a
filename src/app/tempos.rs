//! The tempo at which each card is held, from the log.

use super::deck_library::DeckLibrary;
use super::record::Record;
use crate::deck::Card;
use crate::question::tempo::{self, Past};
use crate::question::{Thread, card};
use crate::report::HeldTempo;
use crate::rhythm::Tempo;
use crate::store::{Fact, StoreError};
use std::collections::BTreeMap;

/// The tempos of every card with music that had an answer in time, by its id.
///
/// # Errors
/// Those of the store.
pub fn held(
    record: &Record,
    library: &DeckLibrary,
) -> Result<BTreeMap<String, HeldTempo>, StoreError> {
    let mut items: BTreeMap<usize, ItemTempo> = BTreeMap::new();
    let (words, _) = record.store().facts(|_, fact| {
        let before = items.get(&fact.item).copied();
        items.insert(fact.item, after(before, fact));
    })?;
    let mut cards: BTreeMap<&str, Vec<ItemTempo>> = BTreeMap::new();
    for (item, tempo) in items {
        let of = cards.entry(&words.items[item].card).or_default();
        of.push(tempo);
    }
    let held = cards.into_iter().filter_map(|(id, items)| {
        let card = card(&library.decks, id).filter(|card| card.choice.is_none())?;
        Some((id.to_string(), of(card, &items)?))
    });
    Ok(held.collect())
}

/// The variations among them, those first that are farthest below the end of their range.
pub fn variations(held: &BTreeMap<String, HeldTempo>, library: &DeckLibrary) -> Vec<HeldTempo> {
    let mut of: Vec<(f64, &HeldTempo)> = held
        .iter()
        .filter_map(|(id, held)| {
            let card = card(&library.decks, id)?;
            let variation = Thread::of(card) == Thread::Variations && card.score.drums.is_some();
            variation.then(|| (held.held / card.tempo.1, held))
        })
        .collect();
    of.sort_by(|a, b| a.0.total_cmp(&b.0));
    of.into_iter().map(|(_, held)| held.clone()).collect()
}

/// What the log says of the tempo of an item: its latest answer, and the fastest that was right and in time.
type ItemTempo = (Past, Option<Tempo>);

/// The same after one more answer.
fn after(before: Option<ItemTempo>, fact: &Fact) -> ItemTempo {
    let (last, tops) = before.unzip();
    let in_time = fact.in_time && !fact.slowed;
    let past = Past::after(last, fact.tempo, fact.correct >= 1.0, in_time);
    let now = in_time.then_some(fact.tempo);
    (past, tops.flatten().max(now))
}

/// The tempos of a card from those of its items; `None` where nothing was in time.
fn of(card: &Card, items: &[ItemTempo]) -> Option<HeldTempo> {
    let tops = items.iter().filter_map(|(_, tops)| *tops).max()?;
    let stands = items
        .iter()
        .map(|(last, _)| tempo::stand(card.tempo, Some(*last)));
    let mut stands: Vec<Tempo> = stands.collect();
    stands.sort();
    Some(HeldTempo {
        card: card.id.clone(),
        title: card.title.clone(),
        held: stands[(stands.len() - 1) / 2].min(tops),
        tops,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fact(item: usize, tempo: Tempo, correct: f64, in_time: bool) -> Fact {
        Fact {
            item,
            tempo,
            correct,
            in_time,
            ..Fact::default()
        }
    }

    /// By hand: a step is a twelfth of 100 to 200, a factor of 2^(1/12).
    #[test]
    fn a_card_is_held_where_the_middle_one_of_its_items_stands() {
        let mut asked = BTreeMap::new();
        for fact in [
            fact(0, Tempo::new(190.0), 1.0, true),
            fact(0, Tempo::new(180.0), 0.5, false),
            fact(1, Tempo::new(150.0), 1.0, true),
            fact(2, Tempo::new(110.0), 1.0, true),
        ] {
            let before = asked.get(&fact.item).copied();
            asked.insert(fact.item, after(before, &fact));
        }
        let decks = crate::deck::shipped();
        let mut card = decks[0].cards[0].clone();
        card.tempo = (Tempo::new(100.0), Tempo::new(200.0));
        let items: Vec<ItemTempo> = asked.values().copied().collect();
        let found = of(&card, &items).unwrap();
        // 180 down a step is 169.9, 150 up three 178.4, 110 up three 130.8.
        assert!(
            (found.held.bpm() - 180.0 / 2f64.powf(1.0 / 12.0)).abs() < 1e-9,
            "{}",
            found.held
        );
        assert_eq!(found.tops, Tempo::new(190.0));
        assert_eq!(found.in_words(), "held at 170; tops at 190");
        let first = of(&card, &items[..1]).unwrap();
        assert!((first.held.bpm() - 180.0 / 2f64.powf(1.0 / 12.0)).abs() < 1e-9);
        assert_eq!(of(&card, &[(items[0].0, None)]), None);
    }
}
