//! The report as one page by itself: no script, nothing from elsewhere, light and dark, in print, plots with their
//! contents in words.

mod svg;

use super::phrases::{counted, interval, percent};
use super::text::About;
use super::{Concept, Report, text};
use chrono::DateTime;

/// Text that means itself in HTML and SVG.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c => out.push(c),
        }
    }
    out
}

/// The page. Colours are from Okabe & Ito 2008 and have shapes beside them; text keeps the contrast of WCAG 2.1, 1.4.3.
pub fn page(report: &Report) -> String {
    let date = DateTime::from_timestamp(report.made_at as i64, 0)
        .map_or_else(String::new, |d| d.format("%-d %B %Y").to_string());
    let mut out = String::from(HEAD);
    out.push_str(&format!(
        "<h1>Weak concepts</h1>\n<p class=\"from\">whichside, {date}, from the latest {}</p>\n\
         <p>Player: <span class=\"blank\"></span></p>\n",
        counted(report.reviews, "answer")
    ));
    let tempos: String = report.tempos.iter().take(6).map(svg::tempo).collect();
    let tempos = format!("<div class=\"pairs\">\n{tempos}</div>\n");
    let listed = |about: About, any: bool, plot: &str| {
        let body = any.then(|| listed(report, about, plot));
        (about, body)
    };
    let r = report;
    let parts = [
        (About::WorkOn, spots(r)),
        (About::Concepts, concepts(r)),
        (About::General, general(r)),
        listed(About::Senses, true, ""),
        listed(About::Parts, !r.parts.is_empty(), ""),
        listed(About::Confusions, !r.confusions.is_empty(), ""),
        listed(About::Tempo, !r.tempos.is_empty(), &tempos),
        listed(About::Hours, !r.hours.is_empty(), ""),
        listed(
            About::Calibration,
            !r.calibration.is_empty(),
            &svg::forecasts(&r.calibration),
        ),
        (About::Days, days(r)),
        (About::Weeks, weeks(r)),
        (About::Kept, kept(r)),
    ];
    for (about, body) in parts {
        let section = text::section(report, about, 80);
        let empty = || format!("<p>{}</p>\n", escaped(&section.lines.join(" ")));
        out.push_str(&format!(
            "<section>\n<h2>{}</h2>\n{}</section>\n",
            escaped(section.heading),
            body.unwrap_or_else(empty)
        ));
    }
    out.push_str("</main>\n</body>\n</html>\n");
    out
}

/// The lines of a section as a list, below its plot.
fn listed(report: &Report, about: About, plot: &str) -> String {
    let lines = text::section(report, about, 80).lines;
    let items = lines
        .iter()
        .map(|line| format!("<li>{}</li>\n", escaped(&without_marks(line))));
    format!("{plot}<ul>\n{}</ul>\n", items.collect::<String>())
}

/// A line of the text report without its row of marks and without columns.
fn without_marks(line: &str) -> String {
    let marks = |w: &&str| !(w.len() > 8 && w.chars().all(|c| matches!(c, '=' | '-' | '.')));
    line.split_whitespace()
        .filter(marks)
        .collect::<Vec<_>>()
        .join(" ")
}

fn spots(report: &Report) -> Option<String> {
    let spots = report.spots.iter().map(|spot| {
        format!(
            "<li><strong>{}</strong><br>{}<br>To drill it: <code>{}</code></li>\n",
            escaped(&spot.title()),
            escaped(&spot.grounds()),
            escaped(&spot.drill.command())
        )
    });
    let next = text::next_best(report).map(|next| format!("<p>{}</p>\n", escaped(&next)));
    let spots: String = spots.collect();
    (!spots.is_empty()).then(|| format!("<ol>\n{spots}</ol>\n{}", next.unwrap_or_default()))
}

fn concepts(report: &Report) -> Option<String> {
    let mut out = svg::concepts(&report.concepts);
    lines(&report.concepts, "Concept", &mut out);
    (!report.concepts.is_empty()).then(|| out + &note(text::LEGEND))
}

/// A paragraph that is quieter than the rest.
fn note(words: &str) -> String {
    format!("<p class=\"from\">{}</p>\n", escaped(words))
}

/// A table of lines about concepts, or about what is looked at like one.
fn lines<'a>(list: impl IntoIterator<Item = &'a Concept>, what: &str, out: &mut String) {
    let rows = list.into_iter().map(|c| {
        vec![
            c.title(),
            c.now.as_ref().map_or_else(none, |n| percent(n.mean)),
            c.now.as_ref().map_or_else(none, interval),
            interval(&c.known),
            Some(c.going())
                .filter(|g| !g.is_empty())
                .map_or_else(none, str::to_string),
            percent(c.in_time),
            c.pace.map_or_else(none, |p| format!("{p:.1}")),
            c.last_asked(),
            c.answers.to_string(),
        ]
    });
    let heads = [
        what,
        "Now",
        "Nine in ten",
        "When asked",
        "Trend",
        "In time",
        "Pace",
        "Last asked",
        "Answers",
    ];
    table(&heads, rows, out);
}

fn none() -> String {
    "–".into()
}

