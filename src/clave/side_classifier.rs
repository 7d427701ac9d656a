//! How a part is read: by its name where it has one, by the free score where it has none.

use super::cue::{Cue, CueKind};
use super::name::Name;
use super::salient_onsets::SalientOnsets;
use super::score::{SalienceWeights, logistic};
use super::{
    BarReading, Classes, Direction, PartMatch, Reading, Side, SideVerdict, WEIGHTS, part,
    part_match,
};
use crate::rhythm::{Grid, Line, Pattern, Score};
use serde::{Deserialize, Serialize};

/// The side on which a school brings in the low drum of a two-drum tumbao. Schools differ; a deck declares its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LowDrum {
    /// The low drum comes in on the three side.
    OnThreeSide,
    /// The low drum comes in on the two side.
    OnTwoSide,
}

impl LowDrum {
    /// The side on which the low drum comes in.
    pub const fn side(self) -> Side {
        match self {
            LowDrum::OnThreeSide => Side::Three,
            LowDrum::OnTwoSide => Side::Two,
        }
    }
}

/// How to listen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SideClassifier {
    /// Know the named parts? Without them the free score alone speaks.
    pub named_parts: bool,
    /// What a low drum in one bar only means; `None`: nothing.
    pub low_drum: Option<LowDrum>,
    /// The numbers of the free score.
    pub weights: &'static SalienceWeights,
}

impl Default for SideClassifier {
    fn default() -> SideClassifier {
        SideClassifier {
            named_parts: true,
            low_drum: None,
            weights: &WEIGHTS,
        }
    }
}

/// Log odds of a named part in its exact form. Common practice, no source: every player hears it.
const KNOWN: f64 = 6.0;
/// Log odds of a named part with one stroke changed, and the most that the free score may add or take.
const NEARLY_KNOWN: f64 = 3.0;
const NEARLY_KNOWN_FREE: f64 = 2.0;
/// Share of the free score of the accents alone, added to that of all strong tones. Common practice, no source: the
/// data behind the score has no accents.
const ACCENT_SHARE: f64 = 0.3;
/// Log odds of a low drum in one bar only, where a school is declared. Common practice, no source.
pub(super) const LOW_DRUM: f64 = 3.0;
/// Probabilities (stated, neutral, crossed) of bars that are all the same: of 132 rows of the data whose two bars are
/// the same 130 are called neutral and 2 incoherent; one half is added to each count.
const ALL_THE_SAME: [f64; 3] = [0.5 / 133.5, 130.5 / 133.5, 2.5 / 133.5];
/// The same for named parts that state a side, exact and nearly.
const STATED_BY_NAME: [f64; 3] = [0.97, 0.01, 0.02];
const STATED_BY_NEARLY: [f64; 3] = [0.9, 0.03, 0.07];
/// The same for a named pattern that states no side as it is played: even odds, of which none is a verdict. Our own.
const NAMED_WITHOUT_SIDE: [f64; 3] = [0.5, 0.25, 0.25];
/// Most log odds of the free score where it may lean but never decide (.587), and its log odds at which three quarters of that are
/// reached: for a named part begun elsewhere, and in six, since the data behind the score has bars in four only. Our own.
const LEAN: f64 = 0.35;
const LEAN_MOST: f64 = 8.0;
/// Fewest strong tones that make a verdict.
pub(super) const FEWEST: u32 = 2;
/// A part is called crossed only where that is this many times as likely as either direction: players hear a side in
/// cáscara and in rumba clave. This and [`SURE`] were chosen on two of the five folds of `benches/fit_side.rs` among 1, 1.25,
/// 1.5 and 2, and .5, .6, .65 and .7, by the four classes.
const CROSSED_ODDS: f64 = 1.5;
/// Below this probability of the likelier direction nothing is called.
const SURE: f64 = 0.6;
/// Below this probability a single bar leans to no side.
const LEANS: f64 = 0.7;

