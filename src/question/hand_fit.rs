//! Which hands can take a stroke while all others stay as they are, and why.

use super::{Reason, Setup};
use crate::hands;
use crate::rhythm::{Drum, Hand, Pattern, Stroke};

/// A stroke with the hands that can take it.
#[derive(Clone, Debug)]
pub(super) struct Place {
    pub pulse: usize,
    /// The written hand first.
    pub hands: Vec<Hand>,
    /// The other hand's fastest tempo lies well above or well below the one asked.
    pub clear: bool,
    /// Why the other hand does not work: it is the load of its movements, not a crossing.
    pub in_a_hurry: bool,
}

/// How far from the tempo asked a hand's fastest tempo must lie for the answer to be clear, as a share of it.
const MARGIN: f64 = 0.125;

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
    drums
        .strokes()
        .filter_map(|(pulse, s)| {
            let own = s.hand?;
            let other = turned(drums, pulse);
            let ceiling = hands::ceiling(&other, &setup.player)?;
            // Arms can only cross between drums.
            let crossed = ceiling >= setup.bpm
                && drums.drums().len() > 1
                && hands::stick(&other, setup.bpm, &setup.player).too_fast;
            let mut hands = vec![own];
            if ceiling >= setup.bpm && !crossed {
                hands.push(own.other());
            }
            Some(Place {
                pulse,
                hands,
                clear: (ceiling / setup.bpm - 1.0).abs() > MARGIN,
                in_a_hurry: ceiling < setup.bpm,
            })
        })
        .collect()
}

/// The pattern with the other hand on one stroke.
fn turned(drums: &Pattern, pulse: usize) -> Pattern {
    let hands: Vec<Option<Hand>> = drums
        .strokes()
        .map(|(p, s)| s.hand.map(|h| if p == pulse { h.other() } else { h }))
        .collect();
    drums.with_hands(&hands)
}

/// Why these hands and no others.
pub(super) fn reasons(drums: &Pattern, place: &Place, setup: &Setup) -> Vec<Reason> {
    let (Some(stroke), [own, ..]) = (drums.at(place.pulse), place.hands.as_slice()) else {
        return Vec::new();
    };
    let at = said(drums, place.pulse);
    let other = own.other();
    let near = Neighbours::of(drums, place.pulse, other);
    let mut reasons = Vec::new();
    if place.hands.len() > 1 {
        reasons.push(Reason {
            text: format!("At {:.0} either hand gets to {at} in time.", setup.bpm),
            pulses: vec![place.pulse],
        });
        reasons.push(Reason {
            text: format!("As written it is the {}.", own.name()),
            pulses: vec![place.pulse],
        });
        return reasons;
    }
    reasons.push(match near.tightest(drums) {
        Some((from, to)) if place.in_a_hurry => {
            let ms = gap(drums, from, to) as f64 * drums.grid().pulse_seconds(setup.bpm) * 1000.0;
            Reason {
                text: format!(
                    "With the {other} it would be {a} on {from_said} and {b} on {to_said} with one hand, {ms:.0} ms apart: \
                     too tight at {bpm:.0}.",
                    other = other.name(),
                    a = named(drums.at(from)),
                    from_said = said(drums, from),
                    b = named(drums.at(to)),
                    to_said = said(drums, to),
                    bpm = setup.bpm,
                ),
                pulses: vec![from, to],
            }
        }
        _ => Reason {
            text: format!("With the {} on {at} the arms would cross.", other.name()),
            pulses: vec![place.pulse],
        },
    });
    let rested = Neighbours::of(drums, place.pulse, *own);
    if let Some(last) = rested.before {
        reasons.push(Reason {
            text: format!(
                "The {} has been free since {}, so it takes {}.",
                own.name(),
                said(drums, last),
                named(Some(stroke))
            ),
            pulses: vec![last, place.pulse],
        });
    }
    reasons
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
    let count = drums.grid().spoken(pulse);
    match drums.bars() {
        1 => count,
        _ => {
            let bar = pulse / drums.grid().pulses_per_bar() + 1;
            format!("{count} of bar {bar}")
        }
    }
}

fn named(stroke: Option<Stroke>) -> String {
    match stroke {
        None => "a rest".to_string(),
        Some(s) if s.drum == Drum::Tumbadora => format!("the {} on the low drum", s.tone.name()),
        Some(s) => format!("the {}", s.tone.name()),
    }
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
        }
    }

    #[test]
    fn the_slap_of_the_tumbao_is_the_right_hand_at_speed_and_free_when_slow() {
        // Encyclopedia articles Conga and Tumbao write it with the right; that nearly every stroke may change hand
        // where time allows is common practice, no source.
        let at = |bpm| places(&tumbao(), &setup(bpm))[2].clone();
        let fast = at(200.0);
        assert_eq!(fast.hands, [Hand::Right]);
        assert!(fast.in_a_hurry);
        assert_eq!(at(60.0).hands.len(), 2);
        let why = reasons(&tumbao(), &fast, &setup(200.0));
        assert!(
            why[0].text.starts_with("With the left it would be"),
            "{}",
            why[0].text
        );
        // One eighth at 200 quarter notes a minute lasts 150 ms.
        assert!(why[0].text.contains("150 ms"));
    }

    #[test]
    fn the_written_hand_always_counts() {
        for bpm in [60.0, 150.0, 300.0] {
            for place in places(&tumbao(), &setup(bpm)) {
                let written = tumbao().at(place.pulse).unwrap().hand.unwrap();
                assert!(place.hands.contains(&written));
                assert!(!reasons(&tumbao(), &place, &setup(bpm)).is_empty());
            }
        }
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
