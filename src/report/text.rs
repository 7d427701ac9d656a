//! The report as text, section by section.

use super::phrases::{by, interval, percent};
use super::{Concept, Report};

/// One section of the report: a heading and its lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Section {
    pub heading: &'static str,
    pub lines: Vec<String>,
}

/// Most lines of a list.
const MOST: usize = 12;
/// Width of the mark row of a strength, in characters.
const ROW: usize = 20;

/// The sections of a report, in the order in which they are read. A section with nothing to say says what will
/// appear there and when.
pub fn sections(report: &Report) -> Vec<Section> {
    vec![
        section("Work on", spots(report)),
        section("Concepts", concepts(report)),
        section("By eye and by ear", senses(report)),
        section("Taken for each other", confusions(report)),
        section("Tempo", tempos(report)),
        section("Time of day", hours(report)),
        section("Forecasts and what came of them", calibration(report)),
        section("Days", days(report)),
        section("Kept", kept(report)),
    ]
}

/// The whole report as text; no line is meant to be wrapped.
pub fn text(report: &Report) -> String {
    let mut out = format!(
        "Weak concepts, from your latest {} answers\n",
        report.reviews
    );
    for section in sections(report) {
        out.push_str(&format!("\n{}\n", section.heading));
        for line in section.lines {
            out.push_str(&format!("  {line}\n"));
        }
    }
    out
}

fn section(heading: &'static str, lines: Vec<String>) -> Section {
    Section { heading, lines }
}

fn or(lines: Vec<String>, empty: &str) -> Vec<String> {
    match lines.is_empty() {
        true => vec![empty.to_string()],
        false => lines,
    }
}

fn spots(report: &Report) -> Vec<String> {
    let spots = report.spots.iter().enumerate();
    let lines = spots.flat_map(|(n, s)| {
        [
            format!("{}. {}", n + 1, s.title()),
            format!("   {}", s.grounds()),
        ]
    });
    let empty = match report.reviews {
        0 => "What is weak is named here once you have answered some fifty questions.",
        _ => {
            "Nothing stands out from the rest of what you know. Weak spots are named when chance is ruled out."
        }
    };
    or(lines.collect(), empty)
}

/// A strength as a row of marks: `=` up to what is known for certain, `-` up to what it may be.
pub fn mark_row(low: f64, high: f64) -> String {
    let cells = |share: f64| (share * ROW as f64).round() as usize;
    (0..ROW)
        .map(|i| match (i < cells(low), i < cells(high)) {
            (true, _) => '=',
            (_, true) => '-',
            _ => '.',
        })
        .collect()
}

fn concepts(report: &Report) -> Vec<String> {
    let lines = report.concepts.iter().take(MOST).map(concept);
    let mut lines = or(
        lines.collect(),
        "After your first answers each idea is listed here with how much of it you know.",
    );
    if !report.concepts.is_empty() {
        lines.insert(
            0,
            format!(
                "{:<22} {:<ROW$}  known            now   last four weeks, last asked",
                "", "= sure  - maybe"
            ),
        );
    }
    if report.concepts.len() > MOST {
        lines.push(format!(
            "and {} more that are less worth working on",
            report.concepts.len() - MOST
        ));
    }
    lines
}

fn concept(c: &Concept) -> String {
    let today = c.today.map_or_else(|| "-".into(), percent);
    let line = format!(
        "{:<22} {}  {:<15} {:>5}   {:<8}{}, {} answers",
        shortened(&c.concept, 22),
        mark_row(c.known.low, c.known.high),
        interval(&c.known),
        today,
        c.going(),
        c.last_asked(),
        c.answers
    );
    line.trim_end().to_string()
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
            mark_row(h.known.low, h.known.high),
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
    let start = report.days.len().saturating_sub(14);
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

fn kept(report: &Report) -> Vec<String> {
    let kept = &report.kept;
    if kept.asked == 0 {
        return vec!["What you keep is counted here after your first answers.".into()];
    }
    let mut lines = vec![format!(
        "{:.0} of the {} items that were asked so far would be recalled now ({} are on your decks).",
        kept.now, kept.asked, kept.items
    )];
    for (days, items) in &kept.without_practice {
        let when = if *days == 1 {
            "tomorrow".into()
        } else {
            format!("in {days} days")
        };
        lines.push(format!(
            "{items:.0} {when}, if nothing is practised until then"
        ));
    }
    lines
}
