//! How far a player has come before the first evening, from questions about things that were never shown.
//!
//! The course runs in threads, each a row of cards of which a later one rests on those before it. A player is taken to
//! know each thread up to some card. A right answer in time speaks for everything up to its card, a miss against
//! everything from its card on, each as far as it could not be a guess or a slip: Bayes' rule over the place in each
//! thread. The threads of one player are tied by one level, so that an answer in one says a little about the others. The
//! next question is the one that tells most for its time (expected information, Shannon 1948; of tests so made: Wainer,
//! *Computerized Adaptive Testing*, 1990, from memory).

use crate::time::Seconds;
use std::ops::Range;

/// Levels that are told apart, from nothing to everything.
const LEVELS: usize = 20;
/// How far a thread lies from the player's level, as a share of the thread: a standard deviation (chosen).
const SPREAD: f64 = 0.15;
/// Chance that a thread has nothing to do with the level (chosen).
const APART: f64 = 0.25;
/// Chances of a player who knows the card: right in time, right but late (chosen).
const KNOWS: (f64, f64) = (0.82, 0.08);
/// Of right answers without knowing, the share that comes in time (chosen).
const LUCK_IN_TIME: f64 = 0.75;
/// Least chance of being right without knowing the card: something like it may be known (chosen).
const AKIN: f64 = 0.03;
/// Most that a guess counts for: no answer is quite certain.
const SURE: f64 = 0.95;

/// An answer about a card that was never shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UnseenAnswer {
    /// Was it right, or a row mostly right?
    pub right: bool,
    /// And in time?
    pub in_time: bool,
    /// Chance of being right by guessing alone, 0 to 1.
    pub guess: f64,
}

/// Share of a row that is right at least where the row counts as known: a stroke or two of eight may be a slip (chosen).
const MOSTLY: f64 = 0.75;

impl UnseenAnswer {
    /// From the share that was right, the chance of guessing it all, the seconds that it took and those within which it
    /// was in time.
    pub fn new(correct: f64, guess: f64, seconds: Seconds, limit: Seconds) -> UnseenAnswer {
        UnseenAnswer {
            right: correct >= MOSTLY,
            in_time: correct >= MOSTLY && seconds <= limit,
            guess,
        }
    }
}

/// What is expected from a player before any answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Learned {
    /// Share of the course that is known, on average, above 0 and below 1.
    pub share: f64,
    /// How sure that is: the sum of the two parameters of a beta distribution.
    pub sure: f64,
    /// Share of each thread that is known even at the lowest level; what is missing is 0.
    pub floors: Vec<f64>,
}

/// What is believed of the place of a player in each thread.
#[derive(Clone, Debug)]
pub struct Placement {
    sizes: Vec<usize>,
    /// Weight of each level.
    levels: Vec<f64>,
    /// By thread and level: chance of each place in the thread.
    given: Vec<Vec<Vec<f64>>>,
    /// By thread: likelihood of the answers so far at each place.
    likelihood: Vec<Vec<f64>>,
}

impl Placement {
    /// Before any answer: threads of this many cards.
    pub fn new(sizes: &[usize], learned: &Learned) -> Placement {
        let share = learned.share.clamp(0.01, 0.99);
        let (a, b) = (share * learned.sure, (1.0 - share) * learned.sure);
        let level = |l: usize| (l as f64 + 0.5) / (LEVELS as f64 + 1.0);
        let weight = |l| level(l).powf(a - 1.0) * (1.0 - level(l)).powf(b - 1.0);
        let thread = |(t, &n): (usize, &usize)| {
            let floor = learned.floors.get(t).copied().unwrap_or(0.0);
            (0..=LEVELS)
                .map(|l| {
                    let at = (floor + (1.0 - floor) * l as f64 / LEVELS as f64) * n as f64;
                    let sd = (SPREAD * n as f64).max(0.5);
                    let near = |z: usize| (-0.5 * ((z as f64 - at) / sd).powi(2)).exp();
                    let all: f64 = (0..=n).map(near).sum();
                    let even = APART / (n as f64 + 1.0);
                    let place = |z| (1.0 - APART) * near(z) / all + even;
                    (0..=n).map(place).collect()
                })
                .collect()
        };
        Placement {
            sizes: sizes.to_vec(),
            levels: (0..=LEVELS).map(weight).collect(),
            given: sizes.iter().enumerate().map(thread).collect(),
            likelihood: sizes.iter().map(|n| vec![1.0; n + 1]).collect(),
        }
    }

