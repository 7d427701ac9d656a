//! Laws of composed evenings.

use crate::memory::{
    Candidate, Composition, Memory, Need, Outcome, PlanRole, Planned, Settings, hold, plan_composed,
};
use crate::time::{Moment, Seconds};
use std::collections::{BTreeSet, HashMap, HashSet};

/// Sixty cards in three threads, four items each, half of them by ear; every third card of a thread needs the one before it.
fn candidates() -> Vec<Candidate> {
    let items = ["side:read", "side:hear", "strokes:read", "strokes:hear"];
    let of_card = |card: usize| {
        items.map(|item| Candidate {
            item: format!("c{card}:{item}"),
            card: format!("c{card}"),
            kind: item.split(':').next().unwrap().into(),
            concepts: vec![format!("idea {}", card % 5)],
            produced: false,
            timing: Default::default(),
            order: card,
            needs: match card % 20 % 3 {
                2 => vec![Need::card(format!("c{}", card - 1))],
                _ => vec![],
            },
        })
    };
    (0..60).flat_map(of_card).collect()
}

fn composition(candidates: &[Candidate], lesson: &[usize]) -> Composition {
    let number = |c: &Candidate| c.card[1..].parse::<usize>().unwrap();
    let role = |c: &Candidate| PlanRole {
        thread: number(c) / 20,
        lesson: lesson.contains(&number(c)),
        by_ear: c.item.ends_with("hear"),
        main: true,
    };
    Composition {
        roles: candidates.iter().map(role).collect(),
        met: Some(HashSet::new()),
        new_today: Vec::new(),
        opening: 0,
        ears: true,
    }
}

/// So many days after the epoch.
fn on_day(days: f64) -> Moment {
    Moment::EPOCH + Seconds::from_days(days)
}

fn answer(candidate: &Candidate, at: Moment, correct: f64) -> Outcome {
    Outcome {
        item: candidate.item.clone(),
        concepts: candidate.concepts.clone(),
        kind: candidate.kind.clone(),
        at,
        correct,
        guess: 0.25,
        seconds: Seconds::new(3.0),
        limit: Seconds::new(4.0),
        replays: 0,
        slowed: false,
    }
}

/// One evening of a plan and its answers, all right; gives the plan.
fn evening(
    memory: &mut Memory,
    candidates: &[Candidate],
    composition: &mut Composition,
    day: usize,
    seed: u64,
) -> Vec<Planned> {
    composition.next_day();
    let now = on_day(day as f64);
    let settings = Settings::default();
    let plan = plan_composed(
        memory,
        candidates,
        composition,
        &[],
        &settings,
        now,
        0,
        seed,
    );
    for (nth, step) in plan.iter().enumerate() {
        memory.observe(&answer(
            &candidates[step.candidate],
            now + Seconds::new(9.0 * nth as f64),
            1.0,
        ));
        composition.meet(candidates, step.candidate);
    }
    plan
}

/// A month of evenings with a lesson that grows each week: the laws at each.
#[test]
fn an_evening_begins_with_the_lesson_and_keeps_its_minutes_its_needs_and_its_half() {
    let candidates = candidates();
    for seed in 0..4 {
        let mut memory = Memory::new();
        let mut lesson: Vec<usize> = Vec::new();
        let mut composition = composition(&candidates, &[]);
        for day in 0..28 {
            if day % 7 == 0 {
                lesson.extend([19 - day / 7, 39 - day / 7, 59 - day / 7]);
                composition.roles = self::composition(&candidates, &lesson).roles;
            }
            let met = composition.met.clone().unwrap();
            let open: BTreeSet<&str> = lesson
                .iter()
                .map(|n| &candidates[n * 4].card)
                .filter(|card| {
                    let items = candidates.iter().filter(|c| c.card == **card);
                    !hold(&memory, items.map(|c| c.item.as_str())).held
                })
                .map(String::as_str)
                .collect();
            let plan = evening(
                &mut memory,
                &candidates,
                &mut composition,
                day,
                seed * 100 + day as u64,
            );
            let card = |p: &Planned| candidates[p.candidate].card.as_str();

            // The lesson: all of what is not held, and first.
            let asked: BTreeSet<&str> = plan.iter().map(card).collect();
            assert!(open.is_subset(&asked), "day {day}: {open:?} {asked:?}");
            let mut waiting = open.clone();
            for step in &plan {
                let ours = composition.role(step.candidate).lesson;
                assert!(
                    ours || waiting.is_empty(),
                    "day {day}, seed {seed}: {waiting:?}"
                );
                waiting.remove(card(step));
            }

            // The minutes, and at most half of them new.
            let seconds: Seconds = plan.iter().map(|p| p.seconds).sum();
            assert!(seconds <= Seconds::new(300.0 + 1e-6), "{seconds}");
            let mut now_met = met.clone();
            let mut new = Seconds::ZERO;
            for step in &plan {
                let c = &candidates[step.candidate];
                if now_met.insert(c.card.clone()) {
                    new += step.seconds;
                    // What a card of the course needs was met before it.
                    let number: usize = c.card[1..].parse().unwrap();
                    let needs = c.needs.iter().flat_map(|n| n.of.iter());
                    for need in needs.filter(|_| !lesson.contains(&number)) {
                        assert!(now_met.contains(need), "{} before {need}", c.card);
                    }
                }
            }
            assert!(new <= Seconds::new(150.0 + 1e-6), "day {day}: {new}");
        }
    }
}

