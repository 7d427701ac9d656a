//! The page after an answer.

use super::{AudioStatus, MISSED, PARTLY, RIGHT, answered, reasons, revealed};
use crate::question::Answer;
use crate::screens::chart::Chart;
use crate::screens::keys::OWN;
use crate::screens::page::{Keys, Page, Paragraph};
use crate::screens::theme::Role;
use crate::session::{Feedback, Review};
use crate::time::Seconds;

/// Shorter times are shown as 0.0: the answer came before its bar had been heard to the end.
const AT_ONCE: Seconds = Seconds::new(0.05);

/// The answer with its reasons.
pub fn page(told: &Feedback, audio: AudioStatus) -> Page<'_> {
    let (review, question) = (&told.review, &told.review.question);
    let sound = audio.volume.is_some() && question.has_music();
    let (sign, verdict) = verdict(review);
    let mut head = vec![
        Paragraph::led(verdict, Role::Plain, detail(review, audio.keys.take_back)).signed(sign),
    ];
    if told.again_today {
        head.push(Paragraph::quiet("It comes again today."));
    }
    let mut body: Vec<Paragraph> = refused(review).into_iter().collect();
    if sound && question.own_take(&review.answer).is_some() {
        let text = format!("[{OWN}] plays what you wrote, Space the right answer.");
        body.push(Paragraph::quiet(text));
    }
    if !told.counts {
        body.push(Paragraph::quiet(
            "Asked again after a slip: you know it now, so it does not count either way.",
        ));
    }
    body.extend(reasons(question));
    if told.starts_on_other_bar {
        body.push(Paragraph::quiet(
            "This time it began on a different bar from the card, so its bars have other numbers.",
        ));
    }
    Page {
        place: format!("{}: {}", question.item.sense.spoken(), told.title),
        head,
        chart: question.has_music().then(|| Chart {
            answered: answered(review),
            ..revealed(question, audio)
        }),
        body,
        keys: Keys::hearing("next", sound),
        ..Page::default()
    }
}

/// Why exactly this row is refused, or what the taps were. For one key the reasons say it already.
fn refused(review: &Review) -> Option<Paragraph> {
    let why = review.verdict.why.as_ref()?;
    let text = match review.answer {
        Answer::Row(_) => format!("As you said it: {}", why.continued()),
        Answer::Taps(_) => why.text.clone(),
        Answer::Key(_) | Answer::Unknown => return None,
    };
    Some(Paragraph::plain(text))
}

/// How the answer was graded: its sign, and in words.
fn verdict(review: &Review) -> (&'static str, String) {
    let verdict = &review.verdict;
    let unsteady =
        matches!(review.answer, Answer::Taps(_)) && review.seconds <= review.question.limit();
    match (verdict.right, verdict.in_time, verdict.partly) {
        (true, true, _) => (RIGHT, "Right, in time: ".into()),
        (true, false, _) if unsteady => (RIGHT, "Right, but not steady: ".into()),
        (true, false, _) => (RIGHT, "Right, but late: ".into()),
        (false, _, true) => {
            let (hits, all) = (verdict.hits, verdict.of);
            (PARTLY, format!("Partly right, {hits} of {all}: "))
        }
        (false, _, false) => (MISSED, "Missed: ".into()),
    }
}

fn detail(review: &Review, take_back: char) -> String {
    // Answers in words are sentences of the deck's writer, and a row may end in a rest: quoted, they do not run into ours.
    let said = |text: &str| match review.question.has_music() && !text.ends_with('.') {
        true => text.to_string(),
        false => format!("“{text}”"),
    };
    let (question, verdict) = (&review.question, &review.verdict);
    // Of several right answers the one that the player gave, or came nearest to.
    let answer = match question.form.right().first() == Some(&verdict.nearest) {
        true => said(&question.reveal.answer),
        false => said(&question.form.words(&verdict.nearest)),
    };
    match (verdict.right, verdict.in_time) {
        (true, _)
            if matches!(review.answer, Answer::Taps(_)) && review.seconds <= question.limit() =>
        {
            format!("{answer}.")
        }
        (true, true) if review.seconds < AT_ONCE => format!("{answer}, at once."),
        (true, true) => format!("{answer}, after {:.1} seconds.", review.seconds),
        (true, false) => format!(
            "{answer}, after {:.1} seconds; in time is {:.1}.",
            review.seconds,
            question.limit()
        ),
        (false, _) if review.answer == Answer::Unknown => format!("{answer}."),
        (false, _) => format!(
            "{answer}; you {} {}. [{take_back}] takes back a slip.",
            if matches!(review.answer, Answer::Taps(_)) {
                "tapped"
            } else {
                "said"
            },
            said(&verdict.given)
        ),
    }
}
