//! One concept as a row of a table, whatever the table is about.

use crate::report::phrases::interval;
use crate::report::{Concept, General, View};

/// A strength as a row of marks: `=` up to what is known for certain, `-` up to what it may be.
pub fn mark_row(low: f64, high: f64, width: usize) -> String {
    let cells = |share: f64| (share * width as f64).round() as usize;
    (0..width)
        .map(|i| match (i < cells(low), i < cells(high)) {
            (true, _) => '=',
            (_, true) => '-',
            _ => '.',
        })
        .collect()
}

/// The head of the table whose rows are [`row`]s.
pub fn head(width: usize) -> String {
    let marks = width.saturating_sub(BESIDE);
    format!(
        "{:<18} {:<marks$}  {:<12} {:<12} {:<7} {:>5} {:>4}",
        "", "= sure", "now", "when asked", "trend", "asked", "pace"
    )
}

/// Columns of a row beside its marks.
const BESIDE: usize = 18 + 1 + 2 + 13 + 13 + 8 + 6 + 4;

/// One concept as a row of so many columns.
pub fn row(c: &Concept, width: usize) -> String {
    let shown = c.now.as_ref().unwrap_or(&c.known);
    let now = c.now.as_ref().map_or_else(|| "-".into(), interval);
    let asked = match c.days_ago {
        d if d < 1.0 => "today".into(),
        d if d < 999.5 => format!("{d:.0} d"),
        d => format!("{:.0} y", d / 365.25),
    };
    let line = format!(
        "{:<18} {}  {:<12} {:<12} {:<7} {:>5} {:>4}",
        shortened(&c.concept, 18),
        mark_row(shown.low, shown.high, width.saturating_sub(BESIDE)),
        now,
        interval(&c.known),
        c.going(),
        asked,
        c.pace.map_or_else(|| "-".into(), |p| format!("{p:.1}")),
    );
    line.trim_end().to_string()
}

/// What the columns of a row mean.
pub const LEGEND: &str = "now: chance that you recall it today; when asked: share known in your answers, guessing \
taken out; both lie there nine times in ten. trend: the last four weeks against the four before. asked: days ago. \
pace: time of your right answers, where 1 is the limit for in time.";

/// The line of a part of all questions, named so that it can stand in a table.
pub fn general_line(general: &General) -> Concept {
    let mut line = general.line.clone();
    if general.view == View::Tempo {
        line.concept = format!("tempo {}", line.concept);
    }
    line
}

/// At most so many characters of it, with a mark where some were left off.
pub(in crate::report) fn shortened(text: &str, width: usize) -> String {
    match text.chars().count() > width {
        true => text.chars().take(width - 1).chain(['…']).collect(),
        false => text.to_string(),
    }
}
