//! The kind `write`: a bar written from memory, or by ear, onto an empty grid.

use super::alignment::{Comparison, REST};
use super::scene;
use super::strokes::{concept, key};
use super::strokes_reasons::reasons;
use super::{
    Answer, AnswerMode, Choice, Draw, Form, Kind, Prompt, Question, QuestionParts, Reason, Sense,
    Setup,
};
use crate::deck::Card;
use crate::rhythm::{Grid, Pattern, Stroke, Tone, spaced};
use crate::sound::Take;

/// Longest row, in pulses: two bars of eighths. Longer ones are typing.
const LONGEST: usize = 16;
/// Fewest strokes that are worth writing.
const FEWEST: usize = 3;

/// Write the strokes of one drum, pulse by pulse, rests included: by eye those of the card that is named, by ear those
/// that are heard.
pub(super) static WRITE: Kind = Kind {
    name: "write",
    about: "a bar written from memory, or by ear, onto an empty grid",
    usual_guess: 1e-6,
    may_turn: true,
    answered: AnswerMode::Written,
    concepts: |_, sense| vec![concept(sense)],
    usual_seconds: |card| super::timing::written(card),
    fits,
    make,
    ..Kind::CHOSEN
};

fn fits(card: &Card, sense: Sense) -> bool {
    let Some(drums) = &card.score.drums else {
        return false;
    };
    let known = sense == Sense::Hear || card.clave.is_some();
    known
        && card.rudiment.is_none()
        && drums.drums().len() == 1
        && drums.pulses() <= LONGEST
        && drums.strokes().count() >= FEWEST
}

fn make(card: &Card, sense: Sense, draw: &mut Draw, setup: &Setup) -> Option<QuestionParts> {
    let scene = match sense {
        Sense::Read => scene::as_written(card, setup, draw),
        Sense::Hear => scene::begun(card, setup, draw),
    };
    let drums = scene.score.drums.clone()?;
    let mut right = vec![row(&drums)];
    if sense == Sense::Read {
        right.extend(closed_on_two(&drums));
    }
    let score = match sense == Sense::Hear && !setup.as_written {
        true => scene::with_band(card, &scene, 0..=1, scene.score.bars() > 1, draw),
        false => scene.score.clone(),
    };
    let take = scene::take(score, setup.tempo, sense, draw);
    let answer = spaced(right[0].chars().map(|k| k.to_ascii_uppercase()));
    let mut reveal = scene::reveal(card, &scene, &take, answer);
    let struck: Vec<usize> = drums.strokes().map(|(p, _)| p).collect();
    reveal.reasons = reasons(&drums, &struck, sense, scene.clave_of(card));
    let bars = match drums.bars() {
        1 => "one bar, one drum".to_string(),
        n => format!("{n} bars, one drum"),
    };
    let text = match sense {
        _ if setup.as_written => format!("{}: written, it is", card.title),
        Sense::Read if !card.score.lines.is_empty() => {
            format!("Write what the drum plays in “{}”: {bars}.", card.title)
        }
        Sense::Read => format!("Write “{}”: {bars}.", card.title),
        Sense::Hear => format!("Listen, and write what the drum plays: {bars}."),
    };
    let prompt = Prompt {
        hidden: (0..drums.pulses()).collect(),
        ..Prompt::new(text, take, sense)
    };
    let form = Form::Written {
        choices: choices(),
        right,
        beat: drums.grid().pulses_per_beat(),
    };
    Some(QuestionParts::new(prompt, form, reveal))
}

/// The strokes as they are written: the letter of each, and rests.
fn row(drums: &Pattern) -> String {
    let letter = |cell: &Option<Stroke>| cell.map_or(REST, |s| key(s.tone));
    drums.cells().iter().map(letter).collect()
}

/// The same row with a closed slap for each slap on 2 between light strokes: in a tumbao many teachers want it closed (common
/// practice, no source), and from memory both are right. `None` where there is no such slap, or where the part has
/// closed slaps of its own, so that the question is which of the two comes.
fn closed_on_two(drums: &Pattern) -> Option<String> {
    let grid = drums.grid();
    let closed = drums.strokes().any(|(_, s)| s.tone == Tone::ClosedSlap);
    if closed || grid == Grid::SixEight {
        return None;
    }
    let light = |p: usize| drums.at(p).is_some_and(|s| s.tone.is_heel_or_tip());
    let half = grid.pulses_per_beat() / 2;
    let on_two = |p: usize, s: Stroke| {
        let around = light(p + drums.pulses() - half) && light(p + half);
        s.tone == Tone::Slap && grid.spoken(p) == "2" && around
    };
    let slaps = drums.strokes().filter(|(p, s)| on_two(*p, *s));
    let slaps: Vec<usize> = slaps.map(|(p, _)| p).collect();
    let close = |(p, written)| match slaps.contains(&p) {
        true => key(Tone::ClosedSlap),
        false => written,
    };
    (!slaps.is_empty()).then(|| row(drums).chars().enumerate().map(close).collect())
}

/// Every stroke there is, so that the choice tells nothing, and the rest.
fn choices() -> Vec<Choice> {
    let tones = Tone::ALL.iter();
    let tones = tones.map(|t| Choice::new(key(*t), t.name()));
    tones.chain([Choice::new(REST, "rest")]).collect()
}

impl Question {
    /// What is wrong in a row that was written, beside this right one; `None` where nothing is.
    pub(super) fn mistakes(&self, right: &str, found: &Comparison) -> Option<Reason> {
        let grid = self.prompt.take.score.grid;
        let bars = self.form.length() / grid.pulses_per_bar();
        let text = found.in_words(right, grid, bars)?;
        Some(Reason::of(text))
    }

    /// What the player wrote, as it sounds: instead of the strokes that are asked, everything else as in the answer. `None`
    /// where nothing was written, or it is right.
    pub fn own_take(&self, answer: &Answer) -> Option<Take> {
        let (Form::Written { .. }, Answer::Row(row)) = (&self.form, answer) else {
            return None;
        };
        if self.form.is_right(answer) {
            return None;
        }
        let mut take = self.reveal.take.clone();
        let drums = take.score.drums.take()?;
        let drum = *drums.drums().first()?;
        let mut cells = drums.cells().to_vec();
        for (pulse, key) in self.prompt.hidden.iter().zip(row.chars()) {
            let tone = Tone::from_letter(key.to_ascii_uppercase());
            *cells.get_mut(*pulse)? = tone.map(|tone| Stroke::new(drum, tone));
        }
        take.score.drums = Pattern::new(drums.grid(), cells).ok();
        Some(take)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rhythm::notation::read_line;

    /// Counted by hand: the slap on 2 lies between light strokes in the plain tumbao alone.
    #[test]
    fn a_slap_on_two_may_be_closed_between_light_strokes() {
        let closed = |text: &str| closed_on_two(&read_line(text, Grid::Eighths).unwrap());
        assert_eq!(closed("HTSTHTOO"), Some("htcthtoo".into()));
        for other in ["HOSTHTOO", "HTSOHTOO", "HTOTHTSO", "HTSTHTCO", "H.STHTOO"] {
            assert_eq!(closed(other), None, "{other}");
        }
    }
}
