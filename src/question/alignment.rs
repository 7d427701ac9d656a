//! A written row beside the right one: which strokes are exchanged, left out, added or moved, and whether all of it is shifted.

use crate::rhythm::{Grid, Tone, capital, counted};

/// The key of a rest in a written row.
pub const REST: char = '.';

/// What a whole row shifted costs, in single mistakes: more than one and less than two (chosen), so that one stroke out of
/// place is told as that stroke, and two and more that moved alike as a shift.
const SHIFT: f64 = 1.5;
/// What a stroke counts that is there, but on another pulse (chosen).
const HALF: f64 = 0.5;
/// Mistakes that are named; more are counted.
const NAMED: usize = 4;

/// One mistake. Pulses are those of the right row, from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mistake {
    /// Another sound than the right one.
    Exchanged {
        /// Where.
        pulse: usize,
        /// What was written.
        given: char,
    },
    /// A rest instead of a stroke.
    LeftOut {
        /// Where.
        pulse: usize,
    },
    /// A stroke instead of a rest.
    Added {
        /// Where.
        pulse: usize,
        /// What was written.
        given: char,
    },
    /// The right sound on another pulse.
    Moved {
        /// Where it belongs.
        from: usize,
        /// Where it was written.
        to: usize,
    },
}

/// A written row against the right one.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Comparison {
    /// By how many pulses the whole row comes late; negative: early; 0 where it is not shifted.
    pub shift: isize,
    /// What is wrong besides.
    pub mistakes: Vec<Mistake>,
    /// Strokes that are right and, but for the shift, in their place.
    pub kept: usize,
    /// Strokes of the right row.
    pub strokes: usize,
}

impl Comparison {
    /// Compares two rows of the same length, a letter or [`REST`] a pulse.
    ///
    /// Strokes are paired in their order at the least cost: another sound on the same pulse, the same sound up to a beat off,
    /// a stroke left out or one added cost one each, and a shift of the whole row [`SHIFT`]. A single mistake is the only
    /// reading of its row that costs one, so that it is told as what it is.
    pub fn new(right: &str, given: &str, beat: usize) -> Comparison {
        let right: Vec<char> = right.chars().collect();
        let given: Vec<char> = given.chars().collect();
        let n = right.len() as isize;
        let mut shifts: Vec<isize> = (1 - n..n).collect();
        shifts.sort_by_key(|k| (k.abs(), -k));
        shifts.retain(|k| k.abs() <= (n / 2).max(1));
        let shifted = shifts.into_iter().map(|shift| {
            let at = |p: isize| given.get((p + shift).rem_euclid(n) as usize).copied();
            let back: Vec<char> = (0..n).filter_map(at).collect();
            let (mistakes, kept) = aligned(&right, &back, beat);
            Comparison {
                shift,
                mistakes,
                kept,
                strokes: right.iter().filter(|k| **k != REST).count(),
            }
        });
        let cost =
            |c: &Comparison| c.mistakes.len() as f64 + if c.shift == 0 { 0.0 } else { SHIFT };
        let best = shifted.min_by(|a, b| cost(a).total_cmp(&cost(b)));
        best.unwrap_or_default()
    }

    /// Strokes that the answer is counted by: those that there should be, and those that should not.
    pub fn counted(&self) -> usize {
        let added = |m: &&Mistake| matches!(m, Mistake::Added { .. });
        self.strokes + self.mistakes.iter().filter(added).count()
    }

    /// Strokes that stand where they should.
    pub fn hits(&self) -> usize {
        if self.shift == 0 { self.kept } else { 0 }
    }

    /// The share that is right, 0 to 1: a stroke in its place counts whole, one on another pulse half, one with another sound
    /// nothing, and all of a shifted row half again.
    pub fn share(&self) -> f64 {
        let moved = |m: &&Mistake| matches!(m, Mistake::Moved { .. });
        let moved = self.mistakes.iter().filter(moved).count() as f64;
        let worth = if self.shift == 0 { 1.0 } else { HALF };
        worth * (self.kept as f64 + HALF * moved) / self.counted().max(1) as f64
    }

