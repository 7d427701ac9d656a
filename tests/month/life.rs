//! Days with the program, each evening one session.

use super::player::Player;
use super::program::{self, Drill, Page, Sitting, Stage};
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

const DAY: f64 = 86_400.0;

/// Seconds that a page is looked at, about: the first page, a new card, a right answer, a wrong one. Ours.
const READS: [f64; 4] = [20.0, 14.0, 2.5, 7.0];

/// How the player lives.
#[derive(Clone, Debug)]
pub struct Plan {
    pub days: usize,
    pub minutes: f64,
    /// Chance that a day goes without practice.
    pub skipped: f64,
    /// Days from 0 that are missed one after the other.
    pub away: std::ops::Range<usize>,
    pub seed: u64,
    /// See [`Player`].
    pub level: f64,
    /// Keys on the first page, such as `<` for fewer minutes.
    pub first_page: &'static str,
    /// Arguments of the drill besides.
    pub extra: Vec<String>,
}

/// One evening.
#[derive(Clone, Debug)]
pub struct Evening {
    pub day: usize,
    /// Seconds that `plan` said beforehand, today and on the busiest of the fortnight to come.
    pub planned_seconds: f64,
    pub busiest_seconds: f64,
    /// Seconds from the first question to the last page, and to the moment at which the last question or new card
    /// was put on the screen.
    pub seconds: f64,
    pub last_shown: f64,
    /// Questions; those about what was asked on an earlier day, and how many of them were right the first
    /// time; questions of items never asked before.
    pub asked: usize,
    pub again: usize,
    pub again_right: usize,
    pub new_items: usize,
    pub new_cards: usize,
    /// What the last page says of new cards tomorrow.
    pub told_new_cards: usize,
    /// Mean true chance of recall, before the session, of the items met until then; their number.
    pub recall: f64,
    pub items: usize,
}

impl Evening {
    /// Share of right answers among the first ones to what was asked on an earlier day.
    pub fn share(&self) -> f64 {
        self.again_right as f64 / self.again.max(1) as f64
    }
}

/// What is known of an item.
#[derive(Clone, Debug)]
pub struct Item {
    pub card: String,
    /// Index of the evening at which it was last asked, and whether that ended well.
    pub last: usize,
    pub right: bool,
    pub times: usize,
    /// Most evenings from one question to the next.
    pub longest: usize,
}

pub struct Life {
    pub evenings: Vec<Evening>,
    pub items: BTreeMap<String, Item>,
    pub cards: BTreeSet<String>,
}

/// What the player finds out about the question on the screen: a second copy of the program, on a copy of the
/// folder and with the same lines, is given some answer and says what would have been right.
struct Peek {
    item: String,
    card: String,
    right: Vec<Vec<char>>,
}

pub fn start() -> DateTime<Utc> {
    "2026-11-25T18:00:00Z".parse().expect("a time")
}

fn moment(day: usize) -> String {
    (start() + TimeDelta::days(day as i64)).to_rfc3339()
}

/// The player's folder below that of the whole simulation.
pub fn folder(data: &Path) -> PathBuf {
    data.join("player")
}

/// Lives through the days of `plan` in the folder `data`.
pub fn live(plan: &Plan, data: &Path) -> Life {
    let mut player = Player::new(plan.seed, plan.level);
    let mut life = Life {
        evenings: Vec::new(),
        items: BTreeMap::new(),
        cards: BTreeSet::new(),
    };
    for day in 0..plan.days {
        let skips = player.chance(plan.skipped);
        if plan.away.contains(&day) || (skips && day > 0) {
            continue;
        }
        let evening = evening(plan, data, day, &mut player, &mut life);
        life.evenings.push(evening);
    }
    life
}

