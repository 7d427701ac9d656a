//! A sticking that has a name: how it goes on after its first stroke.

use super::hand::HandQuestion;
use super::hand_fit::{filled, of_bar, without_hands};
use super::hand_why::StickingTask;
use super::{Draw, Mark, Setup, scene};
use crate::deck::Card;
use crate::hands::Rudiment;
use crate::rhythm::{Hand, capital};

/// Share of questions that ask one stroke instead of a row.
const ONE: f64 = 0.4;
/// Most strokes of a row.
const MOST: usize = 7;

/// The strokes of a card whose idea is a named sticking: the name, the hand that leads and the first stroke are
/// given, one further stroke or all that follow are asked.
pub(super) fn asked(
    card: &Card,
    rudiment: &'static Rudiment,
    setup: &Setup,
    draw: &mut Draw,
) -> Option<HandQuestion> {
    let scene = scene::as_written(card, setup, draw);
    let written = scene.score.drums.as_ref()?;
    let strokes: Vec<usize> = written.strokes().map(|(p, _)| p).collect();
    let lead = written.hands().first().copied().flatten()?;
    let drums = filled(written, &strokes, &rudiment.row(lead, strokes.len()));
    let bars = drums.bars();
    let bar = if setup.as_written {
        0
    } else {
        draw.below(bars)
    };
    let (first, after) = match of_bar(&drums, bar).as_slice() {
        [first, after @ ..] if !after.is_empty() => (*first, after.to_vec()),
        _ => return None,
    };
    let one = !setup.as_written && draw.chance(ONE);
    let asked = match one {
        true => vec![draw.pick(&after)?],
        false => after.into_iter().take(MOST).collect(),
    };
    let blank: Vec<usize> = strokes.into_iter().filter(|p| *p > first).collect();
    let row: Option<Vec<Hand>> = asked.iter().map(|p| drums.at(*p)?.hand).collect();
    let name = capital(rudiment.name);
    let what = match asked.as_slice() {
        [one] => format!("which hand for the stroke on {}?", drums.spoken(*one)),
        row => format!("which hands play the next {} strokes?", row.len()),
    };
    Some(HandQuestion {
        tempo: setup.tempo,
        mark: match one {
            true => Mark::Pulse(asked[0]),
            false => Mark::Bar(bar),
        },
        text: format!("{name}, the {} hand leads: {what}", lead.name()),
        shown: without_hands(&drums, &blank),
        right: vec![row?],
        sticking: StickingTask {
            drums,
            asked,
            player: setup.player,
            rudiment: Some(rudiment),
        },
        scene,
    })
}
