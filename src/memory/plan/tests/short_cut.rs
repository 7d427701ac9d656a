//! The plan that looks closely at a few against the plan that looks closely at everything.

use super::*;

/// A player some weeks into many cards, right as often as `share` says on the whole and more or less so by card.
fn player(candidates: &[Candidate], days: u32, share: f64, seed: u64) -> Memory {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut memory = Memory::new();
    let known = candidates.len() * 2 / 3;
    for day in 0..days {
        for nth in 0..40 {
            // Everything once, then one thing or another.
            let turn = (day * 40 + nth) as usize;
            let i = if turn < known {
                turn
            } else {
                rng.random_range(0..known)
            };
            let chance = share + 0.3 * (candidates[i].order % 3) as f64 - 0.3;
            let right = rng.random_bool(chance.clamp(0.0, 1.0));
            let mut outcome = answer(
                &candidates[i],
                f64::from(day) * DAY + f64::from(nth) * 9.0,
                f64::from(u8::from(right)),
            );
            outcome.seconds = rng.random_range(2.0..9.0);
            memory.observe(&outcome);
        }
    }
    memory
}

/// A share of right answers that this player does not come near.
const FAR: f64 = 0.9;

fn mean_expected(plan: &[Planned]) -> f64 {
    plan.iter().map(|p| p.expected).sum::<f64>() / plan.len() as f64
}

#[test]
fn the_plan_with_the_short_cut_is_the_plan_the_long_way() {
    let (mut shortened, mut too_short) = (0, 0);
    for (cards, minutes, days, share, target, seed) in [
        (60, 1.0, 10, 0.6, 0.6, 1),
        (300, 2.0, 25, 0.7, 0.6, 2),
        (300, 2.0, 25, 0.3, 0.6, 3),
        (300, 3.0, 40, 0.5, 0.0, 4),
        (500, 2.0, 40, 0.5, FAR, 5),
        (500, 1.0, 60, 0.4, 0.8, 6),
    ] {
        let candidates = candidates(cards);
        let memory = player(&candidates, days, share, seed);
        let asked: Vec<usize> = (0..candidates.len()).step_by(31).collect();
        let settings = Settings {
            minutes,
            target,
            ..Settings::default()
        };
        for (asked, later) in [(&[][..], 0.6), (&asked[..], 9.0)] {
            let ask = Ask {
                memory: &memory,
                candidates: &candidates,
                asked,
                settings: &settings,
                now: (f64::from(days) + later) * DAY,
                // One new card may still come: the rest of the time is for what is known.
                new_today: settings.new_cards_a_day - 1,
                seed,
            };
            let long = ask.plan(|_, rough, _, _| rough);
            let short = ask.plan(|locks, rough, most, settings| {
                let all = rough.len();
                let list = shortlist(locks, rough, most, settings);
                shortened += usize::from(list.len() < all);
                list
            });
            let few = ask.plan(|locks, rough, _, settings| shortlist(locks, rough, 2, settings));
            too_short += usize::from(few != long);
            assert!(!long.is_empty());
            if target < FAR {
                let at = format!("{cards} cards, seed {seed}, {later} days later");
                assert_eq!(short, long, "{at}");
                continue;
            }
            // The easiest of everything would be a little easier than the easiest of those worth most.
            let (short, long) = (mean_expected(&short), mean_expected(&long));
            assert!(short <= target && long - short < 0.05, "{short} {long}");
        }
    }
    assert!(shortened >= 10, "only {shortened} were short");
    assert!(
        too_short >= 10,
        "a list of two would do but {too_short} times"
    );
}
