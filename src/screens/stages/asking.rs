//! The page of a question.

use super::{AudioStatus, tempo_in_words};
use crate::question::{Form, Mark, Sense};
use crate::screens::chart::Chart;
use crate::screens::page::{Keys, Page, Paragraph};
use crate::session::Asking;

/// How a row is written, and how that is done on the screen.
const WRITE: &str = "A letter for each stroke, a dot for each rest.";
const ON_THE_SCREEN: &str = "[← →] to another pulse";

/// What is said before taps.
const CAUTION: &str =
    "It ends by itself. Keep the hands loose; stop at pain, numbness or tingling.";

/// What is said about the microphone, for one key and for those of two hands.
const LISTENS: &str = "Clap: the microphone listens. Keep headphones on, not too loud.";
const STROKES_ALONE: &str =
    "The microphone hears strokes, not hands. Keep headphones on, not too loud.";

/// A question.
pub fn page(asking: &Asking, audio: AudioStatus) -> Page<'_> {
    let question = &asking.question;
    let prompt = &question.prompt;
    let take = &prompt.take;
    let score = &take.score;
    let written = matches!(question.form, Form::Written { .. });
    let taps = matches!(question.form, Form::Taps { .. });
    // A playhead would keep the beat for the eye while the clave is to be held.
    let held = matches!(&question.form, Form::Taps { task, .. } if !task.away().is_empty());
    let at = prompt.hidden.get(asking.cursor);
    let chart = Chart {
        tapped: if taps { asking.tapped() } else { Vec::new() },
        curtain: question.item.sense == Sense::Hear,
        mark: match at {
            Some(pulse) if written => Mark::Pulse(*pulse),
            _ => prompt.mark,
        },
        hidden: &prompt.hidden,
        asked_hands: question.reveal.sticking.as_ref().map_or(&[], |s| &s.asked),
        typed: &asking.typed,
        playhead: audio.playhead,
        writes: written,
        ..Chart::new(score)
    };
    let length = question.form.length();
    let typed = match &question.form {
        Form::Key { .. } => None,
        Form::Row { .. } => Some(row(&asking.typed, length)),
        Form::Written { .. } => Some(ON_THE_SCREEN.to_string()),
        Form::Taps { .. } => {
            let taps = asking.typed.split_whitespace().count();
            Some(format!("{taps} of {length}"))
        }
    };
    let chart = match prompt.show_hands {
        true => chart.with_written_hands(),
        false => chart,
    };
    let remark = match question.has_music() {
        true => format!("{}. {}", tempo_in_words(score.grid, take.tempo), asking.why),
        false => asking.why.clone(),
    };
    let audible = prompt.audible && audio.volume.is_some();
    let mut head = vec![Paragraph::strong(&prompt.text)];
    if written {
        head.push(Paragraph::plain(WRITE));
    }
    if taps {
        head.push(Paragraph::plain(CAUTION));
        if audio.listens {
            let hands = question.form.choices().len() > 1;
            let said = if hands { STROKES_ALONE } else { LISTENS };
            head.push(Paragraph::plain(said));
        }
    }
    head.push(Paragraph::quiet(remark));
    let begun = asking.typed != question.form.blank();
    Page {
        place: question.item.sense.spoken().into(),
        head,
        chart: (question.has_music() && !held).then_some(chart),
        choices: question.form.choices().to_vec(),
        typed,
        keys: Keys {
            // While a row is typed, Enter does nothing and the last key can be taken back.
            enter: (begun && (written || taps)).then_some("done"),
            erase: (begun && !written && !taps).then_some("erase"),
            unknown: (!begun).then_some(audio.keys.unknown),
            space: audible.then_some("hear it"),
            minus: (audible && !taps).then_some("slower"),
            escape: Some("stop"),
            ..Keys::default()
        },
        ..Page::default()
    }
}

/// The keys typed so far, with a place for each one that is still to come.
fn row(typed: &str, length: usize) -> String {
    let typed = typed.chars().map(|c| c.to_ascii_uppercase());
    let places = typed.chain(std::iter::repeat('_')).take(length);
    let row: String = places.map(|c| format!("{c} ")).collect();
    format!("your answer: {row}")
}
