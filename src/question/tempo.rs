//! At which tempo an item is asked next.

use super::Draw;

/// The latest answer to an item, as far as the tempo is concerned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Past {
    /// Beats a minute at which it was asked.
    pub bpm: f64,
    /// Was every key right?
    pub right: bool,
    /// In time, and not played slower before the answer.
    pub in_time: bool,
    /// So was every answer to the item before it: its tempo has not turned yet.
    pub rising: bool,
}

impl Past {
    /// An answer that was in time or not, after the one `before` it.
    pub fn after(before: Option<Past>, bpm: f64, right: bool, in_time: bool) -> Past {
        Past {
            bpm,
            right,
            in_time,
            rising: in_time && before.is_none_or(|b| b.rising),
        }
    }
}

/// The tempo at which the player stands with an item, in beats a minute, from its latest answer.
///
/// Without one it lies in the middle of the slow third of `range`. After that it is a weighted up-down staircase
/// (Kaernbach 1991, *Perception & Psychophysics* 49:227-229) on the logarithm of the tempo: an answer in time
/// moves it up one step, a right one that came late down three, which settles where three right answers of four come in
/// time. A miss moves it down one: what is not known is missed at every tempo. A step is a twelfth of the range; until the
/// tempo turns for the first time it goes up by three, as is usual (Levitt 1971, *Journal of the Acoustical Society of
/// America* 49:467-477, from memory; three is chosen: an item is asked some four times in
/// a month).
pub fn stand(range: (f64, f64), last: Option<Past>) -> f64 {
    let (low, high) = (range.0.min(range.1), range.0.max(range.1));
    if low <= 0.0 || !(high / low).is_finite() {
        return low.max(1.0);
    }
    let span = (high / low).ln();
    let at = match last {
        None => span / 6.0,
        Some(p) => {
            let steps = match (p.right, p.in_time) {
                (true, true) if p.rising => 3.0,
                (true, true) => 1.0,
                (true, false) => -3.0,
                _ => -1.0,
            };
            let from = (p.bpm.max(low) / low).ln().min(span);
            from + steps * span / 12.0
        }
    };
    low * at.clamp(0.0, span).exp()
}

/// A whole number of beats a minute within 4 % of `stand` and inside `range` where a whole number is.
pub fn near(range: (f64, f64), stand: f64, draw: &mut Draw) -> f64 {
    let (low, high) = (range.0.min(range.1), range.0.max(range.1));
    let bpm = (stand * (0.96 + 0.08 * draw.unit())).round();
    bpm.clamp(low, high)
}

/// May an item where the player stands at `stand` be asked at the tempo `bpm` of a band that plays already: within 6 % of
/// it (chosen: about a step) and inside `range`?
pub fn is_near(range: (f64, f64), stand: f64, bpm: f64) -> bool {
    (range.0..=range.1).contains(&bpm) && (bpm / stand).ln().abs() <= 1.06f64.ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(bpm: f64, right: bool, in_time: bool) -> f64 {
        let past = Past {
            bpm,
            right,
            in_time,
            rising: false,
        };
        stand((100.0, 200.0), Some(past))
    }

    #[test]
    fn a_new_item_starts_in_the_slow_third() {
        let bpm = stand((120.0, 240.0), None);
        assert!((120.0..120.0 * 2f64.powf(1.0 / 3.0)).contains(&bpm));
        assert_eq!(stand((100.0, 100.0), None), 100.0);
    }

    #[test]
    fn in_time_moves_up_a_miss_down_and_late_down_further() {
        let (up, late, missed) = (
            after(140.0, true, true),
            after(140.0, true, false),
            after(140.0, false, false),
        );
        assert!(late < missed && missed < 140.0 && 140.0 < up);
        // Three steps up weigh as much as one late answer, one as much as a miss.
        let three = after(after(up, true, true), true, true);
        assert!((after(three, true, false) - 140.0).abs() < 1e-9);
        assert!((after(up, false, false) - 140.0).abs() < 1e-9);
        // Three steps at once until it turns.
        let first = Past::after(None, 140.0, true, true);
        let further = stand((100.0, 200.0), Some(first));
        assert!((further / three - 1.0).abs() < 1e-9);
        let turned = Past::after(Some(first), further, true, false);
        assert!(!Past::after(Some(turned), further, true, true).rising);
        assert_eq!(after(200.0, true, true), 200.0);
        assert_eq!(after(100.0, false, false), 100.0);
        // A range that was changed since: an old tempo outside it counts as its end.
        assert_eq!(after(500.0, true, true), 200.0);
        assert!(after(f64::NAN, true, true).is_finite());
    }

    #[test]
    fn three_right_answers_of_four_come_in_time() {
        // Kaernbach 1991: with steps of 1 up and 3 down the share settles at 3/4. A player whose chance to be in time falls by a
        // logistic curve around 140. The share of 5500 answers: five standard deviations are .029.
        let mut draw = Draw::new(5);
        let mut last = None;
        let mut in_time = 0;
        for i in 0..6000 {
            let bpm = stand((80.0, 320.0), last);
            let p = 1.0 / (1.0 + ((bpm / 140.0).ln() / 0.15).exp());
            let ok = draw.chance(p);
            in_time += usize::from(ok && i >= 500);
            last = Some(Past::after(last, bpm, true, ok));
        }
        assert!((in_time as f64 / 5500.0 - 0.75).abs() < 0.029, "{in_time}");
    }

    #[test]
    fn a_drawn_tempo_is_whole_and_inside_the_range() {
        let mut draw = Draw::new(2);
        for _ in 0..500 {
            let bpm = near((120.0, 180.0), 121.0, &mut draw);
            assert!((120.0..=126.0).contains(&bpm) && bpm.fract() == 0.0);
        }
    }
}
