use super::grade::{guess_chance, letters};
use super::scene::{self, Scene};
use super::strokes_reasons::reasons;
use super::{Choice, Draw, Form, Kind, Mark, Prompt, Question, Sense, Setup, words};
use crate::deck::Card;
use crate::rhythm::{Pattern, Stroke, Tone};
use crate::sound::Take;

/// Name the marked stroke, or every stroke of the marked bar.
pub struct Strokes;

/// Fewest choices that are offered.
const CHOICES: usize = 4;
/// Share of questions that ask a whole bar, where there is one to ask.
const ROWS: f64 = 0.3;

impl Kind for Strokes {
    fn name(&self) -> &'static str {
        "strokes"
    }

    fn about(&self) -> &'static str {
        "which stroke falls on a marked pulse, or all strokes of a bar"
    }

    fn fits(&self, card: &Card, _sense: Sense) -> bool {
        card.score
            .drums
            .as_ref()
            .is_some_and(|p| tones(p).len() > 1)
    }

    fn concepts(&self, _card: &Card, sense: Sense) -> Vec<String> {
        vec![match sense {
            Sense::Read => "strokes by heart".to_string(),
            Sense::Hear => "strokes by ear".to_string(),
        }]
    }

    fn ask(&self, card: &Card, sense: Sense, seed: u64, setup: &Setup) -> Option<Question> {
        if !self.fits(card, sense) {
            return None;
        }
        let mut draw = Draw::new(seed);
        let scene = scene::begun(card, setup, &mut draw);
        let drums = scene.score.drums.clone()?;
        let (mark, pulses) = match setup.as_written {
            true => (Mark::Bar(0), of_bar(&drums, 0)),
            false => asked(&drums, &mut draw)?,
        };
        let wanted: Vec<Stroke> = pulses.iter().filter_map(|p| drums.at(*p)).collect();
        let choices = choices(&drums);
        let right: Vec<String> = vec![wanted.iter().map(|s| key(s.tone)).collect()];
        let form = match mark {
            Mark::Pulse(_) => Form::One(choices.clone()),
            _ => Form::Row {
                choices: choices.clone(),
                length: wanted.len(),
            },
        };
        let answer = match wanted.as_slice() {
            [one] => one.tone.name().to_string(),
            row => letters(row.iter().map(|s| s.tone.letter())),
        };
        let mut score = scene.score.clone();
        if sense == Sense::Hear && !setup.as_written {
            // Heel and tip drown where much is going on.
            let quiet = wanted
                .iter()
                .all(|s| matches!(s.tone, Tone::Heel | Tone::Tip));
            for line in scene::band(card, &scene, if quiet { 1 } else { 2 }, true, &mut draw) {
                score.set_line(line);
            }
        }
        let take = Take {
            count_in: sense == Sense::Hear,
            ..Take::new(score, setup.bpm, draw.seed())
        };
        let mut reveal = scene::reveal(card, &scene, &take, answer);
        reveal.reasons = reasons(&drums, &pulses, sense);
        let mut concepts = self.concepts(card, sense);
        concepts.extend(wanted.iter().map(|s| s.tone.name().to_string()));
        Some(Question {
            item: super::kind::key(self, card, sense),
            seed,
            prompt: Prompt {
                text: text(card, sense, mark, &scene),
                take,
                mark,
                show_hands: false,
                hidden: pulses,
                audible: sense == Sense::Hear,
                worded: false,
            },
            guess: guess_chance(&right, choices.len()),
            form,
            right,
            reveal,
            concepts: super::kind::concepts(card, concepts),
        })
    }
}

/// The mark and the pulses that are asked: mostly one stroke, otherwise a bar of two to eight strokes of more than
/// one tone.
/// A single stroke is drawn by its tone first, so that no letter is right more often than another.
fn asked(drums: &Pattern, draw: &mut Draw) -> Option<(Mark, Vec<usize>)> {
    let mixed = |bar: usize| {
        let mut tones = drums.bar(bar).iter().flatten().map(|s| s.tone);
        let first = tones.next();
        tones.any(|t| Some(t) != first)
    };
    let rows: Vec<usize> = (0..drums.bars())
        .filter(|b| (2..=8).contains(&of_bar(drums, *b).len()) && mixed(*b))
        .collect();
    if draw.chance(ROWS)
        && let Some(bar) = draw.pick(&rows)
    {
        return Some((Mark::Bar(bar), of_bar(drums, bar)));
    }
    let tone = draw.pick(&tones(drums))?;
    let with: Vec<usize> = drums
        .strokes()
        .filter(|(_, s)| s.tone == tone)
        .map(|(p, _)| p)
        .collect();
    let pulse = draw.pick(&with)?;
    Some((Mark::Pulse(pulse), vec![pulse]))
}

/// The struck pulses of a bar.
fn of_bar(drums: &Pattern, bar: usize) -> Vec<usize> {
    let per = drums.grid().pulses_per_bar();
    let struck = drums.strokes().map(|(p, _)| p);
    struck.filter(|p| p / per == bar).collect()
}

/// The tones of a pattern, in the order of [`Tone::ALL`].
fn tones(drums: &Pattern) -> Vec<Tone> {
    Tone::ALL
        .into_iter()
        .filter(|t| drums.strokes().any(|(_, s)| s.tone == *t))
        .collect()
}

/// The tones of the part, filled up with the commonest others.
fn choices(drums: &Pattern) -> Vec<Choice> {
    let mut offered = tones(drums);
    for more in [Tone::Open, Tone::Slap, Tone::Tip, Tone::Heel, Tone::Muffled] {
        if offered.len() >= CHOICES {
            break;
        }
        if !offered.contains(&more) {
            offered.push(more);
        }
    }
    offered.sort();
    offered
        .into_iter()
        .map(|t| Choice {
            key: key(t),
            label: t.name().to_string(),
        })
        .collect()
}

fn key(tone: Tone) -> char {
    tone.letter().to_ascii_lowercase()
}

/// The question in words. It names the card, unless the name would tell the one stroke that is asked: then it is
/// left out for every stroke of that card, so that its absence tells nothing either.
fn text(card: &Card, sense: Sense, mark: Mark, scene: &Scene) -> String {
    let (grid, bars) = (scene.score.grid, scene.score.bars());
    let asked = match (mark, bars) {
        (Mark::Pulse(p), _) => format!("which stroke is on {}?", words::place(grid, bars, p)),
        (Mark::Bar(b), 2..) => format!("which strokes are in bar {}, in order?", b + 1),
        _ => "which strokes are these, in order?".to_string(),
    };
    let telling = ["open", "slap", "muffled", "bass", "heel", "tip"];
    let title = match mark {
        Mark::Pulse(_) => scene::safe_title(card, &telling),
        _ => scene::safe_title(card, &[]),
    };
    match (title, sense) {
        (Some(title), _) => format!("{title}: {asked}"),
        (None, Sense::Hear) => format!("Listen: {asked}"),
        (None, Sense::Read) => words::capital(&asked),
    }
}
