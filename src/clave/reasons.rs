//! The reasons of a reading: its name, what speaks for no side, and the figures in its bars.

use super::cue::{Cue, CueKind};
use super::ear::{FEWEST, LOW_DRUM};
use super::name::Name;
use super::strong::Strong;
use super::{Call, Direction, Ear, Reading, figure};

impl Ear {
    /// The reasons of a reading whose other fields are known.
    pub(super) fn cues(&self, strong: &Strong, reading: &Reading, name: &Name) -> Vec<Cue> {
        let mut cues = Vec::new();
        let low_drum = self.low_drum(strong);
        let same = strong.is_one_bar() && low_drum.is_none();
        match name {
            Name::Part(known) => cues.push(figure::of_part(strong, *known)),
            Name::NoSide(no_side) => cues.push(Cue::whole(CueKind::NoSide(*no_side))),
            Name::Halves(_) | Name::None => {}
        }
        let whole: &[CueKind] = match reading.call {
            Call::Unsure if strong.strokes() < FEWEST => &[CueKind::TooLittle],
            Call::Unsure if reading.no_side.is_some() => &[],
            Call::Unsure if strong.in_six() => &[CueKind::InSix],
            Call::Crossed => &[CueKind::BothWays],
            Call::Neutral if strong.bars.len() < 2 => &[CueKind::OneBar],
            Call::Neutral if same && strong.low_differs() => {
                &[CueKind::SameWeight, CueKind::LowDrumOpen]
            }
            Call::Neutral if same && strong.light_differs => &[CueKind::SameWeight],
            Call::Neutral if same => &[CueKind::AllTheSame],
            Call::Unsure | Call::Neutral => &[CueKind::Balanced],
            Call::ThreeTwo | Call::TwoThree => &[],
        };
        cues.extend(whole.iter().map(|kind| Cue::whole(*kind)));
        if let Some(direction) = low_drum {
            let bar = strong.low.iter().position(|b| *b != 0).unwrap_or(0);
            cues.push(Cue {
                pulls: Some(direction),
                bar: Some((bar, direction.side(bar))),
                weight: LOW_DRUM,
                ..Cue::whole(CueKind::LowDrum)
            });
        }
        match name {
            Name::Part(known) => {
                if let Some(direction) = known.direction {
                    let own = known.bars(strong.in_six());
                    cues.extend(figure::in_named(strong, own, direction));
                }
            }
            Name::Halves(halves) => {
                cues.extend(Cue::of_halves(halves));
                if let (Some(side), [bar]) = (reading.bars[0].side, &strong.bars[..]) {
                    let direction = Direction::starting(side);
                    cues.extend(figure::in_named(strong, [*bar; 2], direction));
                }
            }
            Name::None if !same || strong.bars.len() == 1 => {
                let pulls = figure::pulls(strong, self);
                let signs = figure::in_bars(strong, &pulls, reading.margin);
                let called = reading.call.direction();
                let silent = called.is_some() && signs.iter().all(|c| c.pulls != called);
                cues.extend(silent.then(|| Cue::whole(CueKind::Together)));
                cues.extend(signs);
            }
            Name::NoSide(_) | Name::None => {}
        }
        cues
    }
}
