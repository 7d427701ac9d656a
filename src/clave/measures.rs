//! Measures of the literature on a cycle of onsets, read as a ring: `true` is a stroke.
//!
//! Gómez, Melvin, Rappaport & Toussaint, *Mathematical Measures of Syncopation*, 2005; Toussaint, *A Comparison of
//! Rhythmic Similarity Measures*, ISMIR 2004; Toussaint, *The Geometry of Musical Rhythm*, 2013.

/// Pulses that are struck, in order.
fn struck(onsets: &[bool]) -> Vec<usize> {
    let marked = onsets.iter().enumerate().filter(|(_, on)| **on);
    marked.map(|(pulse, _)| pulse).collect()
}

/// Pulses from each stroke to the next, round the ring. Toussaint 2004. A single stroke gives the whole cycle.
pub fn intervals(onsets: &[bool]) -> Vec<usize> {
    let at = struck(onsets);
    let n = onsets.len();
    let nexts = at.iter().cycle().skip(1);
    let pairs = at.iter().zip(nexts);
    pairs
        .map(|(a, b)| if b > a { b - a } else { b + n - a })
        .collect()
}

/// Number of different lengths among the intervals from a stroke to the next. Toussaint 2013, Fig. 37.11.
pub fn distinct_durations(onsets: &[bool]) -> usize {
    distinct(intervals(onsets))
}

/// Number of different distances, the shorter way round, among all pairs of strokes. Toussaint 2013, Fig. 17.13.
pub fn distinct_distances(onsets: &[bool]) -> usize {
    let at = struck(onsets);
    let pairs = at
        .iter()
        .enumerate()
        .flat_map(|(i, a)| at[..i].iter().map(move |b| a - b));
    distinct(pairs.map(|d| d.min(onsets.len() - d)).collect())
}

fn distinct(mut values: Vec<usize>) -> usize {
    values.sort_unstable();
    values.dedup();
    values.len()
}

/// Normalised pairwise variability of the intervals in the order of the cycle, in per cent: the mean over neighbours
/// of the difference by the mean. `None` below two intervals. Grabe & Low 2002, as used by Toussaint 2013, Fig. 17.13
/// (the last interval and the first are no neighbours).
pub fn npvi(onsets: &[bool]) -> Option<f64> {
    let intervals = intervals(onsets);
    let pairs = intervals.windows(2).map(|w| {
        let (a, b) = (w[0] as f64, w[1] as f64);
        (a - b).abs() / ((a + b) / 2.0)
    });
    (intervals.len() > 1).then(|| 100.0 * pairs.sum::<f64>() / (intervals.len() - 1) as f64)
}

/// Does no pair of strokes cut the ring into halves? True of an odd cycle. Toussaint 2013, Fig. 37.11.
pub fn has_rhythmic_oddity(onsets: &[bool]) -> bool {
    let n = onsets.len();
    !n.is_multiple_of(2) || (0..n / 2).all(|p| !(onsets[p] && onsets[p + n / 2]))
}

/// Off-beatness: strokes on pulses that no even division of the cycle into more than one and fewer than all parts
/// reaches, that is, on pulses without a common divisor with its length. Gómez et al. 2005.
pub fn off_beatness(onsets: &[bool]) -> usize {
    let n = onsets.len();
    struck(onsets)
        .into_iter()
        .filter(|p| common_divisor(*p, n) == 1)
        .count()
}

fn common_divisor(a: usize, b: usize) -> usize {
    if b == 0 { a } else { common_divisor(b, a % b) }
}

/// Keith's measure of syncopation for cycles of a power of two: strokes that do not start on a multiple of the
/// largest power of two that fits into the interval to the next stroke. Keith 1991, by Gómez et al. 2005, Fig. 8.
pub fn keith(onsets: &[bool]) -> usize {
    let strokes = struck(onsets).into_iter().zip(intervals(onsets));
    strokes
        .filter(|(at, length)| !at.is_multiple_of(1 << length.ilog2()))
        .count()
}

