//! The report as text, section by section.

use super::phrases::{by, interval, percent};
use super::{Concept, General, Report, View};

/// One section of the report: a heading and its lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Section {
    pub heading: &'static str,
    pub lines: Vec<String>,
}

/// Most lines of a list.
const MOST: usize = 12;
/// Width of the text, in characters.
const WIDTH: usize = 79;

/// What is looked at in a section.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    WorkOn,
    Concepts,
    General,
    Senses,
    Parts,
    Confusions,
    Tempo,
    Hours,
    Calibration,
    Days,
    Weeks,
    Kept,
}

/// All of them, in the order in which they are read.
pub const ALL: [About; 12] = [
    About::WorkOn,
    About::Concepts,
    About::General,
    About::Senses,
    About::Parts,
    About::Confusions,
    About::Tempo,
    About::Hours,
    About::Calibration,
    About::Days,
    About::Weeks,
    About::Kept,
];

/// A section of a report, its tables at most `width` columns wide. One with nothing to say says what will appear there
/// and when.
pub fn section(report: &Report, about: About, width: usize) -> Section {
    let (heading, lines) = match about {
        About::WorkOn => ("Work on", work_on(report)),
        About::Concepts => ("Concepts", concepts(report, width)),
        About::General => (
            "By sense, by kind of question, by tempo",
            general(report, width),
        ),
        About::Senses => ("Ideas by eye and by ear", senses(report)),
        About::Parts => ("Parts that mislead about the side", parts(report)),
        About::Confusions => ("Taken for each other", confusions(report)),
        About::Tempo => ("Tempo", tempos(report)),
        About::Hours => ("Time of day", hours(report)),
        About::Calibration => ("Forecasts and what came of them", calibration(report)),
        About::Days => ("Days", days(report)),
        About::Weeks => ("Weeks", weeks(report)),
        About::Kept => ("Kept, and what is to come", kept(report)),
    };
    Section { heading, lines }
}

/// The whole report as text, at most 79 columns wide.
pub fn text(report: &Report) -> String {
    let mut out = format!(
        "Weak concepts, from your latest {} answers\n",
        report.reviews
    );
    for section in ALL.map(|about| section(report, about, WIDTH - 2)) {
        out.push_str(&format!("\n{}\n", section.heading));
        let options = textwrap::Options::new(WIDTH)
            .initial_indent("  ")
            .subsequent_indent("      ");
        for line in section.lines {
            match line.chars().count() + 2 > WIDTH {
                true => out.push_str(&textwrap::fill(&line, &options)),
                false => out.push_str(&format!("  {line}")),
            }
            out.push('\n');
        }
    }
    out
}

fn or(lines: Vec<String>, empty: &str) -> Vec<String> {
    match lines.is_empty() {
        true => vec![empty.to_string()],
        false => lines,
    }
}

fn work_on(report: &Report) -> Vec<String> {
    if report.reviews == 0 {
        return vec![
            "What is weak is named here once you have answered some fifty questions.".into(),
        ];
    }
    let mut lines: Vec<String> = Vec::new();
    for (n, spot) in report.spots.iter().enumerate() {
        lines.push(format!("{}. {}", n + 1, spot.title()));
        lines.push(format!("   {}", spot.grounds()));
        lines.push(format!("   To drill it: {}", spot.drill.command()));
    }
    if lines.is_empty() {
        lines.push(
            "Nothing stands out from the rest of what you know: weak spots are named when chance is ruled out."
                .into(),
        );
        lines.extend(next_best(report));
    }
    lines
}

/// What to take up where no weak spot stands out.
fn next_best(report: &Report) -> Option<String> {
    let first = report.concepts.iter().take(3);
    let named: Vec<String> = first
        .map(|c| format!("{} ({} now)", c.concept, percent(c.share())))
        .collect();
    let missed = report.concepts.first()?;
    Some(match missed.share() < GOOD {
        true => format!("Most is to be won with {}.", named.join(", ")),
        false => "All of it is in good shape; the daily drill keeps it so.".into(),
    })
}

/// A share from which on an idea is in good shape (chosen).
const GOOD: f64 = 0.9;

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
        d => format!("{d:.0} d"),
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

fn concepts(report: &Report, width: usize) -> Vec<String> {
    if report.concepts.is_empty() {
        return vec![
            "After your first answers each idea is listed here with how much of it you know."
                .into(),
        ];
    }
    let mut lines = vec![head(width)];
    lines.extend(report.concepts.iter().take(MOST).map(|c| row(c, width)));
    if report.concepts.len() > MOST {
        lines.push(format!(
            "and {} more that are less worth working on",
            report.concepts.len() - MOST
        ));
    }
    lines.push(LEGEND.into());
    lines
}

fn general(report: &Report, width: usize) -> Vec<String> {
    if report.general.is_empty() {
        return vec![
            "How much you know by eye and by ear, of each kind of question and at which tempos is shown here after \
             your first answers."
                .into(),
        ];
    }
    let mut lines = vec![head(width)];
    lines.extend(report.general.iter().map(|g| row(&general_line(g), width)));
    lines
}

/// The line of a part of all questions, named so that it can stand in a table.
pub fn general_line(general: &General) -> Concept {
    let mut line = general.line.clone();
    if general.view == View::Tempo {
        line.concept = format!("tempo {}", line.concept);
    }
    line
}