    /// What is wrong, as a sentence; `None` where nothing is.
    pub fn in_words(&self, right: &str, grid: Grid, bars: usize) -> Option<String> {
        if self.shift == 0 && self.mistakes.is_empty() {
            return None;
        }
        let at = |pulse: usize| grid.spoken_in(bars, pulse);
        let due = |pulse: usize| name(right.chars().nth(pulse).unwrap_or(REST));
        let mut said: Vec<String> = Vec::new();
        match self.shift {
            0 => {}
            k if k.unsigned_abs() == grid.pulses_per_bar() => {
                said.push("the bars are the wrong way round".into());
            }
            k => {
                let pulses = counted(k.unsigned_abs(), "pulse");
                let way = if k > 0 { "late" } else { "early" };
                said.push(format!("all of it comes {pulses} {way}"));
            }
        }
        for mistake in self.mistakes.iter().take(NAMED) {
            said.push(match *mistake {
                Mistake::Exchanged { pulse, given } => {
                    let (at, given) = (at(pulse), name(given));
                    format!("on {at} {given} instead of {}", due(pulse))
                }
                Mistake::LeftOut { pulse } => {
                    format!("{} on {} is left out", due(pulse), at(pulse))
                }
                Mistake::Added { pulse, given } => {
                    format!("{} on {} is one too many", name(given), at(pulse))
                }
                Mistake::Moved { from, to } => {
                    format!("{} on {} comes on {}", due(from), at(from), at(to))
                }
            });
        }
        if self.mistakes.len() > NAMED {
            said.push(format!("and {} more", self.mistakes.len() - NAMED));
        }
        Some(capital(&said.join("; ")) + ".")
    }
}

fn name(key: char) -> String {
    match Tone::from_letter(key.to_ascii_uppercase()) {
        Some(tone) => tone.name().to_string(),
        None => "a rest".into(),
    }
}