impl SideClassifier {
    /// Reads a conga part. It is first reduced to its strong tones; where its open tones alone are a named part,
    /// these are read.
    pub fn pattern(&self, pattern: &Pattern) -> Reading {
        let mut open = SalientOnsets::of_open_tones(pattern);
        let salient = SalientOnsets::of_pattern(pattern);
        // open tones that fit both sides say nothing of slaps that differ from bar to bar, and nothing of a single bar
        let plain = salient.bars.len() > 1 && salient.is_one_bar();
        let drummed = |k: PartMatch| part(k.name).is_some_and(|p| p.instrument.is_none());
        let speaks =
            |k: PartMatch| k.distance == 0 && (k.direction.is_some() || plain && drummed(k));
        if self.named_parts && open.strokes() > 0 && part_match::find(&open).is_some_and(speaks) {
            open.low = salient.low;
            open.light_differs = salient.light_differs;
            return self.read(&open);
        }
        self.read(&salient)
    }

    /// Reads a line of the band.
    pub fn line(&self, line: &Line) -> Reading {
        self.read(&SalientOnsets::of_line(line))
    }

    /// Reads onsets without accents.
    ///
    /// The onsets must be a whole, positive number of bars; a bar that is not full is left out.
    pub fn onsets(&self, grid: Grid, onsets: &[bool]) -> Reading {
        self.read(&SalientOnsets::of_onsets(grid, onsets))
    }

    /// Reads the parts of a score one by one, the drums first, and keeps the clearest. Two parts that state
    /// opposite directions make it crossed.
    pub fn score(&self, score: &Score) -> Reading {
        let drums = score.drums.iter().map(|p| self.pattern(p));
        let all: Vec<Reading> = drums
            .chain(score.lines.iter().map(|l| self.line(l)))
            .collect();
        let called = |d: Direction| all.iter().any(|r| r.verdict == d.into());
        let crossed = called(Direction::ThreeTwo) && called(Direction::TwoThree);
        let clear = |r: &Reading| match r.verdict.direction() {
            Some(_) => r.margin.abs() + 1.0,
            None => 0.0,
        };
        let best = all
            .into_iter()
            .reduce(|a, b| if clear(&b) > clear(&a) { b } else { a });
        let mut best = best.unwrap_or_else(|| {
            self.onsets(score.grid, &vec![false; score.grid.pulses_per_cycle()])
        });
        if crossed {
            best.verdict = SideVerdict::Crossed;
            best.bars.iter_mut().for_each(|b| b.side = None);
            best.cues.insert(0, Cue::whole(CueKind::BothWays));
        }
        best
    }

    /// Log odds of 3-2 against 2-3 by the free score alone; for a single bar those of the three side, by itself.
    pub(super) fn free(&self, salient: &SalientOnsets) -> f64 {
        let weights = self.weights;
        let free = |bars: &[u8]| match bars {
            [] => 0.0,
            [one] => weights.bar_slope * weights.bar(*one),
            _ => weights.margin(bars),
        };
        let mut margin = free(&salient.bars);
        if salient.accents.iter().any(|a| *a != 0) && salient.accents != salient.bars {
            margin += ACCENT_SHARE * free(&salient.accents);
        }
        margin
    }

    /// Log odds of 3-2 against 2-3, or for a single bar of the three side, with all that is known.
    fn margin(&self, salient: &SalientOnsets, name: &Name) -> f64 {
        let free = self.free(salient);
        let margin = match name {
            Name::Part(PartMatch {
                direction: Some(direction),
                distance,
                ..
            }) => {
                let sign = direction.sign();
                match distance {
                    0 => KNOWN * sign,
                    _ => NEARLY_KNOWN * sign + free.clamp(-NEARLY_KNOWN_FREE, NEARLY_KNOWN_FREE),
                }
            }
            Name::NoSide(_) => lean(free),
            Name::Part(_) if salient.bars.len() < 2 => 0.0,
            Name::Halves(halves) => match halves[..] {
                [half, ..] if halves.iter().all(|h| h.side == half.side) => {
                    NEARLY_KNOWN * Direction::starting(half.side).sign()
                }
                _ => 0.0,
            },
            Name::None if salient.in_six() => lean(free),
            Name::Part(_) | Name::None => free,
        };
        margin + self.low_drum(salient).map_or(0.0, |d| LOW_DRUM * d.sign())
    }