fn evening(plan: &Plan, data: &Path, day: usize, player: &mut Player, life: &mut Life) -> Evening {
    let (folder, scout) = (folder(data), data.join("scout"));
    let before = data.join("before");
    let now = moment(day);
    let mut evening = prospect(&folder, &now, day);
    let at = day as f64 * DAY;
    let recalls = life
        .items
        .iter()
        .map(|(name, item)| player.recall(&item.card, name, at));
    (evening.recall, evening.items) = (
        recalls.sum::<f64>() / life.items.len().max(1) as f64,
        life.items.len(),
    );

    copy(&folder, &before);
    let sitting = Sitting {
        data: &folder,
        now: &now,
        seed: plan.seed * 1000 + day as u64,
        extra: &plan.extra,
    };
    let (mut drill, mut page) = Drill::start(sitting);
    let mut said: Vec<(f64, String)> = Vec::new();
    let (mut elapsed, mut begun) = (0.0, 0.0);
    let mut first_page = plan.first_page;
    let mut asked = None;
    let mut tonight = BTreeSet::new();
    loop {
        let stage = page.stage();
        if matches!(stage, Stage::Meeting | Stage::Asking) {
            evening.last_shown = elapsed - begun;
        }
        let (seconds, line) = match stage {
            Stage::Done => break,
            Stage::Welcome if first_page.is_empty() => (player.reads(READS[0]), String::new()),
            Stage::Welcome => (1.0, std::mem::take(&mut first_page).to_string()),
            Stage::Meeting => {
                evening.new_cards += 1;
                (player.reads(READS[1]), String::new())
            }
            Stage::Asking => {
                copy(&before, &scout);
                let peek = peek(
                    Sitting {
                        data: &scout,
                        ..sitting
                    },
                    &said,
                    &page,
                );
                let at = at + elapsed;
                if !life.items.contains_key(&peek.item) && life.cards.insert(peek.card.clone()) {
                    // It was shown with its answer just now.
                    player.see(&peek.card, &peek.item, at - 5.0);
                }
                let reply = player.answer(&peek.card, &peek.item, &peek.right, &page.keys(), at);
                asked = Some(peek);
                (reply.seconds, reply.keys)
            }
            Stage::Told { right } => {
                let peek = asked.take().expect("a question before the answer");
                player.see(&peek.card, &peek.item, at + elapsed);
                note(
                    &mut evening,
                    life,
                    &peek,
                    right,
                    tonight.insert(peek.item.clone()),
                );
                (
                    player.reads(READS[if right { 2 } else { 3 }]),
                    String::new(),
                )
            }
        };
        page = drill.say(seconds, &line);
        elapsed += seconds;
        if stage == Stage::Welcome && page.stage() != Stage::Welcome {
            begun = elapsed;
        }
        said.push((seconds, line));
    }
    evening.seconds = elapsed - begun;
    evening.told_new_cards = new_cards_told(&page);
    drill.close();
    evening
}

/// What `plan` says before the session.
fn prospect(folder: &Path, now: &str, day: usize) -> Evening {
    let text = program::run(
        &["plan", "--silent", "--json", "--days", "14", "--now", now],
        folder,
    );
    let plan: Value = serde_json::from_str(&text).expect("JSON");
    let list = |name: &str| plan[name].as_array().cloned().unwrap_or_default();
    let seconds = |list: &[Value]| -> Vec<f64> {
        list.iter().filter_map(|q| q["seconds"].as_f64()).collect()
    };
    Evening {
        day,
        planned_seconds: seconds(&list("questions")).iter().sum(),
        busiest_seconds: seconds(&list("days")).into_iter().fold(0.0, f64::max),
        seconds: 0.0,
        last_shown: 0.0,
        asked: 0,
        again: 0,
        again_right: 0,
        new_items: 0,
        new_cards: 0,
        told_new_cards: 0,
        recall: 0.0,
        items: 0,
    }
}

fn note(evening: &mut Evening, life: &mut Life, peek: &Peek, right: bool, first_tonight: bool) {
    let today = life.evenings.len();
    evening.asked += 1;
    match life.items.get_mut(&peek.item) {
        None => {
            evening.new_items += 1;
            let item = Item {
                card: peek.card.clone(),
                last: today,
                right,
                times: 1,
                longest: 0,
            };
            life.items.insert(peek.item.clone(), item);
        }
        Some(item) => {
            if first_tonight {
                evening.again += 1;
                evening.again_right += usize::from(right);
            }
            item.longest = item.longest.max(today - item.last);
            (item.last, item.right) = (today, right);
            item.times += 1;
        }
    }
}

fn peek(sitting: Sitting, said: &[(f64, String)], page: &Page) -> Peek {
    let (mut drill, first) = Drill::start(sitting);
    let shown = said
        .iter()
        .fold(first, |_, (seconds, line)| drill.say(*seconds, line));
    assert_eq!(
        shown.text, page.text,
        "the same lines give the same questions"
    );
    let key = page.keys()[0].to_string();
    let told = drill.say(1.0, &key);
    let length = told.text.split("The answer has ").nth(1);
    if let Some(length) = length.and_then(|t| t.split(' ').next()?.parse().ok()) {
        drill.say(1.0, &key.repeat(length));
    }
    drill.kill();
    let log = program::log(sitting.data);
    let row = log.last().expect("the answer is in the log");
    let text = |name: &str| row[name].as_str().unwrap_or_default().to_string();
    let keys = row["keys"].as_array().cloned().unwrap_or_default();
    Peek {
        item: format!("{}:{}:{}", text("card"), text("kind"), text("sense")),
        card: text("card"),
        right: keys
            .iter()
            .map(|k| k.as_str().unwrap_or_default().chars().collect())
            .collect(),
    }
}

/// The number before `new card` on the last page.
fn new_cards_told(page: &Page) -> usize {
    let words: Vec<&str> = page.text.split_whitespace().collect();
    let at = words
        .windows(2)
        .position(|w| w[0] == "new" && w[1].starts_with("card"));
    at.and_then(|at| words[at.checked_sub(1)?].parse().ok())
        .unwrap_or(0)
}

fn copy(from: &Path, to: &PathBuf) {
    let _ = fs::remove_dir_all(to);
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).into_iter().flatten().flatten() {
        if entry.path().is_file() {
            fs::copy(entry.path(), to.join(entry.file_name())).expect("a copy");
        }
    }
}
