//! How far the taps are off from moment to moment: the path that a player's delay takes.
//!
//! For each bar and each delay it is known how well the taps fit the strokes; the path that fits best in all, moving
//! little from bar to bar, is found by dynamic programming (the Viterbi algorithm; Forney 1973, *Proceedings of the IEEE*
//! 61:268-278). So drift and a stop are followed, and no single stroke is explained away.

use crate::time::Seconds;

/// A delay common to all taps that is not blamed, seconds, either way: what calibration leaves of a keyboard, a converter or
/// a wireless link, and the player's own lead. Chosen.
pub const COMMON: Seconds = Seconds::new(0.150);

/// Steps of delay within half a pulse.
const STEPS: f64 = 6.0;
/// What it costs to move the delay by half a pulse from one bar to the next, in strokes that fit: chosen.
const MOVE: f64 = 1.0;
/// What it costs at most, however far, besides half of the strokes of a bar (no more fit by a jump past the end of
/// the taps): chosen.
const JUMP: f64 = 3.0;
/// What the widest common delay costs against none: chosen, so that of two delays that fit alike the smaller is taken.
const FAR: f64 = 0.5;
/// The most that the delay may grow in a round, as a share of it: chosen.
const FASTEST_DRIFT: f64 = 0.06;

/// How well a tap this far from a stroke stands for it: 1 in its place, 0 half a pulse away. Errors beyond that all
/// weigh the same (Epanechnikov's kernel).
pub(super) fn fit(off: f64, half: f64) -> f64 {
    (1.0 - (off / half).powi(2)).max(0.0)
}

/// The path of the delay.
pub(super) struct Track {
    /// How many strokes fit, less what the moves cost.
    pub score: f64,
    first: usize,
    bar: f64,
    /// One delay a bar, seconds.
    delays: Vec<f64>,
}

impl Track {
    /// The delay of the bar of a stroke at `seconds`.
    pub fn at(&self, seconds: f64) -> f64 {
        let bar = bar_of(seconds, self.bar).saturating_sub(self.first);
        let last = self.delays.len().saturating_sub(1);
        self.delays.get(bar.min(last)).copied().unwrap_or(0.0)
    }

    /// How often the delay jumps by `least` seconds or more.
    pub fn jumps(&self, least: f64) -> usize {
        let pairs = self.delays.windows(2);
        pairs.filter(|w| (w[1] - w[0]).abs() >= least).count()
    }
}

fn bar_of(seconds: f64, bar: f64) -> usize {
    (seconds / bar + 1e-9).max(0.0) as usize
}

/// The tap nearest to a time, as its distance from it.
fn nearest(taps: &[f64], time: f64) -> f64 {
    let after = taps.partition_point(|t| *t < time);
    let around = [after.checked_sub(1), Some(after)];
    let off = around.into_iter().flatten().filter_map(|i| taps.get(i));
    off.map(|t| (t - time).abs()).fold(f64::INFINITY, f64::min)
}

/// Follows the taps (in order) along the strokes (in order too). `half` is half a pulse, `bar` one bar, in seconds; they fill
/// so many rounds of so many seconds each.
pub(super) fn track(
    strokes: &[f64],
    taps: &[f64],
    (half, bar): (f64, f64),
    (rounds, cycle): (usize, f64),
) -> Track {
    let step = half / STEPS;
    let common = COMMON.seconds();
    let reach = (common + FASTEST_DRIFT * cycle * rounds as f64).min((bar / 2.0).max(common));
    let side = (reach / step).ceil() as usize;
    let delay = |bin: usize| (bin as f64 - side as f64) * step;
    let bins = 2 * side + 1;
    let (Some(from), Some(to)) = (strokes.first(), strokes.last()) else {
        return Track {
            score: 0.0,
            first: 0,
            bar,
            delays: Vec::new(),
        };
    };
    let (first, last) = (bar_of(*from, bar), bar_of(*to, bar));
    let mut best: Vec<f64> = (0..bins)
        .map(|bin| match delay(bin).abs() <= common + step {
            true => -FAR * (delay(bin) / common).powi(2),
            false => f64::NEG_INFINITY,
        })
        .collect();
    let jump = JUMP + 0.5 * strokes.len() as f64 / (last - first + 1) as f64;
    let mut back: Vec<Vec<u16>> = Vec::with_capacity(last - first + 1);
    let mut next = 0;
    for window in first..=last {
        if window > first {
            back.push(move_on(&mut best, MOVE / STEPS, jump));
        }
        while let Some(stroke) = strokes.get(next).filter(|s| bar_of(**s, bar) <= window) {
            for (bin, best) in best.iter_mut().enumerate() {
                *best += fit(nearest(taps, stroke + delay(bin)), half);
            }
            next += 1;
        }
    }
    let mut bin = (0..bins).fold(side, |b, i| if best[i] > best[b] { i } else { b });
    let score = best[bin];
    let mut delays = vec![delay(bin)];
    for pointers in back.iter().rev() {
        bin = usize::from(pointers[bin]);
        delays.push(delay(bin));
    }
    delays.reverse();
    Track {
        score,
        first,
        bar,
        delays,
    }
}

/// Lets each delay be reached from the one before, at `price` a step and `most` in all; tells from which.
fn move_on(best: &mut [f64], price: f64, most: f64) -> Vec<u16> {
    let bins = best.len();
    let mut from: Vec<u16> = (0..bins).map(|i| i as u16).collect();
    let top = (0..best.len()).fold(0, |b, i| if best[i] > best[b] { i } else { b });
    let jump = best[top] - most;
    let mut pass = |to: usize, other: usize| {
        if best[other] - price > best[to] {
            best[to] = best[other] - price;
            from[to] = from[other];
        }
    };
    for i in 1..bins {
        pass(i, i - 1);
    }
    for i in (1..bins).rev() {
        pass(i - 1, i);
    }
    for (best, from) in best.iter_mut().zip(&mut from) {
        if jump > *best {
            *best = jump;
            *from = top as u16;
        }
    }
    from
}

/// The delay that most of these have in common, near [`COMMON`] at most: the top of the sum of [`fit`], found
/// from the best of a grid by mean shift (Fukunaga & Hostetler 1975, *IEEE Transactions on Information Theory* 21:32-40).
pub(super) fn common(mut late: Vec<f64>, half: f64) -> f64 {
    late.sort_by(f64::total_cmp);
    let mut sums = vec![(0.0, 0.0)];
    for x in &late {
        let (sum, squares) = sums[sums.len() - 1];
        sums.push((sum + x, squares + x * x));
    }
    let around = |c: f64| {
        let from = late.partition_point(|x| *x < c - half);
        let to = late.partition_point(|x| *x <= c + half);
        let (sum, squares) = (sums[to].0 - sums[from].0, sums[to].1 - sums[from].1);
        ((to - from) as f64, sum, squares)
    };
    let fits = |c: f64| {
        let (n, sum, squares) = around(c);
        n - (squares - 2.0 * c * sum + n * c * c) / (half * half)
    };
    let most = COMMON.seconds();
    let value = |c: f64| fits(c) - FAR * (c / most).powi(2);
    let side = (most / (half / STEPS)).ceil() as i32;
    let grid = (-side..=side).map(|i| f64::from(i) * half / STEPS);
    let mut c = grid.fold(0.0, |b, c| if value(c) > value(b) { c } else { b });
    for _ in 0..50 {
        let (n, sum, _) = around(c);
        let to = sum / n.max(1.0);
        if fits(to) - fits(c) < 1e-9 {
            break;
        }
        c = to;
    }
    c
}
