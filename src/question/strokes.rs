//! The kind of question that asks for strokes.

use super::scene::{self, Scene};
use super::strokes_reasons::reasons;
use super::{Choice, Draw, Form, Kind, Mark, Prompt, QuestionParts, Sense, Setup, words};
use crate::deck::Card;
use crate::rhythm::{Line, Pattern, Stroke, Tone, spaced};

/// The concept of strokes by eye: nothing but the card's name tells them.
pub(super) const BY_HEART: &str = "strokes by heart";

/// The concept of strokes in a sense.
pub(super) fn concept(sense: Sense) -> &'static str {
    match sense {
        Sense::Read => BY_HEART,
        Sense::Hear => "strokes by ear",
    }
}

/// Fewest choices that are offered.
const CHOICES: usize = 4;
/// Share of questions that ask a whole bar, where there is one to ask.
const ROWS: f64 = 0.3;
/// Longest phrase that is asked by ear, in bars: nobody should listen for half a minute to one stroke.
const HEARD: usize = 4;

/// Name the marked stroke, or the strokes that are hidden in the marked bar.
///
/// By ear the sound tells them. By eye nothing but the card's name does: it is in the question, and only strokes that
/// the name does not tell are asked.
pub(super) static STROKES: Kind = Kind {
    name: "strokes",
    about: "which stroke falls on a marked pulse, or all strokes of a bar",
    usual_guess: 0.05,
    may_turn: true,
    concepts: |_, sense| vec![concept(sense)],
    drawn_concepts: || Tone::ALL.map(|tone| tone.name().to_string()).to_vec(),
    fits,
    make,
    ..Kind::CHOSEN
};

fn fits(card: &Card, sense: Sense) -> bool {
    let drums = card.score.drums.as_ref();
    let known = match sense {
        Sense::Read => card.clave.is_some() || drums.is_some_and(goes_round),
        Sense::Hear => drums.is_some_and(|p| p.bars() <= HEARD),
    };
    // The name of a sticking tells the hands, not the sounds.
    let named = sense == Sense::Read && card.rudiment.is_some();
    known && !named && drums.is_some_and(|p| tones(p, &told(card, sense)).len() > 1)
}

fn make(card: &Card, sense: Sense, draw: &mut Draw, setup: &Setup) -> Option<QuestionParts> {
    // A name may say which bar comes first: where it is said, the card begins at its first bar.
    let scene = match sense {
        Sense::Read => scene::as_written(card, setup, draw),
        Sense::Hear => scene::begun(card, setup, draw),
    };
    let drums = scene.score.drums.clone()?;
    let told = told(card, sense);
    let (mark, pulses) = match setup.as_written {
        true => (Mark::Bar(0), of_bar(&drums, 0, &[])),
        false => asked(card, &drums, sense, draw)?,
    };
    let wanted: Vec<Stroke> = pulses.iter().filter_map(|p| drums.at(*p)).collect();
    let told = if setup.as_written { Vec::new() } else { told };
    let right: Vec<String> = vec![wanted.iter().map(|s| key(s.tone)).collect()];
    let form = Form::at_pulses(choices(&drums, &told), right);
    let answer = match wanted.as_slice() {
        [one] => one.tone.name().to_string(),
        row => spaced(row.iter().map(|s| s.tone.letter())),
    };
    let score = match sense == Sense::Hear && !setup.as_written {
        true => {
            // Heel and tip drown where much is going on.
            let most = if wanted.iter().all(|s| s.is_light()) {
                1
            } else {
                2
            };
            // What states a side over two bars would lie wrong over every other round of a single one.
            let even = scene.score.bars().is_multiple_of(2);
            scene::with_band(card, &scene, 0..=most, even, draw)
        }
        false => scene.score.clone(),
    };
    let mut take = scene::take(score, setup.tempo, sense, draw);
    // What would hide an asked stroke stays out.
    if setup.weighed && sense == Sense::Hear {
        let lines = take.score.lines.iter().map(Line::instrument);
        let joined: Vec<_> = lines.filter(|i| scene.score.line(*i).is_none()).collect();
        for instrument in joined {
            if take.tells(&pulses) {
                break;
            }
            take.score.remove(instrument);
        }
    }
    let mut reveal = scene::reveal(card, &scene, &take, answer);
    reveal.reasons = reasons(&drums, &pulses, sense, scene.clave_of(card));
    Some(QuestionParts {
        prompt: Prompt {
            mark,
            hidden: pulses,
            ..Prompt::new(
                text(card, sense, mark, &scene, setup.as_written),
                take,
                sense,
            )
        },
        form,
        reveal,
        concepts: wanted.iter().map(|s| s.tone.name().to_string()).collect(),
    })
}

/// Does each half of the bar, or each bar, say the same, so that one stroke can be told by its like?
fn goes_round(drums: &Pattern) -> bool {
    let (n, sound) = (drums.pulses(), |p| drums.at(p).map(|s| (s.drum, s.tone)));
    let like = |half| half > 0 && n > half && (0..n).all(|p| sound(p) == sound(p + half));
    let per = drums.grid().pulses_per_bar();
    like(per / 2) || like(per)
}

