//! What is asked again in a session that has minutes left after everything worth asking was asked.
//!
//! A second answer minutes after the first says and teaches little about lasting memory, so nothing comes again while
//! anything else is there to be asked. Then it is better than an empty evening: the weakest first, as far apart as what
//! was asked today allows.

use crate::time::Seconds;
use std::collections::BTreeMap;

use super::candidate::{Candidate, PlanReason, Planned};
use super::scheduler::{ReviewIndex, Scheduler};

/// How often an item is asked in one session at most (chosen).
pub(super) const TIMES: usize = 5;
/// Other questions between two of the same item at least (chosen); half of the items asked today where those are more.
const BETWEEN: usize = 2;

/// A round of what was asked already, each item at most once, in at most `seconds`. `asked` are the candidates of this
/// session in the order in which they were asked, an item as often as it was.
pub(super) fn round(
    scheduler: &Scheduler,
    candidates: &[Candidate],
    asked: &[usize],
    mut seconds: Seconds,
) -> Vec<Planned> {
    // How often each was asked, and at which place last.
    let mut past: BTreeMap<usize, (usize, usize)> = BTreeMap::new();
    for (place, &candidate) in asked.iter().enumerate() {
        let (times, last) = past.entry(candidate).or_default();
        (*times, *last) = (*times + 1, place);
    }
    let between = BETWEEN.max(past.len() / 2);
    past.retain(|_, (times, _)| *times < TIMES);
    let mut left: Vec<(ReviewIndex, usize)> = past
        .iter()
        .filter_map(|(&candidate, &(_, last))| Some((scheduler.known(candidate)?, last)))
        .collect();
    left.sort_by(|(a, last), (b, later)| a.recall.total_cmp(&b.recall).then(last.cmp(later)));
    let mut round: Vec<Planned> = Vec::new();
    loop {
        let place = asked.len() + round.len();
        let before = round.last().map(|p| p.candidate).or(asked.last().copied());
        let card = |candidate: usize| &candidates[candidate].card;
        let ready = |(worth, last): &&(ReviewIndex, usize)| {
            place - last > between && worth.seconds <= seconds
        };
        // The weakest that is ready, of another card than the question before where there is one.
        let other = |(worth, _): &&(ReviewIndex, usize)| {
            before.is_none_or(|before| card(before) != card(worth.candidate))
        };
        let found = left
            .iter()
            .filter(ready)
            .find(other)
            .or(left.iter().find(ready));
        let Some(worth) = found.map(|(worth, _)| *worth) else {
            return round;
        };
        left.retain(|(w, _)| w.candidate != worth.candidate);
        seconds -= worth.seconds;
        round.push(Planned {
            why: PlanReason::Rotation,
            ..worth.planned(Seconds::ZERO)
        });
    }
}
