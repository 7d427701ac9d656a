use super::{Outside, by, has_music, reasons, revealed};
use crate::screens::page::{Keys, Page, Paragraph};
use crate::screens::theme::Role;
use crate::session::Told;

/// Seconds that would be told as 0.0: the answer came before its bar had been heard to the end.
const AT_ONCE: f64 = 0.05;

/// The answer with its reasons.
pub fn page(told: &Told, outside: Outside) -> Page<'_> {
    let question = &told.question;
    let sound = outside.volume.is_some() && has_music(question);
    let mut head = vec![Paragraph::led(verdict(told), Role::Plain, detail(told))];
    if told.again_today {
        head.push(Paragraph::new(Role::Quiet, "It comes again today."));
    }
    let mut body = reasons(question);
    if told.turned {
        body.push(Paragraph::new(
            Role::Quiet,
            "This time it started on the other bar than on the card.",
        ));
    }
    Page {
        place: format!("{}: {}", by(question.item.sense), told.title),
        head,
        chart: has_music(question).then(|| revealed(question, outside)),
        body,
        keys: Keys {
            enter: Some("next"),
            space: sound.then_some("hear again"),
            minus: sound.then_some("slower"),
            escape: Some("stop"),
            arrows: None,
        },
        ..Page::default()
    }
}

fn verdict(told: &Told) -> String {
    let verdict = &told.verdict;
    match (verdict.right, verdict.in_time) {
        (true, true) => "Right, in time. ".into(),
        (true, false) => "Right, but late. ".into(),
        (false, _) => "Missed. ".into(),
    }
}

fn detail(told: &Told) -> String {
    // Answers in words are sentences of the deck's writer: quoted, they do not run into ours.
    let said = |text: &str| match told.question.item.kind.as_str() {
        "choice" => format!("“{text}”"),
        _ => text.to_string(),
    };
    let (verdict, answer) = (&told.verdict, said(&told.question.reveal.answer));
    match (verdict.right, verdict.in_time) {
        (true, true) if told.seconds < AT_ONCE => format!("It is {answer}: at once."),
        (true, true) => format!("It is {answer}: {:.1} seconds.", told.seconds),
        (true, false) => format!(
            "It is {answer}: {:.1} seconds, in time is {:.1}.",
            told.seconds,
            told.question.limit()
        ),
        (false, _) => format!("It is {answer}; you said {}.", said(&verdict.given)),
    }
}
