//! Players who know the course up to some point, placed by questions.

use super::sittings::course;
use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use whichside::deck;
use whichside::memory::{Memory, UnseenAnswer};
use whichside::question::{Course, ItemKey, Learner, Stands, Thread, card, tempo};
use whichside::question::{SOUNDINGS, Setup, ask};

/// Players of each sort.
const PLAYERS: usize = 200;
/// Share of the course that is taken as known of one who guesses, at most; more than a quarter of one in ten at most.
const HIGH: f64 = 0.5;
/// Chance of being right where the card is known, and of being in time then. Ours.
const RIGHT: f64 = 0.93;
const IN_TIME: f64 = 0.9;

/// What a player knows of each thread.
#[derive(Clone, Copy, Debug)]
enum Knows {
    /// The same share of each.
    UpTo(f64),
    /// A share of each, one by one.
    Each([f64; 3]),
    /// Nothing, and answers by chance alone.
    Guesses,
}

/// Where one was placed.
struct Placed {
    /// Decks between the place and the truth, the worst thread.
    off: usize,
    questions: usize,
    /// Answers that were right.
    right: usize,
    /// Share of the course that counts as known.
    share: f64,
}

/// Prints how near they are placed; true where nine in ten are within one deck and guessing gets nobody high.
pub fn report(seed: u64) -> bool {
    let decks = deck::shipped();
    let (course, items) = course(&decks);
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    println!("placed within one deck in every thread, of {PLAYERS} players each (seed {seed}):");
    let mut all = true;
    let sorts = [
        "know the course up to a point",
        "know each thread up to a point",
        "guess",
    ];
    for (sort, name) in sorts.iter().enumerate() {
        for stands in [Stands::Tumbao, Stands::Bands] {
            let placed: Vec<Placed> = (0..PLAYERS)
                .map(|_| {
                    let mut draw = || rng.random::<f64>();
                    let knows = match sort {
                        0 => Knows::UpTo(draw()),
                        1 => Knows::Each([draw(), draw(), draw()]),
                        _ => Knows::Guesses,
                    };
                    place(&course, &items, &decks, stands, knows, &mut rng)
                })
                .collect();
            let near = placed.iter().filter(|p| p.off <= 1).count();
            let mean =
                |of: &dyn Fn(&Placed) -> f64| placed.iter().map(of).sum::<f64>() / PLAYERS as f64;
            let most = placed.iter().map(|p| p.questions).max().unwrap_or(0);
            let high = placed.iter().filter(|p| p.share > 0.25).count();
            let highest = placed.iter().map(|p| p.share).fold(0.0, f64::max);
            println!(
                "  {name:31} said {:7} {near:3} near, {:4.1} questions on average, {most} at most, {:2.0} % right, {:3.0} % of the course taken as known, {high} above a quarter, {:3.0} % at most",
                stands.name(),
                mean(&|p| p.questions as f64),
                100.0 * mean(&|p| p.right as f64 / p.questions.max(1) as f64),
                100.0 * mean(&|p| p.share),
                100.0 * highest,
            );
            let kept = match sort {
                0 | 1 => near * 10 >= PLAYERS * 9,
                _ => high * 10 <= PLAYERS && placed.iter().all(|p| p.share <= HIGH),
            };
            if !kept {
                println!("BROKEN");
            }
            all &= kept && most <= SOUNDINGS;
        }
    }
    println!();
    all
}

fn place(
    course: &Course,
    items: &[ItemKey],
    decks: &[deck::Deck],
    stands: Stands,
    knows: Knows,
    rng: &mut ChaCha8Rng,
) -> Placed {
    let known = |thread: Thread| {
        let cards = course.chain(thread).len() as f64;
        let share = match knows {
            Knows::UpTo(share) => share,
            Knows::Each(shares) => shares[thread as usize],
            Knows::Guesses => 0.0,
        };
        (share * cards).round() as usize
    };
    let mut standing = Learner {
        stands,
        sounded: Some(0),
        ..Learner::default()
    };
    let memory = Memory::new();
    loop {
        let next = course.soundings(&memory, &standing);
        if next.is_empty() {
            break;
        }
        for i in next {
            let item = &items[i];
            let card = card(decks, &item.card).expect("its card");
            let setup = Setup {
                tempo: tempo::stand(card.tempo, None),
                player: Default::default(),
                as_written: false,
                weighed: false,
                unseen: true,
            };
            let question = ask(card, item, rng.random(), &setup).expect("a question");
            let thread = Thread::of(card);
            let at = course.chain(thread).iter().position(|c| *c == item.card);
            let knows = at.is_some_and(|at| at < known(thread));
            let (right, in_time) = match knows {
                true => (rng.random_bool(RIGHT), rng.random_bool(IN_TIME)),
                false => (rng.random_bool(question.form.guess().clamp(0.0, 1.0)), true),
            };
            let reply = UnseenAnswer {
                right,
                in_time: right && in_time,
                guess: question.form.guess(),
            };
            standing.unseen.push((item.clone(), reply));
        }
    }
    let placement = course.placement(&standing);
    let off = Thread::ALL.into_iter().map(|t| {
        let placed = course.decks_begun(t, placement.place(t as usize));
        placed.abs_diff(course.decks_begun(t, known(t)))
    });
    let all: usize = Thread::ALL.iter().map(|t| course.chain(*t).len()).sum();
    Placed {
        off: off.max().unwrap_or(0),
        questions: standing.unseen.len(),
        right: standing.unseen.iter().filter(|(_, r)| r.right).count(),
        share: course.known(&standing).len() as f64 / all as f64,
    }
}
