//! Reasons in a player's words, each tied to pulses that make a difference.

use super::strong::Strong;
use super::{Direction, Ear, Known, Side};
use crate::rhythm::Grid;

/// One reason for a reading.
///
/// It is true in this sense: take any one of `pulses` away, or put a stroke on any one of `empty`, and the margin
/// moves away from what the cue pulls to.
#[derive(Clone, Debug, PartialEq)]
pub struct Cue {
    pub kind: CueKind,
    /// The direction it speaks for; `None` where it says that no side is stated.
    pub pulls: Option<Direction>,
    /// The bar it stands in, from 0, and the side that it gives to that bar; `None` where it is about the whole.
    pub bar: Option<(usize, Side)>,
    /// Struck pulses, from 0 in the part as it was given.
    pub pulses: Vec<usize>,
    /// Pulses that matter because nothing is struck there.
    pub empty: Vec<usize>,
    /// How far the margin moves without it: log odds, positive, summed over its pulses.
    pub weight: f64,
}

/// What a cue is about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CueKind {
    /// A named part.
    Part(Known),
    /// All bars are the same.
    AllTheSame,
    /// A single bar, which alone has no direction.
    OneBar,
    /// Nothing, or next to nothing, is played.
    TooLittle,
    /// What speaks for one direction and for the other is about the same.
    Balanced,
    /// Strong signs for both directions.
    BothWays,
    /// One of the figures that players listen for.
    Figure(&'static str),
    /// A single stroke.
    Stroke,
    /// A single accented stroke.
    Accent,
    /// The low drum in one of the bars only, by the school that was declared.
    LowDrum,
}

/// A figure in one bar: eighths struck, eighths left out, the side it speaks for, and how a player says it: `{}` stands
/// for the counts struck, `{e}` for those left out.
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
        words: "{} struck and nothing on {e}",
        in_six: true,
    },
    Figure {
        struck: 0b0100_1001,
        empty: 0,
        side: Side::Three,
        words: "{} struck, as the clave does",
        in_six: true,
    },
    Figure {
        struck: 0b0000_1000,
        empty: 0b0000_0001,
        side: Side::Three,
        words: "nothing on {e}, the bombo ({}) struck",
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
        words: "the downbeat struck and nothing on {e}",
        in_six: true,
    },
];

/// Cues of less weight than this are not worth a word (log odds).
const WORTH_SAYING: f64 = 0.3;
/// Most cues of strokes in one reading.
const MOST: usize = 4;

impl Cue {
    /// A cue about the whole, without pulses.
    pub(super) fn whole(kind: CueKind) -> Cue {
        Cue {
            kind,
            pulls: None,
            bar: None,
            pulses: Vec::new(),
            empty: Vec::new(),
            weight: 0.0,
        }
    }

