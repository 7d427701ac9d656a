//! The report as text, section by section.

mod row;

pub(super) use row::shortened;
pub use row::{LEGEND, general_line, head, mark_row, row};

use super::phrases::{by, counted, interval, percent};
use super::{Concept, Confusion, Report};
use std::cmp::Ordering;

/// One section of the report: a heading and its lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Section {
    /// What the section is about.
    pub heading: &'static str,
    /// Its text, broken to the width of the report.
    pub lines: Vec<String>,
}

/// Most lines of a list.
const MOST: usize = 12;
/// Width of the text, in characters.
const WIDTH: usize = 79;

/// What is looked at in a section.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// The weak spots.
    WorkOn,
    /// What is known of each concept.
    Concepts,
    /// By eye and by ear, by kind, by tempo.
    General,
    /// Concepts by eye against by ear.
    Senses,
    /// Parts that mislead.
    Parts,
    /// What is taken for what.
    Confusions,
    /// Up to which tempo answers come in time.
    Tempo,
    /// Time of day.
    Hours,
    /// How the forecasts held.
    Calibration,
    /// Day by day.
    Days,
    /// Week by week.
    Weeks,
    /// What is kept and forecast.
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
            "By eye and by ear, by kind of question, by tempo",
            general(report, width),
        ),
        About::Senses => ("Concepts by eye and by ear", senses(report)),
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
        "Weak concepts, from your latest {}\n",
        counted(report.reviews, "answer")
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
    }
    lines.extend(next_best(report));
    lines
}

/// What to take up where no weak spot stands out, or besides.
pub fn next_best(report: &Report) -> Option<String> {
    let first = report.concepts.iter().take(3);
    let named: Vec<String> = first
        .map(|c| format!("{} ({} now)", c.concept, percent(c.share())))
        .collect();
    let missed = report.concepts.first()?;
    let besides = match report.spots.is_empty() {
        true => "Most",
        false => "Among whole concepts, most",
    };
    Some(match missed.share() < GOOD {
        true => format!("{besides} is to be won with {}.", named.join(", ")),
        false if report.spots.is_empty() => {
            "All of it is in good shape; the daily drill keeps it so.".into()
        }
        false => "Whole concepts are in good shape; the daily drill keeps them so.".into(),
    })
}

/// A share from which on a concept is in good shape (chosen).
const GOOD: f64 = 0.9;

fn concepts(report: &Report, width: usize) -> Vec<String> {
    if report.concepts.is_empty() {
        return vec![
            "After your first answers each concept is listed here with how much of it you know."
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

fn senses(report: &Report) -> Vec<String> {
    let mut pairs: Vec<((bool, f64), String)> = Vec::new();
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
                (apart, gap.abs()),
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
    pairs.sort_by(|a, b| b.0.partial_cmp(&a.0).unwrap_or(Ordering::Equal));
    let lines = pairs.into_iter().take(6).map(|p| p.1).collect();
    or(
        lines,
        "Once a concept was asked both by eye and by ear, the two are compared here.",
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
    let (patterns, rest): (Vec<&Confusion>, Vec<&Confusion>) =
        report.confusions.iter().partition(|c| c.pattern);
    let mut lines: Vec<String> = patterns.iter().take(6).map(|c| c.sentence()).collect();
    let others: usize = rest.iter().map(|c| c.count).sum();
    if others > 0 {
        let few = rest.iter().take(3).map(|c| c.counted());
        let often = few.collect::<Vec<_>>().join("; ");
        lines.push(match patterns.is_empty() {
            true => format!(
                "Nothing: what you took for something else ({others} times, each key of a row by itself) is spread no \
                 more unevenly than chance may spread it. Most often: {often}."
            ),
            false => format!(
                "All else that was taken for something ({others} times) is no more than chance may give. Most often: \
                 {often}."
            ),
        });
    }
    or(
        lines,
        "Wrong answers are counted here by what they were given instead of, and named where that is more than chance.",
    )
}

fn tempos(report: &Report) -> Vec<String> {
    let lines = report.tempos.iter().take(8).map(|t| t.sentence());
    let unit = (!report.tempos.is_empty()).then(|| TEMPO_UNIT.to_string());
    or(
        lines.chain(unit).collect(),
        "With sixteen answers to a concept at different tempos, its limit is shown here.",
    )
}

/// What a tempo is, where that of parts on different grids is told together.
const TEMPO_UNIT: &str = "Tempos are quarter notes a minute, in 6/8 dotted quarter notes.";

fn hours(report: &Report) -> Vec<String> {
    let lines = report.hours.iter().map(|h| {
        format!(
            "{:>2} to {:>2} h  {}  {} known ({}), {}",
            h.from,
            h.to,
            mark_row(h.known.low, h.known.high, 20),
            percent(h.known.mean),
            interval(&h.known),
            counted(h.answers as usize, "answer")
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
            "forecast {:>5}  right {:>5} ({}), {}",
            percent(c.forecast),
            percent(c.right.mean),
            interval(&c.right),
            counted(c.answers.round() as usize, "answer")
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
            "{}  {:>4.1} min  {:>11}  {:>5} right  {:>5} in time",
            d.date,
            d.minutes,
            counted(d.answers as usize, "answer"),
            percent(d.right),
            percent(d.in_time)
        )
    });
    let mut lines: Vec<String> = lines.collect();
    if !lines.is_empty() {
        lines.push(MINUTES.into());
    }
    or(lines, "Each day that you practise is listed here.")
}

/// What minutes of practice are.
pub(super) const MINUTES: &str = "Minutes: from the first question of a session to its last answer, with the reasons that you read \
and the cards that you met; a pause counts two minutes at most. The forecast's minutes a day are meant in the same way.";

fn weeks(report: &Report) -> Vec<String> {
    let start = report.weeks.len().saturating_sub(4);
    let lines = report.weeks[start..].iter().map(|w| {
        format!(
            "until {}  {:>6}  {:>3.0} min  {:>12}  {:>5} right  {:>13}",
            w.until,
            counted(w.days, "day"),
            w.minutes,
            counted(w.answers as usize, "answer"),
            percent(w.right),
            counted(w.new_cards, "new card")
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
            d if d % 7 == 0 => format!("in {}", counted(d / 7, "week")),
            d => format!("in {}", counted(d, "day")),
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

#[cfg(test)]
mod tests;
