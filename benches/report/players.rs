//! Simulated players who answer questions like those of the drill, with a weakness planted or without any.
//!
//! What they are asked: sides, strokes and hands, by eye and by ear, with son and rumba clave and some parts. What
//! a strong player knows is drawn once for each player, near nine in ten and the same for everything.

use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use std::collections::BTreeMap;
use whichside::rhythm::{Grid, Tempo};
use whichside::store::{Fact, ItemKey, Reply, ReviewRow, Sense, Words};

/// What is planted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    None,
    /// Knows little of what has rumba clave in it when it is only heard.
    DeafToRumba,
    /// By ear, takes slaps for open tones and open tones for slaps in six of ten.
    MixesSlapAndOpen,
    /// Knows little about sides from 200 beats a minute on.
    LosesSideAbove200,
    /// Knows half of the sides and says "two side" or "2-3" about the rest.
    GuessesTwo,
}

impl Fault {
    pub const PLANTED: [Fault; 4] = [
        Fault::DeafToRumba,
        Fault::MixesSlapAndOpen,
        Fault::LosesSideAbove200,
        Fault::GuessesTwo,
    ];
}

/// Reviews as the log would give them.
pub struct Log {
    pub words: Words,
    pub facts: Vec<Fact>,
}

/// What is left of the knowledge where a fault strikes.
const LITTLE: f64 = 0.15;
const DAY: i64 = 86_400_000;

/// How questions come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Order {
    /// As in the drill: what was missed comes again in the same session.
    Drill,
    /// Any of them at any time.
    Random,
}

/// Other questions before a missed one comes again, and how often one is asked in a session at most: as the drill does.
const BETWEEN: usize = 2;
const TIMES: usize = 3;
const SESSION: usize = 20;

/// `count` reviews of a player with a fault who drills.
pub fn play(fault: Fault, count: usize, seed: u64) -> Log {
    play_in(Order::Drill, fault, count, seed)
}

/// `count` reviews of a player with a fault.
pub fn play_in(order: Order, fault: Fault, count: usize, seed: u64) -> Log {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let knows = 0.85 + 0.1 * rng.random::<f64>();
    let mut log = Log {
        words: Words::default(),
        facts: Vec::new(),
    };
    // Questions that come again: when, and what about; and what was asked in this session.
    let mut back: Vec<(usize, About)> = Vec::new();
    let mut session: Vec<About> = Vec::new();
    for n in 0..count {
        if n % SESSION == 0 {
            back.clear();
            session.clear();
        }
        let about = match back.iter().position(|(ready, _)| *ready <= n) {
            Some(at) => back.remove(at).1,
            None => about(&mut rng),
        };
        session.push(about);
        let asked = ask(about, &mut rng);
        let known = rng.random::<f64>() < recall(fault, knows, &asked);
        let answer = match (known, fault) {
            (true, Fault::MixesSlapAndOpen) if asked.hear && rng.random::<f64>() < 0.6 => {
                mixed(&asked.truth)
            }
            (true, _) => asked.truth.clone(),
            (false, Fault::GuessesTwo) if asked.kind == "side" => asked.labels[0].clone(),
            (false, _) => asked.labels[rng.random_range(0..asked.labels.len())].clone(),
        };
        let times = session.iter().filter(|a| **a == about).count();
        if order == Order::Drill && answer != asked.truth && times < TIMES {
            back.push((n + 1 + BETWEEN, about));
        }
        log.add(n, &asked, &answer, rng.random::<f64>());
    }
    log
}

fn recall(fault: Fault, knows: f64, asked: &Asked) -> f64 {
    let struck = match fault {
        Fault::DeafToRumba => asked.hear && asked.concepts.iter().any(|c| c == "rumba clave"),
        Fault::LosesSideAbove200 => asked.kind == "side" && asked.tempo >= Tempo::new(200.0),
        Fault::GuessesTwo if asked.kind == "side" => return 0.5,
        _ => false,
    };
    if struck { LITTLE } else { knows }
}

