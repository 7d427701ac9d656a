//! The tempo at which an item is asked next.

use super::{Draw, ItemKey, Sense, kind};
use crate::rhythm::{Grid, Tempo};
use crate::time::Seconds;

/// Where an item begins, as a share of its range on the logarithm of the tempo: the middle of the slow third.
const START: f64 = 1.0 / 6.0;
/// How far of the way up to what is held with other cards an item begins (chosen: of .5, .6 and .75 the one in the middle;
/// at .75 cards that were just shown are asked for at the tempo of old ones).
const WAY: f64 = 0.6;
/// A step of what is held over all cards: a twelfth of an octave, as of an item whose range is one.
const STEP: f64 = 1.059_463;
/// Tempos as near as this count as the same: a tempo is drawn within 4 % of where it stands.
const NEAR: f64 = 1.04;

/// The latest answer to an item, as far as the tempo is concerned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Past {
    /// Beats a minute at which it was asked.
    pub tempo: Tempo,
    /// Was every key right?
    pub right: bool,
    /// In time, and not played slower before the answer.
    pub in_time: bool,
    /// So was every earlier answer to the item: its tempo has not turned yet.
    pub rising: bool,
}

impl Past {
    /// An answer that was in time or not, after the one `before` it.
    pub fn after(before: Option<Past>, tempo: Tempo, right: bool, in_time: bool) -> Past {
        Past {
            tempo,
            right,
            in_time,
            rising: in_time && before.is_none_or(|b| b.rising),
        }
    }
}

/// The tempo at which the player stands with an item, from its latest answer.
///
/// Without one it lies where [`begin`] says. After that it is a weighted up-down staircase
/// (Kaernbach 1991, *Perception & Psychophysics* 49:227-229) on the logarithm of the tempo: an answer in time
/// moves it up one step, a right one that came late down three, which settles where three right answers of four come in
/// time. A miss moves it down one: what is not known is missed at every tempo. A step is a twelfth of the range; until the
/// tempo turns for the first time it goes up by three, as is usual (Levitt 1971, *Journal of the Acoustical Society of
/// America* 49:467-477, from memory; three is chosen: an item is asked some four times in
/// a month).
pub fn stand(range: (Tempo, Tempo), last: Option<Past>) -> Tempo {
    let (low, high) = (range.0.min(range.1), range.0.max(range.1));
    let span = (high / low).ln();
    let at = match last {
        None => span * START,
        Some(p) => {
            let steps = match (p.right, p.in_time) {
                (true, true) if p.rising => 3.0,
                (true, true) => 1.0,
                (true, false) => -3.0,
                _ => -1.0,
            };
            let from = (p.tempo.max(low) / low).ln().min(span);
            from + steps * span / 12.0
        }
    };
    low * at.clamp(0.0, span).exp()
}

/// The tempo at which an item that was never asked begins: in the middle of the slow third of `range`; where the player
/// holds questions like it at a faster tempo, `held`, on the way up to that one.
pub fn begin(range: (Tempo, Tempo), held: Option<Tempo>) -> Tempo {
    let (slow, fast) = (stand(range, None), range.0.max(range.1));
    let held = held.unwrap_or(slow);
    slow * (held.clamp(slow, fast.max(slow)) / slow).powf(WAY)
}

/// The tempos that a player holds, by kind of question and sense, over all cards: a staircase as that of [`stand`], on the
/// length of the clave cycle within which answers came in time. What is tapped is not among it: how fast hands may begin is
/// not told by other cards.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HeldTempos(Vec<(String, Sense, Seconds)>);

impl HeldTempos {
    /// This many answers tell where the staircases stand: a month of evenings. What lies before moved them long ago.
    pub const ENOUGH: usize = 1_000;

