//! Which parts of the band mislead about the side.

use super::beta::{at_least, share};
use super::trials::{Name, Trial, Trials};
use super::{DOUBT, Strength};
use crate::clave::PARTS;
use crate::rhythm::Instrument;
use serde::Serialize;
use std::collections::BTreeSet;

/// Kind of question in which a part can mislead.
const KIND: &str = "side";
/// Fewest answers that a part is listed with.
const FEWEST: usize = 5;

/// How often questions about the side go wrong with a part in them.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Part {
    /// Name of the part.
    pub part: String,
    /// Answers with it in them.
    pub answers: usize,
    /// How many of them were wrong.
    pub wrong: usize,
    /// Share that goes wrong, with its interval.
    pub misled: Strength,
    /// Share that goes wrong with other parts; absent where there is none.
    pub elsewhere: Option<f64>,
    /// Chance of as many wrong answers with this part if it misled no more than the others, all parts taken together.
    pub doubt: f64,
    /// More than the others beyond chance.
    pub stands_out: bool,
}

/// Every part with enough answers, the one that misleads most first.
pub(super) fn table(trials: &Trials) -> Vec<Part> {
    let about_side = |t: &&Trial| trials.name(t.kind) == KIND;
    let asked: Vec<&Trial> = trials.list.iter().filter(about_side).collect();
    let sets: BTreeSet<usize> = asked.iter().map(|t| t.concepts).collect();
    let names: BTreeSet<Name> = sets
        .iter()
        .flat_map(|s| &trials.concepts[*s])
        .copied()
        .collect();
    let parts: Vec<Name> = names
        .into_iter()
        .filter(|n| is_part(trials.name(*n)))
        .collect();
    let mut found: Vec<Part> = Vec::new();
    for part in &parts {
        let (with, rest): (Vec<&&Trial>, Vec<&&Trial>) =
            asked.iter().partition(|t| trials.about(t, *part));
        if with.len() < FEWEST {
            continue;
        }
        let count = |list: &[&&Trial]| list.iter().filter(|t| t.right < 1.0).count();
        let (wrong, other) = (count(&with), count(&rest));
        // Half an answer more of each sort: no share is taken to be 0 because it never came up.
        let elsewhere = (other as f64 + 0.5) / (rest.len() as f64 + 1.0);
        let chance = match rest.is_empty() {
            true => 1.0,
            false => at_least(wrong as f64, with.len() as f64, elsewhere),
        };
        let doubt = (chance * parts.len() as f64).min(1.0);
        found.push(Part {
            part: trials.name(*part).to_string(),
            answers: with.len(),
            wrong,
            misled: share(wrong as f64, with.len() as f64),
            elsewhere: (!rest.is_empty()).then(|| other as f64 / rest.len() as f64),
            doubt,
            stands_out: doubt < DOUBT,
        });
    }
    found.sort_by(|a, b| b.misled.mean.total_cmp(&a.misled.mean));
    found
}

/// Is this the name of a part that a player of the band plays?
fn is_part(name: &str) -> bool {
    let played = |i: Instrument| !matches!(i, Instrument::Clave | Instrument::Click);
    let known = |p: &&crate::clave::NamedPart| p.name == name && p.instrument.is_none_or(played);
    name == "tumbao"
        || Instrument::from_name(name).is_some_and(played)
        || PARTS.iter().any(|p| known(&p))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_are_what_the_band_plays() {
        for part in ["tumbao", "bell", "bass", "piano", "cáscara", "shaker"] {
            assert!(is_part(part), "{part}");
        }
        for other in ["clave", "two side", "accents", "slap", "hand at speed"] {
            assert!(!is_part(other), "{other}");
        }
    }

    #[test]
    fn the_part_that_misleads_comes_first_and_stands_out() {
        let trial = |concepts, right| Trial {
            review: 0,
            kind: 0,
            sense: 1,
            concepts,
            truth: None,
            given: None,
            choices: 0,
            guess: 1.0 / 3.0,
            right,
            weight: 1.0,
            bpm: 120.0,
            echo: false,
        };
        let mut list = vec![trial(0, 1.0); 45];
        list.extend(vec![trial(0, 0.0); 5]);
        list.extend(vec![trial(1, 1.0); 10]);
        list.extend(vec![trial(1, 0.0); 10]);
        let trials = Trials {
            list,
            names: ["side", "read", "bell", "piano"].map(String::from).to_vec(),
            concepts: vec![vec![2], vec![3]],
            ..Trials::default()
        };
        let found = table(&trials);
        assert_eq!((found[0].part.as_str(), found[0].wrong), ("piano", 10));
        assert!(found[0].stands_out && !found[1].stands_out, "{found:?}");
        assert_eq!(found[1].elsewhere, Some(0.5));
    }
}
