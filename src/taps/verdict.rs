//! How taps are graded.

use super::played::{self, Played, TappedDirection};
use super::{Tap, TapTask, TappedHands};
use crate::clave::Clave;
use crate::time::Seconds;
use serde::Serialize;

/// How a performance is graded by a jury of music schools: Falcão, Bozkurt et al. 2019, *A dataset of rhythmic pattern
/// reproductions and baseline automatic assessment system*, ISMIR; the rubric in words stands in the description of the
/// data set (MAST rhythm dataset, Zenodo 2620357).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PerformanceLevel {
    /// More than three strokes wrong: *completely off*.
    Off,
    /// Two or three strokes wrong, with hesitation: *major mistakes*. Also three without it.
    Major,
    /// One or two strokes wrong (missing, added or in another place), the rest without delay or hurry: *minor
    /// mistakes*. Also no stroke wrong, but with hesitation.
    Minor,
    /// Nothing wrong: *perfect*.
    Perfect,
}

/// Strokes up to which wrong ones are counted as they are; of longer performances in proportion: two bars in eighths,
/// about what the juries hear. Chosen.
const COUNTED: usize = 16;

/// How steady the taps are: their spread as a share of the mean time from stroke to stroke. Musicians have some 2 to 4 %,
/// others 4 to 8 % (Repp 2005, *Psychonomic Bulletin & Review* 12:969-992; Repp & Su 2013, *Psychonomic Bulletin & Review*
/// 20:403-452; the figures from memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Steadiness {
    /// Wider than people without training.
    Loose,
    /// As people without training.
    Untrained,
    /// As musicians.
    Musician,
}

/// The widest spread of musicians, as a share of the mean interval.
const MUSICIANS: f64 = 0.04;
/// The widest spread of people without training.
const UNTRAINED: f64 = 0.08;
/// The widest spread that is in time: chosen, half-way between musicians and others.
const IN_TIME: f64 = 0.06;
/// No spread below this is wide: a computer keyboard alone blurs taps by as much (chosen).
const BLUR: Seconds = Seconds::new(0.025);

/// What taps are worth, through the same door into memory as every answer.
#[derive(Clone, Debug, PartialEq)]
pub struct TapVerdict {
    /// What was played.
    pub played: Played,
    /// Share of the answer that was right, 0 to 1; 0 in the other direction.
    pub correct: f64,
    /// Probability of tapping this right without knowing it, 0 to 1.
    pub guess: f64,
    /// Every stroke in its place, in the right direction, with hands that work.
    pub right: bool,
    /// Not right, but not missed either: see [`PerformanceLevel`].
    pub partly: bool,
    /// Right, steady and without a stop.
    pub in_time: bool,
    /// One number by which performances are put in order, 0 to 1: `correct` times how tight it was. Tight is 1 for no
    /// scatter and falls to a half where the geometric mean of spread and unevenness is the widest of musicians.
    pub score: f64,
    /// How a jury would grade it; the lowest in the other direction.
    pub level: PerformanceLevel,
    /// How steady it was; `None` for too few taps.
    pub steadiness: Option<Steadiness>,
}

