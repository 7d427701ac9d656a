//! Finding the reasons of a reading in its bars.

use super::Side::{self, Three, Two};
use super::cue::{Change, Cue, CueKind};
use super::salient_onsets::SalientOnsets;
use super::{Direction, PartMatch, SideClassifier};

/// A figure in one bar: eighths struck, eighths left out, the side it speaks for, and how a player says it: `{}` stands
/// for the counts struck, `{e}` for those left out, `{struck}` for struck or accented.
struct Figure {
    struck: u8,
    empty: u8,
    side: Side,
    words: &'static str,
    /// Are the words true in six too?
    in_six: bool,
}

/// Figures that players listen for: the clave's own definition; the bar that states the downbeat is the two side
/// (published articles on playing in clave); the bombo; one open tone on 4 of the
/// three side, two at the end of the two side (Wikipedia, Conga); on and off the beat by halves of the bar (Vurkaç 2012).
#[rustfmt::skip]
const FIGURES: &[Figure] = &[
    figure("-.x.x...", Two, "strokes on {} and nothing on {e}", true),
    figure("x..x..x.", Three, "strokes on {} as in the clave", true),
    figure("x..x...x", Three, "strokes on {} as in the rumba clave", true),
    figure("-..x....", Three, "nothing on {e}, the bombo ({}) {struck}", false),
    figure(".x.x....", Three, "it starts off the beat ({})", false),
    figure("....x.x.", Three, "it comes home to the beat ({})", false),
    figure("x.x.....", Two, "it starts on the beat ({})", false),
    figure(".....x.x", Two, "it leaves the beat ({})", false),
    figure("x..-....", Two, "the downbeat {struck} and nothing on {e}", true),
    figure("...x....", Three, "the bombo ({}) {struck}", false),
    figure("......x-", Three, "a stroke on {} and none on {e}", false),
    figure("......xx", Two, "strokes on {}, which lead on to the three side", false),
];

/// A figure from its bar in eighths: `x` is struck, `-` left out, `.` is either.
const fn figure(bar: &str, side: Side, words: &'static str, in_six: bool) -> Figure {
    let (mut struck, mut empty, mut eighth) = (0, 0, 0);
    while eighth < bar.len() {
        match bar.as_bytes()[eighth] {
            b'x' => struck |= 1 << eighth,
            b'-' => empty |= 1 << eighth,
            _ => {}
        }
        eighth += 1;
    }
    Figure {
        struck,
        empty,
        side,
        words,
        in_six,
    }
}

/// Cues of less weight than this are not worth a word (log odds).
const WORTH_SAYING: f64 = 0.3;
/// What speaks against the margin is worth a word from this weight on, even where much else is stronger (log odds).
const WORTH_OBJECTING: f64 = 1.0;
/// The strokes of both claves on each side, as eighths; none is on both sides.
const OF_THREE_SIDE: u8 = 0b1100_1001;
const OF_TWO_SIDE: u8 = 0b0001_0100;
/// Weight of what follows from the name of a part (log odds). Common practice, no source: every player hears it.
const NAMED: f64 = 3.0;
/// Most cues of strokes in one reading.
const MOST: usize = 4;

/// A cue before it is put into words and pulses.
#[derive(Clone, Copy)]
struct FigureSign {
    kind: CueKind,
    bar: usize,
    direction: Direction,
    struck: u8,
    empty: u8,
    weight: f64,
}

/// Eighths of a mask, in order.
fn eighths(mask: u8) -> impl Iterator<Item = usize> {
    (0..8).filter(move |e| mask >> e & 1 == 1)
}

/// How far each eighth of each bar moves the free score as it is, struck or left out: positive towards 3-2, in log odds. 0
/// where it is left out and no figure asks for that.
pub(super) fn pulls(salient: &SalientOnsets, classifier: &SideClassifier) -> Vec<[f64; 8]> {
    let left_out = FIGURES.iter().fold(0, |all, figure| all | figure.empty);
    let free = classifier.free(salient);
    salient.each_turned(|bar| bar | left_out, |other| free - classifier.free(other))
}