    /// The direction of a low drum that plays in odd or in even bars only, by the declared school. A single bar with the
    /// low drum is taken for one of two, of which the other is without.
    pub(super) fn low_drum(&self, salient: &SalientOnsets) -> Option<Direction> {
        let side = self.low_drum?.side();
        let plays = |first: usize| salient.low.iter().skip(first).step_by(2).any(|b| *b != 0);
        match (plays(0), plays(1)) {
            (true, false) => Some(Direction::starting(side)),
            (false, true) => Some(Direction::starting(side.other())),
            _ => None,
        }
    }

    /// Reads what is left of a part after its reduction.
    pub fn read(&self, salient: &SalientOnsets) -> Reading {
        let weights = self.weights;
        let bars = &salient.bars;
        let name = match self.named_parts {
            true => Name::of(salient),
            false => Name::None,
        };
        let margin = self.margin(salient, &name);
        let forward = logistic(margin);
        let single = bars.len() < 2;
        let low_drum = self.low_drum(salient);
        let same = salient.is_one_bar();
        let stated = match name {
            _ if same && low_drum.is_some() && !single => STATED_BY_NEARLY,
            _ if same => ALL_THE_SAME,
            Name::Part(k) if k.direction.is_some() && k.distance == 0 => STATED_BY_NAME,
            Name::Part(k) if k.direction.is_some() => STATED_BY_NEARLY,
            Name::NoSide(_) if low_drum.is_none() => NAMED_WITHOUT_SIDE,
            _ => weights.stated(&weights.votes(bars)),
        };
        let way = if single { 0.5 } else { forward };
        let classes = Classes {
            three_two: stated[0] * way,
            two_three: stated[0] * (1.0 - way),
            neutral: stated[1],
            crossed: stated[2],
        };
        let verdict = self.verdict(salient, &classes, way);
        let bars = bars
            .iter()
            .enumerate()
            .map(|(i, bar)| {
                let three = match name {
                    Name::Halves(_) | Name::Part(_) if single => forward,
                    _ if single && low_drum.is_some() => forward,
                    _ => logistic(weights.bar_slope * weights.bar(*bar)),
                };
                let alone = || {
                    let side = if three > 0.5 { Side::Three } else { Side::Two };
                    (three.max(1.0 - three) >= LEANS && (*bar != 0 || low_drum.is_some()))
                        .then_some(side)
                };
                let side = match verdict.direction() {
                    _ if single => alone(),
                    Some(direction) => Some(direction.side(i)),
                    None => None,
                };
                BarReading { side, three }
            })
            .collect();
        let mut reading = Reading {
            grid: salient.grid(),
            verdict,
            margin,
            forward: way,
            classes,
            bars,
            known: name.part().filter(|_| !single),
            no_side: name.no_side(),
            cues: Vec::new(),
        };
        reading.cues = self.cues(salient, &reading, &name);
        reading
    }

    fn verdict(&self, salient: &SalientOnsets, classes: &Classes, forward: f64) -> SideVerdict {
        let strokes = salient.strokes() + salient.low.iter().map(|b| b.count_ones()).sum::<u32>();
        if strokes < FEWEST {
            return SideVerdict::Unsure;
        }
        let ranked = [
            (classes.three_two, SideVerdict::ThreeTwo),
            (classes.two_three, SideVerdict::TwoThree),
            (classes.neutral, SideVerdict::Neutral),
            (classes.crossed / CROSSED_ODDS, SideVerdict::Crossed),
        ];
        let best = ranked
            .into_iter()
            .reduce(|a, b| if b.0 > a.0 { b } else { a });
        match best.map(|b| b.1) {
            Some(verdict) if verdict.direction().is_some() && forward.max(1.0 - forward) < SURE => {
                SideVerdict::Unsure
            }
            Some(verdict) => verdict,
            None => SideVerdict::Unsure,
        }
    }
}