/// A table whose first column names its rows.
fn table(heads: &[&str], rows: impl Iterator<Item = Vec<String>>, out: &mut String) {
    // A table that is wider than a phone is scrolled, with keys as well.
    out.push_str(&format!(
        "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"{}\"><table>\n<thead><tr>",
        escaped(heads[0])
    ));
    for head in heads {
        out.push_str(&format!("<th scope=\"col\">{}</th>", escaped(head)));
    }
    out.push_str("</tr></thead>\n<tbody>\n");
    for row in rows {
        out.push_str("<tr>");
        for (n, cell) in row.iter().enumerate() {
            out.push_str(&match n {
                0 => format!("<th scope=\"row\">{}</th>", escaped(cell)),
                _ => format!("<td>{}</td>", escaped(cell)),
            });
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody>\n</table></div>\n");
}

fn general(report: &Report) -> Option<String> {
    let named: Vec<Concept> = report.general.iter().map(text::general_line).collect();
    let mut out = String::new();
    lines(&named, "Of", &mut out);
    (!named.is_empty()).then_some(out)
}

fn days(report: &Report) -> Option<String> {
    let start = report.days.len().saturating_sub(7);
    let rows = report.days[start..].iter().map(|d| {
        vec![
            d.date.format("%-d %b").to_string(),
            format!("{:.1}", d.minutes),
            d.answers.to_string(),
            percent(d.right),
            percent(d.in_time),
        ]
    });
    let heads = ["Day", "Minutes", "Answers", "Right", "In time"];
    let mut out = svg::days(&report.days);
    table(&heads, rows, &mut out);
    (!report.days.is_empty()).then(|| out + &note(text::MINUTES))
}

fn weeks(report: &Report) -> Option<String> {
    let rows = report.weeks.iter().map(|w| {
        vec![
            w.until.format("%-d %b").to_string(),
            w.days.to_string(),
            format!("{:.0}", w.minutes),
            w.answers.to_string(),
            percent(w.right),
            w.new_cards.to_string(),
        ]
    });
    let heads = [
        "Week until",
        "Days",
        "Minutes",
        "Answers",
        "Right",
        "New cards",
    ];
    let mut out = String::new();
    table(&heads, rows, &mut out);
    (!report.weeks.is_empty()).then_some(out)
}

fn kept(report: &Report) -> Option<String> {
    let kept = &report.kept;
    let rows = kept.ahead.iter().map(|a| {
        vec![
            match a.days {
                1 => "tomorrow".to_string(),
                d => format!("in {d} days"),
            },
            a.with_practice.map_or_else(none, |w| format!("{w:.0}")),
            format!("{:.0}", a.without_practice),
            a.with_practice
                .map_or_else(none, |_| a.new_cards.to_string()),
        ]
    });
    let with = format!("With {:.0} min a day", kept.minutes);
    let heads = [
        "Questions kept",
        &with,
        "Without practice",
        "New cards by then",
    ];
    let mut out = format!("<p>{}</p>\n{}", escaped(&kept.sentence()), svg::kept(kept));
    table(&heads, rows, &mut out);
    let supposed = "As forecast, if practice goes on every day and answers come as the chances say: one possible course.";
    (kept.asked > 0).then(|| out + &note(supposed))
}

const HEAD: &str = r#"<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>whichside: weak concepts</title>
<style>
:root { --ground: #fff; --ink: #1a1a1a; --quiet: #595959; --line: #c8c8c8; --one: #0072b2; --two: #b34700; }
@media (prefers-color-scheme: dark) {
  :root { --ground: #161616; --ink: #ececec; --quiet: #a8a8a8; --line: #4a4a4a; --one: #56b4e9; --two: #e69f00; }
}
@media print {
  :root { --ground: #fff; --ink: #000; --quiet: #333; --line: #999; --one: #0072b2; --two: #b34700; }
  h2 { break-after: avoid; }
  figure, tr, li { break-inside: avoid; }
  .wide { overflow: visible; }
  table { font-size: .75rem; }
}
* { box-sizing: border-box; }
body { margin: 0; background: var(--ground); color: var(--ink); font: 1rem/1.5 Georgia, "Times New Roman", serif; }
main { max-width: 46rem; margin: 0 auto; padding: 1rem; }
code { font-size: .9em; overflow-wrap: anywhere; }
h1 { margin: .5rem 0 0; font-size: 1.7rem; }
h2 { margin: 2rem 0 .5rem; font-size: 1.2rem; border-bottom: 1px solid var(--line); }
.from, figcaption { color: var(--quiet); }
.blank { display: inline-block; width: 16rem; border-bottom: 1px solid var(--ink); }
figure { margin: 1rem 0; }
svg { width: 100%; height: auto; display: block; }
svg text { fill: var(--ink); font: 12px sans-serif; }
@media (max-width: 30rem) { svg text { font-size: 19px; } }
svg .quiet { fill: var(--quiet); }
svg .line { stroke: var(--line); fill: none; }
svg .one { stroke: var(--one); fill: none; stroke-width: 2; }
svg .bar { fill: var(--one); }
svg .two { fill: var(--two); }
svg .dashed { stroke: var(--two); fill: none; stroke-width: 2; stroke-dasharray: 6 4; }
svg .span { stroke: var(--one); stroke-width: 6; }
ol, ul { padding-left: 1.3rem; }
li { margin: .3rem 0; }
.wide { overflow-x: auto; }
.pairs figure { margin: .5rem 0; }
@media (min-width: 40rem), print {
  .pairs { display: grid; grid-template-columns: 1fr 1fr; column-gap: 1.5rem; }
  .pairs svg text { font-size: 19px; }
}
table { border-collapse: collapse; font-size: .9rem; }
th, td { padding: .2rem .6rem .2rem 0; text-align: left; white-space: nowrap; }
thead th { color: var(--quiet); font-weight: normal; }
tbody th { font-weight: normal; }
tbody tr { border-top: 1px solid var(--line); }
</style>
</head>
<body>
<main>
"#;

#[cfg(test)]
mod tests;