fn mixed(truth: &str) -> String {
    match truth {
        "slap" => "open tone",
        "open tone" => "slap",
        other => other,
    }
    .to_string()
}

struct Asked {
    kind: &'static str,
    hear: bool,
    card: usize,
    concepts: Vec<String>,
    labels: Vec<String>,
    truth: String,
    tempo: Tempo,
}

/// What is asked: the item of a question.
#[derive(Clone, Copy, Debug, PartialEq)]
struct About {
    card: usize,
    hear: bool,
    kind: &'static str,
}

fn about(rng: &mut ChaCha8Rng) -> About {
    let card: usize = rng.random_range(0..40);
    let hear = rng.random::<bool>();
    let kind = if hear {
        ["side", "strokes"][rng.random_range(0..2)]
    } else {
        ["side", "strokes", "hand"][rng.random_range(0..3)]
    };
    About { card, hear, kind }
}

/// A question about it, drawn anew.
fn ask(about: About, rng: &mut ChaCha8Rng) -> Asked {
    let About { card, hear, kind } = about;
    let part = ["tumbao", "bell", "cáscara", "bass", "piano"][card % 5];
    let mut concepts = vec![part.to_string()];
    let labels: &[&str];
    let truth: usize;
    match kind {
        "side" => {
            concepts.push(["son clave", "rumba clave"][card / 5 % 2].into());
            labels = if rng.random::<bool>() {
                &["two side", "three side", "cannot tell"]
            } else {
                &["2-3", "3-2", "fits both"]
            };
            truth = [0, 1, 0, 1, 2][rng.random_range(0..5)];
            let idea = if truth == 2 {
                "neutral part"
            } else {
                labels[truth]
            };
            concepts.push(match idea {
                "2-3" | "3-2" => "direction".into(),
                idea => idea.to_string(),
            });
        }
        "strokes" => {
            labels = &["open tone", "slap", "muffled tone", "bass"];
            truth = rng.random_range(0..4);
            concepts.push(labels[truth].into());
        }
        _ => {
            labels = &["left only", "right only", "either hand"];
            truth = rng.random_range(0..3);
            concepts.push("sticking".into());
        }
    }
    concepts.sort();
    Asked {
        kind,
        hear,
        card,
        concepts,
        truth: labels[truth].into(),
        labels: labels.iter().map(|l| l.to_string()).collect(),
        tempo: Tempo::new(rng.random_range(110..=250) as f64),
    }
}

impl Log {
    fn add(&mut self, n: usize, asked: &Asked, answer: &str, draw: f64) {
        let key = |label: &str| {
            let at = asked.labels.iter().position(|l| l == label);
            char::from(b'a' + at.expect("answers are labels") as u8)
        };
        let right = answer == asked.truth;
        let limit = asked.tempo.cycle(Grid::Eighths);
        let seconds = limit * (0.3 + draw);
        let item = ItemKey {
            card: format!("festival/{}", asked.card),
            kind: asked.kind.into(),
            sense: if asked.hear { Sense::Hear } else { Sense::Read },
        };
        let choices: BTreeMap<char, String> =
            asked.labels.iter().map(|l| (key(l), l.clone())).collect();
        let reply = Reply {
            answer: key(answer).to_string(),
            keys: vec![key(&asked.truth).to_string()],
            choices,
        };
        self.facts.push(Fact {
            id: n as i64 + 1,
            // Twenty a day, in the evening.
            at: 1_780_000_000_000 + (n / 20) as i64 * DAY + (n % 20) as i64 * 15_000,
            item: number(&mut self.words.items, item),
            concepts: number(&mut self.words.concepts, asked.concepts.clone()),
            reply: number(&mut self.words.replies, reply),
            tempo: asked.tempo,
            grid: Grid::Eighths,
            correct: f64::from(u8::from(right)),
            guess: 1.0 / asked.labels.len() as f64,
            seconds,
            limit,
            in_time: right && seconds <= limit,
            forecast: Some(0.85),
            ..Fact::default()
        });
    }
}

