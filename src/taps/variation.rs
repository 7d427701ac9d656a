//! Where a variation was played, or whether it was left out, in a phrase whose other bars are all alike.

use super::{Tap, TapTask, TapVerdict, TappedDirection, TappedHands, grade};
use crate::rhythm::Stroke;
use std::ops::Range;

/// What became of a variation that was not played where it was due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum VariationElsewhere {
    /// The bars around it went on through its own.
    LeftOut,
    /// It was played, but from this bar on, from 0.
    InBar(usize),
}

impl TapTask {
    /// Whether the taps, which `found` lays beside the task, are those of the phrase with the variation of the bars `own` in
    /// other bars or left out. `None` where they are not, where they fit as well with the variation in its bars, or
    /// where the other bars are not alike.
    ///
    /// The phrase that is meant has less than half of the mistakes. Where the strokes alone do not tell, as between two
    /// bars that strike every pulse, it is the one whose hands were written, if those of the task do not work.
    pub fn variation_elsewhere(
        &self,
        own: Range<usize>,
        taps: &[Tap],
        found: &TapVerdict,
    ) -> Option<(VariationElsewhere, TapVerdict)> {
        if found.right {
            return None;
        }
        let part = self.part();
        let (bars, sounds) = (part.bars(), |bar: usize| {
            let drawn = part.bar(bar).iter();
            drawn.map(|cell| cell.map(|s: Stroke| (s.drum, s.tone)))
        });
        let mut others = (0..bars).filter(|bar| !own.contains(bar));
        let plain = others.next()?;
        if !others.all(|bar| sounds(bar).eq(sounds(plain))) {
            return None;
        }
        let all_plain = part.only_bars(plain..plain + 1).tiled(bars);
        let variation = part.only_bars(own.clone());
        let starts = (0..=bars - own.len()).filter(|start| *start != own.start);
        let moved = starts.filter_map(|start| {
            let moved = all_plain.with_bars(start, &variation)?;
            Some((VariationElsewhere::InBar(start), moved))
        });
        let left_out = (VariationElsewhere::LeftOut, all_plain.clone());
        let graded = moved.chain([left_out]).map(|(what, meant)| {
            let meant = self.clone().with_part(meant);
            (what, grade(&meant, taps))
        });
        let mistakes = |verdict: &TapVerdict| {
            let turned = verdict.played.direction == Some(TappedDirection::Other);
            let hands = matches!(verdict.played.hands, Some(TappedHands::Neither { .. }));
            verdict.played.wrong + usize::from(turned) + usize::from(hands)
        };
        let (what, meant) = graded.min_by_key(|(_, verdict)| mistakes(verdict))?;
        let told = matches!(meant.played.hands, None | Some(TappedHands::AsWritten));
        (told && 2 * mistakes(&meant) < mistakes(found)).then_some((what, meant))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rhythm::notation::read_line;
    use crate::rhythm::{Grid, Hand, Tempo};

    /// Eight bars of the plain tumbao, in one of them another bar with its hands.
    fn phrase(own: &str, hands: &str, at: Option<usize>) -> TapTask {
        let bar = |strokes: &str, hands: &str| {
            let hands: Vec<Option<Hand>> = hands.chars().map(Hand::from_letter).collect();
            let strokes = read_line(strokes, Grid::Eighths).unwrap();
            strokes.with_hands(&hands)
        };
        let plain = bar("HTSTHTOO", "LLRLLLRR").tiled(8);
        let own = bar(own, hands);
        let all = at.map_or(Some(plain.clone()), |at| plain.with_bars(at, &own));
        TapTask::new(all.unwrap(), Tempo::new(130.0))
    }

    fn taps(task: &TapTask) -> Vec<Tap> {
        let strokes = |round: usize| {
            task.part().strokes().map(move |(pulse, stroke)| Tap {
                seconds: (64 * round + pulse) as f64 * task.pulse_seconds(),
                hand: stroke.hand,
            })
        };
        (0..2).flat_map(strokes).collect()
    }

    /// A bar with rests and a bar that strikes every pulse, due in bar 7: played there, in each other bar, and not at all.
    #[test]
    fn a_variation_in_another_bar_and_one_left_out_are_told_apart() {
        for (own, hands) in [("H..O..O.", "LRR"), ("HTHOHTOT", "LLLRLLRL")] {
            let task = phrase(own, hands, Some(6));
            let found = |at: Option<usize>| {
                let taps = taps(&phrase(own, hands, at));
                let verdict = grade(&task, &taps);
                let elsewhere = task.variation_elsewhere(6..7, &taps, &verdict);
                (verdict.right, elsewhere.map(|(what, _)| what))
            };
            assert_eq!(found(Some(6)), (true, None));
            assert_eq!(
                found(None),
                (false, Some(VariationElsewhere::LeftOut)),
                "{own}"
            );
            for bar in [0, 3, 4, 5, 7] {
                let due = Some(VariationElsewhere::InBar(bar));
                assert_eq!(found(Some(bar)), (false, due), "{own} {bar}");
            }
        }
    }

    /// What is wrong otherwise is told otherwise: a stroke left out, hands that do not work, ghost strokes where it rests.
    #[test]
    fn a_variation_with_mistakes_in_its_bar_is_not_elsewhere() {
        let task = phrase("H..O..O.", "LRR", Some(6));
        let elsewhere = |taps: &[Tap]| {
            let verdict = grade(&task, taps);
            assert!(!verdict.right);
            task.variation_elsewhere(6..7, taps, &verdict)
        };
        let all = taps(&task);
        assert_eq!(elsewhere(&[&all[..49], &all[50..]].concat()), None);
        let right = |tap: &Tap| Tap {
            hand: Some(Hand::Right),
            ..*tap
        };
        let one_hand: Vec<Tap> = all.iter().map(right).collect();
        assert_eq!(elsewhere(&one_hand), None);
        let ghosts = phrase("HTHOHTOT", "LLLRLLRL", Some(6));
        assert_eq!(elsewhere(&taps(&ghosts)), None);
    }
}
