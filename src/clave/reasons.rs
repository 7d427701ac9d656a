//! The reasons of a reading: its name, what speaks for no side, and the figures in its bars.

use super::cue::{Cue, CueKind};
use super::name::Name;
use super::salient_onsets::SalientOnsets;
use super::side_classifier::{FEWEST, LOW_DRUM};
use super::{Direction, Reading, SideClassifier, SideVerdict, figure};

impl SideClassifier {
    /// The reasons of a reading whose other fields are known.
    pub(super) fn cues(&self, salient: &SalientOnsets, reading: &Reading, name: &Name) -> Vec<Cue> {
        let mut cues = Vec::new();
        let low_drum = self.low_drum(salient);
        let same = salient.is_one_bar() && low_drum.is_none();
        match name {
            Name::Part(known) => cues.push(figure::of_part(salient, *known)),
            Name::NoSide(no_side) => cues.push(Cue::whole(CueKind::NoSide(*no_side))),
            Name::Halves(_) | Name::None => {}
        }
        let whole: &[CueKind] = match reading.verdict {
            SideVerdict::Unsure if salient.strokes() < FEWEST => &[CueKind::TooLittle],
            SideVerdict::Unsure if reading.no_side.is_some() => &[],
            SideVerdict::Unsure if salient.in_six() => &[CueKind::InSix],
            SideVerdict::Crossed => &[CueKind::BothWays],
            SideVerdict::Neutral if salient.bars.len() < 2 => &[CueKind::OneBar],
            SideVerdict::Neutral if same && salient.low_differs() => {
                &[CueKind::SameWeight, CueKind::LowDrumOpen]
            }
            SideVerdict::Neutral if same && salient.light_differs => &[CueKind::SameWeight],
            SideVerdict::Neutral if same => &[CueKind::AllTheSame],
            SideVerdict::Unsure | SideVerdict::Neutral => &[CueKind::Balanced],
            SideVerdict::ThreeTwo | SideVerdict::TwoThree => &[],
        };
        cues.extend(whole.iter().map(|kind| Cue::whole(*kind)));
        if let Some(direction) = low_drum {
            let bar = salient.low.iter().position(|b| *b != 0).unwrap_or(0);
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
                    let own = known.bars(salient.in_six());
                    cues.extend(figure::in_named(salient, own, direction));
                }
            }
            Name::Halves(halves) => {
                cues.extend(Cue::of_halves(halves));
                if let (Some(side), [bar]) = (reading.bars[0].side, &salient.bars[..]) {
                    let direction = Direction::starting(side);
                    cues.extend(figure::in_named(salient, [*bar; 2], direction));
                }
            }
            Name::None if !same || salient.bars.len() == 1 => {
                let pulls = figure::pulls(salient, self);
                let signs = figure::in_bars(salient, &pulls, reading.margin);
                let called = reading.verdict.direction();
                let silent = called.is_some() && signs.iter().all(|c| c.pulls != called);
                cues.extend(silent.then(|| Cue::whole(CueKind::Together)));
                cues.extend(signs);
            }
            Name::NoSide(_) | Name::None => {}
        }
        cues
    }
}