fn number<T: PartialEq>(list: &mut Vec<T>, value: T) -> usize {
    if let Some(at) = list.iter().position(|v| *v == value) {
        return at;
    }
    list.push(value);
    list.len() - 1
}

/// A player whose ideas differ, with the true share known of each: as a whole and by eye and by ear.
pub struct Uneven {
    pub log: Log,
    /// By concept and sense; no sense for the mean over its items of both.
    pub truth: BTreeMap<(String, Option<String>), f64>,
}

/// Ideas of an uneven player.
const IDEAS: usize = 12;
/// Items of each idea in each sense.
const EACH: usize = 4;

/// `count` reviews of a player whose ideas are known to shares drawn from a distribution that is drawn, too; items
/// of an idea differ a little.
pub fn play_uneven(count: usize, seed: u64) -> Uneven {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let (middle, spread) = (
        0.35 + 0.4 * rng.random::<f64>(),
        0.1 + 0.4 * rng.random::<f64>(),
    );
    let near = |middle: f64, spread: f64, rng: &mut ChaCha8Rng| {
        (middle + spread * (2.0 * rng.random::<f64>() - 1.0)).clamp(0.02, 0.98)
    };
    let mut items = Vec::new();
    let mut truth = BTreeMap::new();
    for idea in 0..IDEAS {
        let whole = near(middle, spread, &mut rng);
        let mut sum = 0.0;
        for sense in ["read", "hear"] {
            let here = near(whole, 0.1, &mut rng);
            let shares: Vec<f64> = (0..EACH).map(|_| near(here, 0.08, &mut rng)).collect();
            let mean = shares.iter().sum::<f64>() / EACH as f64;
            sum += mean;
            truth.insert((format!("idea {idea}"), Some(sense.to_string())), mean);
            items.extend(shares.into_iter().map(|share| (idea, sense, share)));
        }
        truth.insert((format!("idea {idea}"), None), sum / 2.0);
    }
    let mut log = Log {
        words: Words::default(),
        facts: Vec::new(),
    };
    for n in 0..count {
        let at = rng.random_range(0..items.len());
        let (idea, sense, share) = items[at];
        let labels: Vec<String> = (0..2 + idea % 3).map(|l| format!("answer {l}")).collect();
        let truth = labels[rng.random_range(0..labels.len())].clone();
        let asked = Asked {
            kind: "side",
            hear: sense == "hear",
            card: at,
            concepts: vec![format!("idea {idea}")],
            truth,
            labels,
            tempo: Tempo::new(120.0),
        };
        let known = rng.random::<f64>() < share;
        let guess = asked.labels[rng.random_range(0..asked.labels.len())].clone();
        let answer = if known { asked.truth.clone() } else { guess };
        log.add(n, &asked, &answer, rng.random::<f64>());
    }
    Uneven { log, truth }
}

/// The reviews as rows of a log that a program may have written.
pub fn rows(log: &Log) -> Vec<ReviewRow> {
    let row = |fact: &Fact| {
        let (item, reply) = (&log.words.items[fact.item], &log.words.replies[fact.reply]);
        ReviewRow {
            at: fact.at,
            utc_offset: fact.utc_offset,
            session: format!("day {}", fact.at / DAY),
            card: item.card.clone(),
            kind: item.kind.clone(),
            sense: item.sense,
            concepts: log.words.concepts[fact.concepts].clone(),
            seed: fact.id as u64,
            tempo: fact.tempo,
            grid: fact.grid,
            prompt: "Which side is the marked bar?".into(),
            choices: reply.choices.clone(),
            answer: reply.answer.clone(),
            keys: reply.keys.clone(),
            correct: fact.correct,
            guess: fact.guess,
            seconds: fact.seconds,
            limit: fact.limit,
            replays: fact.replays,
            slowed: fact.slowed,
            in_time: fact.in_time,
            program: "0.1.0".into(),
            forecast: fact.forecast,
            ..ReviewRow::default()
        }
    };
    log.facts.iter().map(row).collect()
}