/// All answers right: each thread brings something new on the first two evenings, and within any three evenings after that,
/// as long as it has any.
#[test]
fn each_thread_moves() {
    let candidates = candidates();
    let mut memory = Memory::new();
    let mut composition = composition(&candidates, &[]);
    let mut last = [0; 3];
    for day in 0..15 {
        let met = composition.met.clone().unwrap();
        let plan = evening(&mut memory, &candidates, &mut composition, day, 3);
        for step in &plan {
            if !met.contains(&candidates[step.candidate].card) {
                last[composition.role(step.candidate).thread] = day;
            }
        }
        let waits = if day < 2 { 0 } else { 2 };
        assert!(
            last.iter().all(|last| day - last <= waits),
            "day {day}: {last:?}"
        );
    }
}

#[test]
fn half_of_the_questions_are_by_ear_where_there_is_an_ear() {
    let candidates = candidates();
    let mut memory = Memory::new();
    let mut composition = composition(&candidates, &[]);
    let (mut ear, mut all) = (0, 0);
    for day in 0..20 {
        let plan = evening(&mut memory, &candidates, &mut composition, day, 8);
        let by_ear = plan.iter().filter(|p| composition.role(p.candidate).by_ear);
        (ear, all) = (ear + by_ear.count(), all + plan.len());
    }
    let share = f64::from(u32::try_from(ear).unwrap()) / all as f64;
    assert!((0.4..=0.6).contains(&share), "{share}");
}

/// What opens the course comes first and in its order, whatever the threads.
#[test]
fn the_opening_comes_in_its_order() {
    let mut candidates = candidates();
    for c in &mut candidates {
        c.order = match c.card.as_str() {
            "c40" => 0,
            "c20" => 1,
            "c0" => 2,
            _ => c.order + 3,
        };
    }
    for seed in 0..30 {
        let mut composition = composition(&candidates, &[]);
        composition.opening = 3;
        let plan = evening(&mut Memory::new(), &candidates, &mut composition, 0, seed);
        let mut order: Vec<&str> = Vec::new();
        for step in &plan {
            let card = candidates[step.candidate].card.as_str();
            if !order.contains(&card) {
                order.push(card);
            }
        }
        assert_eq!(order[..3], ["c40", "c20", "c0"], "seed {seed}");
    }
}

/// A card that was missed before it was ever shown is still to be met; one that counts as met is asked without a meeting.
#[test]
fn what_counts_as_met_is_said_and_not_guessed() {
    let candidates = candidates();
    let mut memory = Memory::new();
    memory.observe(&answer(&candidates[0], Moment::EPOCH, 0.0));
    let mut composition = composition(&candidates, &[]);
    composition.met = Some(HashSet::from(["c1".to_string()]));
    let settings = Settings::default();
    let plan = plan_composed(
        &memory,
        &candidates,
        &composition,
        &[],
        &settings,
        on_day(1.0),
        0,
        1,
    );
    let seconds = |card: &str| {
        let of = plan.iter().filter(|p| candidates[p.candidate].card == card);
        of.map(|p| p.seconds).fold(Seconds::ZERO, Seconds::max)
    };
    assert!(seconds("c0") >= settings.meet_seconds, "{plan:?}");
    assert!(
        seconds("c1") > Seconds::ZERO && seconds("c1") < settings.meet_seconds,
        "{plan:?}"
    );
    // The third card needs the second, which counts as met.
    composition.met = Some(HashSet::from(["c0".to_string(), "c1".to_string()]));
    let plan = plan_composed(
        &memory,
        &candidates,
        &composition,
        &[],
        &settings,
        on_day(1.0),
        0,
        1,
    );
    assert!(
        plan.iter().any(|p| candidates[p.candidate].card == "c2"),
        "{plan:?}"
    );
}