/// The mistakes of a row that is not shifted, and how many strokes are in their place: the cheapest pairing that keeps the
/// order of strokes. Of pairings that cost the same, the one that keeps more.
fn aligned(right: &[char], given: &[char], beat: usize) -> (Vec<Mistake>, usize) {
    let strokes = |row: &[char]| -> Vec<(usize, char)> {
        let all = row.iter().copied().enumerate();
        all.filter(|(_, key)| *key != REST).collect()
    };
    let (right, given) = (strokes(right), strokes(given));
    // Cost of a pair; `None` where the two cannot be the same stroke.
    let pair = |i: usize, j: usize| {
        let ((p, a), (q, b)) = (right[i], given[j]);
        match (p == q, a == b) {
            (true, true) => Some(0usize),
            (true, false) => Some(1),
            (false, true) if p.abs_diff(q) <= beat => Some(1),
            (false, _) => None,
        }
    };
    let (m, n) = (right.len(), given.len());
    let mut cost = vec![vec![0usize; n + 1]; m + 1];
    for i in (0..=m).rev() {
        for j in (0..=n).rev() {
            if i == m || j == n {
                cost[i][j] = (m - i) + (n - j);
                continue;
            }
            let alone = 1 + cost[i + 1][j].min(cost[i][j + 1]);
            let both = pair(i, j).map_or(usize::MAX, |c| c + cost[i + 1][j + 1]);
            cost[i][j] = both.min(alone);
        }
    }
    let (mut i, mut j, mut kept, mut mistakes) = (0, 0, 0, Vec::new());
    while i < m || j < n {
        let both = (i < m && j < n).then(|| pair(i, j)).flatten();
        match both {
            Some(c) if cost[i][j] == c + cost[i + 1][j + 1] => {
                let ((from, _), (to, given)) = (right[i], given[j]);
                match (c, from == to) {
                    (0, _) => kept += 1,
                    (_, true) => mistakes.push(Mistake::Exchanged { pulse: from, given }),
                    (_, false) => mistakes.push(Mistake::Moved { from, to }),
                }
                (i, j) = (i + 1, j + 1);
            }
            _ if i < m && cost[i][j] == 1 + cost[i + 1][j] => {
                mistakes.push(Mistake::LeftOut { pulse: right[i].0 });
                i += 1;
            }
            _ => {
                let (pulse, given) = given[j];
                mistakes.push(Mistake::Added { pulse, given });
                j += 1;
            }
        }
    }
    (mistakes, kept)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::question::Draw;

    fn compared(right: &str, given: &str) -> Comparison {
        Comparison::new(right, given, 2)
    }

    const LETTERS: [char; 7] = ['o', 's', 'c', 'm', 'b', 'h', 't'];

    /// A random bar of eight pulses with three to seven strokes.
    fn bar(draw: &mut Draw) -> Vec<char> {
        loop {
            let fill = 0.3 + 0.6 * draw.unit();
            let row: Vec<char> = (0..8)
                .map(|_| match draw.chance(fill) {
                    true => draw.pick(&LETTERS).unwrap_or('o'),
                    false => REST,
                })
                .collect();
            let strokes = row.iter().filter(|k| **k != REST).count();
            if (3..8).contains(&strokes) {
                return row;
            }
        }
    }

    fn text(row: &[char]) -> String {
        row.iter().collect()
    }

    /// 1,000 random edits: each is told as what was done.
    #[test]
    fn each_edit_of_a_bar_gets_the_verdict_that_it_deserves() {
        let mut draw = Draw::new(42);
        let mut done = [0; 4];
        while done.iter().sum::<usize>() < 1000 {
            let right = bar(&mut draw);
            let mut given = right.clone();
            let at = |rest: bool| -> Vec<usize> {
                (0..8).filter(|p| (right[*p] == REST) == rest).collect()
            };
            let edit = draw.below(4);
            let expected = match edit {
                0 => {
                    let pulse = draw.pick(&at(false)).unwrap();
                    let others: Vec<char> =
                        LETTERS.into_iter().filter(|k| *k != right[pulse]).collect();
                    given[pulse] = draw.pick(&others).unwrap();
                    Mistake::Exchanged {
                        pulse,
                        given: given[pulse],
                    }
                }
                1 => {
                    let pulse = draw.pick(&at(false)).unwrap();
                    given[pulse] = REST;
                    Mistake::LeftOut { pulse }
                }
                2 => {
                    let pulse = draw.pick(&at(true)).unwrap();
                    given[pulse] = draw.pick(&LETTERS).unwrap();
                    Mistake::Added {
                        pulse,
                        given: given[pulse],
                    }
                }
                _ => {
                    let by = 1 + draw.below(3);
                    let late = draw.chance(0.5);
                    match late {
                        true => given.rotate_right(by),
                        false => given.rotate_left(by),
                    }
                    // A bar that is the same begun earlier or later is no other bar.
                    if given == right {
                        continue;
                    }
                    let by = by as isize;
                    let found = compared(&text(&right), &text(&given));
                    // Where a shorter way says as much, as with O . O . O . S ., it is the one that is told.
                    let told = if late { by } else { -by };
                    let simple = found.shift == 0 && found.mistakes.len() == 1;
                    assert!(
                        found.shift == told || simple,
                        "{right:?} {given:?} {found:?}"
                    );
                    assert!(simple || found.mistakes.is_empty());
                    assert!(found.hits() == 0 || simple);
                    done[3] += 1;
                    continue;
                }
            };
            let found = compared(&text(&right), &text(&given));
            assert_eq!((found.shift, &found.mistakes[..]), (0, &[expected][..]));
            let lost = usize::from(edit < 2);
            assert_eq!(found.kept, found.strokes - lost, "{right:?} {given:?}");
            assert!(found.share() < 1.0);
            done[edit] += 1;
        }
        assert!(done.iter().all(|n| *n > 150), "{done:?}");
    }

    #[test]
    fn a_bar_that_is_right_has_no_mistake() {
        let mut draw = Draw::new(7);
        for _ in 0..200 {
            let row = text(&bar(&mut draw));
            let found = compared(&row, &row);
            assert!(found.mistakes.is_empty() && found.shift == 0 && found.share() == 1.0);
            assert_eq!(found.in_words(&row, Grid::Eighths, 1), None);
        }
    }

    /// Cases counted by hand.
    #[test]
    fn mistakes_are_told_in_words() {
        let said = |given: &str| {
            let found = compared("htstotoo", given);
            let text = found.in_words("htstotoo", Grid::Eighths, 1);
            (text.unwrap(), found.share())
        };
        assert_eq!(
            said("htototoo"),
            ("On 2 open tone instead of slap.".into(), 7.0 / 8.0)
        );
        assert_eq!(
            said("htstoto."),
            ("Open tone on 4& is left out.".into(), 7.0 / 8.0)
        );
        assert_eq!(
            said("ohtstoto"),
            ("All of it comes 1 pulse late.".into(), 0.5)
        );
        assert_eq!(
            said("tstotooh"),
            ("All of it comes 1 pulse early.".into(), 0.5)
        );
        assert_eq!(said("........").1, 0.0);
        let two = Comparison::new("htstht.o.t......", ".t......htstht.o", 2);
        let text = two.in_words("htstht.o.t......", Grid::Eighths, 2);
        assert_eq!(text.unwrap(), "The bars are the wrong way round.");
        let moved = compared("h.s...o.", "h.s....o");
        let text = moved.in_words("h.s...o.", Grid::Eighths, 1);
        assert_eq!(text.unwrap(), "Open tone on 4 comes on 4&.");
        let added = compared("h.s...o.", "h.s.t.o.");
        assert_eq!(added.share(), 3.0 / 4.0);
    }

    #[test]
    fn no_rows_are_compared_without_a_panic() {
        assert_eq!(compared("", "").share(), 0.0);
        assert_eq!(compared("...", "...").mistakes, []);
        assert!(compared("h.", "").share() < 1.0);
    }
}