/// Weighted note-to-beat distance with a beat every `beat` pulses, which must be positive: the mean over strokes of
/// 0 on a beat, else of `1 / t`, where `t` is the distance to the nearest beat in beats, doubled where the note lasts
/// over the next beat and ends before the one after. `None` without strokes. Gómez et al. 2005, Fig. 8.
pub fn wnbd(onsets: &[bool], beat: usize) -> Option<f64> {
    let at = struck(onsets);
    let weights = at.iter().zip(intervals(onsets)).map(|(at, length)| {
        let past = at % beat;
        if past == 0 {
            return 0.0;
        }
        let distance = past.min(beat - past) as f64 / beat as f64;
        let over = past + length > beat && past + length < 2 * beat;
        if over { 2.0 / distance } else { 1.0 / distance }
    });
    (!at.is_empty()).then(|| weights.sum::<f64>() / at.len() as f64)
}

/// Evenness, 0 to 1: the sum of the straight lines between all pairs of strokes on the circle, by that of as many
/// strokes spread evenly (`k cot(π / 2k)` on the unit circle). 1 below two strokes. Block & Douthett 1994, as used by
/// Toussaint 2013.
pub fn evenness(onsets: &[bool]) -> f64 {
    let at = struck(onsets);
    if at.len() < 2 {
        return 1.0;
    }
    let turn = std::f64::consts::PI / onsets.len() as f64;
    let pairs = at
        .iter()
        .enumerate()
        .flat_map(|(i, a)| at[..i].iter().map(move |b| a - b));
    let lines: f64 = pairs.map(|d| 2.0 * (turn * d as f64).sin()).sum();
    let k = at.len() as f64;
    lines * (std::f64::consts::PI / (2.0 * k)).tan() / k
}

/// Pulses on which two cycles of the same length differ; `None` where the lengths differ.
pub fn hamming_distance(a: &[bool], b: &[bool]) -> Option<usize> {
    (a.len() == b.len()).then(|| a.iter().zip(b).filter(|(a, b)| a != b).count())
}

/// Swap distance: moves of a stroke to a free neighbouring pulse until one cycle is the other, not round the end.
/// `None` where lengths or numbers of strokes differ. Toussaint 2004.
pub fn swap_distance(a: &[bool], b: &[bool]) -> Option<usize> {
    let (from, to) = (struck(a), struck(b));
    let same = a.len() == b.len() && from.len() == to.len();
    same.then(|| from.iter().zip(&to).map(|(a, b)| a.abs_diff(*b)).sum())
}

