//! Which tap belongs to which stroke.

/// A tap that lies on the edge of half a pulse by less than this counts as within it, seconds: files hold milliseconds.
pub(super) const EDGE: f64 = 0.000_5;

/// Pairs of a stroke and a tap, both by number: each stroke has the tap nearest to it within half a pulse, once `delay` is
/// taken off the tap. Strokes are a pulse apart or more, so that no tap is wanted by two: no order-keeping matching has
/// more pairs, or as many that lie closer.
pub(super) fn pairs(
    strokes: &[f64],
    taps: &[f64],
    half: f64,
    delay: impl Fn(f64) -> f64,
) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize, f64)> = Vec::new();
    for (i, tap) in taps.iter().enumerate() {
        let due = tap - delay(*tap);
        let after = strokes.partition_point(|s| *s < due);
        let around = [after.checked_sub(1), Some(after)].into_iter().flatten();
        let off = |s: &usize| (due - strokes[*s]).abs();
        let near = around
            .filter(|s| *s < strokes.len())
            .min_by(|a, b| off(a).total_cmp(&off(b)));
        let Some(stroke) = near.filter(|s| off(s) <= half + EDGE) else {
            continue;
        };
        match found.last_mut() {
            Some(last) if last.0 == stroke => {
                if off(&stroke) < last.2 {
                    *last = (stroke, i, off(&stroke));
                }
            }
            Some(last) if last.0 > stroke => {}
            _ => found.push((stroke, i, off(&stroke))),
        }
    }
    found.into_iter().map(|(s, t, _)| (s, t)).collect()
}