fn shortened(text: &str, width: usize) -> String {
    match text.chars().count() > width {
        true => text.chars().take(width - 1).chain(['…']).collect(),
        false => text.to_string(),
    }
}

fn senses(report: &Report) -> Vec<String> {
    let mut pairs: Vec<(f64, String)> = Vec::new();
    for c in &report.concepts {
        let half = |sense: &str| {
            let of = |h: &&Concept| h.concept == c.concept && h.sense.as_deref() == Some(sense);
            report.by_sense.iter().find(of)
        };
        if let (Some(read), Some(hear)) = (half("read"), half("hear")) {
            let gap = read.known.mean - hear.known.mean;
            let apart = read.known.low > hear.known.high || hear.known.low > read.known.high;
            let sure = if apart {
                "clearly apart"
            } else {
                "may be level"
            };
            pairs.push((
                gap,
                format!(
                    "{:<22} {} {}, {} {} ({sure})",
                    shortened(&c.concept, 22),
                    by("read"),
                    percent(read.known.mean),
                    by("hear"),
                    percent(hear.known.mean)
                ),
            ));
        }
    }
    pairs.sort_by(|a, b| b.0.abs().total_cmp(&a.0.abs()));
    let lines = pairs.into_iter().take(6).map(|p| p.1).collect();
    or(
        lines,
        "Once an idea was asked both by eye and by ear, the two are compared here.",
    )
}

fn parts(report: &Report) -> Vec<String> {
    let lines = report.parts.iter().take(8).map(|p| p.sentence());
    or(
        lines.collect(),
        "With five answers about the side of a part of the band, it is listed here with how often it misled you.",
    )
}

fn confusions(report: &Report) -> Vec<String> {
    let lines = report.confusions.iter().take(6).map(|c| c.sentence());
    or(
        lines.collect(),
        "Wrong answers are counted here by what they were given instead of.",
    )
}

fn tempos(report: &Report) -> Vec<String> {
    let lines = report.tempos.iter().take(8).map(|t| t.sentence());
    or(
        lines.collect(),
        "With sixteen answers to an idea at different tempos, its limit is shown here.",
    )
}

fn hours(report: &Report) -> Vec<String> {
    let lines = report.hours.iter().map(|h| {
        format!(
            "{:>2} to {:>2} h  {}  {} known ({}), {} answers",
            h.from,
            h.to,
            mark_row(h.known.low, h.known.high, 20),
            percent(h.known.mean),
            interval(&h.known),
            h.answers
        )
    });
    or(
        lines.collect(),
        "At which time of day you know most is shown here after your first answers.",
    )
}

fn calibration(report: &Report) -> Vec<String> {
    let lines = report.calibration.iter().map(|c| {
        format!(
            "forecast {:>5}  right {:>5} ({}), {:.0} answers",
            percent(c.forecast),
            percent(c.right.mean),
            interval(&c.right),
            c.answers
        )
    });
    or(
        lines.collect(),
        "How well the chance of a right answer was forecast is shown here after your first answers.",
    )
}

fn days(report: &Report) -> Vec<String> {
    let start = report.days.len().saturating_sub(7);
    let lines = report.days[start..].iter().map(|d| {
        format!(
            "{}  {:>4.1} min  {:>3} answers  {:>5} right  {:>5} in time",
            d.date,
            d.minutes,
            d.answers,
            percent(d.right),
            percent(d.in_time)
        )
    });
    or(
        lines.collect(),
        "Each day that you practise is listed here.",
    )
}

fn weeks(report: &Report) -> Vec<String> {
    let start = report.weeks.len().saturating_sub(4);
    let lines = report.weeks[start..].iter().map(|w| {
        format!(
            "until {}  {} days  {:>3.0} min  {:>4} answers  {:>5} right  {:>3} new cards",
            w.until,
            w.days,
            w.minutes,
            w.answers,
            percent(w.right),
            w.new_cards
        )
    });
    or(
        lines.collect(),
        "Week by week, what you practised and what you met for the first time is shown here after your first session.",
    )
}

fn kept(report: &Report) -> Vec<String> {
    let kept = &report.kept;
    if kept.asked == 0 {
        return vec![
            "What you keep, and what the coming weeks bring at your minutes a day, is shown here after your first \
             answers."
                .into(),
        ];
    }
    let mut lines = vec![report.kept.sentence()];
    let practised = kept.ahead.iter().any(|a| a.with_practice.is_some());
    if practised {
        lines.push(format!(
            "{:<14} {:>22}  {:>18}  {:>14}",
            "questions kept",
            format!("with {:.0} min a day", kept.minutes),
            "without practice",
            "new cards by then"
        ));
    }
    lines.extend(kept.ahead.iter().map(|a| {
        let when = match a.days {
            1 => "tomorrow".to_string(),
            d if d % 7 == 0 => format!("in {} week{}", d / 7, if d == 7 { "" } else { "s" }),
            d => format!("in {d} days"),
        };
        match a.with_practice {
            Some(with) => format!(
                "{when:<14} {with:>22.0}  {:>18.0}  {:>14}",
                a.without_practice, a.new_cards
            ),
            None => format!("{when}: {:.0} without practice", a.without_practice),
        }
    }));
    if practised {
        lines.push(
            "As forecast, if you practise every day and answer as the chances say: one possible course."
                .into(),
        );
    }
    lines
}
