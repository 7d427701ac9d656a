//! From what is played to what counts: the strong tones of a part, on the eighths of its bars.

use super::score::OnsetBits;
use crate::rhythm::{Grid, Line, Pattern, Stroke, Tone, Weight};

/// A part reduced to bars of eighths, with the way back to its own pulses.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SalientOnsets {
    grid: Grid,
    /// One entry a bar, on the eighths of the score.
    pub(super) bars: Vec<OnsetBits>,
    /// The accented ones of them.
    pub(super) accents: Vec<OnsetBits>,
    /// Bars where the low drum plays, where it is one drum of several.
    pub(super) low: Vec<OnsetBits>,
    /// Is it played on conga drums?
    pub(super) drummed: bool,
    /// Do bars with the same strong tones differ in light strokes?
    pub(super) light_differs: bool,
    /// Are triplets read as 6/8 over four beats?
    overlay: bool,
    /// What is struck on triplets, pulse by pulse; empty on the other grids, whose bars hold it all.
    triplets: Vec<Option<Weight>>,
}

/// Where the three pulses of a dotted beat stand among its four: the first, third and fourth, as the 6/8 claves turn
/// into those of 4/4 (Pérez-Fernández 1986; Gómez et al. 2007 on binarization; both from memory).
const OF_FOUR: [usize; 3] = [0, 2, 3];

impl SalientOnsets {
    /// Every pulse that is struck counts, none is accented.
    pub fn of_onsets(grid: Grid, onsets: &[bool]) -> SalientOnsets {
        if grid == Grid::Eighths {
            let bit = |bits: OnsetBits, on: &bool| bits >> 1 | OnsetBits::from(*on) << 7;
            let bars: Vec<OnsetBits> = onsets
                .chunks_exact(8)
                .map(|bar| bar.iter().fold(0, bit))
                .collect();
            return SalientOnsets {
                grid,
                accents: vec![0; bars.len()],
                bars,
                low: Vec::new(),
                drummed: false,
                light_differs: false,
                overlay: false,
                triplets: Vec::new(),
            };
        }
        SalientOnsets::of(grid, onsets.iter().map(|on| on.then_some(Weight::Plain)))
    }

    /// Every sound of a band line counts.
    pub fn of_line(line: &Line) -> SalientOnsets {
        SalientOnsets::of(
            line.grid(),
            line.cells().iter().map(|c| c.map(|h| h.weight)),
        )
    }

    /// The strokes that carry a conga part ([`Pattern::carrying`]). Those of the low drum, where it is one of several,
    /// are kept apart, since which side it marks is a matter of school.
    pub fn of_pattern(pattern: &Pattern) -> SalientOnsets {
        let drum = pattern.low_drum();
        let low = |s: &Stroke| Some(s.drum) == drum;
        SalientOnsets {
            low: SalientOnsets::of_strokes(pattern, low).bars,
            drummed: true,
            light_differs: light_differs(pattern),
            ..SalientOnsets::of_strokes(pattern, |s| !low(s))
        }
    }

    /// The open tones of a conga part alone, without the low drum where it is one of several.
    pub(super) fn of_open_tones(pattern: &Pattern) -> SalientOnsets {
        let low = pattern.low_drum();
        SalientOnsets::of_strokes(pattern, |s| s.tone == Tone::Open && Some(s.drum) != low)
    }

    /// Those of the strokes that carry a conga part that are `wanted`.
    fn of_strokes(pattern: &Pattern, wanted: impl Fn(&Stroke) -> bool) -> SalientOnsets {
        let mut cells = vec![None; pattern.pulses()];
        for (pulse, stroke) in pattern.carrying().filter(|(_, s)| wanted(s)) {
            cells[pulse] = Some(stroke.weight);
        }
        SalientOnsets::of(pattern.grid(), cells.into_iter())
    }

    fn of(grid: Grid, cells: impl ExactSizeIterator<Item = Option<Weight>>) -> SalientOnsets {
        let per = grid.pulses_per_bar();
        let bars = cells.len() / per;
        let mut salient = SalientOnsets {
            grid,
            bars: vec![0; bars],
            accents: vec![0; bars],
            low: Vec::new(),
            drummed: false,
            light_differs: false,
            overlay: false,
            triplets: Vec::new(),
        };
        if grid != Grid::Triplets {
            salient.mark(cells);
            return salient;
        }
        let cells: Vec<_> = cells.collect();
        let struck = || cells.iter().enumerate().filter(|(_, c)| c.is_some());
        salient.overlay = struck().all(|(p, _)| p % 2 == 0) && struck().any(|(p, _)| p % 3 != 0);
        salient.mark(cells.iter().copied());
        salient.triplets = cells;
        salient
    }

