//! Which hand fits a stroke while all others stay as they are, and why.

use super::{Reason, Setup, words};
use crate::hands;
use crate::rhythm::{Drum, Hand, Pattern, Stroke, Tone, Weight};

/// A stroke with the hand that is written for it, and how the other hand would do.
#[derive(Clone, Debug)]
pub(super) struct Place {
    pub pulse: usize,
    pub own: Hand,
    /// The other hand clearly does not fit: too late, crossed, or against habit.
    pub clear: bool,
    /// The other hand fits as well.
    pub either: bool,
    /// How much dearer the other hand is, see [`hands::Swap`].
    pub dearer: f64,
    late: bool,
    crossed: bool,
}

/// How far from the tempo asked a limit must lie for the answer to be clear, as a share of it: the model of the
/// hands is an estimate, and nobody should be marked wrong for a millisecond.
const MARGIN: f64 = 0.125;
/// From this cost on the other hand is against habit. The least single habit that the model prices (a strong stroke
/// in the weaker hand) with a change of place comes to this: our choice.
const AGAINST_HABIT: f64 = 20.0;
/// Up to this cost the other hand is as good: our choice.
const AS_GOOD: f64 = 8.0;
/// Most reasons that are given for a whole bar.
const MOST: usize = 4;

/// The pattern with a hand on every stroke: its own, and where it has none, what the hands find easiest. `None`
/// where nothing is struck.
pub(super) fn with_all_hands(drums: &Pattern, setup: &Setup) -> Option<Pattern> {
    if drums.has_full_sticking() {
        return Some(drums.clone());
    }
    let found = hands::stick(drums, setup.bpm, &setup.player).hands;
    let hands: Vec<Option<Hand>> = drums.strokes().map(|(p, _)| found[p]).collect();
    Some(drums.with_hands(&hands)).filter(Pattern::has_full_sticking)
}

/// Every stroke of a pattern whose hands are all written.
pub(super) fn places(drums: &Pattern, setup: &Setup) -> Vec<Place> {
    let swaps = hands::swaps(drums, &setup.player).unwrap_or_default();
    let strokes = drums.strokes().zip(swaps);
    strokes
        .filter_map(|((pulse, stroke), swap)| {
            let late = swap.limit < setup.bpm;
            Some(Place {
                pulse,
                own: stroke.hand?,
                clear: swap.limit < setup.bpm * (1.0 - MARGIN) || swap.dearer >= AGAINST_HABIT,
                either: !late && swap.dearer <= AS_GOOD,
                dearer: swap.dearer,
                late: late && !swap.crossed,
                crossed: late && swap.crossed,
            })
        })
        .collect()
}

/// Why this hand and not the other.
pub(super) fn reasons(drums: &Pattern, place: &Place, setup: &Setup) -> Vec<Reason> {
    let Some(stroke) = drums.at(place.pulse) else {
        return Vec::new();
    };
    let (own, other) = (place.own.name(), place.own.other().name());
    let at = said(drums, place.pulse);
    let near = Neighbours::of(drums, place.pulse, place.own.other());
    let mut reasons = Vec::new();
    if place.crossed {
        reasons.push(Reason {
            text: format!("With the {other} on {at} the arms would cross."),
            pulses: vec![place.pulse],
        });
    } else if let (true, Some((from, to))) = (place.late, near.tightest(drums)) {
        let ms = gap(drums, from, to) as f64 * drums.grid().pulse_seconds(setup.bpm) * 1000.0;
        reasons.push(Reason {
            text: format!(
                "With the {other} it would be {} on {} and {} on {} with one hand, {ms:.0} ms apart: too tight at {:.0}.",
                named(drums.at(from)),
                said(drums, from),
                named(drums.at(to)),
                said(drums, to),
                setup.bpm,
            ),
            pulses: vec![from, to],
        });
    }
    if light(stroke) {
        let rocking = same_bar(drums, place.pulse, |s| {
            light(s) && s.hand == Some(place.own)
        });
        reasons.push(Reason {
            text: match rocking.as_slice() {
                [_] => format!("Light strokes belong to the {own}; the {other} is kept for the strong ones."),
                _ => format!(
                    "Heel and tip stay in one hand, the {own}: {}. The {other} is kept for the strong strokes.",
                    words::pulses(drums.grid(), &rocking)
                ),
            },
            pulses: rocking,
        });
        return reasons;
    }
    if stroke.drum == Drum::Tumbadora {
        reasons.push(Reason {
            text: format!("The low drum stands on the {own}'s side."),
            pulses: vec![place.pulse],
        });
    }
    if let Some(next) = near.next_door(drums) {
        reasons.push(Reason {
            text: format!(
                "The {other} has {} on {}: strong strokes in a row change hands.",
                named(drums.at(next)),
                said(drums, next)
            ),
            pulses: vec![next, place.pulse],
        });
    }
    let free = Neighbours::of(drums, place.pulse, place.own).before;
    reasons.push(match free {
        Some(last) if gap(drums, last, place.pulse) > 1 => Reason {
            text: format!(
                "The {own} has been free since {}, so it takes {}.",
                said(drums, last),
                words::stroke(stroke)
            ),
            pulses: vec![last, place.pulse],
        },
        _ => Reason {
            text: format!(
                "{} is a strong stroke, and the {own} is the hand for those here.",
                words::capital(&words::stroke(stroke))
            ),
            pulses: vec![place.pulse],
        },
    });
    reasons
}

