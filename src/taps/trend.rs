//! The line through points, and how they scatter about it.

/// Fewest points of which that is told.
const FEWEST: usize = 4;

/// The line through points by least squares.
#[derive(Clone, Copy)]
pub(super) struct TapTrend {
    mean: (f64, f64),
    /// Its rise for each 1 of x.
    pub slope: f64,
    /// Standard deviation about the line.
    pub spread: f64,
}

impl TapTrend {
    /// Its height at `x`.
    pub fn at(&self, x: f64) -> f64 {
        self.mean.1 + self.slope * (x - self.mean.0)
    }
}

/// `None` for fewer than four points.
pub(super) fn trend(points: &[(f64, f64)]) -> Option<TapTrend> {
    if points.len() < FEWEST {
        return None;
    }
    let n = points.len() as f64;
    let x = points.iter().map(|p| p.0).sum::<f64>() / n;
    let y = points.iter().map(|p| p.1).sum::<f64>() / n;
    let over = points.iter().map(|p| (p.0 - x).powi(2)).sum::<f64>();
    let slope = points.iter().map(|p| (p.0 - x) * (p.1 - y)).sum::<f64>() / over;
    let rest = points.iter().map(|p| (p.1 - y - slope * (p.0 - x)).powi(2));
    Some(TapTrend {
        mean: (x, y),
        slope,
        spread: (rest.sum::<f64>() / (n - 2.0)).sqrt(),
    })
}

/// Standard errors that a swing is more than: chosen, so that scatter shows none.
const SURE: f64 = 4.0;
/// The least swing that is told, seconds: a computer keyboard blurs taps by as much (chosen).
const LEAST_SWING: f64 = 0.025;

/// How much higher the points that are `second` lie about the line through all than the others (the difference of two means
/// with its standard error, Welch 1947, *Biometrika* 34:28-35). `None` where that may be chance, or is little.
pub(super) fn swing(points: &[(f64, f64)], second: &[bool]) -> Option<f64> {
    let trend = trend(points)?;
    let group = |which: bool| {
        let group = points.iter().zip(second).filter(|(_, s)| **s == which);
        let off: Vec<f64> = group.map(|(p, _)| p.1 - trend.at(p.0)).collect();
        let (n, sum) = (off.len() as f64, off.iter().sum::<f64>());
        let squares: f64 = off.iter().map(|o| (o - sum / n).powi(2)).sum();
        (off.len() >= FEWEST).then(|| (sum / n, squares / (n - 1.0) / n))
    };
    let ((first, a), (second, b)) = (group(false)?, group(true)?);
    let swing = second - first;
    (swing.abs() >= LEAST_SWING && swing.abs() > SURE * (a + b).sqrt()).then_some(swing)
}

/// The standard deviation of the differences of neighbours over the square root of 2. `None` as above.
pub(super) fn unevenness(points: &[(f64, f64)]) -> Option<f64> {
    if points.len() < FEWEST {
        return None;
    }
    let n = (points.len() - 1) as f64;
    let steps = || points.windows(2).map(|w| w[1].1 - w[0].1);
    let mean = steps().sum::<f64>() / n;
    let squares = steps().map(|s| (s - mean).powi(2)).sum::<f64>();
    Some((squares / (n - 1.0) / 2.0).sqrt())
}
