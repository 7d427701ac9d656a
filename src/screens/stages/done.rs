//! The page at the end of a session.

use super::{MISSED, PARTLY};
use crate::rhythm::counted;
use crate::screens::page::{Keys, Page, Paragraph};
use crate::screens::theme::Role;
use crate::session::{Missed, Summary, Tomorrow};

/// Missed items that are named at the end; more are counted.
const NAMED: usize = 6;

/// The end of the session.
pub fn page(summary: &Summary) -> Page<'_> {
    let mut head = vec![Paragraph::strong(title(summary))];
    if summary.asked > 0 {
        head.push(Paragraph::plain(counts(summary)));
    }
    if summary.early {
        head.push(Paragraph::quiet(match summary.silent {
            true => {
                "That is all that is worth asking today without sound; new cards come a few a day."
            }
            false => "That is all that is worth asking today; new cards come a few a day.",
        }));
    }
    if summary.stopped {
        head.push(Paragraph::quiet(
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
        body.push(Paragraph::plain(""));
    }
    if !summary.missed.is_empty() {
        let heading = match summary.missed.iter().any(|m| m.partly) {
            true => "Missed or partly right:",
            false => "Missed:",
        };
        body.push(Paragraph::strong(heading));
        let named = summary.missed.iter().take(NAMED);
        body.extend(named.map(not_right));
        if summary.missed.len() > NAMED {
            let text = format!("and {} more", summary.missed.len() - NAMED);
            body.push(Paragraph::led("  ", Role::Plain, text));
        }
        body.push(Paragraph::plain(""));
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
        keys: Keys::ends("close", "close"),
        ..Page::default()
    }
}

/// How the questions went. Partly right is mentioned if there was any.
fn counts(summary: &Summary) -> String {
    let right = summary.in_time + summary.late;
    let missed = summary.asked.saturating_sub(right + summary.partly);
    let partly = match summary.partly {
        0 => String::new(),
        n => format!("{n} partly right, "),
    };
    format!(
        "{} right in time, {} right but late, {partly}{missed} missed.",
        summary.in_time, summary.late
    )
}

/// A line of what was not right.
fn not_right(missed: &Missed) -> Paragraph {
    let end = match missed.mended {
        true => "right on the last try",
        false => "still open",
    };
    let (sign, partly) = match missed.partly {
        true => (PARTLY, "partly right, "),
        false => (MISSED, ""),
    };
    let (item, title) = (&missed.item, &missed.title);
    let sense = item.sense.spoken();
    let text = format!("{title}, {} {sense}: {partly}{end}", item.kind);
    Paragraph::led("  ", Role::Plain, text).signed(sign)
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
        text += &format!(". First: {}", list(&tomorrow.titles));
    }
    text + "."
}

fn list(titles: &[String]) -> String {
    titles.join("; ")
}
