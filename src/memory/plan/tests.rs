//! Laws of the plan over random players.

use super::*;
use crate::memory::constants::LONGEST;
use crate::memory::{Need, Outcome};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};

fn candidates(cards: usize) -> Vec<Candidate> {
    (0..cards)
        .flat_map(|card| {
            ["side", "hand", "strokes"].map(|kind| Candidate {
                item: format!("c{card}:{kind}"),
                card: format!("c{card}"),
                kind: kind.into(),
                concepts: vec![format!("idea {}", card % 5)],
                produced: false,
                timing: Default::default(),
                order: card,
                needs: if card % 4 == 3 {
                    vec![Need::card(format!("c{}", card - 1))]
                } else {
                    vec![]
                },
            })
        })
        .collect()
}

/// A plan that is not composed, after these questions.
fn plan_after(
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

fn plan(
    memory: &Memory,
    candidates: &[Candidate],
    settings: &Settings,
    now: Moment,
    new_today: usize,
    seed: u64,
) -> Vec<Planned> {
    plan_after(memory, candidates, &[], settings, now, new_today, seed)
}

const START: Moment = Moment::EPOCH;

/// So many days after the start.
fn on_day(days: f64) -> Moment {
    START + Seconds::from_days(days)
}

fn answer(candidate: &Candidate, at: Moment, correct: f64) -> Outcome {
    Outcome {
        item: candidate.item.clone(),
        concepts: candidate.concepts.clone(),
        kind: candidate.kind.clone(),
        at,
        correct,
        guess: 0.5,
        seconds: Seconds::new(3.0),
        limit: Seconds::new(4.0),
        replays: 0,
        slowed: false,
    }
}

/// One evening: plans are made and asked until there are none or the minutes are gone. Gives what was asked, in order,
/// and the seconds.
fn evening(
    memory: &mut Memory,
    candidates: &[Candidate],
    settings: &Settings,
    now: Moment,
    mut right: impl FnMut(usize) -> bool,
) -> (Vec<usize>, Seconds) {
    let (mut asked, mut seconds) = (Vec::new(), Seconds::ZERO);
    let mut met: HashSet<&str> = HashSet::new();
    for seed in 0.. {
        let settings = Settings {
            minutes: settings.minutes - seconds.minutes(),
            ..*settings
        };
        let now = now + seconds;
        let plan = plan_after(memory, candidates, &asked, &settings, now, met.len(), seed);
        if plan.is_empty() {
            break;
        }
        let total: Seconds = plan.iter().map(|p| p.seconds).sum();
        assert!(total <= settings.length() + Seconds::new(1e-6));
        // What is left for a further plan may be of one card alone.
        let whole = asked.is_empty();
        for pair in plan.windows(2).filter(|_| whole) {
            let card = |p: &Planned| &candidates[p.candidate].card;
            assert_ne!(card(&pair[0]), card(&pair[1]), "at {now}");
        }
        let distinct: HashSet<usize> = plan.iter().map(|p| p.candidate).collect();
        assert_eq!(distinct.len(), plan.len());
        for planned in plan {
            let c = &candidates[planned.candidate];
            assert!((0.0..=1.0).contains(&planned.recall));
            assert!((0.0..=1.0).contains(&planned.expected));
            if candidates
                .iter()
                .all(|other| other.card != c.card || memory.reviews(&other.item) == 0)
            {
                for need in c.needs.iter().flat_map(|n| n.of.iter()) {
                    let item = |other: &&Candidate| other.card == *need;
                    let mut needed = candidates.iter().filter(item);
                    let there = needed.any(|other| memory.reviews(&other.item) > 0);
                    assert!(there, "{} before {need}", c.item);
                }
                met.insert(&c.card);
            }
            let right = f64::from(u8::from(right(planned.candidate)));
            memory.observe(&answer(c, now + Seconds::new(asked.len() as f64), right));
            asked.push(planned.candidate);
            seconds += planned.seconds;
        }
    }
    (asked, seconds)
}

/// Cards of which something was asked.
fn cards_met(memory: &Memory, candidates: &[Candidate]) -> usize {
    let met = candidates.iter().filter(|c| memory.reviews(&c.item) > 0);
    met.map(|c| &c.card).collect::<HashSet<_>>().len()
}

/// Sixty days of drills by a player who is right at five answers of six, with the laws of a plan held at each.
#[test]
fn plans_keep_their_minutes_and_limits_through_two_months() {
    let candidates = candidates(40);
    let settings = Settings::default();
    let mut memory = Memory::new();
    let mut turn = 0u32;
    for day in (0..60).filter(|day| !(20..27).contains(day)) {
        let before = cards_met(&memory, &candidates);
        let (_, seconds) = evening(
            &mut memory,
            &candidates,
            &settings,
            on_day(f64::from(day)),
            |_| {
                turn += 1;
                !turn.is_multiple_of(6)
            },
        );
        // From the first evening on the minutes are filled, but for a rest too short for any question.
        let minutes = settings.length();
        assert!(
            seconds <= minutes && seconds > minutes - Seconds::new(20.0),
            "day {day}: {seconds}"
        );
        let new = cards_met(&memory, &candidates) - before;
        let most = settings.new_cards_a_day * if day == 0 { 2 } else { 1 };
        assert!(new <= most, "day {day}: {new}");
    }
    assert_eq!(cards_met(&memory, &candidates), 40);
    // Nothing starves: every item was asked within the last weeks.
    for c in &candidates {
        let last = memory.last_seen(&c.item).unwrap_or(Moment::NEVER);
        let days = 60.0 - (last - START).days();
        assert!(days < 25.0, "{} last asked {days} days ago", c.item);
    }
}

/// One evening after another of a player who is right so often, and the new cards of each evening after the first.
fn new_cards_of(share: f64) -> Vec<usize> {
    let candidates = candidates(100);
    let settings = Settings::default();
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    let mut memory = Memory::new();
    let new = (0..20).map(|day| {
        let before = cards_met(&memory, &candidates);
        let now = on_day(f64::from(day));
        let right = |_| rng.random_bool(share);
        evening(&mut memory, &candidates, &settings, now, right);
        cards_met(&memory, &candidates) - before
    });
    new.skip(1).collect()
}

/// Half of the answers wrong, where nothing could be guessed but one in two: none of it is known.
#[test]
fn new_cards_slow_and_stop_when_it_goes_badly() {
    let total = |share| new_cards_of(share).iter().sum::<usize>();
    let (well, middling, badly) = (total(0.9), total(0.7), total(0.5));
    assert_eq!(well, 19 * Settings::default().new_cards_a_day);
    assert!(
        badly < middling && middling < well,
        "{badly} {middling} {well}"
    );
    let last = &new_cards_of(0.5)[9..];
    assert!(last.iter().all(|new| *new == 0), "{last:?}");
}

/// Two cards of three items each and no others: all of it comes again, spaced, and then the evening ends.
#[test]
fn what_was_asked_comes_again_apart_and_not_for_ever() {
    let candidates = candidates(2);
    let settings = Settings::default();
    let (asked, seconds) = evening(&mut Memory::new(), &candidates, &settings, START, |_| true);
    assert!(seconds < settings.length());
    for i in 0..candidates.len() {
        let places: Vec<usize> = (0..asked.len()).filter(|p| asked[*p] == i).collect();
        assert!((2..=5).contains(&places.len()), "{places:?}");
        assert!(places.windows(2).all(|w| w[1] - w[0] > 2), "{places:?}");
    }
    // One item alone cannot come again at all: nothing would lie between.
    let (asked, _) = evening(
        &mut Memory::new(),
        &candidates[..1],
        &settings,
        START,
        |_| true,
    );
    assert_eq!(asked, [0]);
}

/// The same evening, one item missed whenever it is asked: it comes first and as often as any.
#[test]
fn the_weakest_comes_again_first() {
    let candidates: Vec<Candidate> = candidates(12).into_iter().step_by(3).collect();
    let settings = Settings {
        new_cards_a_day: 12,
        ..Settings::default()
    };
    let mut memory = Memory::new();
    let missed = 1;
    let (asked, _) = evening(&mut memory, &candidates, &settings, START, |i| i != missed);
    let again = asked
        .iter()
        .skip(candidates.len())
        .position(|i| *i == missed);
    let times = |i: usize| asked.iter().filter(|a| **a == i).count();
    assert!(again.is_some_and(|again| again < 3), "{asked:?}");
    assert!(
        (0..candidates.len()).all(|i| times(i) <= times(missed)),
        "{asked:?}"
    );
}

/// What is worth little is not given up: asked too long ago, it comes; if not in its turn, then on that day.
#[test]
fn what_has_gone_unasked_for_too_long_comes_first() {
    let candidates = candidates(200);
    let mut memory = Memory::new();
    // One item that is held well, then many that were asked but once.
    for day in 0..6 {
        memory.observe(&answer(&candidates[0], on_day(f64::from(day)), 1.0));
    }
    for (candidate, nth) in candidates[3..300].iter().zip(0..) {
        let at = on_day(6.0) + Seconds::new(9.0 * f64::from(nth));
        memory.observe(&answer(candidate, at, 1.0));
    }
    let settings = Settings::default();
    let comes = |days: f64| {
        let plan = plan(&memory, &candidates, &settings, on_day(5.0 + days), 3, 1);
        plan.iter().any(|p| p.candidate == 0)
    };
    assert!(comes(LONGEST.days() + 0.5));
}

#[test]
fn the_same_arguments_give_the_same_plan() {
    let candidates = candidates(20);
    let mut memory = Memory::new();
    for (i, c) in candidates.iter().take(30).enumerate() {
        memory.observe(&answer(c, Moment::new(i as f64 * 9.0), 1.0));
    }
    let plan = |seed| {
        plan(
            &memory,
            &candidates,
            &Settings::default(),
            on_day(3.0),
            1,
            seed,
        )
    };
    assert_eq!(plan(7), plan(7));
}

#[test]
fn no_time_or_nothing_to_ask_gives_no_plan() {
    let memory = Memory::new();
    let none = Settings {
        minutes: 0.0,
        ..Settings::default()
    };
    assert!(plan(&memory, &candidates(5), &none, START, 0, 1).is_empty());
    assert!(plan(&memory, &[], &Settings::default(), START, 0, 1).is_empty());
}

/// However many new items look better than what was missed yesterday: the limit of new cards leaves time for it.
#[test]
fn what_was_missed_comes_again_however_much_is_new() {
    let candidates = candidates(1000);
    let mut memory = Memory::new();
    let missed = &candidates[..12];
    for (nth, candidate) in missed.iter().enumerate() {
        memory.observe(&answer(candidate, Moment::new(20.0 * nth as f64), 0.0));
    }
    let (settings, now) = (Settings::default(), on_day(1.0));
    let plan = plan(&memory, &candidates, &settings, now, 0, 1);
    let again = plan.iter().filter(|p| p.candidate < missed.len()).count();
    assert_eq!(again, missed.len(), "{plan:?}");
}

/// A card stands behind the one that it needs, whatever the seed.
#[test]
fn a_card_comes_after_the_one_that_it_needs() {
    let card = |name: &str, order: usize, needs: &[&str]| Candidate {
        item: format!("{name}:side"),
        card: name.into(),
        kind: "side".into(),
        concepts: vec!["direction".into()],
        produced: false,
        timing: Default::default(),
        order,
        needs: needs.iter().map(|n| Need::card(*n)).collect(),
    };
    let candidates = [
        card("first", 0, &[]),
        card("second", 1, &["first"]),
        card("third", 2, &["first"]),
        card("fourth", 3, &["third"]),
    ];
    let settings = Settings {
        new_cards_a_day: 4,
        ..Settings::default()
    };
    for seed in 0..100 {
        let plan = plan(&Memory::new(), &candidates, &settings, START, 0, seed);
        let place = |n: usize| plan.iter().position(|p| p.candidate == n).unwrap();
        assert!(
            place(0) < place(1) && place(0) < place(2) && place(2) < place(3),
            "{plan:?}"
        );
    }
}

/// A card that needs half of a group, cards of which stand before and behind it, and one that needs that card.
#[test]
fn new_cards_come_after_what_they_need_and_otherwise_in_order() {
    let need = |of: &[usize], enough| Need {
        of: of.iter().map(|c| format!("c{c}")).collect(),
        enough,
    };
    let mut candidates = candidates(8);
    for c in &mut candidates {
        c.needs.clear();
        match c.order {
            2 => c.needs.push(need(&[0, 1, 4, 5], 3)),
            3 => c.needs.push(need(&[2], 1)),
            _ => {}
        }
    }
    let settings = Settings {
        minutes: 4.0,
        new_cards_a_day: 7,
        ..Settings::default()
    };
    for seed in 0..50 {
        let plan = plan(&Memory::new(), &candidates, &settings, START, 0, seed);
        let mut order: Vec<usize> = Vec::new();
        for planned in &plan {
            let card = candidates[planned.candidate].order;
            if !order.contains(&card) {
                order.push(card);
            }
        }
        let at = |card: usize| order.iter().position(|c| *c == card);
        let group = |until: usize| order[..until].iter().filter(|c| [0, 1, 4, 5].contains(*c));
        assert_eq!(order.len(), 7, "{order:?}");
        assert!(at(2).is_none_or(|at| group(at).count() >= 3), "{order:?}");
        assert!(
            at(3).is_none_or(|three| at(2).is_some_and(|two| two < three)),
            "{order:?}"
        );
        let others: Vec<usize> = order
            .iter()
            .copied()
            .filter(|c| ![2, 3].contains(c))
            .collect();
        assert!(others.is_sorted(), "{order:?}");
    }
}

/// Cards all of whose items were asked in this session still count as met.
#[test]
fn what_was_asked_already_is_left_out_but_counts_as_met() {
    let candidates = candidates(4);
    let mut memory = Memory::new();
    let asked: Vec<usize> = (0..9).collect();
    for &i in &asked {
        memory.observe(&answer(&candidates[i], Moment::new(i as f64), 1.0));
    }
    let (settings, now) = (Settings::default(), Moment::new(100.0));
    let plan = plan_after(&memory, &candidates, &asked, &settings, now, 0, 1);
    assert!(!plan.is_empty());
    // The fourth card needs the third.
    assert!(plan.iter().all(|p| candidates[p.candidate].order == 3));
}
