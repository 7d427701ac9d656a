//! The report on weak concepts: what it finds in simulated players, whether its intervals hold, how long it takes
//! over a million reviews.
//!
//! `cargo bench --bench report` prints three tables and fails when a figure misses its mark. `-- --players N` looks at
//! N players for each weakness instead of 100.

#[path = "report/judge.rs"]
mod judge;
#[path = "report/players.rs"]
#[allow(dead_code)]
mod players;

use judge::{covered, input, is};
use players::{Fault, Log, play, play_uneven};
use std::time::Instant;
use whichside::memory::{Candidate, Memory};
use whichside::report::{Diary, Input, RECENT, report, spots};

const REVIEWS: usize = 1_000_000;
/// Milliseconds that a report may take.
const LIMIT: f64 = 300.0;

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let players = args
        .iter()
        .position(|a| a == "--players")
        .and_then(|at| args.get(at + 1)?.parse().ok())
        .unwrap_or(100);
    let good = [planted(players), intervals(), speed()];
    if good.contains(&false) {
        println!("\nsome figures miss their mark");
        std::process::exit(1);
    }
}

fn planted(players: u64) -> bool {
    println!("planted weakness, 200 reviews, seeds 0 to {}", players - 1);
    let mut good = true;
    for fault in Fault::PLANTED {
        let first = |seed: &u64| {
            let log = play(fault, 200, *seed);
            let first = spots(&log.words, &log.facts).into_iter().next();
            first.is_some_and(|s| is(fault, &s))
        };
        let named = (0..players).filter(first).count();
        good &= line(&format!("{fault:?}: named first"), named, players);
    }
    let clear = |seed: &u64| {
        let log = play(Fault::None, 200, *seed);
        spots(&log.words, &log.facts).is_empty()
    };
    good & line(
        "none: none named",
        (0..players).filter(clear).count(),
        players,
    )
}

fn line(what: &str, count: usize, of: u64) -> bool {
    let good = count as f64 >= 0.95 * of as f64;
    println!(
        "  {what:<32} {count:>5} of {of}{}",
        if good { "" } else { "   below 95 in 100" }
    );
    good
}

fn intervals() -> bool {
    println!("\nintervals of nine in ten that hold the true share, 100 players");
    let mut good = true;
    for reviews in [60, 200, 600, 1500] {
        let mut sums = [(0, 0); 2];
        for seed in 1000..1100 {
            for (sum, (held, all)) in sums.iter_mut().zip(covered(&play_uneven(reviews, seed))) {
                sum.0 += held;
                sum.1 += all;
            }
        }
        let share = |(held, all): (usize, usize)| 100.0 * held as f64 / all as f64;
        let both = share((sums[0].0 + sums[1].0, sums[0].1 + sums[1].1));
        let fine = (87.0..=93.0).contains(&both);
        good &= fine;
        println!(
            "  {reviews:>5} reviews: {both:.1} %  (concepts as wholes {:.1} %, by eye and by ear {:.1} %){}",
            share(sums[0]),
            share(sums[1]),
            if fine { "" } else { "   not in 87 to 93 %" }
        );
    }
    good
}

fn speed() -> bool {
    println!("\nreport over {REVIEWS} reviews");
    // A year of different questions, over and over, with items of a large collection.
    let year = play(Fault::DeafToRumba, 20_000, 7);
    let mut facts = Vec::with_capacity(REVIEWS);
    for n in 0..REVIEWS {
        let mut fact = year.facts[n % year.facts.len()];
        fact.id = n as i64 + 1;
        fact.at = 1_600_000_000_000 + n as i64 * 200_000;
        fact.forecast = Some(0.3 + 0.6 * (n % 7) as f64 / 7.0);
        facts.push(fact);
    }
    let log = Log {
        words: year.words,
        facts,
    };
    let mut memory = Memory::new();
    for fact in &log.facts[REVIEWS - 50_000..] {
        memory.observe(&fact.outcome(&log.words));
    }
    let items: Vec<Candidate> = log
        .words
        .items
        .iter()
        .map(|item| Candidate {
            item: item.to_string(),
            card: item.card.clone(),
            kind: item.kind.clone(),
            concepts: log.words.concepts[0].clone(),
            order: 0,
            needs: Vec::new(),
        })
        .collect();
    let mut folds = Vec::new();
    let mut reports = Vec::new();
    for _ in 0..5 {
        let from = Instant::now();
        let mut diary = Diary::default();
        log.facts.iter().for_each(|f| diary.observe(f));
        folds.push(ms(from));
        let from = Instant::now();
        let whole = Input {
            items: &items,
            recent: &log.facts[REVIEWS - RECENT..],
            ..input(&log, &memory)
        };
        let made = report(&whole, &diary);
        reports.push(ms(from));
        assert!(!made.concepts.is_empty() && !made.days.is_empty());
    }
    let (fold, made) = (median(&mut folds), median(&mut reports));
    println!("  taking all reviews into the diary  {fold:8.1} ms  (kept between runs)");
    println!("  the report from it                 {made:8.1} ms");
    println!(
        "  both                               {:8.1} ms",
        fold + made
    );
    let good = fold + made < LIMIT;
    if !good {
        println!("  too slow: the limit is {LIMIT} ms");
    }
    good
}

fn ms(from: Instant) -> f64 {
    from.elapsed().as_secs_f64() * 1e3
}

fn median(times: &mut [f64]) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}