/// What the hands do in the whole part, the most telling first.
pub(super) fn reasons_of_all(drums: &Pattern, setup: &Setup) -> Vec<Reason> {
    let sticking = hands::stick(drums, setup.bpm, &setup.player);
    let reasons = sticking.reasons.into_iter().take(MOST);
    reasons
        .map(|r| Reason {
            text: r.text,
            pulses: r.pulses,
        })
        .collect()
}

/// The strokes of one hand just before and after a pulse, the pattern read as a cycle.
struct Neighbours {
    pulse: usize,
    before: Option<usize>,
    after: Option<usize>,
}

impl Neighbours {
    fn of(drums: &Pattern, pulse: usize, hand: Hand) -> Neighbours {
        let others = || {
            let same = drums.strokes().filter(move |(_, s)| s.hand == Some(hand));
            same.map(|(p, _)| p).filter(move |p| *p != pulse)
        };
        Neighbours {
            pulse,
            before: others().min_by_key(|p| gap(drums, *p, pulse)),
            after: others().min_by_key(|p| gap(drums, pulse, *p)),
        }
    }

    /// The movement with the least time, from pulse to pulse.
    fn tightest(&self, drums: &Pattern) -> Option<(usize, usize)> {
        let before = self.before.map(|p| (p, self.pulse));
        let after = self.after.map(|p| (self.pulse, p));
        before
            .into_iter()
            .chain(after)
            .min_by_key(|(from, to)| gap(drums, *from, *to))
    }

    /// A strong stroke of the hand at most half a beat away.
    fn next_door(&self, drums: &Pattern) -> Option<usize> {
        let near = (drums.grid().pulses_per_beat() / 2).max(1);
        let before = self.before.filter(|p| gap(drums, *p, self.pulse) <= near);
        let after = self.after.filter(|p| gap(drums, self.pulse, *p) <= near);
        before
            .into_iter()
            .chain(after)
            .find(|p| drums.at(*p).is_some_and(|s| !light(s)))
    }
}

/// Pulses of the same bar whose strokes are so.
fn same_bar(drums: &Pattern, pulse: usize, is: impl Fn(Stroke) -> bool) -> Vec<usize> {
    let per = drums.grid().pulses_per_bar();
    let inside = drums.strokes().filter(|(p, _)| p / per == pulse / per);
    inside.filter(|(_, s)| is(*s)).map(|(p, _)| p).collect()
}

fn light(stroke: Stroke) -> bool {
    stroke.weight == Weight::Ghost || matches!(stroke.tone, Tone::Heel | Tone::Tip)
}

/// Pulses from one to the next, round the cycle.
fn gap(drums: &Pattern, from: usize, to: usize) -> usize {
    let n = drums.pulses();
    match (to + n - from) % n {
        0 => n,
        d => d,
    }
}

/// A pulse as a player says it, with its bar where there are several.
fn said(drums: &Pattern, pulse: usize) -> String {
    words::place(drums.grid(), drums.bars(), pulse)
}

fn named(stroke: Option<Stroke>) -> String {
    stroke.map_or_else(|| "a rest".to_string(), words::stroke)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hands::Player;
    use crate::rhythm::Grid;
    use crate::rhythm::notation::read_line;

    fn tumbao() -> Pattern {
        let hands: Vec<Option<Hand>> = "LLRLLLRR".chars().map(Hand::from_letter).collect();
        let strokes = read_line("H T S T H T O O", Grid::Eighths).unwrap();
        strokes.with_hands(&hands)
    }

    fn setup(bpm: f64) -> Setup {
        Setup {
            bpm,
            player: Player::default(),
            as_written: false,
        }
    }

    #[test]
    fn every_stroke_of_the_tumbao_has_its_hand_at_any_tempo() {
        // Encyclopedia articles Conga and Tumbao: `LLRLLLRR`.
        for bpm in [80.0, 140.0, 200.0] {
            let places = places(&tumbao(), &setup(bpm));
            assert!(places.iter().all(|p| p.clear && !p.either), "{places:?}");
        }
        let fast = &places(&tumbao(), &setup(220.0))[2];
        let why = reasons(&tumbao(), fast, &setup(220.0));
        // One eighth at 220 quarter notes a minute lasts 136 ms.
        assert!(
            why[0].text.starts_with("With the left it would be") && why[0].text.contains("136 ms"),
            "{}",
            why[0].text
        );
    }

    #[test]
    fn single_strokes_far_apart_may_change_hands() {
        let hands: Vec<Option<Hand>> = "RLRL".chars().map(Hand::from_letter).collect();
        let strokes = read_line("O . O . O . O .", Grid::Eighths).unwrap();
        let places = places(&strokes.with_hands(&hands), &setup(80.0));
        assert!(places.iter().all(|p| !p.clear));
        assert!(places.iter().any(|p| p.either));
    }

    #[test]
    fn open_hands_are_filled_in() {
        let open = read_line("H T S T H T O O", Grid::Eighths).unwrap();
        let filled = with_all_hands(&open, &setup(150.0)).unwrap();
        assert!(filled.has_full_sticking());
        let none = Pattern::new(Grid::Eighths, vec![None; 8]).unwrap();
        assert!(with_all_hands(&none, &setup(150.0)).is_none());
    }
}
