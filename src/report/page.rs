//! The report as one page for a teacher: no script, nothing from elsewhere, light and dark, in print.

use super::words::basis;
use super::{Block, Report, ReportTable, TableCell, sections};
use chrono::DateTime;

/// The page, for the player of this name; without one there is a line to fill it in. Colours are from Okabe & Ito 2008;
/// text keeps the contrast of WCAG 2.1, 1.4.3.
pub fn page(report: &Report, player: Option<&str>) -> String {
    let date = DateTime::from_timestamp(report.made_at as i64, 0)
        .map_or_else(String::new, |d| d.format("%-d %B %Y").to_string());
    let player = match player {
        Some(name) => escaped(name),
        None => "<span class=\"blank\"></span>".into(),
    };
    let mut out = format!(
        "{HEAD}<h1>Weak concepts</h1>\n<p>Player: {player}</p>\n<p class=\"quiet\">Made by whichside, a daily drill for \
         hand drummers, on {date} {}.</p>\n",
        basis(report, "the")
    );
    for section in sections(report) {
        let heading = escaped(section.heading);
        let blocks: String = section.blocks.iter().map(|b| block(b, &heading)).collect();
        out += &format!("<section>\n<h2>{heading}</h2>\n{blocks}</section>\n");
    }
    out + "</main>\n</body>\n</html>\n"
}

/// Text with the characters that HTML and SVG would read as markup replaced.
fn escaped(text: &str) -> String {
    let text = text.replace('&', "&amp;").replace('<', "&lt;");
    text.replace('>', "&gt;").replace('"', "&quot;")
}

fn block(block: &Block, heading: &str) -> String {
    match block {
        Block::Text(text) => format!("<p>{}</p>\n", escaped(text)),
        Block::Note(text) => format!("<p class=\"quiet\">{}</p>\n", escaped(text)),
        Block::Finding {
            title,
            grounds,
            drill,
        } => {
            let drill = drill.as_ref().map_or_else(String::new, |d| {
                format!("<br>To drill it: <code>{}</code>", escaped(&d.command()))
            });
            format!(
                "<p><strong>{}</strong><br>{}{drill}</p>\n",
                escaped(title),
                escaped(grounds)
            )
        }
        Block::Table(t) => table(t, heading),
    }
}

/// A table that is wider than a phone can be scrolled, with keys too.
fn table(table: &ReportTable, heading: &str) -> String {
    let cells = |cells: Vec<String>, tag: &str| {
        let named = |(n, cell): (usize, String)| match n {
            0 => format!("<th scope=\"row\">{cell}</th>"),
            _ => format!("<{tag}>{cell}</{}>", &tag[..2]),
        };
        cells.into_iter().enumerate().map(named).collect::<String>()
    };
    let heads: Vec<String> = table.heads.iter().map(|h| escaped(h)).collect();
    let name = format!("{heading}: {}", heads[0]);
    let head = cells(heads, "th scope=\"col\"").replacen("\"row\"", "\"col\"", 1);
    let rows = table.rows.iter().map(|row| {
        let row = row.cells.iter().map(cell).collect();
        format!("<tr>{}</tr>\n", cells(row, "td"))
    });
    format!(
        "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"{name}\"><table>\n<thead><tr>{head}</tr></thead>\n\
         <tbody>\n{}</tbody>\n</table></div>\n",
        rows.collect::<String>()
    )
}

fn cell(cell: &TableCell) -> String {
    const HEIGHT: f64 = 16.0;
    const STEP: f64 = 8.0;
    let (bars, words) = match cell {
        TableCell::Text(text) => return escaped(text),
        TableCell::Bars { bars, words } => (bars, escaped(words)),
    };
    let rects = bars.iter().enumerate().map(|(n, bar)| {
        let (x, high) = (n as f64 * STEP, bar * HEIGHT);
        let y = HEIGHT - high;
        format!("<rect x=\"{x}\" y=\"{y:.1}\" width=\"6\" height=\"{high:.1}\"/>")
    });
    let width = bars.len() as f64 * STEP;
    format!(
        "<svg width=\"{width}\" height=\"{HEIGHT}\" role=\"img\" aria-label=\"{words}\"><title>{words}</title>{}</svg>",
        rects.collect::<String>()
    )
}

