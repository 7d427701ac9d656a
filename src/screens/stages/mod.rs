//! The pages of a session, one file a stage.

mod asking;
mod done;
mod feedback;
mod introduction;
mod paused;
/// The first screen of the first run.
pub mod welcome;

#[cfg(test)]
mod tests;

use super::chart::{Answered, Chart, GridLayout, numbers};
use super::page::{Keys, Page, Paragraph};
use super::screen_settings::ExtraKeys;
use super::theme::Role;
use crate::question::{Answer, Question};
use crate::rhythm::{Grid, Tempo};
use crate::session::{Review, Session, Stage};
use crate::time::{Moment, Seconds};

/// What a page shows that the session does not know.
#[derive(Clone, Copy, Debug, Default)]
pub struct AudioStatus {
    /// The pulse that is heard now, counted in the score of what plays.
    pub playhead: Option<usize>,
    /// Volume in percent; `None` without sound.
    pub volume: Option<u8>,
    /// The letters that are not answers.
    pub keys: ExtraKeys,
    /// The microphone is listened to.
    pub listens: bool,
}

/// The page of a session at `now` (seconds since 1970 UTC).
pub fn page<'a>(session: &'a Session, audio: AudioStatus, now: Moment) -> Page<'a> {
    let mut page = match session.stage() {
        Stage::Welcome(profile) => welcome::page(profile),
        Stage::Waiting => waiting(),
        Stage::Introduction(meeting) => introduction::page(meeting, audio),
        Stage::Asking(asking) => asking::page(asking, audio),
        Stage::Feedback(told) => feedback::page(told, audio),
        Stage::Paused(paused) => paused::page(paused, audio.keys),
        Stage::Done(summary) => done::page(summary),
    };
    if matches!(
        session.stage(),
        Stage::Introduction(_) | Stage::Asking(_) | Stage::Feedback(_) | Stage::Paused(_)
    ) {
        page.left = time_left(session.seconds_left(now));
        page.keys.arrows = audio.volume.map(|percent| format!("{percent} %"));
        page.keys.pause = match session.stage() {
            Stage::Paused(_) => None,
            _ => Some("help"),
        };
    }
    page.notice = session.notice().map(ToString::to_string);
    page
}

fn waiting() -> Page<'static> {
    Page {
        place: "today".into(),
        head: vec![Paragraph::plain("Working out what is worth most today.")],
        keys: Keys {
            escape: Some("stop"),
            ..Keys::default()
        },
        ..Page::default()
    }
}

fn time_left(left: Seconds) -> String {
    match left.minutes().ceil() as i64 {
        i64::MIN..=0 => "time is up".into(),
        1 => "the last minute".into(),
        minutes => format!("{minutes} minutes left"),
    }
}

/// `180 quarter notes a minute`.
pub(super) fn tempo_in_words(grid: Grid, tempo: Tempo) -> String {
    format!("{tempo:.0} {} notes a minute", grid.beat_unit())
}

/// The bar grid with everything that the answer reveals.
fn revealed(question: &Question, audio: AudioStatus) -> Chart<'_> {
    let reveal = &question.reveal;
    Chart {
        mark: question.prompt.mark,
        hands: (!reveal.hands.is_empty()).then(|| reveal.hands.clone()),
        clave: reveal.clave,
        meets: &reveal.meets,
        reasons: &reveal.reasons,
        playhead: audio.playhead,
        ..Chart::new(&reveal.take.score)
    }
}

/// The answer under the right row, if it is a row that is not right and its pulses are known.
fn answered(review: &Review) -> Option<Answered<'_>> {
    let (question, verdict) = (&review.question, &review.verdict);
    let sticking = question.reveal.sticking.as_ref();
    let pulses = sticking
        .map_or(&question.prompt.hidden, |s| &s.asked)
        .clone();
    let (Answer::Row(given), Answer::Row(nearest)) = (&review.answer, &verdict.nearest) else {
        return None;
    };
    let wrong = !verdict.right && pulses.len() == question.form.length();
    wrong.then(|| Answered {
        given,
        nearest,
        shown: question.form.right().first() == Some(&verdict.nearest),
        pulses,
        hands: sticking.is_some(),
    })
}

/// The signs before a graded answer, to be seen at a glance: full, half and empty.
const RIGHT: &str = "● ";
const PARTLY: &str = "◐ ";
const MISSED: &str = "○ ";

/// The reasons as a list; the numbers are those in the bar grid.
fn reasons(question: &Question) -> Vec<Paragraph> {
    let reasons = question.reveal.reasons.iter();
    let reasons = reasons.zip(numbers(&question.reveal.reasons));
    let lead = |number: Option<u32>| match number {
        None => "  ".to_string(),
        Some(number) => format!("{number} "),
    };
    let legend = GridLayout::of(&revealed(question, AudioStatus::default())).legend();
    let legend = legend.map(Paragraph::quiet);
    let reasons = reasons.map(|(r, n)| Paragraph::led(lead(n), Role::Plain, &r.text));
    reasons.chain(legend).collect()
}
