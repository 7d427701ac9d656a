//! Whether a report found what was planted, and whether its intervals hold the truth.

use super::players::{Fault, Log, Uneven};
use whichside::memory::Memory;
use whichside::report::{Input, Practice, Spot, What, concepts};

/// Is this spot the weakness that was planted?
pub fn is(fault: Fault, spot: &Spot) -> bool {
    let hear = spot.sense.as_deref() == Some("hear");
    match (&spot.what, fault) {
        (What::Concept { concept }, Fault::DeafToRumba) => hear && concept == "rumba clave",
        (What::MixUp { one, other }, Fault::MixesSlapAndOpen) => {
            let both = [one.as_str(), other];
            hear && both.contains(&"open tone") && both.contains(&"slap")
        }
        (What::Fast { kind, from }, Fault::LosesSideAbove200) => {
            kind == "side" && (180.0..=220.0).contains(from)
        }
        (What::Habit { answers }, Fault::GuessesTwo) => {
            answers.iter().all(|a| a == "two side" || a == "2-3")
        }
        _ => false,
    }
}

/// What the report needs of a simulated log, on the day after its last review.
pub fn input<'a>(log: &'a Log, memory: &'a Memory) -> Input<'a> {
    Input {
        words: &log.words,
        recent: &log.facts,
        memory,
        items: &[],
        now: log.facts.last().map_or(0.0, |f| f.at as f64 / 1000.0) + 86_400.0,
        practice: Practice::default(),
    }
}

/// Intervals that hold the true share, and intervals: of concepts as wholes, and in one sense.
pub fn covered(player: &Uneven) -> [(usize, usize); 2] {
    let memory = Memory::new();
    let (wholes, halves) = concepts(&input(&player.log, &memory));
    [wholes, halves].map(|lines| {
        let held = lines.iter().filter(|line| {
            let truth = player.truth[&(line.concept.clone(), line.sense.clone())];
            (line.known.low..=line.known.high).contains(&truth)
        });
        (held.count(), lines.len())
    })
}