    /// Takes in an answer about a card of a thread, both from 0. A card that does not exist changes nothing.
    pub fn observe(&mut self, thread: usize, card: usize, reply: UnseenAnswer) {
        let Some(likelihood) = self.likelihood.get_mut(thread) else {
            return;
        };
        let [in_time, late, missed] = Placement::answers(reply.guess);
        let (known, unknown) = match (reply.right, reply.in_time) {
            (true, true) => in_time,
            (true, false) => late,
            (false, _) => missed,
        };
        for (place, l) in likelihood.iter_mut().enumerate() {
            *l *= if place > card { known } else { unknown };
        }
        let most = likelihood.iter().copied().fold(0.0, f64::max);
        likelihood.iter_mut().for_each(|l| *l /= most);
    }

    /// Chance of each place in a thread: of knowing this many of its first cards.
    pub fn places(&self, thread: usize) -> Vec<f64> {
        let fits = |t: usize, l: usize| -> f64 {
            let places = self.given[t][l].iter().zip(&self.likelihood[t]);
            places.map(|(p, l)| p * l).sum()
        };
        let mut places = vec![0.0; self.sizes[thread] + 1];
        for l in 0..=LEVELS {
            let others = (0..self.sizes.len()).filter(|t| *t != thread);
            let weight = self.levels[l] * others.map(|t| fits(t, l)).product::<f64>();
            for (z, p) in places.iter_mut().enumerate() {
                *p += weight * self.given[thread][l][z] * self.likelihood[thread][z];
            }
        }
        let all: f64 = places.iter().sum();
        places.iter_mut().for_each(|p| *p /= all);
        places
    }

    /// Chance that each card of a thread is known.
    pub fn known(&self, thread: usize) -> Vec<f64> {
        let places = self.places(thread);
        let mut above = 1.0;
        let known = places.iter().map(|p| {
            above -= p;
            above.clamp(0.0, 1.0)
        });
        known.take(self.sizes[thread]).collect()
    }

    /// How many cards of a thread are known: the place that is as likely passed as not reached.
    pub fn place(&self, thread: usize) -> usize {
        self.known(thread).iter().take_while(|p| **p >= 0.5).count()
    }

    /// Chance that a player knows from `least` to `most` cards of a thread.
    pub fn between(&self, thread: usize, least: usize, most: usize) -> f64 {
        let places = self.places(thread);
        places.iter().take(most + 1).skip(least).sum()
    }

    /// Chance of a right answer about a card that is known with the chance `known`, where guessing gives the chance `guess`.
    pub fn expected(known: f64, guess: f64) -> f64 {
        known * (KNOWS.0 + KNOWS.1) + (1.0 - known) * guess.clamp(AKIN, SURE)
    }

    /// Chances of an answer that is right in time, right but late, missed: with knowing the card, and without, where guessing
    /// gives the chance `guess`.
    fn answers(guess: f64) -> [(f64, f64); 3] {
        let luck = guess.clamp(AKIN, SURE);
        [
            (KNOWS.0, luck * LUCK_IN_TIME),
            (KNOWS.1, luck * (1.0 - LUCK_IN_TIME)),
            (1.0 - KNOWS.0 - KNOWS.1, 1.0 - luck),
        ]
    }

    /// What the answer to a question about a card of a thread tells of the deck that the player has come to, where guessing
    /// gives the chance `guess`: bits, the mutual information of the two (Shannon 1948). `places` are the chances of
    /// [`Placement::places`], `decks` the places of each deck.
    pub fn tells(places: &[f64], card: usize, guess: f64, decks: &[Range<usize>]) -> f64 {
        let of = |deck: &Range<usize>, known: f64, unknown: f64| -> f64 {
            let places = deck.clone().map(|z| match z > card {
                true => known * places[z],
                false => unknown * places[z],
            });
            places.sum()
        };
        let before = bits(decks.iter().map(|deck| of(deck, 1.0, 1.0)));
        let after = Placement::answers(guess).map(|(known, unknown)| {
            let chances: Vec<f64> = decks.iter().map(|d| of(d, known, unknown)).collect();
            let all: f64 = chances.iter().sum();
            all * bits(chances.iter().map(|p| p / all))
        });
        (before - after.iter().sum::<f64>()).max(0.0)
    }
}

