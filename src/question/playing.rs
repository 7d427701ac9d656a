//! The kind `play`: a variation with two keys for two hands, over the clave and the band.

use super::grade::letters;
use super::scene::{self, Scene};
use super::strokes_reasons::reasons;
use super::{Choice, Draw, Form, Kind, Mark, Prompt, Question, Sense, Setup, plain_tumbao};
use crate::deck::Card;
use crate::hands;
use crate::rhythm::{Pattern, Stroke};
use crate::sound::Take;
use crate::taps::TapTask;

/// Tap the strokes of a variation with both hands, in time: which are missed, added, early or late, and whether the hands
/// are those that are written or others that work. A single bar lies on its side, the plain tumbao in the other bar.
pub struct Play;

/// The keys of the two hands: where the first fingers lie on a keyboard.
const LEFT: char = 'f';
const RIGHT: char = 'j';
/// How often the two bars are played (chosen, as in `clap`).
const TIMES: usize = 4;
/// Each step down from a tempo that the player's hands are not reckoned to reach, and how many at most (chosen).
const SLOWER: f64 = 0.9;
const STEPS: i32 = 15;

impl Kind for Play {
    fn name(&self) -> &'static str {
        "play"
    }

    fn about(&self) -> &'static str {
        "a variation tapped with two keys for two hands, in time with the band"
    }

    fn usual_guess(&self) -> f64 {
        1e-6
    }

    fn fits(&self, card: &Card, sense: Sense) -> bool {
        let Some(drums) = &card.score.drums else {
            return false;
        };
        let scene = in_company(card, &met(card));
        sense == Sense::Hear
            && card.clave.is_some()
            && card.rudiment.is_none()
            && card.thin.is_empty()
            && card.score.lines.is_empty()
            && drums.drums().len() == 1
            && drums.has_full_sticking()
            && (drums.bars() != 2 || scene::loops(card))
            && scene.score.bars() == 2
            && is_plain_beside(&scene)
            && tempo(&scene, &met(card)).is_some()
    }

    fn concepts(&self, _card: &Card, _sense: Sense) -> Vec<String> {
        vec!["strokes played".to_string()]
    }

    fn usual_seconds(&self, card: &Card) -> f64 {
        super::timing::tapped(card, TIMES)
    }

    fn may_turn(&self) -> bool {
        true
    }

    fn is_produced(&self) -> bool {
        true
    }

    fn ask(&self, card: &Card, sense: Sense, seed: u64, setup: &Setup) -> Option<Question> {
        if !self.fits(card, sense) {
            return None;
        }
        let mut draw = Draw::new(seed);
        let scene = scene::in_company(card, setup, &mut draw);
        let (clave, drums) = (scene.clave?, scene.score.drums.clone()?);
        let mut score = scene.score.clone();
        if !setup.as_written {
            for line in scene::band(card, &scene, 1, true, &mut draw) {
                score.set_line(line);
            }
        }
        let take = Take {
            count_in: scene::count_in(sense),
            ..Take::new(score, tempo(&scene, setup)?, draw.seed())
        };
        let own = scene.own.clone();
        let per = card.grid.pulses_per_bar();
        let struck = drums.strokes().map(|(pulse, _)| pulse);
        let struck: Vec<usize> = struck.filter(|p| own.contains(&(p / per))).collect();
        let answer = struck.iter().filter_map(|p| drums.at(*p));
        let answer = letters(answer.map(|s| s.tone.letter()));
        let mut reveal = scene::reveal(card, &scene, &take, answer);
        reveal.reasons = reasons(&drums, &struck, Sense::Read);
        let mut asked = take;
        if !setup.as_written {
            asked.score.drums = None;
            asked.score.set_line(clave.line(card.grid));
        }
        let mark = match own.len() < scene.score.bars() {
            true => Mark::Bar(own.start),
            false => Mark::Whole,
        };
        let place = match mark {
            Mark::Bar(bar) => format!(" in bar {} of 2, the plain tumbao in the other", bar + 1),
            _ => String::new(),
        };
        let text = match setup.as_written {
            true => format!("{}: played, it is", card.title),
            false => format!("Play “{}”{place}, with the band, {TIMES} times.", card.title),
        };
        Some(Question {
            item: super::kind::key(self, card, sense),
            seed,
            form: Form::Taps {
                choices: vec![
                    Choice::new(LEFT, "left hand"),
                    Choice::new(RIGHT, "right hand"),
                ],
                task: TapTask::new(drums, asked.tempo())
                    .over(clave)
                    .by(setup.player),
                cycles: TIMES,
            },
            prompt: Prompt {
                text,
                take: asked,
                mark,
                show_hands: false,
                hidden: Vec::new(),
                audible: true,
                worded: false,
            },
            reveal,
            concepts: super::kind::concepts(card, self.concepts(card, sense)),
        })
    }
}

/// A set-up by which it is looked whether a card fits.
fn met(card: &Card) -> Setup {
    Setup {
        bpm: card.tempo.0,
        player: hands::Player::default(),
        as_written: false,
        weighed: false,
    }
}

fn in_company(card: &Card, setup: &Setup) -> Scene {
    scene::in_company(card, setup, &mut Draw::new(0))
}

/// Is a bar that was put beside the card's own the plain tumbao? True where there is none.
fn is_plain_beside(scene: &Scene) -> bool {
    let bars = 0..scene.score.bars();
    let (Some(drums), Some(plain)) = (&scene.score.drums, plain_tumbao(scene.score.grid)) else {
        return false;
    };
    let tones = |cells: &[Option<Stroke>]| -> Vec<_> {
        cells.iter().map(|c| c.map(|s| s.tone)).collect()
    };
    let mut beside = bars.filter(|bar| !scene.own.contains(bar));
    beside.all(|bar| tones(drums.bar(bar)) == tones(plain.cells()))
}

/// The tempo that is asked for, or the next lower one at which the sticking is within what the player's hands are reckoned
/// to do: nobody is urged beyond that.
fn tempo(scene: &Scene, setup: &Setup) -> Option<f64> {
    let drums: &Pattern = scene.score.drums.as_ref()?;
    let mut tempos = (0..STEPS).map(|n| setup.bpm * SLOWER.powi(n));
    tempos.find(|bpm| hands::judge(drums, *bpm, &setup.player).is_ok())
}
