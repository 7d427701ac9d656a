//! The clave by itself stops, the click goes on, and a bell strikes once in a bar after that: which side was it? The
//! player has to carry the clave on. Only by ear: on paper the bars would be counted, odd and even.

use super::scene::{self, Scene};
use super::{Draw, Reason, Sense};
use crate::clave::Clave;
use crate::rhythm::{Grid, Hit, Instrument, Line, Weight};

/// Length in bars, two cycles.
const BARS: usize = 4;
/// Chance that the clave stops.
const CHANCE: f64 = 0.5;

/// Where the clave stops, and what is asked.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stop {
    /// Bars that sound, from the first.
    pub sounding: usize,
    /// The bar without clave in which the bell strikes, from 0.
    pub asked: usize,
    /// The pulse of the score on which it strikes.
    pub bell: usize,
}

/// The scene with the clave stopped, if it is heard, the clave is all there is, and chance decides so.
///
/// A bar on the side where the clave began and one on the other are asked for equally often, and the bell strikes on
/// any beat, so that it belongs to neither side.
pub(super) fn maybe(scene: Scene, sense: Sense, draw: &mut Draw) -> (Scene, Option<Stop>) {
    let heard = sense == Sense::Hear && scene::is_clave(&scene.score);
    let Some(clave) = scene.clave.filter(|_| heard) else {
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
    let beat = draw.below(grid.beats_per_bar()) * grid.pulses_per_beat();
    let bell = asked * grid.pulses_per_bar() + beat;
    let line = clave.line(grid).tiled(BARS);
    let mut stopped = Scene {
        own: 0..BARS,
        ..scene
    };
    stopped
        .score
        .set_line(line.silent_in(sounding * grid.pulses_per_bar()..));
    let stop = Stop {
        sounding,
        asked,
        bell,
    };
    (stopped, Some(stop))
}

impl Stop {
    /// The stroke of the bell.
    pub(super) fn bell_line(self, grid: Grid) -> Option<Line> {
        let mut cells = vec![None; BARS * grid.pulses_per_bar()];
        cells[self.bell] = Some(Hit {
            weight: Weight::Accent,
            degree: None,
        });
        Line::new(Instrument::Bell, grid, cells).ok()
    }

    /// How the side of the bell's bar follows from the first bar.
    pub(super) fn reason(self, clave: Clave) -> Reason {
        let side = clave.direction.side(0).name();
        let there = clave.direction.side(self.asked).name();
        Reason::new(
            format!(
                "The sides take turns: bar 1 was the {side}, and the bell strikes in bar {}, the {there}.",
                self.asked + 1
            ),
            vec![self.bell],
        )
    }

    /// The question in words.
    pub(super) fn text(self) -> String {
        let plays = match self.sounding {
            1 => "one bar",
            _ => "two bars",
        };
        format!(
            "The clave plays {plays} and stops; the click goes on. Carry the clave on yourself: on which side does the \
             bell strike?"
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::question::{Mark, Setup, fixture, kind};
    use crate::rhythm::Tempo;

    #[test]
    fn a_clave_that_stops_is_asked_for_by_ear_after_it_has_stopped_on_either_side_alike() {
        let cards = fixture::deck().cards;
        let card = cards.iter().find(|c| c.id == "yard/son-clave").unwrap();
        let setup = Setup {
            tempo: Tempo::new(160.0),
            player: Default::default(),
            as_written: false,
            weighed: false,
            unseen: false,
        };
        let (mut stopped, mut as_begun) = (0, 0);
        let mut beats = [0; 4];
        for (sense, seed) in Sense::ALL
            .into_iter()
            .flat_map(|s| (0..1000).map(move |n| (s, n)))
        {
            let q = kind("side")
                .unwrap()
                .ask(card, sense, seed, &setup)
                .unwrap();
            if !q.prompt.text.contains("stops") {
                continue;
            }
            assert_eq!(sense, Sense::Hear);
            stopped += 1;
            // Two answers, of which either may be right: half of the guesses are.
            assert_eq!(q.form.guess(), 0.5);
            // The bar is not pointed at: it is heard.
            assert_eq!(q.prompt.mark, Mark::Whole);
            let line = |score: &crate::rhythm::Score, who| score.line(who).unwrap().clone();
            let heard = line(&q.prompt.take.score, Instrument::Clave);
            let told = line(&q.reveal.take.score, Instrument::Clave);
            let bell = line(&q.prompt.take.score, Instrument::Bell);
            let struck: Vec<usize> = (0..bell.pulses())
                .filter(|p| bell.at(*p).is_some())
                .collect();
            let per = card.grid.pulses_per_bar();
            let [pulse] = struck[..] else {
                panic!("the bell strikes once: {struck:?}");
            };
            let bar = pulse / per;
            as_begun += usize::from(bar % 2 == 0);
            beats[pulse % per / 2] += 1;
            let side = q.reveal.clave.unwrap().direction.side(bar);
            let key = if side == crate::clave::Side::Two {
                "2"
            } else {
                "3"
            };
            assert_eq!(q.form.right_texts(), [key]);
            let rests = |b: usize| (b * per..(b + 1) * per).all(|p| heard.at(p).is_none());
            assert!(rests(bar) && !rests(0));
            // The answer shows the clave all the way through, as it was before it stopped.
            assert_eq!((told.pulses(), heard.pulses()), (BARS * per, BARS * per));
            assert!(
                (0..per).all(|p| told.at(p) == heard.at(p) && told.at(p) == told.at(p + 2 * per))
            );
            // Something keeps the beat through the silence, and nothing else plays.
            assert!(q.prompt.take.score.line(Instrument::Click).is_some());
            assert_eq!(q.prompt.take.score.lines.len(), 3);
        }
        // Binomial: of 1000 with chance .5 (standard deviation 16), half of them (11); five of them.
        assert!((420..=580).contains(&stopped), "{stopped}");
        assert!(
            as_begun.abs_diff(stopped / 2) < 56,
            "{as_begun} of {stopped}"
        );
        // A quarter of some 500 on each beat: standard deviation 10.
        assert!(beats.iter().all(|n| (75..=175).contains(n)), "{beats:?}");
    }
}