    /// Marks what is struck in the bars.
    fn mark(&mut self, cells: impl Iterator<Item = Option<Weight>>) {
        let per = self.grid.pulses_per_bar();
        let (mut bar, mut pulse) = (0, 0);
        for cell in cells.take(per * self.bars.len()) {
            if let (Some(weight), Some(eighth)) = (cell, self.eighth(pulse)) {
                self.bars[bar] |= 1 << eighth;
                if weight == Weight::Accent {
                    self.accents[bar] |= 1 << eighth;
                }
            }
            pulse += 1;
            if pulse == per {
                (bar, pulse) = (bar + 1, 0);
            }
        }
    }

    /// The eighth that a pulse of the bar counts for. Sixteenths between the eighths are ornaments and count for
    /// none. Triplets count for the nearest eighth, unless all of them lie on the 6/8 that goes over four beats.
    fn eighth(&self, pulse: usize) -> Option<usize> {
        let of_six = |p: usize| 4 * (p / 3) + OF_FOUR[p % 3];
        match self.grid {
            Grid::Eighths => Some(pulse),
            Grid::Sixteenths => pulse.is_multiple_of(2).then_some(pulse / 2),
            Grid::SixEight => Some(of_six(pulse)),
            Grid::Triplets if self.overlay => pulse.is_multiple_of(2).then(|| of_six(pulse / 2)),
            Grid::Triplets => Some(2 * (pulse / 3) + usize::from(!pulse.is_multiple_of(3))),
        }
    }

    /// The pulse of the whole part that stands for an eighth of a bar, a struck one where there is one; `None` where the
    /// grid has none there.
    pub(super) fn pulse(&self, bar: usize, eighth: usize) -> Option<usize> {
        let per = self.grid.pulses_per_bar();
        if self.grid == Grid::Eighths {
            return Some(bar * per + eighth);
        }
        let here = (0..per).filter(|p| self.eighth(*p) == Some(eighth));
        let mut here = here.map(|p| bar * per + p);
        let struck = |p: &usize| self.triplets.get(*p).is_some_and(Option::is_some);
        here.clone().find(struck).or(here.next())
    }

    /// A part on triplets with the pulse behind an eighth struck where it was left out, or left out where it was struck:
    /// that may change how all others are read.
    fn triplet_turned(&self, pulse: usize) -> SalientOnsets {
        let mut cells = self.triplets.clone();
        cells[pulse] = match cells[pulse] {
            Some(_) => None,
            None => Some(Weight::Plain),
        };
        let mut other = SalientOnsets::of(self.grid, cells.into_iter());
        other.low.clone_from(&self.low);
        other
    }

    /// Strikes an eighth that was left out, or takes away one that was struck, with its accent.
    fn turn(&mut self, bar: usize, eighth: usize) {
        self.bars[bar] ^= 1 << eighth;
        self.accents[bar] &= self.bars[bar];
    }

    /// What `look` makes of the part with one eighth turned, struck or left out, for those eighths of each bar that
    /// `wanted` asks for; 0 for the others.
    pub(super) fn each_turned(
        &self,
        wanted: impl Fn(u8) -> u8,
        look: impl Fn(&SalientOnsets) -> f64,
    ) -> Vec<[f64; 8]> {
        let mut probe = self.clone();
        let mut seen = vec![[0.0; 8]; self.bars.len()];
        for (bar, seen) in seen.iter_mut().enumerate() {
            let wanted = wanted(self.bars[bar]);
            for eighth in (0..8).filter(|e| wanted >> e & 1 == 1) {
                if self.grid == Grid::Triplets {
                    let pulse = self.pulse(bar, eighth);
                    seen[eighth] = pulse.map_or(0.0, |p| look(&self.triplet_turned(p)));
                    continue;
                }
                probe.turn(bar, eighth);
                seen[eighth] = look(&probe);
                probe.bars[bar] = self.bars[bar];
                probe.accents[bar] = self.accents[bar];
            }
        }
        seen
    }

    /// All that carries, the low drum with it, as onsets on the part's own pulses.
    pub fn onsets(&self) -> Vec<bool> {
        let mut onsets = vec![false; self.bars.len() * self.grid.pulses_per_bar()];
        for (bar, mask) in self.bars.iter().enumerate() {
            let mask = mask | self.low.get(bar).unwrap_or(&0);
            for eighth in (0..8).filter(|e| mask >> e & 1 == 1) {
                if let Some(pulse) = self.pulse(bar, eighth) {
                    onsets[pulse] = true;
                }
            }
        }
        onsets
    }

    /// The grid of the part.
    pub fn grid(&self) -> Grid {
        self.grid
    }

    /// Is it in six, by its grid or as 6/8 over four beats?
    pub(super) fn in_six(&self) -> bool {
        self.overlay || self.grid == Grid::SixEight
    }

