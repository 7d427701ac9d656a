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

/// The cues of single bars: figures first, then single strokes, the strongest of each; at least one that speaks
/// against the call where there is a strong one.
pub(super) fn in_bars(strong: &Strong, ear: &Ear, margin: f64) -> Vec<Cue> {
    let mut found: Vec<Cue> = Vec::new();
    for bar in 0..strong.bars.len() {
        let mut probe = strong.clone();
        let three = if bar.is_multiple_of(2) { 1.0 } else { -1.0 };
        // how far each eighth, struck or left out, pulls this bar to the three side as it is
        let mut pull = [0.0; 8];
        for (eighth, pull) in pull.iter_mut().enumerate() {
            probe.flip(bar, eighth);
            *pull = three * (margin - ear.margin(&probe));
            probe.restore(strong, bar);
        }
        let struck = strong.bars[bar];
        let mut said = 0u8;
        for figure in FIGURES {
            if (strong.in_six() && !figure.in_six)
                || struck & figure.struck != figure.struck
                || struck & figure.empty != 0
                || said & (figure.struck | figure.empty) != 0
            {
                continue;
            }
            let sign = if figure.side == Side::Three {
                1.0
            } else {
                -1.0
            };
            let part = figure.struck | figure.empty;
            let named = (0..8).filter(|e| part >> e & 1 == 1);
            let weights = named.map(|e| sign * pull[e]);
            if weights.clone().any(|w| w < WORTH_SAYING) {
                continue;
            }
            let at = |mask: u8| -> Option<Vec<usize>> {
                (0..8)
                    .filter(|e| mask >> e & 1 == 1)
                    .map(|e| strong.pulse(bar, e))
                    .collect()
            };
            let (Some(pulses), Some(empty)) = (at(figure.struck), at(figure.empty)) else {
                continue;
            };
            said |= part;
            found.push(Cue {
                kind: CueKind::Figure(figure.words),
                pulls: Some(speaks_for(bar, figure.side)),
                bar: Some((bar, figure.side)),
                pulses,
                empty,
                weight: weights.sum(),
            });
        }
        for (eighth, pull) in pull.iter().enumerate() {
            let free = struck & !said & 1 << eighth != 0;
            if !free || pull.abs() < WORTH_SAYING {
                continue;
            }
            let Some(pulse) = strong.pulse(bar, eighth) else {
                continue;
            };
            let side = if *pull > 0.0 { Side::Three } else { Side::Two };
            found.push(Cue {
                kind: match strong.accents[bar] >> eighth & 1 {
                    1 => CueKind::Accent,
                    _ => CueKind::Stroke,
                },
                pulls: Some(speaks_for(bar, side)),
                bar: Some((bar, side)),
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

/// The direction in which bar `bar` is the side `side`.
pub(super) fn speaks_for(bar: usize, side: Side) -> Direction {
    Direction::starting(side).begun_later(bar)
}
