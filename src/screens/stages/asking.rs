//! The page of a question.

use super::{AudioStatus, tempo};
use crate::question::{Form, Sense};
use crate::screens::chart::Chart;
use crate::screens::page::{Keys, Page, Paragraph};
use crate::screens::theme::Role;
use crate::session::Asking;

/// A question.
pub fn page(asking: &Asking, audio: AudioStatus) -> Page<'_> {
    let question = &asking.question;
    let prompt = &question.prompt;
    let take = &prompt.take;
    let score = &take.score;
    let chart = Chart {
        curtain: question.item.sense == Sense::Hear,
        mark: prompt.mark,
        hidden: &prompt.hidden,
        asked_hands: question.reveal.sticking.as_ref().map_or(&[], |s| &s.asked),
        typed: &asking.typed,
        playhead: audio.playhead,
        ..Chart::new(score)
    };
    let (choices, typed) = match &question.form {
        Form::Key { choices, .. } => (choices, None),
        Form::Row { choices, .. } => (choices, Some(row(&asking.typed, question.form.length()))),
    };
    let chart = match prompt.show_hands {
        true => chart.with_written_hands(),
        false => chart,
    };
    let remark = match question.has_music() {
        true => format!("{}. {}", tempo(score.grid, take.bpm), asking.why),
        false => asking.why.clone(),
    };
    let audible = prompt.audible && audio.volume.is_some();
    Page {
        place: question.item.sense.spoken().into(),
        head: vec![
            Paragraph::new(Role::Strong, &prompt.text),
            Paragraph::new(Role::Quiet, remark),
        ],
        chart: question.has_music().then_some(chart),
        choices: choices.clone(),
        typed,
        keys: Keys {
            unknown: Some(audio.keys.unknown),
            space: audible.then_some("hear it"),
            minus: audible.then_some("slower"),
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
    places.map(|c| format!("{c} ")).collect()
}