/// The mark and the pulses that are asked: mostly one stroke, otherwise two to eight strokes of a bar, of more than
/// one tone. Tones that are given away are not asked. By eye the light strokes of a row stay in sight, and a card that
/// is no part of the music, known by heart, is asked for one stroke at a time. A single stroke is drawn by its tone
/// first, so that no letter is right more often than another.
fn asked(
    card: &Card,
    drums: &Pattern,
    sense: Sense,
    draw: &mut Draw,
) -> Option<(Mark, Vec<usize>)> {
    let told = &told(card, sense)[..];
    let mixed = |pulses: &[usize]| {
        let mut tones = pulses.iter().filter_map(|p| drums.at(*p)).map(|s| s.tone);
        let first = tones.next();
        tones.any(|t| Some(t) != first)
    };
    let of = |bar: usize| -> Vec<usize> {
        let mut pulses = of_bar(drums, bar, told);
        if sense == Sense::Read {
            pulses.retain(|p| drums.at(*p).is_some_and(Stroke::carries));
            if pulses.len() == of_bar(drums, bar, &[]).len() {
                pulses.clear();
            }
        }
        pulses
    };
    let rows: Vec<usize> = scene::speaking_bars(drums)
        .into_iter()
        .filter(|b| {
            let pulses = of(*b);
            (2..=8).contains(&pulses.len()) && mixed(&pulses)
        })
        .filter(|_| sense == Sense::Hear || card.clave.is_some())
        .collect();
    if draw.chance(ROWS)
        && let Some(bar) = draw.pick(&rows)
    {
        return Some((Mark::Bar(bar), of(bar)));
    }
    let tone = draw.pick(&tones(drums, told))?;
    let with: Vec<usize> = speaking(drums)
        .filter(|(_, s)| s.tone == tone)
        .map(|(p, _)| p)
        .collect();
    let pulse = draw.pick(&with)?;
    Some((Mark::Pulse(pulse), vec![pulse]))
}

/// The struck pulses of a bar, except strokes whose tone is given away.
fn of_bar(drums: &Pattern, bar: usize, told: &[Tone]) -> Vec<usize> {
    let per = drums.grid().pulses_per_bar();
    let struck = drums.strokes().filter(|(_, s)| !told.contains(&s.tone));
    struck.map(|(p, _)| p).filter(|p| p / per == bar).collect()
}

/// The strokes of the bars that are worth asking about.
fn speaking(drums: &Pattern) -> impl Iterator<Item = (usize, Stroke)> {
    let (bars, per) = (scene::speaking_bars(drums), drums.grid().pulses_per_bar());
    drums
        .strokes()
        .filter(move |(p, _)| bars.contains(&(p / per)))
}

/// The tones of a pattern, in the order of [`Tone::ALL`], except those that are given away.
fn tones(drums: &Pattern, told: &[Tone]) -> Vec<Tone> {
    Tone::ALL
        .into_iter()
        .filter(|t| !told.contains(t) && speaking(drums).any(|(_, s)| s.tone == *t))
        .collect()
}

/// Tones that the question itself names before it is answered. By ear it names none.
fn told(card: &Card, sense: Sense) -> Vec<Tone> {
    match sense {
        Sense::Read => words::tones(&card.title),
        Sense::Hear => Vec::new(),
    }
}

/// The tones of the part, filled up with the commonest others. What is given away is never asked, and so not offered.
fn choices(drums: &Pattern, told: &[Tone]) -> Vec<Choice> {
    let mut offered = tones(drums, told);
    let common = [Tone::Open, Tone::Slap, Tone::Tip, Tone::Heel, Tone::Muffled];
    for more in common.into_iter().chain(Tone::ALL) {
        if offered.len() >= CHOICES {
            break;
        }
        if !offered.contains(&more) && !told.contains(&more) {
            offered.push(more);
        }
    }
    offered.sort();
    let choices = offered.into_iter();
    choices.map(|t| Choice::new(key(t), t.name())).collect()
}

pub(super) fn key(tone: Tone) -> char {
    tone.letter().to_ascii_lowercase()
}

/// The question in words. By eye it names the card, by ear what is heard decides.
fn text(card: &Card, sense: Sense, mark: Mark, scene: &Scene, as_written: bool) -> String {
    let (grid, bars) = (scene.score.grid, scene.score.bars());
    let name = match sense {
        Sense::Read => card.title.as_str(),
        Sense::Hear => "Listen",
    };
    match (mark, sense) {
        _ if as_written => format!("{name}: which strokes are these, in order?"),
        (Mark::Pulse(p), _) => {
            format!("{name}: which stroke is on {}?", grid.spoken_in(bars, p))
        }
        (Mark::Bar(b), Sense::Read) if bars > 1 => {
            format!(
                "{name}: which strokes are missing in bar {}, in order?",
                b + 1
            )
        }
        (_, Sense::Read) => format!("{name}: which strokes are missing, in order?"),
        (Mark::Bar(b), Sense::Hear) if bars > 1 => {
            format!("{name}: which strokes are in bar {}, in order?", b + 1)
        }
        (_, Sense::Hear) => format!("{name}: which strokes are these, in order?"),
    }
}
