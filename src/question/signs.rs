//! What in the music says on which side of the clave a bar lies, found from what is shown alone: the answer is not
//! known here. That is what makes a sign a reason: if the other answer were right, it would say so.

use super::scene::{self, Scene};
use crate::clave::{Clave, Direction, Family, LowDrum, PartMatch, Side};
use crate::rhythm::{Drum, Grid, Instrument, Score, Stroke, Tone};
use std::ops::Range;

/// The sort of a sign.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum SignKind {
    /// The low drum comes in on one side only, and the school says on which.
    LowDrum,
    /// A tumbao with one open tone on 4 on one side and two, on 4 and 4&, on the other: the single one is the three
    /// side (Wikipedia, *Conga*).
    Opens,
    /// Piano or bell has 1 in the bars of one side only: these are the two side (common practice, no source: playing in
    /// clave).
    Downbeat(Instrument),
    /// An instrument of the band starts on the beat, 1 and 2, in the bars of one side only, and goes on without the
    /// bombo: the two side (common practice, no source: it holds of shell and bell, not of drums).
    Start(Instrument),
    /// Strokes that only one side has lie on strokes of the clave.
    Strokes(Voice),
    /// The part has a name, and its direction is known.
    Part(PartMatch),
}

/// Who plays: an instrument of the band, or the drums (`None`).
pub(super) type Voice = Option<Instrument>;

/// One sign.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Sign {
    pub what: SignKind,
    /// The bar that it speaks of.
    pub bar: usize,
    /// The side that it gives to this bar.
    pub side: Side,
    /// The strokes that it rests on; all of them are in the score, and no bar of the other side has the same.
    pub pulses: Vec<usize>,
}

impl Sign {
    /// The side that it gives to another bar: the sides take turns.
    pub fn side_of(&self, bar: usize) -> Side {
        Direction::starting(self.side).side(bar.abs_diff(self.bar))
    }
}

/// What is shown, and what a player knows besides: which clave it is, and where the school puts the low drum.
pub(super) struct SignContext<'a> {
    pub score: &'a Score,
    /// Bars that are more than a pattern to lean on.
    pub own: Range<usize>,
    pub family: Family,
    pub low_drum: Option<LowDrum>,
    /// The named part that the bars are.
    pub known: Option<PartMatch>,
}

