//! The clave by itself stops, and a bar after that is asked for: its strokes cannot be counted any more, the player
//! has to carry the clave on.

use super::scene::{self, Scene};
use super::{Draw, Reason, Sense};
use crate::clave::Clave;

/// Length in bars, two cycles.
const BARS: usize = 4;
/// Chance that the clave stops.
const CHANCE: f64 = 0.5;

/// Where the clave stops, and what is asked.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stop {
    /// Bars that sound, from the first.
    pub sounding: usize,
    /// The silent bar that is asked for, from 0.
    pub asked: usize,
}

/// The scene with the clave stopped, where the clave is all there is and chance will have it.
///
/// A bar on the side where the clave began and one on the other are asked for equally often.
pub(super) fn maybe(scene: Scene, draw: &mut Draw) -> (Scene, Option<Stop>) {
    let Some(clave) = scene.clave.filter(|_| scene::is_clave(&scene.score)) else {
        return (scene, None);
    };
    if !draw.chance(CHANCE) {
        return (scene, None);
    }
    let (grid, own) = (scene.score.grid, scene.score.bars());
    let sounding = 1 + draw.below(own.min(BARS / 2));
    let turned = draw.below(2);
    let silent: Vec<usize> = (sounding..BARS).filter(|b| b % 2 == turned).collect();
    let Some(asked) = draw.pick(&silent) else {
        return (scene, None);
    };
    let line = clave.line(grid).tiled(BARS);
    let mut stopped = Scene {
        own: 0..BARS,
        ..scene
    };
    stopped
        .score
        .set_line(line.silent_from(sounding * grid.pulses_per_bar()));
    (stopped, Some(Stop { sounding, asked }))
}

impl Stop {
    /// How the silent bar follows from the one that was there.
    pub(super) fn reason(self, clave: Clave) -> Reason {
        let side = clave.direction.side(0).name();
        let carried = match self.asked % 2 {
            0 => "the same",
            _ => "the other one",
        };
        Reason {
            text: format!(
                "Bar 1 is the {side} and the sides take turns: bar {} is {carried}.",
                self.asked + 1
            ),
            pulses: Vec::new(),
        }
    }

    /// The question in words.
    pub(super) fn text(self, sense: Sense) -> String {
        let plays = match self.sounding {
            1 => "The clave plays one bar and stops.",
            _ => "The clave plays two bars and stops.",
        };
        let bar = self.asked + 1;
        match sense {
            Sense::Read => format!("{plays} Carry it on: which side is bar {bar}?"),
            Sense::Hear => {
                format!("{plays} Carry it on: which side is bar {bar} after the count-in?")
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::question::{Setup, fixture, kind};
    use crate::rhythm::Instrument;

    #[test]
    fn a_clave_that_stops_is_asked_for_after_it_has_stopped_on_either_side_alike() {
        let cards = fixture::deck().cards;
        let card = cards.iter().find(|c| c.id == "yard/son-clave").unwrap();
        let setup = Setup {
            bpm: 160.0,
            player: Default::default(),
            as_written: false,
        };
        let (mut stopped, mut as_begun) = (0, 0);
        for (sense, seed) in Sense::ALL
            .into_iter()
            .flat_map(|s| (0..500).map(move |n| (s, n)))
        {
            let q = kind("side")
                .unwrap()
                .ask(card, sense, seed, &setup)
                .unwrap();
            if !q.prompt.text.contains("stops") {
                continue;
            }
            stopped += 1;
            // Two answers, of which either may be right: half of the guesses are.
            assert_eq!(q.guess, 0.5);
            let crate::question::Mark::Bar(bar) = q.prompt.mark else {
                panic!("a bar is asked for: {:?}", q.prompt.mark);
            };
            as_begun += usize::from(bar % 2 == 0);
            let line =
                |score: &crate::rhythm::Score| score.line(Instrument::Clave).unwrap().clone();
            let (heard, told) = (line(&q.prompt.take.score), line(&q.reveal.take.score));
            let per = card.grid.pulses_per_bar();
            let rests = |b: usize| (b * per..(b + 1) * per).all(|p| heard.at(p).is_none());
            assert!(rests(bar) && !rests(0));
            // The answer shows the clave all the way through, as it was before it stopped.
            assert_eq!((told.pulses(), heard.pulses()), (BARS * per, BARS * per));
            assert!(
                (0..per).all(|p| told.at(p) == heard.at(p) && told.at(p) == told.at(p + 2 * per))
            );
            // By ear something keeps the beat through the silence.
            let click = q.prompt.take.score.line(Instrument::Click).is_some();
            assert_eq!(click, sense == Sense::Hear);
        }
        // Binomial: of 1000 with chance .5 (standard deviation 16), half of them (11); five of them.
        assert!((420..=580).contains(&stopped), "{stopped}");
        assert!(
            as_begun.abs_diff(stopped / 2) < 56,
            "{as_begun} of {stopped}"
        );
    }
}