    /// Are the strong tones the same in every bar?
    pub(super) fn is_one_bar(&self) -> bool {
        self.bars.iter().all(|b| *b == self.bars[0])
    }

    /// Is the low drum, where it is one of several, not the same in every bar?
    pub(super) fn low_differs(&self) -> bool {
        self.low.iter().any(|b| *b != self.low[0])
    }

    /// Number of strong tones.
    pub fn strokes(&self) -> u32 {
        self.bars.iter().map(|b| b.count_ones()).sum()
    }
}

/// Do the bars differ in their light strokes, hands left aside?
fn light_differs(pattern: &Pattern) -> bool {
    let light = |cell: &Option<Stroke>| {
        let stroke = cell.filter(|s| s.is_light())?;
        Some((stroke.drum, stroke.tone, stroke.weight))
    };
    let mut bars = pattern.cells().chunks(pattern.grid().pulses_per_bar());
    let first: Vec<_> = bars.next().unwrap_or_default().iter().map(light).collect();
    bars.any(|bar| bar.iter().map(light).ne(first.iter().copied()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clave::{Clave, Direction, Family};
    use crate::rhythm::notation::read_line;

    #[test]
    fn the_claves_in_six_reduce_to_those_in_four() {
        // The 6/8 claves are the ternary forms of those in 4/4 (Toussaint 2013).
        for family in Family::ALL {
            for direction in Direction::ALL {
                let clave = Clave { family, direction };
                let four = SalientOnsets::of_onsets(Grid::Eighths, &clave.onsets(Grid::Eighths));
                for grid in [Grid::SixEight, Grid::Triplets, Grid::Sixteenths] {
                    let other = SalientOnsets::of_onsets(grid, &clave.onsets(grid));
                    assert_eq!(other.bars, four.bars, "{grid:?} {clave}");
                }
            }
        }
    }

    #[test]
    fn the_tumbao_reduces_to_its_slap_and_open_tones() {
        let p = read_line("HTSTHTOO", Grid::Eighths).unwrap();
        assert_eq!(SalientOnsets::of_pattern(&p).bars, [0b1100_0100]);
        assert_eq!(SalientOnsets::of_open_tones(&p).bars, [0b1100_0000]);
        let p = read_line("HTST (O) >T O . ", Grid::Eighths).unwrap();
        let salient = SalientOnsets::of_pattern(&p);
        assert_eq!(
            (salient.bars[0], salient.accents[0]),
            (0b0110_0100, 0b0010_0000)
        );
    }

    #[test]
    fn the_low_drum_is_kept_apart_only_where_it_is_one_of_several() {
        let p = read_line("HTS tO HTOO", Grid::Eighths).unwrap();
        let salient = SalientOnsets::of_pattern(&p);
        assert_eq!(
            (salient.bars[0], salient.low[0]),
            (0b1100_0100, 0b0000_1000)
        );
        let p = read_line("... tO .. tO .", Grid::Eighths).unwrap();
        let salient = SalientOnsets::of_pattern(&p);
        assert_eq!((salient.bars[0], salient.low[0]), (0b0100_1000, 0));
    }

    #[test]
    fn a_bar_that_is_not_full_is_left_out() {
        for grid in Grid::ALL {
            let per = grid.pulses_per_bar();
            assert!(
                SalientOnsets::of_onsets(grid, &vec![true; per - 1])
                    .bars
                    .is_empty()
            );
            assert_eq!(
                SalientOnsets::of_onsets(grid, &vec![true; per + 1])
                    .bars
                    .len(),
                1
            );
        }
    }

    #[test]
    fn open_tones_of_the_low_drum_name_no_part() {
        let p = read_line("HTSTHT tO . | HTSTHTOO", Grid::Eighths).unwrap();
        assert_eq!(SalientOnsets::of_open_tones(&p).bars, [0, 0b1100_0000]);
    }

    #[test]
    fn swung_triplets_count_for_the_nearest_eighth() {
        let on = |text: &str| text.bytes().map(|c| c == b'x').collect::<Vec<_>>();
        let salient = SalientOnsets::of_onsets(Grid::Triplets, &on("x.x..x...xx."));
        assert_eq!(salient.bars, [0b1100_1011]);
    }

    #[test]
    fn every_struck_eighth_leads_back_to_a_pulse() {
        for grid in Grid::ALL {
            let salient = SalientOnsets::of_onsets(grid, &vec![true; grid.pulses_per_cycle()]);
            for (bar, mask) in salient.bars.iter().enumerate() {
                for eighth in (0..8).filter(|e| mask & (1 << e) != 0) {
                    let pulse = salient.pulse(bar, eighth).unwrap();
                    let per = grid.pulses_per_bar();
                    assert_eq!(salient.eighth(pulse % per), Some(eighth));
                    assert_eq!(pulse / per, bar);
                }
            }
        }
    }
}
