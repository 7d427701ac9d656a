//! Whether a report found what was planted, and whether its intervals hold the truth.

use super::players::{Fault, Log, Uneven};
use whichside::memory::Memory;
use whichside::report::{Input, Practice, Spot, Strength, Weakness, concepts};
use whichside::store::Sense;
use whichside::time::Moment;

/// Is this spot the weakness that was planted?
pub fn is(fault: Fault, spot: &Spot) -> bool {
    let hear = spot.sense == Some(Sense::Hear);
    match (&spot.what, fault) {
        (Weakness::Concept { concept }, Fault::DeafToRumba) => hear && concept == "rumba clave",
        (Weakness::MixUp { one, other }, Fault::MixesSlapAndOpen) => {
            let both = [one.as_str(), other];
            hear && both.contains(&"open tone") && both.contains(&"slap")
        }
        (Weakness::Fast { kind, from }, Fault::LosesSideAbove200) => {
            kind == "side" && (180.0..=220.0).contains(&from.bpm())
        }
        (Weakness::Habit { answers }, Fault::GuessesTwo) => {
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
        now: Moment::new(log.facts.last().map_or(0.0, |f| f.at as f64 / 1000.0) + 86_400.0),
        practice: Practice::default(),
    }
}

/// Intervals that hold the true share, and intervals: of concepts as wholes, and in one sense.
pub fn covered(player: &Uneven) -> [(usize, usize); 2] {
    let memory = Memory::new();
    let found = concepts(&input(&player.log, &memory));
    let holds = |name: &str, sense: Option<&str>, known: &Strength| {
        let truth = player.truth[&(name.to_string(), sense.map(String::from))];
        (known.low..=known.high).contains(&truth)
    };
    let wholes = found.iter().map(|s| holds(&s.name, None, &s.known));
    let halves = found.iter().flat_map(|s| {
        let senses = [("read", &s.by_eye), ("hear", &s.by_ear)].into_iter();
        senses.filter_map(|(sense, half)| Some(holds(&s.name, Some(sense), half.as_ref()?)))
    });
    let count = |list: Vec<bool>| (list.iter().filter(|h| **h).count(), list.len());
    [count(wholes.collect()), count(halves.collect())]
}
