//! Frozen: what memory plans, evening after evening, for a player drawn at random, and what it says of the future.

use crate::{chance, rounded};
use std::collections::HashSet;
use std::fmt::Write;
use whichside::deck::shipped;
use whichside::memory::{
    Candidate, Composition, Learned, Learners, Memory, Need, Outcome, Placement, PlanRole,
    Settings, Timing, UnseenAnswer, hold, outlook, plan_composed,
};
use whichside::question::{Course, ItemKey, Learner, Stands, items};
use whichside::time::{Moment, Seconds};

const DAY: f64 = 86_400.0;
const KINDS: [&str; 4] = ["side:read", "side:hear", "strokes:read", "write:read"];

/// Cards in three threads, four items each, one of them produced; some need others.
fn candidates(cards: usize) -> Vec<Candidate> {
    let of_card = |card: usize| {
        KINDS.map(|kind| Candidate {
            item: format!("c{card}:{kind}"),
            card: format!("c{card}"),
            kind: kind.split(':').next().unwrap().into(),
            concepts: vec![format!("idea {}", card % 5), format!("thread {}", card % 3)],
            produced: kind.starts_with("write"),
            timing: Timing {
                listening: if kind.ends_with("hear") {
                    Seconds::new(4.5)
                } else {
                    Seconds::ZERO
                },
                answer: Seconds::new(3.0 + (card % 4) as f64),
            },
            order: card,
            needs: match card % 4 {
                3 => vec![Need::card(format!("c{}", card - 3))],
                _ => vec![],
            },
        })
    };
    (0..cards).flat_map(of_card).collect()
}

fn composition(candidates: &[Candidate], lesson: &[usize]) -> Composition {
    let role = |c: &Candidate| {
        let card: usize = c.card[1..].parse().unwrap();
        PlanRole {
            thread: card % 3,
            lesson: lesson.contains(&card),
            by_ear: c.item.ends_with("hear"),
            main: c.kind == ["side", "strokes"][card % 2],
        }
    };
    Composition {
        roles: candidates.iter().map(role).collect(),
        met: Some(HashSet::new()),
        new_today: Vec::new(),
        opening: 3,
        ears: true,
    }
}

/// A player who knows an item the better the more often it was asked.
struct Player {
    state: u64,
    times: Vec<u64>,
}

impl Player {
    fn answer(&mut self, candidates: &[Candidate], index: usize, at: f64) -> Outcome {
        let candidate = &candidates[index];
        let known = 40 + 12 * self.times[index].min(4) + 3 * (index as u64 % 4);
        self.times[index] += 1;
        let right = chance(&mut self.state, 100) < known;
        let row = candidate.kind == "strokes";
        Outcome {
            item: candidate.item.clone(),
            concepts: candidate.concepts.clone(),
            kind: candidate.kind.clone(),
            at: Moment::new(at),
            correct: match (right, row) {
                (true, _) => 1.0,
                (false, true) => 0.625,
                (false, false) => 0.0,
            },
            guess: [0.5, 0.01, 0.25][index % 3],
            seconds: Seconds::new(1.0 + chance(&mut self.state, 80) as f64 / 10.0),
            limit: Seconds::new([4.0, 6.0, 0.0][index % 3]),
            replays: (chance(&mut self.state, 6) / 4) as u32,
            slowed: chance(&mut self.state, 9) == 0,
        }
    }
}

fn evenings(composed: Option<&[usize]>, days: &[usize]) -> String {
    let candidates = candidates(36);
    let mut composition = match composed {
        Some(lesson) => composition(&candidates, lesson),
        None => Composition::default(),
    };
    let mut memory = Memory::new();
    let mut player = Player {
        state: 987_654_321_123_456_789,
        times: vec![0; candidates.len()],
    };
    let mut text = String::new();
    let settings = Settings::default();
    for (nth, day) in days.iter().enumerate() {
        let begin = 1.8e9 + *day as f64 * DAY + 600.0 * (nth % 4) as f64;
        let (mut asked, mut spent, mut met_today) = (Vec::new(), 0.0, HashSet::new());
        composition.new_today.clear();
        writeln!(text, "day {day}").unwrap();
        for seed in 0..6 {
            let left = Settings {
                minutes: settings.minutes - spent / 60.0,
                ..settings
            };
            let plan = plan_composed(
                &memory,
                &candidates,
                &composition,
                &asked,
                &left,
                Moment::new(begin + spent),
                met_today.len(),
                seed,
            );
            if plan.is_empty() {
                break;
            }
            for planned in plan {
                let (index, why) = (planned.candidate, planned.why);
                let candidate = &candidates[index];
                let outcome = player.answer(&candidates, index, begin + spent);
                let before = memory.observe(&outcome);
                writeln!(
                    text,
                    "{} {why:?} {:.2} {:.4} {:.4}: {} after {:.4}",
                    candidate.item,
                    planned.seconds,
                    planned.recall,
                    planned.expected,
                    outcome.correct,
                    before.recall
                )
                .unwrap();
                if let Some(met) = &mut composition.met
                    && met.insert(candidate.card.clone())
                {
                    let thread = composition.roles[index].thread;
                    composition.new_today.resize(3, 0);
                    composition.new_today[thread] += 1;
                }
                met_today.insert(&candidate.card);
                spent += planned.seconds.seconds();
                asked.push(index);
            }
        }
    }
    let now = 1.8e9 + (*days.last().unwrap() as f64 + 1.3) * DAY;
    for candidate in &candidates {
        let item = &candidate.item;
        let ahead =
            [0.0, 1.0, 8.0, 60.0].map(|days| memory.chance(item, Moment::new(now + days * DAY)));
        let times = [memory.first_seen(item), memory.last_seen(item)];
        writeln!(
            text,
            "{item}: {ahead:.4?} new {:.4} last {:.4?} asked {} seconds {:.3} {times:.1?}",
            memory.expected_new(&candidate.concepts, &candidate.kind, Moment::new(now)),
            memory.last_recalled(item),
            memory.reviews(item),
            memory.seconds_estimate(candidate)
        )
        .unwrap();
    }
    for card in candidates.chunks(KINDS.len()) {
        let held = hold(&memory, card.iter().map(|c| c.item.as_str()));
        writeln!(text, "{} {}", card[0].card, rounded(&format!("{held:?}"))).unwrap();
    }
    let ahead = outlook(
        &memory,
        &candidates,
        &composition,
        &settings,
        Moment::new(now),
        1,
        8,
        5,
    );
    for day in ahead {
        writeln!(text, "{}", rounded(&format!("{day:?}"))).unwrap();
    }
    writeln!(text, "{}", rounded(&format!("{:?}", memory.weights()))).unwrap();
    text
}

