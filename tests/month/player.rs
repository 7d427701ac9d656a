//! A simulated player. They forget by ACT-R with spacing (Pavlik & Anderson 2005, Cognitive Science 29:559-586;
//! constants from memory), which is not the model of the program.

use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use std::collections::{BTreeMap, BTreeSet};

const DAY: f64 = 86_400.0;
/// Chance of a wrong key in spite of recall.
const SLIP: f64 = 0.03;
/// Chance of recalling what one has had for years, at least. Ours.
const HAD: f64 = 0.95;

// Pavlik & Anderson 2005, from memory: decay of a use is `C e^m + A`; threshold and noise of recall; between
// sessions time runs slower by `BETWEEN`.
const C: f64 = 0.217;
const A: f64 = 0.177;
const TAU: f64 = -0.704;
const S: f64 = 0.255;
const BETWEEN: f64 = 0.025;
// Ours: how much items differ, what a use of another question about the same card is worth, latency factor, seconds
// of each key after the first.
const SPREAD: f64 = 0.42;
const SHARED: f64 = 0.3;
const FACTOR: f64 = 0.7;
const KEY: f64 = 0.5;
/// Seconds of thought for a bar that is written (keystroke-level model, Card, Moran & Newell 1980; from memory).
#[allow(dead_code)] // only the bench has such questions
const THOUGHT: f64 = 1.35;
/// Taps come so many seconds before the beat (mean negative asynchrony; Repp 2005, from memory).
#[allow(dead_code)]
const AHEAD: f64 = 0.02;

struct Use {
    item: String,
    at: f64,
    decay: f64,
}

/// What the player answers and how long it takes.
pub struct Reply {
    pub keys: String,
    pub seconds: f64,
}

pub struct Player {
    seed: u64,
    /// Activation of an item of middling ease; .1 is a middling player, every .25 less a much weaker one.
    level: f64,
    rng: ChaCha8Rng,
    /// Cards that the player has had for years.
    has: BTreeSet<String>,
    /// Times that something about a card was seen, by card.
    uses: BTreeMap<String, Vec<Use>>,
}

impl Player {
    pub fn new(seed: u64, level: f64) -> Player {
        Player {
            seed,
            level,
            rng: ChaCha8Rng::seed_from_u64(seed),
            has: BTreeSet::new(),
            uses: BTreeMap::new(),
        }
    }

    /// How easy something is for this player, a standard score.
    fn ease(&self, name: &str) -> f64 {
        let hash = name.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x100_0000_01b3)
        });
        normal(&mut ChaCha8Rng::seed_from_u64(hash ^ self.seed))
    }

    fn base(&self, card: &str, item: &str) -> f64 {
        let deck = card.split('/').next().unwrap_or_default();
        let ease = 0.4 * self.ease(deck) + 0.6 * self.ease(card) + 0.6 * self.ease(item);
        self.level + SPREAD * ease
    }

    /// Time with the nights shortened: sessions lie in the hours after `at` a whole number of days.
    fn clock(at: f64) -> f64 {
        let day = (at / DAY).floor();
        day * DAY * BETWEEN + (at - day * DAY).min(7200.0)
    }

    /// Activation without the item's base.
    fn trace(&self, card: &str, item: &str, at: f64) -> f64 {
        let uses = self.uses.get(card).into_iter().flatten();
        let now = Player::clock(at);
        let sum: f64 = uses
            .map(|u| {
                let share = if u.item == item { 1.0 } else { SHARED };
                share * (now - u.at).max(1.0).powf(-u.decay)
            })
            .sum();
        sum.ln()
    }

    /// True chance of recall at `at`, seconds since the first evening.
    pub fn recall(&self, card: &str, item: &str, at: f64) -> f64 {
        let m = self.base(card, item) + self.trace(card, item, at);
        let recall = 1.0 / (1.0 + ((TAU - m) / S).exp());
        match self.has.contains(card) {
            true => recall.max(HAD),
            false => recall,
        }
    }

    /// The player has had a card for years.
    #[allow(dead_code)] // only the bench has such players
    pub fn has(&mut self, card: &str) {
        self.has.insert(card.to_string());
    }

    /// The player sees the item with its answer.
    pub fn see(&mut self, card: &str, item: &str, at: f64) {
        let decay = C * self.trace(card, item, at).exp() + A;
        let seen = Use {
            item: item.to_string(),
            at: Player::clock(at),
            decay,
        };
        self.uses.entry(card.to_string()).or_default().push(seen);
    }

    /// Answers a question: `right` holds the right keys for each place, `choices` all that there are.
    pub fn answer(
        &mut self,
        card: &str,
        item: &str,
        right: &[Vec<char>],
        choices: &[char],
        at: f64,
    ) -> Reply {
        let recall = self.recall(card, item, at);
        let recalled = self.rng.random::<f64>() < recall;
        let keys = right.iter().map(|right| {
            let known = match recalled {
                true => self.rng.random::<f64>() >= SLIP,
                // Of an answer of many keys some are known when the whole is not.
                false => right.len() > 1 && self.rng.random::<f64>() < 0.5,
            };
            let from = if known { right.as_slice() } else { choices };
            from[self.rng.random_range(0..from.len())]
        });
        let keys: String = keys.collect();
        let noise = normal(&mut self.rng);
        // Anderson's latency F e^-m + t0, seconds; from memory.
        let m = match recalled {
            true => self.base(card, item) + self.trace(card, item, at),
            false => TAU - 0.4,
        };
        let first = (1.3 + FACTOR * (-m).exp()) * (0.25 * noise).exp();
        let seconds = first + KEY * (right.len() - 1) as f64;
        Reply { keys, seconds }
    }

    /// Writes `bars` bars, as [`Player::answer`].
    #[allow(dead_code)]
    pub fn write(
        &mut self,
        card: &str,
        item: &str,
        right: &[Vec<char>],
        choices: &[char],
        bars: usize,
        at: f64,
    ) -> Reply {
        let reply = self.answer(card, item, right, choices, at);
        Reply {
            seconds: reply.seconds + THOUGHT * bars as f64 + KEY,
            ..reply
        }
    }

    /// Which of so many strokes are tapped, and how far from their places, seconds, with that spread; where it is
    /// not recalled, this share of them is left out. Also whether it was, and the seconds until the player could begin.
    #[allow(dead_code)]
    pub fn tap(
        &mut self,
        card: &str,
        item: &str,
        strokes: usize,
        spread: f64,
        left_out: f64,
        at: f64,
    ) -> (Vec<Option<f64>>, bool, f64) {
        let reply = self.answer(card, item, &[vec!['y']], &['n'], at);
        let recalled = reply.keys == "y";
        let taps = (0..strokes).map(|_| {
            let left_out = !recalled && self.rng.random::<f64>() < left_out;
            (!left_out).then(|| spread * normal(&mut self.rng) - AHEAD)
        });
        (taps.collect(), recalled, reply.seconds)
    }

    /// Seconds for which a page is looked at, about `mean`.
    pub fn reads(&mut self, mean: f64) -> f64 {
        (mean * (0.3 * normal(&mut self.rng)).exp()).max(1.0)
    }

    /// True with this chance.
    pub fn chance(&mut self, p: f64) -> bool {
        self.rng.random::<f64>() < p
    }
}

/// Standard normal by Box and Muller.
fn normal(rng: &mut ChaCha8Rng) -> f64 {
    let u: f64 = 1.0 - rng.random::<f64>();
    let v: f64 = rng.random();
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}
