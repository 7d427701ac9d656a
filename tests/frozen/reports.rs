//! Frozen: what a report finds in the answers of players drawn at random, as numbers, in words and as a page.

use crate::players::{Fault, play, play_in};
use crate::{TextSums, players, rounded};
use whichside::memory::{Candidate, Day, Memory};
use whichside::report::{Diary, Input, Practice, Report, page, report, sections, text};
use whichside::time::{Moment, Seconds};

fn made(log: &players::Log, utc_offset: i32) -> Report {
    let mut diary = Diary::default();
    let mut memory = Memory::new();
    let mut items: Vec<Candidate> = Vec::new();
    for fact in &log.facts {
        diary.observe(fact);
        let outcome = fact.outcome(&log.words);
        if items.iter().all(|c| c.item != outcome.item) {
            items.push(Candidate {
                item: outcome.item.clone(),
                card: outcome.item.clone(),
                kind: outcome.kind.clone(),
                concepts: outcome.concepts.clone(),
                produced: false,
                timing: Default::default(),
                order: items.len(),
                needs: Vec::new(),
            });
        }
        memory.observe(&outcome);
    }
    let last = log.facts.last().map_or(1.8e9, |f| f.at as f64 / 1000.0);
    let ahead: Vec<Day> = (0..30)
        .map(|n| Day {
            at: Moment::new(last + 86_400.0 * f64::from(n)),
            again: 20,
            new: 3,
            new_cards: 1,
            seconds: Seconds::new(290.0),
            chance: 0.8,
            kept: 10.0 + f64::from(n),
        })
        .collect();
    let met: Vec<i64> = log.facts.iter().step_by(7).map(|f| f.at).collect();
    let input = Input {
        words: &log.words,
        recent: &log.facts,
        memory: &memory,
        items: &items,
        now: Moment::new(last + 100_000.0),
        practice: Practice {
            minutes: 5.0,
            met: &met,
            ahead: &ahead,
            sounded: 4,
            utc_offset,
            ..Practice::default()
        },
    };
    report(&input, &diary)
}

#[test]
fn reports_find_and_say_what_they_did() {
    let mut sums = TextSums::default();
    let faults = [Fault::None].into_iter().chain(Fault::PLANTED);
    for fault in faults {
        for (seed, count) in [(3, 40), (4, 250), (5, 700)] {
            if count == 700 && fault != Fault::MixesSlapAndOpen {
                continue;
            }
            let log = play(fault, count, seed);
            let report = made(&log, 60 * seed as i32 - 200);
            let numbers = rounded(&serde_json::to_string_pretty(&report).unwrap());
            let mut words = String::new();
            for section in sections(&report) {
                for line in text::lines(&section, 76, 40) {
                    words += &line.text;
                    words.push('\n');
                }
            }
            let page = page::page(&report, Some("Ana"));
            sums.add(format!("{fault:?} {count} numbers"), &numbers);
            sums.add(format!("{fault:?} {count} words"), &words);
            sums.add(format!("{fault:?} {count} page"), &rounded(&page));
            let name = format!("report_{fault:?}_{count}").to_lowercase();
            if count == 250 && fault != Fault::None {
                insta::assert_snapshot!(name.clone(), words);
            }
            if count == 700 {
                insta::assert_snapshot!(format!("{name}_numbers"), numbers);
            }
        }
    }
    let log = play_in(players::Order::Random, Fault::GuessesTwo, 300, 9);
    let report = made(&log, 0);
    let numbers = rounded(&serde_json::to_string(&report).unwrap());
    sums.add("in any order", &numbers);
    insta::assert_snapshot!("report_sums", sums.told());
}
