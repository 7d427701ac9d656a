//! Finding the reasons of a reading in its bars.

use super::cue::{Cue, CueKind};
use super::strong::Strong;
use super::{Direction, Ear, Known, Side};

/// A figure in one bar: eighths struck, eighths left out, the side it speaks for, and how a player says it: `{}` stands
/// for the counts struck, `{e}` for those left out, `{struck}` for struck or accented.
struct Figure {
    struck: u8,
    empty: u8,
    side: Side,
    words: &'static str,
    /// Are the words true in six as well?
    in_six: bool,
}

/// Figures that players listen for: the clave's own definition; the bar that states the downbeat is the two side
/// (published articles on playing in clave); on and off the beat by halves of the bar (Vurkaç 2012).
const FIGURES: &[Figure] = &[
    Figure {
        struck: 0b0001_0100,
        empty: 0b0000_0001,
        side: Side::Two,
        words: "strokes on {} and nothing on {e}",
        in_six: true,
    },
    Figure {
        struck: 0b0100_1001,
        empty: 0,
        side: Side::Three,
        words: "strokes on {} as in the clave",
        in_six: true,
    },
    Figure {
        struck: 0b0000_1000,
        empty: 0b0000_0001,
        side: Side::Three,
        words: "nothing on {e}, the bombo ({}) {struck}",
        in_six: false,
    },
    Figure {
        struck: 0b0000_1010,
        empty: 0,
        side: Side::Three,
        words: "it starts off the beat ({})",
        in_six: false,
    },
    Figure {
        struck: 0b0101_0000,
        empty: 0,
        side: Side::Three,
        words: "it comes home to the beat ({})",
        in_six: false,
    },
    Figure {
        struck: 0b0000_0101,
        empty: 0,
        side: Side::Two,
        words: "it starts on the beat ({})",
        in_six: false,
    },
    Figure {
        struck: 0b1010_0000,
        empty: 0,
        side: Side::Two,
        words: "it leaves the beat ({})",
        in_six: false,
    },
    Figure {
        struck: 0b0000_0001,
        empty: 0b0000_1000,
        side: Side::Two,
        words: "the downbeat {struck} and nothing on {e}",
        in_six: true,
    },
];

/// Cues of less weight than this are not worth a word (log odds).
const WORTH_SAYING: f64 = 0.3;
/// What speaks against the margin is worth a word from this weight on, even where much else is stronger (log odds).
const WORTH_OBJECTING: f64 = 1.0;
/// Most cues of strokes in one reading.
const MOST: usize = 4;

/// A cue before it is put into words and pulses.
#[derive(Clone, Copy)]
struct Sign {
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

/// How far each eighth of each bar moves the margin as it is, struck or left out: positive towards 3-2, in log odds. 0
/// where it is left out and no figure asks for that.
pub(super) fn pulls(strong: &Strong, ear: &Ear, margin: f64) -> Vec<[f64; 8]> {
    let left_out = FIGURES.iter().fold(0, |all, figure| all | figure.empty);
    strong.each_turned(|bar| bar | left_out, |other| margin - ear.margin(other))
}

/// The cue of a named part, with those of its strokes that speak for its direction.
pub(super) fn of_part(strong: &Strong, known: Known, pulls: &[[f64; 8]]) -> Cue {
    let mut cue = Cue {
        pulls: known.direction,
        ..Cue::whole(CueKind::Part(known))
    };
    let Some(direction) = known.direction else {
        return cue;
    };
    let sign = direction.sign();
    for (bar, pulls) in pulls.iter().enumerate() {
        for (eighth, pull) in pulls.iter().enumerate() {
            let counts = strong.bars[bar] >> eighth & 1 == 1 && sign * pull >= WORTH_SAYING;
            if let Some(pulse) = strong.pulse(bar, eighth).filter(|_| counts) {
                cue.pulses.push(pulse);
                cue.weight += sign * pull;
            }
        }
    }
    cue
}

/// The cues of single bars: figures first, then single strokes that are in none; the strongest of all, and at least
/// one that speaks against the margin where there is a strong one. Single strokes that speak for `named` are left to
/// the cue of the named part.
pub(super) fn in_bars(
    strong: &Strong,
    pulls: &[[f64; 8]],
    margin: f64,
    named: Option<Direction>,
) -> Vec<Cue> {
    let mut found: Vec<Sign> = Vec::with_capacity(16);
    for (bar, pulls) in pulls.iter().enumerate() {
        let mut said = 0u8;
        for figure in FIGURES {
            if let Some(sign) = figure.find(strong, bar, pulls, said) {
                said |= figure.struck | figure.empty;
                found.push(sign);
            }
        }
        let single = eighths(strong.bars[bar] & !said).map(|e| single(strong, bar, e, pulls[e]));
        found.extend(single.filter(|s| s.weight >= WORTH_SAYING && named != Some(s.direction)));
    }
    found.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    if let Some(against) = found.iter().position(|s| s.direction.sign() * margin < 0.0)
        && against >= MOST
        && found[against].weight >= WORTH_OBJECTING
    {
        found.swap(MOST - 1, against);
    }
    found.truncate(MOST);
    found.iter().map(|sign| sign.cue(strong)).collect()
}

/// One stroke as a sign.
fn single(strong: &Strong, bar: usize, eighth: usize, pull: f64) -> Sign {
    Sign {
        kind: match strong.accents[bar] >> eighth & 1 {
            1 => CueKind::Accent,
            _ => CueKind::Stroke,
        },
        bar,
        direction: Direction::of_sign(pull),
        struck: 1 << eighth,
        empty: 0,
        weight: pull.abs(),
    }
}

impl Figure {
    /// The figure as a sign, where bar `bar` has it, every pulse of it pulls the way that it says, and none of them is
    /// already `said`.
    fn find(&self, strong: &Strong, bar: usize, pulls: &[f64; 8], said: u8) -> Option<Sign> {
        let bits = strong.bars[bar];
        let all = self.struck | self.empty;
        let there = bits & self.struck == self.struck && bits & self.empty == 0;
        if !there || said & all != 0 || (strong.in_six() && !self.in_six) {
            return None;
        }
        let direction = Direction::starting(self.side).begun_later(bar);
        let mut weight = 0.0;
        for eighth in eighths(all) {
            let pull = direction.sign() * pulls[eighth];
            if pull < WORTH_SAYING || strong.pulse(bar, eighth).is_none() {
                return None;
            }
            weight += pull;
        }
        Some(Sign {
            kind: CueKind::Figure {
                words: self.words,
                accented: self.struck & !strong.accents[bar] == 0 && strong.accents != strong.bars,
            },
            bar,
            direction,
            struck: self.struck,
            empty: self.empty,
            weight,
        })
    }
}

impl Sign {
    fn cue(&self, strong: &Strong) -> Cue {
        let at = |mask| {
            let pulses = eighths(mask).filter_map(|e| strong.pulse(self.bar, e));
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