/// The cue of a named part: its own strokes, and where what is played differs from it.
pub(super) fn of_part(salient: &SalientOnsets, known: PartMatch) -> Cue {
    let own = known.bars(salient.in_six());
    let pulses = |bits: fn(u8, u8) -> u8| -> Vec<usize> {
        let bars = salient.bars.iter().enumerate();
        let at = |(i, bar): (usize, &u8)| {
            let struck = eighths(bits(own[i % 2], *bar));
            struck
                .filter_map(move |e| salient.pulse(i, e))
                .collect::<Vec<_>>()
        };
        bars.flat_map(at).collect()
    };
    let more = pulses(|own, bar| bar & !own);
    let less = pulses(|own, bar| own & !bar);
    let round = 2 * salient.grid().pulses_per_bar();
    let first = |all: &[usize]| -> Option<Option<usize>> {
        // the same change in each round is one change
        let mut inside: Vec<usize> = all.iter().map(|p| p % round).collect();
        inside.sort_unstable();
        inside.dedup();
        match inside[..] {
            [] => Some(None),
            [one] => Some(Some(one)),
            _ => None,
        }
    };
    let change = match (first(&more), first(&less)) {
        (Some(None), Some(None)) => Change::Exact,
        (Some(Some(p)), Some(None)) => Change::More(p),
        (Some(None), Some(Some(p))) => Change::Less(p),
        (Some(Some(to)), Some(Some(from))) => Change::Moved { from, to },
        _ => Change::Several,
    };
    Cue {
        pulls: known.direction,
        pulses: pulses(|own, bar| own & bar),
        weight: NAMED,
        ..Cue::whole(CueKind::Part(known, change))
    }
}

/// The cues of single bars of a named part: the figures in its own strokes that are those of the side of their bar.
/// Strokes that it has not say nothing about it.
pub(super) fn in_named(salient: &SalientOnsets, own: [u8; 2], direction: Direction) -> Vec<Cue> {
    let mut found = Vec::new();
    for (bar, bits) in salient.bars.iter().enumerate().take(2) {
        let mut said = 0u8;
        for figure in FIGURES {
            let there = figure.is_in(own[bar]) && figure.is_in(*bits);
            let all = figure.struck | figure.empty;
            let of_its_side = figure.side == direction.side(bar);
            if there && of_its_side && said & all == 0 && figure.tells(salient, bar) {
                said |= all;
                found.push(figure.sign(salient, bar, direction, NAMED));
            }
        }
    }
    found.truncate(MOST);
    found.iter().map(|sign| sign.cue(salient)).collect()
}

/// The cues of single bars by the free score: figures first, then single strokes of the clave that are in none; the
/// strongest of all, and at least one that speaks against the margin where there is a strong one.
pub(super) fn in_bars(salient: &SalientOnsets, pulls: &[[f64; 8]], margin: f64) -> Vec<Cue> {
    let mut found: Vec<FigureSign> = Vec::with_capacity(16);
    for (bar, pulls) in pulls.iter().enumerate() {
        let mut said = 0u8;
        for figure in FIGURES {
            if let Some(sign) = figure.find(salient, bar, pulls, said) {
                said |= figure.struck | figure.empty;
                found.push(sign);
            }
        }
        let single = eighths(salient.bars[bar] & !said);
        found.extend(single.filter_map(|e| single_stroke(salient, bar, e, pulls[e], false)));
    }
    let called = Direction::of_sign(margin);
    if found.iter().all(|s| s.direction != called) {
        for (bar, pulls) in pulls.iter().enumerate() {
            let struck = eighths(salient.bars[bar]);
            let all = struck.filter_map(|e| single_stroke(salient, bar, e, pulls[e], true));
            found.extend(all.filter(|s| s.direction == called));
        }
    }
    found.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    if let Some(against) = found.iter().position(|s| s.direction.sign() * margin < 0.0)
        && against >= MOST
        && found[against].weight >= WORTH_OBJECTING
    {
        found.swap(MOST - 1, against);
    }
    found.truncate(MOST);
    found.iter().map(|sign| sign.cue(salient)).collect()
}