    /// Takes in an answer to a question whose clave cycle lasts this many seconds. One in time at a slower tempo than what is
    /// held says nothing new, nor a late one at a faster; a miss says nothing of the tempo.
    pub fn observe(&mut self, item: &ItemKey, cycle: Seconds, right: bool, in_time: bool) {
        let tapped = kind(&item.kind).is_none_or(|kind| kind.is_tapped());
        if !right || tapped || !(cycle.is_finite() && cycle > Seconds::ZERO) {
            return;
        }
        let of = |(kind, sense, _): &(String, Sense, Seconds)| {
            *kind == item.kind && *sense == item.sense
        };
        let at = self.0.iter().position(of).unwrap_or_else(|| {
            self.0.push((item.kind.clone(), item.sense, cycle));
            self.0.len() - 1
        });
        let held = &mut self.0[at].2;
        match in_time {
            true if cycle <= *held * NEAR => *held = cycle / STEP,
            false if cycle >= *held / NEAR => *held = cycle * STEP.powi(3),
            _ => {}
        }
    }

    /// The tempo that is held with questions of a kind on this grid; `None` where nothing is known.
    pub fn tempo(&self, kind: &str, sense: Sense, grid: Grid) -> Option<Tempo> {
        let mut of = self.0.iter().filter(|(k, s, _)| *k == kind && *s == sense);
        of.next()
            .map(|(.., cycle)| Tempo::new(1.0) * (Tempo::new(1.0).cycle(grid) / *cycle))
    }
}

/// A whole number of beats a minute within 4 % of `stand` and inside `range` where a whole number is.
pub fn near(range: (Tempo, Tempo), stand: Tempo, draw: &mut Draw) -> Tempo {
    let (low, high) = (range.0.min(range.1), range.0.max(range.1));
    let tempo = (stand * (0.96 + 0.08 * draw.unit())).round();
    tempo.clamp(low, high)
}

