//! The report as one page by itself: no script, nothing from elsewhere, light and dark, in print, plots with their
//! contents in words.

mod svg;

use super::phrases::percent;
use super::{Report, text};
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
        "<h1>Weak concepts</h1>\n<p class=\"from\">{date}, from the latest {} answers</p>\n",
        report.reviews
    ));
    spots(report, &mut out);
    concepts(report, &mut out);
    let sections = text::sections(report);
    let mut listed = |heading: &str, plot: String| {
        let Some(section) = sections.iter().find(|s| s.heading == heading) else {
            return;
        };
        out.push_str(&format!(
            "<section>\n<h2>{}</h2>\n{plot}<ul>\n",
            escaped(heading)
        ));
        for line in &section.lines {
            out.push_str(&format!("<li>{}</li>\n", escaped(&without_marks(line))));
        }
        out.push_str("</ul>\n</section>\n");
    };
    listed("By eye and by ear", String::new());
    listed("Taken for each other", String::new());
    listed(
        "Tempo",
        report.tempos.iter().take(6).map(svg::tempo).collect(),
    );
    listed("Time of day", String::new());
    listed(
        "Forecasts and what came of them",
        svg::forecasts(&report.calibration),
    );
    listed("Days", svg::days(&report.days));
    listed("Kept", String::new());
    out.push_str("</main>\n</body>\n</html>\n");
    out
}

/// A line of the text report without its row of marks and without columns.
fn without_marks(line: &str) -> String {
    let marks = |w: &&str| !(w.len() > 8 && w.chars().all(|c| matches!(c, '=' | '-' | '.')));
    line.split_whitespace()
        .filter(marks)
        .collect::<Vec<_>>()
        .join(" ")
}

fn spots(report: &Report, out: &mut String) {
    out.push_str("<section>\n<h2>Work on</h2>\n");
    if report.spots.is_empty() {
        let section = text::sections(report).swap_remove(0);
        out.push_str(&format!("<p>{}</p>\n", escaped(&section.lines.join(" "))));
    } else {
        out.push_str("<ol>\n");
        for spot in &report.spots {
            out.push_str(&format!(
                "<li><strong>{}</strong><br>{}</li>\n",
                escaped(&spot.title()),
                escaped(&spot.grounds())
            ));
        }
        out.push_str("</ol>\n");
    }
    out.push_str("</section>\n");
}

fn concepts(report: &Report, out: &mut String) {
    out.push_str("<section>\n<h2>Concepts</h2>\n");
    if report.concepts.is_empty() {
        out.push_str("<p>After the first answers each idea is listed here with how much of it is known.</p>\n</section>\n");
        return;
    }
    out.push_str(&svg::concepts(&report.concepts));
    out.push_str(
        "<div class=\"wide\"><table>\n<thead><tr><th scope=\"col\">Concept</th><th scope=\"col\">Known</th>\
         <th scope=\"col\">Nine in ten</th><th scope=\"col\">Now</th><th scope=\"col\">Four weeks</th>\
         <th scope=\"col\">In time</th><th scope=\"col\">Last asked</th><th scope=\"col\">Answers</th></tr></thead>\n<tbody>\n",
    );
    for c in &report.concepts {
        out.push_str(&format!(
            "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>\n",
            escaped(&c.title()),
            percent(c.known.mean),
            super::phrases::interval(&c.known),
            c.today.map_or_else(|| "–".into(), percent),
            match c.going() {
                "" => "–",
                going => going,
            },
            percent(c.in_time),
            c.last_asked(),
            c.answers
        ));
    }
    out.push_str("</tbody>\n</table></div>\n</section>\n");
}

const HEAD: &str = r#"<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>Weak concepts</title>
<style>
:root { --ground: #fff; --ink: #1a1a1a; --quiet: #595959; --line: #c8c8c8; --one: #0072b2; --two: #b34700; }
@media (prefers-color-scheme: dark) {
  :root { --ground: #161616; --ink: #ececec; --quiet: #a8a8a8; --line: #4a4a4a; --one: #56b4e9; --two: #e69f00; }
}
@media print {
  :root { --ground: #fff; --ink: #000; --quiet: #333; --line: #999; --one: #0072b2; --two: #b34700; }
  section { break-inside: avoid; }
}
* { box-sizing: border-box; }
body { margin: 0; background: var(--ground); color: var(--ink); font: 1rem/1.5 Georgia, "Times New Roman", serif; }
main { max-width: 46rem; margin: 0 auto; padding: 1rem; }
h1 { margin: .5rem 0 0; font-size: 1.7rem; }
h2 { margin: 2rem 0 .5rem; font-size: 1.2rem; border-bottom: 1px solid var(--line); }
.from, figcaption { color: var(--quiet); }
figure { margin: 1rem 0; }
svg { width: 100%; height: auto; display: block; }
svg text { fill: var(--ink); font: 12px sans-serif; }
@media (max-width: 30rem) { svg text { font-size: 19px; } }
svg .quiet { fill: var(--quiet); }
svg .line { stroke: var(--line); fill: none; }
svg .one { stroke: var(--one); fill: none; stroke-width: 2; }
svg .bar { fill: var(--one); }
svg .two { fill: var(--two); }
svg .span { stroke: var(--one); stroke-width: 6; }
ol, ul { padding-left: 1.3rem; }
li { margin: .3rem 0; }
.wide { overflow-x: auto; }
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
