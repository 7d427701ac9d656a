//! Laws of the course over the shipped decks.

use super::*;
use crate::deck::shipped;
use crate::question::items;
use crate::question::thread::THREADS;

fn course() -> (Course, Vec<Deck>) {
    let decks = shipped();
    let items = items(&decks);
    (Course::new(&decks, &items), decks)
}

fn reply(right: bool) -> UnseenAnswer {
    UnseenAnswer {
        right,
        in_time: right,
        guess: 0.05,
    }
}

#[test]
fn every_shipped_deck_has_a_thread_and_every_opening_card_is_there() {
    let (course, decks) = course();
    let listed: Vec<&str> = THREADS.iter().map(|(id, _)| *id).collect();
    for deck in &decks {
        assert!(listed.contains(&deck.id.as_str()), "{}", deck.id);
    }
    assert_eq!(listed.len(), decks.len());
    for (at, id) in OPENING.iter().enumerate() {
        let opens = course.candidates.iter().find(|c| c.card == *id).unwrap();
        assert_eq!(opens.order, at, "{id}");
    }
    // The opening can be met as it stands: each card after those that it needs.
    for (at, id) in OPENING.iter().enumerate() {
        let candidate = course.candidates.iter().find(|c| c.card == *id).unwrap();
        for need in &candidate.needs {
            let before = need
                .of
                .iter()
                .filter(|c| OPENING[..at].contains(&c.as_str()));
            assert!(before.count() >= need.enough.min(need.of.len()), "{id}");
        }
    }
}

#[test]
fn every_card_has_one_place_and_a_card_of_its_thread_stands_behind_what_it_needs() {
    let (course, decks) = course();
    let all: usize = Thread::ALL.iter().map(|t| course.chain(*t).len()).sum();
    assert_eq!(all, decks.iter().map(|d| d.cards.len()).sum::<usize>());
    for deck in &decks {
        for card in &deck.cards {
            let (thread, place) = course.places[&card.id];
            for need in &card.needs {
                let (other, before) = course.places[need];
                let own = need.starts_with(&format!("{}/", deck.id));
                assert!(
                    other != thread || !own || before < place,
                    "{} and {need}",
                    card.id
                );
            }
        }
    }
}

#[test]
fn a_newcomer_is_taken_to_know_nothing_and_is_not_sounded_out() {
    let (course, _) = course();
    let standing = Learner::default();
    assert!(course.known(&standing).is_empty());
    assert!(course.soundings(&Memory::new(), &standing).is_empty());
}

#[test]
fn a_player_of_tumbaos_has_the_strokes_until_the_answers_say_otherwise() {
    let (course, _) = course();
    let mut standing = Learner {
        stands: Stands::Tumbao,
        sounded: Some(0),
        ..Learner::default()
    };
    let known = course.known(&standing);
    for card in ["strokes/slap", "strokes/heel-tip", "tumbao/one-bar"] {
        assert!(known.contains(card), "{card}");
    }
    let chain = course.chain(Thread::Strokes).to_vec();
    for card in chain.iter().take(8) {
        let item = course.items.iter().find(|i| i.card == *card).unwrap();
        standing.unseen.push((item.clone(), reply(false)));
    }
    let known = course.known(&standing);
    assert!(chain.iter().take(8).all(|card| !known.contains(card)));
}

#[test]
fn what_is_known_rests_on_what_is_known() {
    let (course, _) = course();
    let mut standing = Learner {
        stands: Stands::Bands,
        sounded: Some(0),
        ..Learner::default()
    };
    let chain = course.chain(Thread::Variations);
    let item = course.items.iter().find(|i| i.card == chain[40]).unwrap();
    standing.unseen.push((item.clone(), reply(true)));
    let known = course.known(&standing);
    for card in &known {
        for need in &course.needs[card] {
            assert!(known.contains(need), "{card} without {need}");
        }
    }
    assert!(known.contains(&chain[40]) && known.contains(&chain[3]));
}

#[test]
fn soundings_end_and_are_of_new_cards_one_at_a_time() {
    let (course, _) = course();
    let mut standing = Learner {
        stands: Stands::Bands,
        sounded: Some(0),
        ..Learner::default()
    };
    standing
        .introduced
        .insert(course.chain(Thread::Side)[30].clone());
    let mut asked = 0;
    loop {
        let next = course.soundings(&Memory::new(), &standing);
        if next.is_empty() {
            break;
        }
        assert_eq!(next.len(), 1);
        for i in next {
            let item = &course.items[i];
            assert!(!standing.introduced.contains(&item.card));
            assert!(
                standing
                    .unseen
                    .iter()
                    .all(|(asked, _)| asked.card != item.card)
            );
            standing.unseen.push((item.clone(), reply(asked % 2 == 0)));
            asked += 1;
        }
    }
    assert!((12..=SOUNDINGS).contains(&asked), "{asked}");
    // Asked for once more, it begins anew, with other cards.
    standing.sounded = Some(standing.unseen.len());
    assert_eq!(course.soundings(&Memory::new(), &standing).len(), 1);
}

#[test]
fn of_questions_that_tell_nearly_the_same_the_likeliest_to_be_right_comes() {
    let telling = |tells, right, item| ExpectedInformation { tells, right, item };
    let all = [
        telling(1.0, 0.4, 0),
        telling(0.9, 0.6, 1),
        telling(0.86, 0.75, 2),
        telling(0.84, 0.75, 3),
    ];
    assert_eq!(best(&all), Some(2));
    assert_eq!(best(&all[..2]), Some(1));
    assert_eq!(best(&[]), None);
}