/// May an item where the player stands at `stand` be asked at the tempo `tempo` of a band that plays already: within 6 % of
/// it (chosen: about a step) and inside `range`?
pub fn is_near(range: (Tempo, Tempo), stand: Tempo, tempo: Tempo) -> bool {
    (range.0..=range.1).contains(&tempo) && (tempo / stand).ln().abs() <= 1.06f64.ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(tempo: Tempo, right: bool, in_time: bool) -> Tempo {
        let past = Past {
            tempo,
            right,
            in_time,
            rising: false,
        };
        stand((Tempo::new(100.0), Tempo::new(200.0)), Some(past))
    }

    #[test]
    fn a_new_item_starts_in_the_slow_third() {
        let tempo = stand((Tempo::new(120.0), Tempo::new(240.0)), None);
        assert!((120.0..120.0 * 2f64.powf(1.0 / 3.0)).contains(&tempo.bpm()));
        assert_eq!(
            stand((Tempo::new(100.0), Tempo::new(100.0)), None),
            Tempo::new(100.0)
        );
    }

    #[test]
    fn in_time_moves_up_a_miss_down_and_late_down_further() {
        let (up, late, missed) = (
            after(Tempo::new(140.0), true, true),
            after(Tempo::new(140.0), true, false),
            after(Tempo::new(140.0), false, false),
        );
        assert!(late < missed && missed < Tempo::new(140.0) && Tempo::new(140.0) < up);
        // Three steps up weigh as much as one late answer, one as much as a miss.
        let three = after(after(up, true, true), true, true);
        assert!((after(three, true, false).bpm() - 140.0).abs() < 1e-9);
        assert!((after(up, false, false).bpm() - 140.0).abs() < 1e-9);
        // Three steps at once until it turns.
        let first = Past::after(None, Tempo::new(140.0), true, true);
        let further = stand((Tempo::new(100.0), Tempo::new(200.0)), Some(first));
        assert!((further / three - 1.0).abs() < 1e-9);
        let turned = Past::after(Some(first), further, true, false);
        assert!(!Past::after(Some(turned), further, true, true).rising);
        assert_eq!(after(Tempo::new(200.0), true, true), Tempo::new(200.0));
        assert_eq!(after(Tempo::new(100.0), false, false), Tempo::new(100.0));
        // A range that was changed since: an old tempo outside it counts as its end.
        assert_eq!(after(Tempo::new(500.0), true, true), Tempo::new(200.0));
    }

    #[test]
    fn three_right_answers_of_four_come_in_time() {
        // Kaernbach 1991: with steps of 1 up and 3 down the share settles at 3/4. A player whose chance to be in time falls by a
        // logistic curve around 140. The share of 5500 answers: five standard deviations are .029.
        let mut draw = Draw::new(5);
        let mut last = None;
        let mut in_time = 0;
        for i in 0..6000 {
            let tempo = stand((Tempo::new(80.0), Tempo::new(320.0)), last);
            let p = 1.0 / (1.0 + ((tempo.bpm() / 140.0).ln() / 0.15).exp());
            let ok = draw.chance(p);
            in_time += usize::from(ok && i >= 500);
            last = Some(Past::after(last, tempo, true, ok));
        }
        assert!((in_time as f64 / 5500.0 - 0.75).abs() < 0.029, "{in_time}");
    }

    /// A cycle of eight beats lasts 4 s at 120 and 3.2 s at 150.
    #[test]
    fn an_item_begins_on_the_way_up_to_what_is_held_of_its_like() {
        let item = |card: &str, kind: &str| ItemKey {
            card: card.into(),
            kind: kind.into(),
            sense: Sense::Hear,
        };
        let mut held = HeldTempos::default();
        let tempo = |held: &HeldTempos| held.tempo("side", Sense::Hear, Grid::Eighths);
        let side = item("yard/corner", "side");
        held.observe(&side, Seconds::new(4.0), false, false);
        held.observe(&item("yard/corner", "play"), Seconds::new(1.0), true, true);
        assert_eq!(tempo(&held), None);
        held.observe(&side, Seconds::new(4.0), true, true);
        let first = tempo(&held).unwrap();
        assert!((first.bpm() / 120.0 - STEP).abs() < 1e-9, "{first}");
        // A slower one in time and a faster one late say nothing new.
        held.observe(&side, Seconds::new(6.0), true, true);
        held.observe(&side, Seconds::new(2.0), true, false);
        assert_eq!(tempo(&held), Some(first));
        held.observe(&item("yard/other", "side"), Seconds::new(3.2), true, true);
        let faster = tempo(&held).unwrap();
        assert!((faster.bpm() / 150.0 - STEP).abs() < 1e-9, "{faster}");
        held.observe(&side, Seconds::new(3.2), true, false);
        assert!((tempo(&held).unwrap().bpm() * STEP.powi(3) / 150.0 - 1.0).abs() < 1e-9);
        assert_eq!(held.tempo("side", Sense::Read, Grid::Eighths), None);

        let range = (Tempo::new(100.0), Tempo::new(200.0));
        let slow = stand(range, None);
        assert_eq!(begin(range, None), slow);
        assert_eq!(begin(range, Some(Tempo::new(90.0))), slow);
        for held in [150.0, 200.0, 900.0] {
            let tempo = begin(range, Some(Tempo::new(held)));
            assert!(
                slow < tempo && tempo < Tempo::new(held.min(200.0)),
                "{tempo}"
            );
            // Nearer to what is held than to the slow end, as in the logarithm it goes six tenths of the way.
            assert!(tempo.bpm().powi(2) > slow.bpm() * held.min(200.0));
        }
    }

    #[test]
    fn a_drawn_tempo_is_whole_and_inside_the_range() {
        let mut draw = Draw::new(2);
        for _ in 0..500 {
            let tempo = near(
                (Tempo::new(120.0), Tempo::new(180.0)),
                Tempo::new(121.0),
                &mut draw,
            );
            let tempo = tempo.bpm();
            assert!((120.0..=126.0).contains(&tempo) && tempo.fract() == 0.0);
        }
    }
}
