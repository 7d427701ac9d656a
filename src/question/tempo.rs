use super::Draw;

/// One earlier answer to an item, as far as the tempo is concerned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Past {
    /// Beats a minute at which it was asked.
    pub bpm: f64,
    pub right: bool,
    pub in_time: bool,
}

/// How many earlier answers are worth handing to [`stand`]: older ones no longer move the result.
pub const PAST: usize = 12;

/// The tempo at which the player stands with an item, in beats a minute, from its earlier answers (oldest first).
///
/// Without any it lies in the middle of the slow third of `range`. After that it is a weighted up-down staircase
/// (Kaernbach 1991, *Perception & Psychophysics* 49:227-229) on the logarithm of the tempo: an answer in time
/// moves it up one step, a miss down three, which settles where three answers of four come in time; a right answer
/// that came late moves it down one. A step is a twelfth of the range. It starts from the tempo of the oldest
/// answer given.
pub fn stand(range: (f64, f64), past: &[Past]) -> f64 {
    let (low, high) = (range.0.min(range.1), range.0.max(range.1));
    if low <= 0.0 || !(high / low).is_finite() {
        return low.max(1.0);
    }
    let span = (high / low).ln();
    let step = span / 12.0;
    let mut at = match past.first() {
        Some(p) if p.bpm > 0.0 => (p.bpm / low).ln().clamp(0.0, span),
        _ => span / 6.0,
    };
    for p in past {
        let steps = match (p.right, p.in_time) {
            (true, true) => 1.0,
            (true, false) => -1.0,
            _ => -3.0,
        };
        at = (at + steps * step).clamp(0.0, span);
    }
    low * at.exp()
}

/// A whole number of beats a minute within 4 % of `stand` and inside `range` where a whole number is.
pub fn near(range: (f64, f64), stand: f64, draw: &mut Draw) -> f64 {
    let (low, high) = (range.0.min(range.1), range.0.max(range.1));
    let bpm = (stand * (0.96 + 0.08 * draw.unit())).round();
    bpm.clamp(low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn answer(bpm: f64, right: bool, in_time: bool) -> Past {
        Past {
            bpm,
            right,
            in_time,
        }
    }

    #[test]
    fn a_new_item_starts_in_the_slow_third() {
        let bpm = stand((120.0, 240.0), &[]);
        assert!((120.0..120.0 * 2f64.powf(1.0 / 3.0)).contains(&bpm));
        assert_eq!(stand((100.0, 100.0), &[]), 100.0);
    }

    #[test]
    fn in_time_moves_up_and_a_miss_moves_down_further() {
        let range = (100.0, 200.0);
        let up = stand(range, &[answer(140.0, true, true)]);
        let late = stand(range, &[answer(140.0, true, false)]);
        let down = stand(range, &[answer(140.0, false, false)]);
        assert!(down < late && late < 140.0 && 140.0 < up);
        // Three steps up weigh as much as one miss.
        let mut four = vec![answer(140.0, true, true); 3];
        four.push(answer(140.0, false, false));
        assert!((stand(range, &four) - 140.0).abs() < 1e-9);
    }

    #[test]
    fn it_settles_where_three_of_four_come_in_time() {
        // A player whose chance of being in time falls by a logistic curve around 170: three of four at 160.9
        // (170 * exp(-0.05 * ln 3)), by solving the curve by hand.
        let mut draw = Draw::new(5);
        let mut past = vec![answer(110.0, true, true)];
        let mut sum = 0.0;
        let n = 6000;
        for i in 0..n {
            let bpm = stand((80.0, 320.0), &past);
            let p = 1.0 / (1.0 + ((bpm / 170.0).ln() / 0.05).exp());
            let ok = draw.chance(p);
            past = vec![answer(bpm, ok, ok)];
            if i > 500 {
                sum += bpm.ln() / f64::from(n - 501);
            }
        }
        assert!((sum.exp() - 160.9).abs() < 8.0, "{}", sum.exp());
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