/// Log odds of the free score where it may only lean.
fn lean(free: f64) -> f64 {
    LEAN * (free / LEAN_MOST).tanh()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clave::{PARTS, part, read_onsets};
    use crate::rhythm::notation::read_line;

    #[test]
    fn every_named_part_reads_as_the_table_says_in_both_directions() {
        for part in PARTS {
            for direction in Direction::ALL {
                let onsets = part.onsets(direction);
                let reading = SideClassifier::default().onsets(part.grid, &onsets);
                let expected = match part.states_side {
                    true => direction.into(),
                    false => SideVerdict::Neutral,
                };
                assert_eq!(reading.verdict, expected, "{} {direction:?}", part.name);
            }
        }
    }

    #[test]
    fn swapping_the_bars_turns_the_reading() {
        for text in [
            "x..x..x...x.x...",
            ".x.xx.x.x.x..x.x",
            "xx.x..x.x.xx.x..",
            "..xx.x.x.xx.x...",
        ] {
            let a = read_onsets(text).unwrap();
            let b = read_onsets(&format!("{}{}", &text[8..], &text[..8])).unwrap();
            assert!((a.margin + b.margin).abs() < 1e-9, "{text}");
            assert!((a.classes.three_two - b.classes.two_three).abs() < 1e-9);
            assert!((a.classes.crossed - b.classes.crossed).abs() < 1e-9);
        }
    }

    #[test]
    fn too_little_is_no_call_and_one_bar_is_neutral() {
        assert_eq!(
            read_onsets("................").unwrap().verdict,
            SideVerdict::Unsure
        );
        assert_eq!(
            read_onsets("...x............").unwrap().verdict,
            SideVerdict::Unsure
        );
        let bar = part("tresillo").unwrap().onsets(Direction::ThreeTwo);
        assert_eq!(
            SideClassifier::default()
                .onsets(Grid::Eighths, &bar)
                .verdict,
            SideVerdict::Neutral
        );
        assert_eq!(
            read_onsets("x..x..x.x..x..x.").unwrap().verdict,
            SideVerdict::Neutral
        );
    }

    #[test]
    fn the_open_tones_of_the_tumbao_are_read_first() {
        // 3-2: one open tone on 4 of the three side, two at the end of the two side (Wikipedia, Conga)
        let p = read_line("HTSTHTOT | HTSTHTOO", Grid::Eighths).unwrap();
        let reading = SideClassifier::default().pattern(&p);
        assert_eq!(reading.verdict, SideVerdict::ThreeTwo);
        let p = read_line("HTSTHTOO | HTSTHTOO", Grid::Eighths).unwrap();
        assert_eq!(
            SideClassifier::default().pattern(&p).verdict,
            SideVerdict::Neutral
        );
    }

    #[test]
    fn the_low_drum_counts_by_the_declared_school_only() {
        let p = read_line("HTS tO HTOO | HTSTHTOO", Grid::Eighths).unwrap();
        let classifier = |low_drum| SideClassifier {
            low_drum,
            ..SideClassifier::default()
        };
        assert_eq!(classifier(None).pattern(&p).verdict, SideVerdict::Neutral);
        let three = classifier(Some(LowDrum::OnThreeSide)).pattern(&p);
        let two = classifier(Some(LowDrum::OnTwoSide)).pattern(&p);
        assert_eq!(
            (three.verdict, two.verdict),
            (SideVerdict::ThreeTwo, SideVerdict::TwoThree)
        );
        let both = read_line("HTS tO HTOO", Grid::Eighths).unwrap();
        assert_eq!(
            classifier(Some(LowDrum::OnThreeSide))
                .pattern(&both)
                .verdict,
            SideVerdict::Neutral
        );
    }
}
