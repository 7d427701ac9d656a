//! Answers of people: `../shared/data/cloze-practice.csv`, where it is there. Learners whose name has an even hash (FNV-1a, 32
//! bits) are for fitting, the others for the report.

use super::learners::DAY;
use super::logs::{Log, Row};
use std::collections::HashMap;
use whichside::memory::Outcome;
use whichside::time::{Moment, Seconds};

const PATH: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/../shared/data/cloze-practice.csv"
);

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Half {
    Fitted,
    Reported,
}

fn half(learner: &str) -> Half {
    let hash = learner.bytes().fold(0x811c_9dc5u32, |hash, byte| {
        (hash ^ u32::from(byte)).wrapping_mul(16_777_619)
    });
    match hash % 2 {
        0 => Half::Fitted,
        _ => Half::Reported,
    }
}

/// The logs of one half; `None` where the file is not there.
pub fn logs(of: Half) -> Option<Vec<Log>> {
    let mut rows = csv::Reader::from_path(PATH).ok()?;
    let mut logs: Vec<(String, Log)> = Vec::new();
    let mut items: HashMap<(usize, String), usize> = HashMap::new();
    for row in rows.records() {
        let row = row.expect("the file is a table");
        let number = |at: usize| row[at].parse::<f64>().unwrap_or(0.0);
        if half(&row[0]) != of {
            continue;
        }
        let learner = match logs.iter().rposition(|(name, _)| *name == row[0]) {
            Some(learner) => learner,
            None => {
                let rows = Vec::new();
                logs.push((row[0].to_string(), Log { family: None, rows }));
                logs.len() - 1
            }
        };
        let next = items.keys().filter(|(of, _)| *of == learner).count();
        let item = *items.entry((learner, row[1].to_string())).or_insert(next);
        logs[learner].1.rows.push(Row {
            outcome: Outcome {
                item: row[1].into(),
                concepts: row[2].split(';').map(Into::into).collect(),
                kind: row[3].into(),
                at: Moment::new(number(4)),
                correct: number(5),
                guess: number(6),
                seconds: Seconds::new(number(7)),
                limit: Seconds::ZERO,
                replays: 0,
                slowed: false,
            },
            item,
            kind: 0,
            recall: f64::NAN,
            expected: f64::NAN,
        });
    }
    Some(logs.into_iter().map(|(_, log)| log).collect())
}

/// The first answers about a sentence half a day or more after the last one about it.
pub fn after_a_night(log: &Log) -> Vec<usize> {
    let mut last: HashMap<&str, (f64, bool)> = HashMap::new();
    let mut found = Vec::new();
    for (n, row) in log.rows.iter().enumerate() {
        let at = row.outcome.at.seconds();
        let sentence = last.entry(&row.outcome.concepts[0]).or_insert((at, false));
        if !sentence.1 && at - sentence.0 > DAY / 2.0 {
            sentence.1 = true;
            found.push(n);
        }
        sentence.0 = at;
    }
    found
}