const HEAD: &str = r#"<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>whichside: weak concepts</title>
<style>
:root { --ground: #fff; --ink: #1a1a1a; --quiet: #595959; --line: #c8c8c8; --bar: #0072b2; }
@media (prefers-color-scheme: dark) {
  :root { --ground: #161616; --ink: #ececec; --quiet: #a8a8a8; --line: #4a4a4a; --bar: #56b4e9; }
}
@media print {
  :root { --ground: #fff; --ink: #000; --quiet: #333; --line: #999; --bar: #0072b2; }
  h2 { break-after: avoid; }
  tr, p { break-inside: avoid; }
  .wide { overflow: visible; }
  table { font-size: .75rem; }
}
* { box-sizing: border-box; }
body { margin: 0; background: var(--ground); color: var(--ink); font: 1rem/1.5 Georgia, "Times New Roman", serif; }
main { max-width: 46rem; margin: 0 auto; padding: 1rem; }
code { font-size: .9em; overflow-wrap: anywhere; }
h1 { margin: .5rem 0 0; font-size: 1.7rem; }
h2 { margin: 2rem 0 .5rem; font-size: 1.2rem; border-bottom: 1px solid var(--line); }
.quiet, thead th { color: var(--quiet); }
.blank { display: inline-block; width: 16rem; border-bottom: 1px solid var(--ink); }
svg { display: inline-block; vertical-align: text-bottom; fill: var(--bar); border-bottom: 1px solid var(--line); }
.wide { overflow-x: auto; margin: 1rem 0; }
table { border-collapse: collapse; font-size: .9rem; }
th, td { padding: .2rem .8rem .2rem 0; text-align: left; white-space: nowrap; font-weight: normal; }
tbody tr { border-top: 1px solid var(--line); }
</style>
</head>
<body>
<main>
"#;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture::{empty, full};

    #[test]
    fn an_empty_page_names_the_program_and_the_player_and_says_what_will_be_there() {
        let blank = page(&empty(1_795_629_600.0), None);
        assert!(blank.starts_with("<!DOCTYPE html>") && blank.contains("25 November 2026"));
        assert!(blank.contains("Made by whichside") && blank.contains("class=\"blank\""));
        assert_eq!(
            blank.matches(", this shows ").count(),
            7,
            "one promise a section"
        );
        for foreign in ["<script", "http://", "https://", "src="] {
            assert!(!blank.contains(foreign), "{foreign}");
        }
        let named = page(&empty(1_795_629_600.0), Some("Ana & <Bo>"));
        assert!(named.contains("<p>Player: Ana &amp; &lt;Bo&gt;</p>"));
        assert!(!named.contains("class=\"blank\""));
    }

    #[test]
    fn names_from_decks_cannot_break_the_page() {
        assert_eq!(escaped("<b> & \"q\""), "&lt;b&gt; &amp; &quot;q&quot;");
    }

    #[test]
    fn every_tag_is_closed_and_every_row_has_a_name() {
        let page = page(&full(1.8e9), None);
        for tag in [
            "section", "table", "thead", "tbody", "tr", "th", "td", "svg", "p", "div",
        ] {
            let open = page.matches(&format!("<{tag}>")).count();
            let open = open + page.matches(&format!("<{tag} ")).count();
            assert_eq!(open, page.matches(&format!("</{tag}>")).count(), "{tag}");
            assert!(open > 0, "{tag}");
        }
        let rows = page.matches("<tr>").count();
        let (tables, names) = (
            page.matches("<table>").count(),
            page.matches("scope=\"row\"").count(),
        );
        assert_eq!(rows, tables + names);
        assert_eq!(
            page.matches("<svg").count(),
            page.matches("<title>").count() - 1
        );
    }
}
