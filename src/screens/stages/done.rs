use super::by;
use crate::screens::page::{Keys, Page, Paragraph};
use crate::screens::theme::Role;
use crate::session::{Summary, Tomorrow};

/// Missed items that are named at the end; more are counted.
const NAMED: usize = 6;

/// The end of the session.
pub fn page(summary: &Summary) -> Page<'_> {
    let mut head = vec![Paragraph::new(Role::Strong, title(summary))];
    if summary.asked > 0 {
        let missed = summary.asked.saturating_sub(summary.in_time + summary.late);
        head.push(Paragraph::new(
            Role::Plain,
            format!(
                "{} right in time, {} right but late, {missed} missed.",
                summary.in_time, summary.late
            ),
        ));
    }
    if summary.early {
        head.push(Paragraph::new(
            Role::Quiet,
            "That is all that is worth asking today; new cards come a few a day.",
        ));
    }
    if summary.stopped {
        head.push(Paragraph::new(
            Role::Quiet,
            "You stopped before your minutes were over. Start again whenever you like.",
        ));
    }
    let mut body = Vec::new();
    if !summary.met.is_empty() {
        body.push(Paragraph::led(
            "New today: ",
            Role::Plain,
            list(&summary.met),
        ));
        body.push(Paragraph::new(Role::Plain, ""));
    }
    if !summary.missed.is_empty() {
        body.push(Paragraph::new(Role::Strong, "Missed:"));
        for missed in summary.missed.iter().take(NAMED) {
            let end = match missed.mended {
                true => "right at the last try",
                false => "still open",
            };
            let item = &missed.item;
            let text = format!("{}, {} {}: {end}", missed.title, item.kind, by(item.sense));
            body.push(Paragraph::led("  ", Role::Plain, text));
        }
        if summary.missed.len() > NAMED {
            let text = format!("and {} more", summary.missed.len() - NAMED);
            body.push(Paragraph::led("  ", Role::Plain, text));
        }
        body.push(Paragraph::new(Role::Plain, ""));
    }
    if let Some(tomorrow) = &summary.tomorrow {
        body.push(Paragraph::led("Tomorrow: ", Role::Plain, coming(tomorrow)));
    }
    Page {
        place: match summary.stopped {
            true => "stopped".into(),
            false => "done for today".into(),
        },
        head,
        body,
        keys: Keys {
            enter: Some("close"),
            escape: Some("close"),
            ..Keys::default()
        },
        ..Page::default()
    }
}

fn title(summary: &Summary) -> String {
    match summary.asked {
        0 => "Nothing was asked yet.".into(),
        asked => format!(
            "{} in {}.",
            counted(asked, "question"),
            counted(summary.minutes.round().max(1.0) as usize, "minute")
        ),
    }
}

fn coming(tomorrow: &Tomorrow) -> String {
    let mut text = match (tomorrow.again, tomorrow.new_cards) {
        (0, 0) => return "nothing has to come back yet; a free day.".into(),
        (again, 0) => format!("{} about what you have met", counted(again, "question")),
        (0, new) => counted(new, "new card"),
        (again, new) => format!(
            "{} about what you have met and {}",
            counted(again, "question"),
            counted(new, "new card")
        ),
    };
    if !tomorrow.titles.is_empty() {
        text += &format!(". First comes: {}", list(&tomorrow.titles));
    }
    text + "."
}

fn list(titles: &[String]) -> String {
    titles.join("; ")
}

/// `1 question`, `3 questions`.
fn counted(n: usize, what: &str) -> String {
    match n {
        1 => format!("1 {what}"),
        n => format!("{n} {what}s"),
    }
}