#[test]
fn evenings_of_what_is_worth_most_are_planned_as_they_were() {
    let days: Vec<usize> = (0..9).chain([11, 12, 20, 21]).collect();
    insta::assert_snapshot!(evenings(None, &days));
}

#[test]
fn composed_evenings_are_planned_as_they_were() {
    let days: Vec<usize> = (0..9).chain([10, 14, 25]).collect();
    insta::assert_snapshot!(evenings(Some(&[7, 20, 21]), &days));
}

#[test]
fn many_learners_are_forecast_as_they_were() {
    let candidates = candidates(8);
    let mut learners = Learners::default();
    let mut text = String::new();
    for learner in 0..6u64 {
        let mut player = Player {
            state: 1_000_003 * (learner + 1),
            times: vec![0; candidates.len()],
        };
        for n in 0..24 {
            let index = chance(&mut player.state, candidates.len() as u64) as usize;
            let at = 1.8e9 + n as f64 * 7_000.0 + (n / 8) as f64 * DAY;
            let outcome = player.answer(&candidates, index, at);
            let before = learners.observe(&format!("l{learner}"), &outcome);
            writeln!(
                text,
                "{learner} {index} {:.4} {:.4} {}",
                before.expected, before.recall, outcome.correct
            )
            .unwrap();
        }
    }
    insta::assert_snapshot!(text);
}

#[test]
fn players_are_sounded_out_as_they_were() {
    let decks = shipped();
    let all_items = items(&decks);
    let course = Course::new(&decks, &all_items);
    let mut text = String::new();
    for (n, stands) in [Stands::Tumbao, Stands::Bands, Stands::Bands]
        .into_iter()
        .enumerate()
    {
        let mut learner = Learner {
            stands,
            sounded: Some(0),
            ..Learner::default()
        };
        let mut state = 31_415_926 + n as u64;
        loop {
            let next = course.soundings(&Memory::new(), &learner);
            let Some(index) = next.first() else {
                break;
            };
            let candidate = &course.candidates()[*index];
            let item: ItemKey = all_items
                .iter()
                .find(|item| item.key.to_string() == candidate.item)
                .map(|item| item.key.clone())
                .unwrap();
            let right = chance(&mut state, 4) < 1 + n as u64;
            let seconds = 1.0 + chance(&mut state, 60) as f64 / 10.0;
            let reply = UnseenAnswer::new(
                f64::from(u8::from(right)),
                0.25,
                Seconds::new(seconds),
                Seconds::new(4.0),
            );
            writeln!(text, "{item} {right} {seconds}").unwrap();
            learner.unseen.push((item, reply));
        }
        let known = course.known(&learner);
        writeln!(text, "known {}: {known:?}", known.len()).unwrap();
    }
    insta::assert_snapshot!(text);
}

#[test]
fn newcomers_are_placed_as_they_were() {
    let learned = Learned {
        share: 0.4,
        sure: 3.0,
        floors: vec![0.0, 0.1],
    };
    let mut text = String::new();
    for knows in [0.0, 0.35, 0.9] {
        let sizes = [20, 14, 31];
        let mut placement = Placement::new(&sizes, &learned);
        let mut state = 777_777_777;
        for n in 0..10 {
            let thread = n % 3;
            let places = placement.places(thread);
            let decks = [0..5, 5..9, 9..sizes[thread]];
            let tells = |card: usize| Placement::tells(&places, card, 0.25, &decks);
            let card = (0..sizes[thread]).fold(0, |best, card| match tells(card) > tells(best) {
                true => card,
                false => best,
            });
            let right = (card as f64) < knows * sizes[thread] as f64;
            let seconds = 1.0 + chance(&mut state, 50) as f64 / 10.0;
            let answer = UnseenAnswer::new(
                f64::from(u8::from(right)),
                0.25,
                Seconds::new(seconds),
                Seconds::new(4.0),
            );
            writeln!(text, "{thread} {card} {:.5} {answer:?}", tells(card)).unwrap();
            placement.observe(thread, card, answer);
        }
        for (thread, size) in sizes.into_iter().enumerate() {
            let known = placement.known(thread);
            writeln!(
                text,
                "{} {:.4} {:.4} {known:.4?}",
                placement.place(thread),
                placement.between(thread, 3, size / 2),
                Placement::expected(known[size / 2], 0.2)
            )
            .unwrap();
        }
    }
    insta::assert_snapshot!(text);
}