/// All answers right, so that three new cards come an evening: after a week away two at most, after a night three again. A
/// second plan of the evening after the week away brings no more.
#[test]
fn after_days_away_fewer_new_cards_come() {
    let candidates = candidates();
    let mut memory = Memory::new();
    let mut composition = composition(&candidates, &[]);
    let new = |plan: &[Planned], met: &HashSet<String>| {
        let cards = plan.iter().map(|p| &candidates[p.candidate].card);
        let new: BTreeSet<&String> = cards.filter(|c| !met.contains(*c)).collect();
        new.len()
    };
    for (day, least, most) in [0, 1, 2, 3, 4, 5, 6, 7]
        .map(|day| (day, 0, 6))
        .into_iter()
        .chain([(8, 3, 3), (16, 1, 2), (17, 3, 3)])
    {
        let met = composition.met.clone().unwrap();
        let plan = evening(&mut memory, &candidates, &mut composition, day, 5);
        let came = new(&plan, &met);
        assert!((least..=most).contains(&came), "day {day}: {came}");
        if day != 16 {
            continue;
        }
        let asked: Vec<usize> = plan.iter().map(|p| p.candidate).collect();
        let settings = Settings::default();
        let now = on_day(16.0) + Seconds::new(400.0);
        let again = plan_composed(
            &memory,
            &candidates,
            &composition,
            &asked,
            &settings,
            now,
            came,
            6,
        );
        let met = composition.met.clone().unwrap();
        assert!(new(&again, &met) + came <= 2);
    }
}

/// One evening of right answers does not hold a card; two or more do; a miss gives it back to the lesson.
#[test]
fn a_card_is_held_after_some_evenings_and_no_longer_after_a_miss() {
    let all = candidates();
    let card = &all[..4];
    let keys = || card.iter().map(|c| c.item.as_str());
    let mut memory = Memory::new();
    assert_eq!(
        (hold(&memory, keys()).held, hold(&memory, keys()).chance),
        (false, None)
    );
    let mut held = None;
    for day in 0..12 {
        for c in &card[..2] {
            memory.observe(&answer(c, on_day(f64::from(day)), 1.0));
        }
        held = held.or(hold(&memory, keys()).held.then_some(day));
    }
    assert!(held.is_some_and(|day| (1..=6).contains(&day)), "{held:?}");
    assert!(hold(&memory, keys()).held);
    for day in 12..15 {
        memory.observe(&answer(&card[0], on_day(f64::from(day)), 0.0));
    }
    assert!(!hold(&memory, keys()).held);
}

#[test]
fn no_time_gives_no_plan() {
    let candidates = candidates();
    let composition = composition(&candidates, &[1, 2, 3]);
    let settings = Settings {
        minutes: 0.0,
        ..Settings::default()
    };
    let memory = Memory::new();
    assert!(
        plan_composed(
            &memory,
            &candidates,
            &composition,
            &[],
            &settings,
            Moment::EPOCH,
            0,
            1
        )
        .is_empty()
    );
}

/// Cards with three easier questions and one that is produced and takes five times as long: past its first week at least a third of its questions
/// are produced, and the easier ones still come.
#[test]
fn of_cards_past_their_first_week_a_third_is_produced() {
    let mut candidates: Vec<Candidate> = candidates();
    for c in &mut candidates {
        c.produced = c.item.contains("strokes:hear");
        if c.produced {
            c.timing.answer = Seconds::new(20.0);
            c.kind = "write".into();
        }
    }
    let composition = &mut composition(&candidates, &[]);
    let mut memory = Memory::new();
    let mut met: HashMap<String, usize> = HashMap::new();
    let (mut asked, mut produced) = (0, 0);
    for day in 0..40 {
        for planned in evening(&mut memory, &candidates, composition, day, 9) {
            let c = &candidates[planned.candidate];
            if day >= *met.entry(c.card.clone()).or_insert(day) + 7 {
                asked += 1;
                produced += usize::from(c.produced);
            }
        }
    }
    let share = produced as f64 / asked as f64;
    assert!(
        asked > 200 && (0.33..0.67).contains(&share),
        "{produced} of {asked}"
    );
}
