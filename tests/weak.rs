//! Planted weaknesses are named first, none is named where there is none, and intervals hold the truth as often as
//! they say. `cargo bench --bench report` prints the same for more players.

#[path = "../benches/report/judge.rs"]
mod judge;
#[path = "../benches/report/players.rs"]
#[allow(dead_code)]
mod players;

use judge::{covered, is};
use players::{Fault, play, play_uneven};
use whichside::report::spots;

#[test]
fn planted_weaknesses_are_named_first() {
    for fault in Fault::PLANTED {
        let first = |seed| {
            let log = play(fault, 200, seed);
            spots(&log.words, &log.facts).into_iter().next()
        };
        let named = (0..100).filter(|s| first(*s).is_some_and(|spot| is(fault, &spot)));
        let named = named.count();
        println!("{fault:?}: named first in {named} of 100");
        assert!(named >= 95, "{fault:?}: {named} of 100");
    }
}

#[test]
fn players_without_a_weakness_are_told_of_none() {
    let clear = |seed| {
        let log = play(Fault::None, 200, seed);
        spots(&log.words, &log.facts).is_empty()
    };
    let clear = (0..100).filter(|s| clear(*s)).count();
    println!("none: none named in {clear} of 100");
    assert!(clear >= 95, "{clear} of 100");
}

#[test]
fn intervals_of_nine_in_ten_hold_the_truth_nine_times_in_ten() {
    for reviews in [60, 200, 600] {
        let mut sums = [(0, 0); 2];
        for seed in 0..60 {
            for (sum, (held, all)) in sums.iter_mut().zip(covered(&play_uneven(reviews, seed))) {
                sum.0 += held;
                sum.1 += all;
            }
        }
        for (what, (held, all)) in ["as wholes", "by sense"].iter().zip(sums) {
            let share = 100.0 * held as f64 / all as f64;
            println!("{reviews} reviews, {what}: {share:.1} % of {all}");
        }
        let [(a, n), (b, m)] = sums;
        let share = (a + b) as f64 / (n + m) as f64;
        assert!((0.87..=0.93).contains(&share), "{reviews}: {share}");
    }
}