/// One stroke as a sign: only where a clave strikes there on the side for which it pulls (with `any`: where none does on the
/// other side), and some bar of the other side has no such stroke.
fn single_stroke(
    salient: &SalientOnsets,
    bar: usize,
    eighth: usize,
    pull: f64,
    any: bool,
) -> Option<FigureSign> {
    let direction = Direction::of_sign(pull);
    let clave = match (direction.side(bar), any) {
        (Side::Three, false) => OF_THREE_SIDE,
        (Side::Two, false) => OF_TWO_SIDE,
        (Side::Three, true) => !OF_TWO_SIDE,
        (Side::Two, true) => !OF_THREE_SIDE,
    };
    let struck = 1 << eighth;
    let tells = clave & struck != 0 && !in_all_others(salient, bar, |bits| bits & struck != 0);
    (tells && pull.abs() >= WORTH_SAYING).then_some(FigureSign {
        kind: match salient.accents[bar] >> eighth & 1 {
            1 => CueKind::Accent,
            _ => CueKind::Stroke,
        },
        bar,
        direction,
        struck,
        empty: 0,
        weight: pull.abs(),
    })
}

/// Does something hold of every bar of the side that bar `bar` is not? A part of one bar has none.
fn in_all_others(salient: &SalientOnsets, bar: usize, holds: impl Fn(u8) -> bool) -> bool {
    let mut others = salient.bars.iter().skip((bar + 1) % 2).step_by(2);
    salient.bars.len() > 1 && others.all(|bits| holds(*bits))
}

impl Figure {
    /// Has a bar the figure?
    fn is_in(&self, bits: u8) -> bool {
        bits & self.struck == self.struck && bits & self.empty == 0
    }

    /// Does it tell bar `bar` from the bars of the other side, and are its words true on the grid?
    fn tells(&self, salient: &SalientOnsets, bar: usize) -> bool {
        let all = self.struck | self.empty;
        (self.in_six || !salient.in_six())
            && eighths(all).all(|e| salient.pulse(bar, e).is_some())
            && !in_all_others(salient, bar, |bits| self.is_in(bits))
    }

    /// The figure as a sign, where bar `bar` has it, every pulse of it pulls the way that it says, and none of them is
    /// already `said`.
    fn find(
        &self,
        salient: &SalientOnsets,
        bar: usize,
        pulls: &[f64; 8],
        said: u8,
    ) -> Option<FigureSign> {
        let all = self.struck | self.empty;
        if !self.is_in(salient.bars[bar]) || said & all != 0 || !self.tells(salient, bar) {
            return None;
        }
        let direction = Direction::starting(self.side).begun_later(bar);
        let each = || eighths(all).map(|eighth| direction.sign() * pulls[eighth]);
        let enough = each().all(|pull| pull >= WORTH_SAYING);
        enough.then(|| self.sign(salient, bar, direction, each().sum()))
    }

    fn sign(
        &self,
        salient: &SalientOnsets,
        bar: usize,
        direction: Direction,
        weight: f64,
    ) -> FigureSign {
        FigureSign {
            kind: CueKind::Figure {
                words: self.words,
                accented: self.struck & !salient.accents[bar] == 0
                    && salient.accents != salient.bars,
            },
            bar,
            direction,
            struck: self.struck,
            empty: self.empty,
            weight,
        }
    }
}

impl FigureSign {
    fn cue(&self, salient: &SalientOnsets) -> Cue {
        let at = |mask| {
            let pulses = eighths(mask).filter_map(|e| salient.pulse(self.bar, e));
            pulses.collect()
        };
        Cue {
            kind: self.kind,
            pulls: Some(self.direction),
            bar: Some((self.bar, self.direction.side(self.bar))),
            pulses: at(self.struck),
            empty: at(self.empty),
            weight: self.weight,
        }
    }
}