/// The Euclidean rhythm E(k, n): `strokes` spread as evenly as they go over `pulses`, by Bjorklund's algorithm.
/// `None` unless `1 <= strokes <= pulses`. Toussaint 2005.
pub fn euclidean(strokes: usize, pulses: usize) -> Option<Vec<bool>> {
    if strokes == 0 || strokes > pulses {
        return None;
    }
    let mut heads = vec![vec![true]; strokes];
    let mut tails = vec![vec![false]; pulses - strokes];
    while tails.len() > 1 {
        let pairs = heads.len().min(tails.len());
        let left = match heads.len() > pairs {
            true => heads.split_off(pairs),
            false => tails.split_off(pairs),
        };
        for (head, tail) in heads.iter_mut().zip(&tails) {
            head.extend(tail);
        }
        tails = left;
    }
    heads.append(&mut tails);
    Some(heads.concat())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The six timelines in the order of the published figures: shiko, son, soukous, rumba, bossa, gahu.
    const TIMELINES: [&str; 6] = [
        "x...x.x...x.x...",
        "x..x..x...x.x...",
        "x..x..x...xx....",
        "x..x...x..x.x...",
        "x..x..x...x..x..",
        "x..x..x...x...x.",
    ];

    fn on(text: &str) -> Vec<bool> {
        text.bytes().map(|c| c == b'x').collect()
    }

    fn each<T>(measure: impl Fn(&[bool]) -> T) -> Vec<T> {
        TIMELINES.iter().map(|t| measure(&on(t))).collect()
    }

    #[test]
    fn intervals_are_those_of_toussaint_2004_figure_1() {
        let digits = |i: Vec<usize>| i.iter().map(ToString::to_string).collect::<String>();
        let expected = ["42424", "33424", "33415", "34324", "33433", "33442"];
        assert_eq!(each(|o| digits(intervals(o))), expected);
    }

    #[test]
    fn distinct_distances_are_those_of_toussaint_2013_figure_17_13() {
        assert_eq!(each(distinct_distances), [4, 5, 7, 6, 4, 7]);
    }

    #[test]
    fn npvi_is_that_of_toussaint_2013_figure_17_13() {
        let expected = [66.7, 40.5, 70.5, 41.0, 14.3, 23.8];
        for (value, printed) in each(npvi).into_iter().zip(expected) {
            assert!(
                (value.unwrap() - printed).abs() < 0.05,
                "{value:?} {printed}"
            );
        }
    }

    #[test]
    fn distinct_durations_are_those_of_toussaint_2013_figure_37_11() {
        assert_eq!(each(distinct_durations), [2, 3, 4, 3, 2, 3]);
    }

    #[test]
    fn rhythmic_oddity_is_that_of_toussaint_2013_figure_37_11() {
        assert_eq!(
            each(has_rhythmic_oddity),
            [false, true, false, true, true, false]
        );
    }

    #[test]
    fn off_beatness_is_that_of_gomez_et_al_2005_figure_8() {
        assert_eq!(each(off_beatness), [0, 1, 2, 2, 2, 1]);
    }

    #[test]
    fn keiths_measure_is_that_of_gomez_et_al_2005_figure_8() {
        assert_eq!(each(keith), [1, 2, 3, 2, 3, 3]);
    }

    #[test]
    fn wnbd_is_that_of_gomez_et_al_2005_figure_8() {
        let expected = [6.0, 14.0, 18.0, 18.0, 20.0, 18.0].map(|fifths| fifths / 5.0);
        for (value, printed) in each(|o| wnbd(o, 4)).into_iter().zip(expected) {
            assert!(
                (value.unwrap() - printed).abs() < 1e-12,
                "{value:?} {printed}"
            );
        }
    }

    #[test]
    fn euclidean_strings_are_those_of_toussaint_2005() {
        for (strokes, expected) in [
            (3, "x..x..x."),
            (5, "x.xx.xx."),
            (5, "x..x.x..x.x."),
            (7, "x.xx.x.xx.x."),
            (7, "x..x.x.x..x.x.x."),
            (9, "x.xx.x.x.xx.x.x."),
        ] {
            assert_eq!(
                euclidean(strokes, expected.len()),
                Some(on(expected)),
                "{expected}"
            );
        }
        // by its own intervals 3 3 3 3 4
        assert_eq!(intervals(&euclidean(5, 16).unwrap()), [3, 3, 3, 3, 4]);
        assert_eq!(euclidean(0, 8), None);
        assert_eq!(euclidean(9, 8), None);
        assert_eq!(euclidean(8, 8), Some(vec![true; 8]));
    }

    #[test]
    fn distances_between_the_claves() {
        // counted by hand; the swap distance of son and rumba: Toussaint 2004
        let (son, rumba) = (on(TIMELINES[1]), on(TIMELINES[3]));
        let turned = on("..x.x...x..x..x.");
        assert_eq!(hamming_distance(&son, &turned), Some(10));
        assert_eq!(hamming_distance(&son, &rumba), Some(2));
        assert_eq!(swap_distance(&son, &rumba), Some(1));
        assert_eq!(swap_distance(&son, &on("x..x")), None);
        // the son clave is the nearest to all others (Toussaint, Bridges 2002, abstract)
        let sums = each(|a| each(|b| swap_distance(a, b).unwrap()).iter().sum::<usize>());
        assert_eq!(sums.iter().min(), Some(&sums[1]));
    }

    #[test]
    fn evenness_is_one_for_a_regular_polygon_and_highest_for_the_bossa() {
        assert!((evenness(&on("x...x...x...x...")) - 1.0).abs() < 1e-12);
        // A square on the unit circle: two diagonals of 2 and four sides of √2; three strokes of it leave one
        // diagonal and two sides, by three times √3 for the even triangle.
        let expected = (2.0 + 2.0 * 2f64.sqrt()) / (3.0 * 3f64.sqrt());
        assert!((evenness(&on("x.x.x...")) - expected).abs() < 1e-12);
        // the bossa timeline is the most even of the six (Toussaint 2013)
        let values = each(evenness);
        assert!(values.iter().all(|v| *v <= values[4]));
    }
}