impl<'a> SignContext<'a> {
    pub fn of(
        scene: &'a Scene,
        low_drum: Option<LowDrum>,
        known: Option<PartMatch>,
    ) -> Option<SignContext<'a>> {
        Some(SignContext {
            score: &scene.score,
            own: scene.own.clone(),
            family: scene.clave?.family,
            low_drum,
            known,
        })
    }

    fn grid(&self) -> Grid {
        self.score.grid
    }

    fn per(&self) -> usize {
        self.grid().pulses_per_bar()
    }

    /// The bars on the other side than `bar`.
    fn others(&self, bar: usize) -> impl Iterator<Item = usize> {
        (0..self.score.bars()).filter(move |b| b % 2 != bar % 2)
    }

    /// Who plays, those that keep the pattern of the band first: a drum over them may answer the clave.
    fn voices(&self) -> Vec<Voice> {
        use Instrument::{Bass, Bell, Piano, Shaker, Shell};
        let band = [Shell, Bell, Piano, Bass, Shaker].into_iter();
        let band = band.filter(|i| self.score.line(*i).is_some()).map(Some);
        band.chain(self.score.drums.iter().map(|_| None)).collect()
    }

    /// The pulses within a bar that carry a voice. The low drum, where it is one of several, tells a side only to a player
    /// who follows a school.
    fn strong(&self, voice: Voice, bar: usize) -> Vec<usize> {
        let per = self.per();
        match voice {
            None => self.carrying(bar, |s, low| self.low_drum.is_some() || Some(s.drum) != low),
            Some(instrument) => {
                let line = self.score.line(instrument);
                let sounds = |p: &usize| line.is_some_and(|l| l.at(bar * per + p).is_some());
                (0..per).filter(sounds).collect()
            }
        }
    }

    /// The pulses within a bar of the strokes that carry the drums and are `wanted`, told which is the low drum of
    /// several.
    fn carrying(&self, bar: usize, wanted: impl Fn(Stroke, Option<Drum>) -> bool) -> Vec<usize> {
        let Some(drums) = &self.score.drums else {
            return Vec::new();
        };
        let (per, low) = (self.per(), drums.low_drum());
        let here = |p: usize| p / per == bar % drums.bars();
        let carrying = drums.carrying();
        let carrying = carrying.filter(|(p, s)| here(*p) && wanted(*s, low));
        carrying.map(|(p, _)| p % per).collect()
    }

    /// The pulses within a bar that carry a voice there and in no bar of the other side.
    pub fn unlike(&self, voice: Voice, bar: usize) -> Vec<usize> {
        let others = self.others(bar);
        let there: Vec<usize> = others.flat_map(|b| self.strong(voice, b)).collect();
        let here = self.strong(voice, bar).into_iter();
        here.filter(|p| !there.contains(p)).collect()
    }

    /// What the clave strikes within a bar of a side.
    pub fn clave(&self, side: Side) -> Vec<usize> {
        let clave = Clave {
            family: self.family,
            direction: Direction::starting(side),
        };
        clave.struck(self.grid(), 0..self.per())
    }

    /// The strokes of a voice in a bar that lie on strokes of a side of the clave, within the bar.
    pub fn on_clave(&self, voice: Voice, bar: usize, side: Side) -> Vec<usize> {
        let clave = self.clave(side);
        let strong = self.strong(voice, bar).into_iter();
        strong.filter(|p| clave.contains(p)).collect()
    }

    fn at(&self, bar: usize, within: &[usize]) -> Vec<usize> {
        within.iter().map(|p| bar * self.per() + p).collect()
    }

    /// All signs, the one that decides first.
    pub fn signs(&self) -> Vec<Sign> {
        let mut signs = self.low_drum();
        signs.extend(self.opens());
        signs.extend(self.downbeat());
        signs.extend(self.start());
        let strokes = self.strokes();
        // A player listens for how a bar starts before counting strokes; where both say the same, the strokes that
        // only this side has say it more plainly.
        let agree = match (signs.first(), strokes.first()) {
            (Some(sign), Some(stroke)) => sign.side_of(stroke.bar) == stroke.side,
            _ => true,
        };
        let starts = matches!(signs.first(), Some(sign) if matches!(sign.what, SignKind::Start(_)));
        let first = if agree && starts { 0 } else { signs.len() };
        signs.splice(first..first, strokes);
        signs.extend(self.part());
        signs
    }

    fn low_drum(&self) -> Vec<Sign> {
        let (Some(school), Some(drums)) = (self.low_drum, &self.score.drums) else {
            return Vec::new();
        };
        let low = |bar: usize| self.carrying(bar, |s, low| Some(s.drum) == low);
        let bars = (0..drums.bars()).filter(|b| !low(*b).is_empty());
        let alone = |bar: &usize| self.others(*bar).all(|b| low(b).is_empty());
        bars.filter(alone)
            .map(|bar| Sign {
                what: SignKind::LowDrum,
                bar,
                side: school.side(),
                pulses: self.at(bar, &low(bar)),
            })
            .collect()
    }

    fn opens(&self) -> Vec<Sign> {
        let (Some(eighth), Some(drums)) = (scene::eighths(self.grid()), &self.score.drums) else {
            return Vec::new();
        };
        let (four, and) = (6 * eighth, 7 * eighth);
        let opens =
            |bar: usize| self.carrying(bar, |s, low| s.tone == Tone::Open && Some(s.drum) != low);
        let bars = drums.bars();
        let same_side = |bar: usize| (0..bars).filter(move |b| b % 2 == bar % 2);
        // A bar to lean on is no part of a tumbao that follows the clave.
        let whole = bars > 1 && self.own.len() == bars;
        let single = |bar: usize| {
            same_side(bar).all(|b| opens(b) == [four])
                && self.others(bar).all(|b| opens(b) == [four, and])
        };
        let Some(bar) = (0..bars.min(2)).find(|b| whole && single(*b)) else {
            return Vec::new();
        };
        let other = 1 - bar;
        let mut pulses = self.at(bar, &[four]);
        pulses.extend(self.at(other, &[four, and]));
        vec![Sign {
            what: SignKind::Opens,
            bar,
            side: Side::Three,
            pulses,
        }]
    }

    fn downbeat(&self) -> Vec<Sign> {
        if scene::eighths(self.grid()).is_none() {
            return Vec::new();
        }
        let of = |instrument: Instrument| -> Vec<Sign> {
            let Some(line) = self.score.line(instrument) else {
                return Vec::new();
            };
            let bars = self.score.bars();
            let stated = |bar: usize| line.at(bar * self.per()).is_some();
            let sign = |bar: usize, pulse: usize| Sign {
                what: SignKind::Downbeat(instrument),
                bar,
                side: if stated(bar) { Side::Two } else { Side::Three },
                pulses: self.at(bar, &[pulse]),
            };
            let first =
                |bar: usize| (0..self.per()).find(|p| line.at(bar * self.per() + p).is_some());
            match bars {
                // Some bells begin on 1 on either side: alone, only a bar that does not says something.
                1 if instrument == Instrument::Bell && stated(0) => Vec::new(),
                1 => first(0).map(|pulse| sign(0, pulse)).into_iter().collect(),
                _ => {
                    let apart = (0..bars).all(|b| stated(b) != stated(b + 1));
                    let all = (0..bars).filter(|_| apart && bars.is_multiple_of(2));
                    all.filter_map(|b| Some(sign(b, first(b)?))).collect()
                }
            }
        };
        [Instrument::Piano, Instrument::Bell]
            .into_iter()
            .flat_map(of)
            .collect()
    }

    fn start(&self) -> Vec<Sign> {
        let Some(eighth) = scene::eighths(self.grid()) else {
            return Vec::new();
        };
        let has = |voice: Voice, bar: usize, pulse: usize| {
            self.strong(voice, bar).contains(&(pulse * eighth))
        };
        let on_the_beat = |voice, bar| has(voice, bar, 0) && has(voice, bar, 2);
        let between = |voice, bar| has(voice, bar, 1) || has(voice, bar, 3);
        let of = |instrument: Instrument| {
            let voice = Some(instrument);
            let bars = self.own.clone().filter(move |bar| {
                let alone = !self.others(*bar).any(|b| on_the_beat(voice, b));
                alone && on_the_beat(voice, *bar) && !between(voice, *bar)
            });
            bars.map(move |bar| Sign {
                what: SignKind::Start(instrument),
                bar,
                side: Side::Two,
                pulses: self.at(bar, &[0, 2 * eighth]),
            })
        };
        self.voices().into_iter().flatten().flat_map(of).collect()
    }

    /// Strokes that only one side has, on strokes of the clave: they are for the direction in which more of them lie
    /// on it. A single bar that is no wiser for what it leaves out is taken with all its strokes.
    fn strokes(&self) -> Vec<Sign> {
        let of = |voice: Voice| {
            let own = self.own.clone();
            let unlike: Vec<_> = own.map(|b| (b, self.unlike(voice, b))).collect();
            let signs = self.on_one_side(voice, &unlike);
            match (&signs[..], self.own.len()) {
                ([], 1) => {
                    let bar = self.own.start;
                    self.on_one_side(voice, &[(bar, self.strong(voice, bar))])
                }
                _ => signs,
            }
        };
        self.voices().into_iter().flat_map(of).collect()
    }

    fn on_one_side(&self, voice: Voice, bars: &[(usize, Vec<usize>)]) -> Vec<Sign> {
        let locked = |direction: Direction| -> Vec<Sign> {
            let signs = bars.iter().filter_map(|(bar, strokes)| {
                let side = direction.side(*bar);
                let clave = self.clave(side);
                let within: Vec<usize> = strokes
                    .iter()
                    .copied()
                    .filter(|p| clave.contains(p))
                    .collect();
                (!within.is_empty()).then(|| Sign {
                    what: SignKind::Strokes(voice),
                    bar: *bar,
                    side,
                    pulses: self.at(*bar, &within),
                })
            });
            signs.collect()
        };
        let count = |signs: &[Sign]| signs.iter().map(|s| s.pulses.len()).sum::<usize>();
        let [two, three] = [Direction::TwoThree, Direction::ThreeTwo].map(locked);
        match count(&two).cmp(&count(&three)) {
            std::cmp::Ordering::Greater => two,
            std::cmp::Ordering::Less => three,
            std::cmp::Ordering::Equal => Vec::new(),
        }
    }

    fn part(&self) -> Option<Sign> {
        let known = self.known?;
        Some(Sign {
            what: SignKind::Part(known),
            bar: self.own.start,
            side: known.direction?.side(0),
            pulses: Vec::new(),
        })
    }
}