/// Grades the taps of an answer.
pub fn grade(task: &TapTask, taps: &[Tap]) -> TapVerdict {
    let played = played::play(task, taps);
    let turned = played.direction == Some(TappedDirection::Other);
    let strokes = played.matched.len() + played.missed.len();
    let longest = strokes.max(played.matched.len() + played.added.len());
    let correct = match turned || longest == 0 {
        true => 0.0,
        false => (played.matched.len() - played.displaced) as f64 / longest as f64,
    };
    let interval = task.mean_interval();
    let wide = |share: f64| (share * interval).max(BLUR);
    // Half of a swing lies to either side of where even strokes would.
    let uneven = |off: Option<Seconds>| off.is_some_and(|off| off.abs() > wide(IN_TIME));
    let swung = uneven(played.swing.map(|swing| swing / 2.0));
    let hesitates = played.hesitations > 0 || swung || uneven(played.spread);
    let level = match turned || played.matched.is_empty() {
        true => PerformanceLevel::Off,
        false => level(counted(played.wrong, strokes), hesitates),
    };
    let level = match other_clave(task, &played) {
        // The direction is there, and the other clave as it should be: no more is wrong than which of the two it is.
        Some(other) if grade(&other, taps).right => level.max(PerformanceLevel::Major),
        _ => level,
    };
    let hands_work = !matches!(played.hands, Some(TappedHands::Neither { .. }));
    let right = level >= PerformanceLevel::Minor && played.wrong == 0 && hands_work;
    let scatter = played.spread.zip(played.unevenness);
    let scatter = scatter.map_or(MUSICIANS, |(s, u)| {
        (s.seconds() * u.seconds()).sqrt() / interval.seconds()
    });
    TapVerdict {
        correct,
        score: correct / (1.0 + (scatter / MUSICIANS).powi(2)),
        guess: guess(task),
        right,
        partly: !right && level > PerformanceLevel::Off,
        in_time: right
            && !hesitates
            && played
                .mean
                .is_some_and(|m| (m - played.common).abs() <= BLUR),
        level,
        steadiness: played.spread.map(|spread| match spread {
            s if s <= wide(MUSICIANS) => Steadiness::Musician,
            s if s <= wide(UNTRAINED) => Steadiness::Untrained,
            _ => Steadiness::Loose,
        }),
        played,
    }
}

/// The other clave in the same direction, where that is the one that was clapped.
fn other_clave(task: &TapTask, played: &Played) -> Option<TapTask> {
    let due = task.own_clave()?;
    let family = played.family.filter(|family| *family != due.family)?;
    let as_written = played.direction == Some(TappedDirection::AsWritten);
    let clave = Clave { family, ..due };
    let part = TapTask::of_clave(clave, task.part.grid(), task.tempo).part;
    as_written.then(|| task.clone().with_part(part).over(clave))
}

/// Wrong strokes as the rubric counts them.
fn counted(wrong: usize, strokes: usize) -> usize {
    match strokes > COUNTED {
        true => (wrong * COUNTED).div_ceil(strokes),
        false => wrong,
    }
}

fn level(wrong: usize, hesitates: bool) -> PerformanceLevel {
    match (wrong, hesitates) {
        (0, false) => PerformanceLevel::Perfect,
        (0 | 1, true) | (1 | 2, false) => PerformanceLevel::Minor,
        (2 | 3, true) | (3, false) => PerformanceLevel::Major,
        _ => PerformanceLevel::Off,
    }
}

/// The clave is known to everybody, its direction is one of two. Of any other part all placings of this many strokes on its
/// pulses are as likely.
fn guess(task: &TapTask) -> f64 {
    if task.own_clave().is_some() {
        return 0.5;
    }
    let (pulses, strokes) = (task.part.pulses(), task.part.strokes().count());
    let placings = (0..strokes).map(|i| (pulses - i) as f64 / (i + 1) as f64);
    1.0 / placings.product::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clave::{Direction, Family};
    use crate::rhythm::{Grid, Tempo};

    /// By hand: up to 16 strokes as they are, then in proportion and rounded up. 5 of 32 are 2.5 of 16.
    #[test]
    fn wrong_strokes_of_a_long_part_count_in_proportion() {
        for (wrong, strokes, as_if) in [(5, 16, 5), (4, 32, 2), (5, 32, 3), (0, 32, 0), (9, 24, 6)]
        {
            assert_eq!(counted(wrong, strokes), as_if, "{wrong} of {strokes}");
        }
    }

    /// By hand: a clave cycle is eight quarter notes, at 120 a minute 4 s, with five strokes.
    #[test]
    fn the_strokes_of_a_clave_are_four_fifths_of_a_second_apart_at_120() {
        let clave = Clave {
            family: Family::Son,
            direction: Direction::ThreeTwo,
        };
        let task = TapTask::of_clave(clave, Grid::Eighths, Tempo::new(120.0));
        assert!((task.mean_interval() - Seconds::new(0.8)).abs() < Seconds::new(1e-9));
    }
}
