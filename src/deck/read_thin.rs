//! The thinner form of a card: which strokes become rests, and the tempo at which that starts.

use super::diagnostic::Notes;
use super::keys::{Located, TableKeys};
use super::rules;
use crate::rhythm::{Pattern, Score, Tempo, spaced};

/// `["1&", "2:3&"]`: strokes that may become rests, by their counts.
pub(super) fn read_thin(words: &[Located<String>], score: &Score, notes: &mut Notes) -> Vec<usize> {
    let mut thin = Vec::new();
    for word in words {
        match thin_pulse(&word.value, score) {
            Ok(pulse) => thin.push(pulse),
            Err((message, mend)) => notes.add(&rules::THIN, word.span.clone(), message, mend),
        }
    }
    thin.sort_unstable();
    thin.dedup();
    let strokes = score.drums.iter().flat_map(Pattern::strokes).count();
    let word = words.first().filter(|_| thin.len() >= strokes.max(1));
    if let Some(span) = word.map(|w| w.span.clone()) {
        let mend = "keep the strong strokes";
        notes.add(&rules::THIN, span, "nothing is left", mend);
    }
    thin
}

fn thin_pulse(word: &str, score: &Score) -> Result<usize, (String, String)> {
    let grid = score.grid;
    let per = grid.pulses_per_bar();
    let (bar, count) = match word.split_once(':') {
        Some((bar, count)) => (bar.trim().parse::<usize>().unwrap_or(0), count.trim()),
        None => (1, word.trim()),
    };
    let Some(drums) = &score.drums else {
        let message = "only strokes on the drums can be left out";
        return Err((message.into(), "take `thin` out".into()));
    };
    let Some(pulse) = (0..per).find(|p| grid.spoken(*p) == count.replace('+', "&")) else {
        return Err((
            format!("there is no pulse `{word}` in the bar"),
            format!(
                "write one of {}, with `2:` before it for the second bar",
                spaced((0..per).map(|p| grid.spoken(p)))
            ),
        ));
    };
    if bar == 0 || bar > drums.bars() {
        return Err((
            format!("there is no bar {bar} here"),
            format!("bars count from 1 to {}", drums.bars()),
        ));
    }
    let pulse = pulse + (bar - 1) * per;
    match drums.at(pulse) {
        None => Err((
            format!("there is no stroke at `{word}`"),
            "name a stroke that is in the grid".into(),
        )),
        Some(s) if s.is_light() => Ok(pulse),
        Some(s) => Err((
            format!("the {} at `{word}` is not a light stroke", s.tone.name()),
            "leave out heels, tips and ghosts; the groove lives on the strong strokes".into(),
        )),
    }
}

/// The tempo from which the thinner form is played; it lies within the tempo range, and there is a thinner form.
pub(super) fn read_thin_from(
    keys: &TableKeys,
    tempo: Option<(Tempo, Tempo)>,
    notes: &mut Notes,
) -> Option<Tempo> {
    let from = keys.number("thin_from", notes)?;
    let from_tempo = Tempo::new(from.value);
    if !keys.has("thin") {
        let message = "there is a tempo for the thinner form, but no thinner form";
        let mend = "name the strokes that become rests, such as `thin = [\"1&\", \"3&\"]`";
        notes.add(&rules::THIN, from.span, message, mend);
        return None;
    }
    match tempo {
        Some((low, high)) if from_tempo <= low || from_tempo > high => {
            let message = format!(
                "{} is not between the tempos of the card, {low} and {high}",
                from.value
            );
            let mend = "write a tempo above the slowest and up to the fastest one";
            notes.add(&rules::THIN, from.span, message, mend);
            None
        }
        _ => Some(from_tempo),
    }
}