    /// The cue as a sentence, with the counts of `grid`.
    pub fn text(&self, grid: Grid) -> String {
        let per = grid.pulses_per_bar();
        let counts = |pulses: &[usize]| {
            let said: Vec<String> = pulses.iter().map(|p| grid.spoken(p % per)).collect();
            match said.split_last() {
                Some((last, [])) => last.clone(),
                Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
                None => String::new(),
            }
        };
        let end = match (self.bar, self.pulls) {
            (Some((_, side)), _) => format!(": pulls to the {}", side.name()),
            (None, Some(direction)) => format!(": {}", direction.name()),
            (None, None) => String::new(),
        };
        let bar = self
            .bar
            .map_or(String::new(), |(b, _)| format!("bar {}, ", b + 1));
        match self.kind {
            CueKind::Part(known) => {
                let near = if known.distance == 0 {
                    "this is the"
                } else {
                    "all but one stroke of the"
                };
                match known.direction {
                    Some(d) => format!("{near} {} in {}", known.name, d.name()),
                    None => format!("{near} {}: no side", known.name),
                }
            }
            CueKind::AllTheSame => "every bar is the same: no side".to_string(),
            CueKind::OneBar => "one bar going round is the same on either side".to_string(),
            CueKind::TooLittle => "too little is played to tell".to_string(),
            CueKind::Balanced => "no side stands out from the other".to_string(),
            CueKind::BothWays => "signs of both directions cross each other".to_string(),
            CueKind::Figure(words) => {
                let words = words.replace("{e}", &counts(&self.empty));
                format!("{bar}{}{end}", words.replace("{}", &counts(&self.pulses)))
            }
            CueKind::Stroke => format!("{bar}the stroke on {}{end}", counts(&self.pulses)),
            CueKind::Accent => format!("{bar}the accent on {}{end}", counts(&self.pulses)),
            CueKind::LowDrum => format!("{bar}the low drum comes in here only{end}"),
        }
    }
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
    let sign = if direction == Direction::ThreeTwo {
        1.0
    } else {
        -1.0
    };
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
    let mut found: Vec<Cue> = Vec::new();
    for (bar, pulls) in pulls.iter().enumerate() {
        let struck = strong.bars[bar];
        let mut said = 0u8;
        for figure in FIGURES {
            if let Some(cue) = figure.cue(strong, bar, pulls, said) {
                said |= figure.struck | figure.empty;
                found.push(cue);
            }
        }
        for (eighth, pull) in pulls.iter().enumerate() {
            let free = struck & !said & 1 << eighth != 0;
            let direction = if *pull > 0.0 {
                Direction::ThreeTwo
            } else {
                Direction::TwoThree
            };
            if !free || pull.abs() < WORTH_SAYING || named == Some(direction) {
                continue;
            }
            let Some(pulse) = strong.pulse(bar, eighth) else {
                continue;
            };
            found.push(Cue {
                kind: match strong.accents[bar] >> eighth & 1 {
                    1 => CueKind::Accent,
                    _ => CueKind::Stroke,
                },
                pulls: Some(direction),
                bar: Some((bar, direction.side(bar))),
                pulses: vec![pulse],
                empty: Vec::new(),
                weight: pull.abs(),
            });
        }
    }
    found.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    let with = Some(if margin >= 0.0 {
        Direction::ThreeTwo
    } else {
        Direction::TwoThree
    });
    if let Some(against) = found.iter().position(|c| c.pulls != with)
        && against >= MOST
        && found[against].weight >= 1.0
    {
        found.swap(MOST - 1, against);
    }
    found.truncate(MOST);
    found
}

impl Figure {
    /// The figure as a cue, where bar `bar` has it, every pulse of it pulls the way that it says, and none of them is
    /// already `said`.
    fn cue(&self, strong: &Strong, bar: usize, pulls: &[f64; 8], said: u8) -> Option<Cue> {
        let struck = strong.bars[bar];
        let all = self.struck | self.empty;
        let there = struck & self.struck == self.struck && struck & self.empty == 0;
        if !there || said & all != 0 || (strong.in_six() && !self.in_six) {
            return None;
        }
        let direction = speaks_for(bar, self.side);
        let sign = if direction == Direction::ThreeTwo {
            1.0
        } else {
            -1.0
        };
        let of = |mask: u8| (0..8).filter(move |e| mask >> e & 1 == 1);
        if of(all).any(|e| sign * pulls[e] < WORTH_SAYING) {
            return None;
        }
        let at = |mask| {
            of(mask)
                .map(|e| strong.pulse(bar, e))
                .collect::<Option<Vec<usize>>>()
        };
        Some(Cue {
            kind: CueKind::Figure(self.words),
            pulls: Some(direction),
            bar: Some((bar, self.side)),
            pulses: at(self.struck)?,
            empty: at(self.empty)?,
            weight: of(all).map(|e| sign * pulls[e]).sum(),
        })
    }
}

/// The direction in which bar `bar` is the side `side`.
pub(super) fn speaks_for(bar: usize, side: Side) -> Direction {
    Direction::starting(side).begun_later(bar)
}