/// Entropy of some chances that sum up to 1, in bits.
fn bits(chances: impl Iterator<Item = f64>) -> f64 {
    let chances = chances.filter(|p| *p > 0.0);
    chances.map(|p| -p * p.log2()).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIZES: [usize; 3] = [40, 30, 50];

    fn placement() -> Placement {
        let learned = Learned {
            share: 0.5,
            sure: 2.0,
            floors: Vec::new(),
        };
        Placement::new(&SIZES, &learned)
    }

    fn reply(right: bool, guess: f64) -> UnseenAnswer {
        UnseenAnswer {
            right,
            in_time: right,
            guess,
        }
    }

    /// Counted by hand for one thread of one card, even before. In time, late or missed are .82, .08, .1 of who knows it and
    /// .075, .025, .9 of who guesses with the chance .1: entropies .858 and .550, of the two mixed 1.242, so that .538 bits are
    /// told. A deck that holds both places tells nothing.
    #[test]
    fn a_question_tells_most_where_it_is_least_sure_and_hard_to_guess() {
        let even = Learned {
            share: 0.5,
            sure: 2.0,
            floors: Vec::new(),
        };
        let one = Placement::new(&[1], &even);
        let places = one.places(0);
        let tells = |guess| Placement::tells(&places, 0, guess, &[0..1, 1..2]);
        assert!((tells(0.1) - 0.538).abs() < 2e-3, "{}", tells(0.1));
        assert!(tells(0.5) < tells(0.25) && tells(0.9) < 0.05);
        assert!(Placement::tells(&places, 0, 0.1, &[0..2, 2..2]).abs() < 1e-9);
        let mut sure = one.clone();
        for _ in 0..3 {
            sure.observe(0, 0, reply(true, 0.1));
        }
        let sure = Placement::tells(&sure.places(0), 0, 0.25, &[0..1, 1..2]);
        assert!(sure < tells(0.25) / 4.0);
    }

    #[test]
    fn a_right_answer_speaks_for_what_comes_before_and_a_miss_against_what_follows() {
        let before = placement();
        let mut right = before.clone();
        right.observe(0, 20, reply(true, 0.1));
        let mut missed = before.clone();
        missed.observe(0, 20, reply(false, 0.1));
        for i in 0..SIZES[0] {
            let known = |p: &Placement| p.known(0)[i];
            assert!(
                known(&right) > known(&before) && known(&before) > known(&missed),
                "{i}"
            );
        }
        assert!(right.known(0)[5] > 0.9 && missed.known(0)[35] < 0.1);
        // The other threads follow, but not as far.
        let moved = |t: usize| right.place(t) as f64 / SIZES[t] as f64;
        assert!(moved(1) > before.place(1) as f64 / SIZES[1] as f64);
        assert!(right.known(1)[5] < right.known(0)[5]);
    }

    /// Bayes' rule by hand for one thread of one card, even before: right in time with guess 1/4 gives
    /// .82 / (.82 + .25 x .75).
    #[test]
    fn one_card_follows_bayes_rule() {
        let even = Learned {
            share: 0.5,
            sure: 2.0,
            floors: Vec::new(),
        };
        let mut one = Placement::new(&[1], &even);
        assert!((one.known(0)[0] - 0.5).abs() < 1e-9);
        one.observe(0, 0, reply(true, 0.25));
        assert!((one.known(0)[0] - 0.82 / (0.82 + 0.1875)).abs() < 1e-9);
    }

    #[test]
    fn knowing_falls_along_a_thread_and_sums_up() {
        let mut p = placement();
        for (thread, card, right) in [(0, 10, true), (1, 20, false), (2, 3, true), (0, 30, false)] {
            p.observe(thread, card, reply(right, 0.3));
            for (t, n) in SIZES.iter().enumerate() {
                assert!(p.known(t).windows(2).all(|w| w[0] >= w[1] - 1e-12));
                assert!((p.between(t, 0, *n) - 1.0).abs() < 1e-9);
            }
        }
        p.observe(9, 9, reply(true, 0.3));
    }

    /// However often a coin says yes: one half of it is luck, and as many misses come.
    #[test]
    fn one_who_guesses_is_not_placed_high() {
        let mut p = placement();
        for i in 0..24 {
            p.observe(i % 3, 5 + i, reply(i % 2 == 0, 0.5));
        }
        for (t, n) in SIZES.iter().enumerate() {
            assert!(p.place(t) * 5 < *n, "{t}: {}", p.place(t));
        }
    }
}
