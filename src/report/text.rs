//! The report as lines of text: for pipes, for reading aloud, and for the full screen.

use super::words::basis;
use super::{Block, Focus, Report, ReportTable, Section, TableCell, sections};
use textwrap::Options;

/// Width of the text, in characters.
const WIDTH: usize = 79;
/// Rows of a table that are written at most.
const MOST: usize = 12;
/// Characters between two columns.
const GAP: usize = 2;
/// Characters that the first column keeps, however narrow the text.
const NARROWEST: usize = 8;

/// What a line is; it decides how the line looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineKind {
    /// The heading of a section.
    Heading,
    /// The heads of a table.
    Heads,
    /// Everything else.
    Body,
}

/// One line of text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TextLine {
    /// The line, without its end.
    pub text: String,
    /// What it is.
    pub kind: LineKind,
    /// The drill on what it is about; of a finding of several lines, at the first.
    pub drill: Option<Focus>,
}

/// The whole report as text, at most 79 columns wide.
pub fn text(report: &Report) -> String {
    let mut out = format!("Weak concepts, {}\n", basis(report, "your"));
    for section in sections(report) {
        out.push('\n');
        for line in lines(&section, WIDTH - 2, MOST) {
            let indent = match (line.kind, line.text.is_empty()) {
                (LineKind::Heading, _) | (_, true) => "",
                _ => "  ",
            };
            out.push_str(&format!("{indent}{}\n", line.text));
        }
    }
    out
}

/// A section as lines of at most `width` characters, with `most` rows of each table. The first is its heading.
pub fn lines(section: &Section, width: usize, most: usize) -> Vec<TextLine> {
    let wrapped = |text: &str, indent: &'static str| {
        let options = Options::new(width)
            .initial_indent(indent)
            .subsequent_indent(indent);
        let lines = textwrap::wrap(text, options);
        let lines = lines
            .into_iter()
            .map(|l| line(l.into_owned(), LineKind::Body));
        lines.collect::<Vec<_>>()
    };
    let mut out = vec![line(section.heading.to_string(), LineKind::Heading)];
    for (n, block) in section.blocks.iter().enumerate() {
        if n > 0 {
            out.push(line(String::new(), LineKind::Body));
        }
        match block {
            Block::Text(text) | Block::Note(text) => out.extend(wrapped(text, "")),
            Block::Finding {
                title,
                grounds,
                drill,
            } => {
                let first = out.len();
                out.extend(wrapped(title, ""));
                out[first].drill.clone_from(drill);
                out.extend(wrapped(grounds, "   "));
                if let Some(drill) = drill {
                    out.extend(wrapped(&format!("To drill it: {}", drill.command()), "   "));
                }
            }
            Block::Table(table) => out.extend(table_lines(table, width, most)),
        }
    }
    out
}

fn line(text: String, kind: LineKind) -> TextLine {
    TextLine {
        text,
        kind,
        drill: None,
    }
}

fn table_lines(table: &ReportTable, width: usize, most: usize) -> Vec<TextLine> {
    let heads = table.heads.iter().cloned();
    let mut grid: Vec<Vec<String>> = vec![heads.collect()];
    let shown = &table.rows[..table.rows.len().min(most)];
    grid.extend(
        shown
            .iter()
            .map(|row| row.cells.iter().map(written).collect()),
    );
    let long = |text: &String| text.chars().count();
    let mut widths: Vec<usize> = (0..table.heads.len())
        .map(|column| grid.iter().map(|row| long(&row[column])).max().unwrap_or(0))
        .collect();
    let all: usize = widths.iter().map(|w| w + GAP).sum::<usize>() - GAP;
    widths[0] = widths[0]
        .saturating_sub(all.saturating_sub(width))
        .max(NARROWEST);
    let row = |cells: &Vec<String>| {
        let mut text = format!("{:<1$}", shortened(&cells[0], widths[0]), widths[0]);
        for (cell, width) in cells.iter().zip(&widths).skip(1) {
            text += &format!("{:GAP$}{cell:>width$}", "");
        }
        text.trim_end().to_string()
    };
    let drills = std::iter::once(None).chain(shown.iter().map(|r| r.drill.clone()));
    let mut lines: Vec<TextLine> = (grid.iter().zip(drills).enumerate())
        .map(|(n, (cells, drill))| TextLine {
            text: row(cells),
            kind: match n {
                0 => LineKind::Heads,
                _ => LineKind::Body,
            },
            drill,
        })
        .collect();
    if table.rows.len() > most {
        let more = format!("and {} more", table.rows.len() - most);
        lines.push(line(more, LineKind::Body));
    }
    lines
}

/// A cell in characters; a bar is an eighth of a line high at least, a dot where there is nothing.
fn written(cell: &TableCell) -> String {
    match cell {
        TableCell::Text(text) => text.clone(),
        TableCell::Bars { bars, .. } => bars
            .iter()
            .map(|b| match (b * 8.0).ceil() as usize {
                0 => '·',
                n => ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'][n.min(8) - 1],
            })
            .collect(),
    }
}

/// At most this many characters of it, with a mark where some were left off.
fn shortened(text: &str, width: usize) -> String {
    match text.chars().count() > width {
        true => text.chars().take(width - 1).chain(['…']).collect(),
        false => text.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture::{empty, full};
    use crate::time::Moment;

    /// Some day in 2027, seconds since 1970 UTC.
    const NOW: f64 = 1.8e9;

    #[test]
    fn every_section_of_an_empty_report_says_what_will_be_there_and_when() {
        let found = sections(&empty(Moment::new(NOW)));
        assert_eq!(found.len(), 7);
        for section in found {
            let [Block::Text(promise)] = &section.blocks[..] else {
                panic!("{section:?}");
            };
            assert!(promise.contains(", this shows "), "{promise}");
            let when = ["once", "after", "with"];
            assert!(
                when.iter().any(|w| promise.to_lowercase().contains(w)),
                "{promise}"
            );
        }
    }

    #[test]
    fn no_line_is_wider_than_the_text_whatever_is_in_it() {
        let report = full(Moment::new(NOW));
        for width in [74, 77, 116] {
            for line in sections(&report).iter().flat_map(|s| lines(s, width, 99)) {
                assert!(line.text.chars().count() <= width, "{width}: {}", line.text);
            }
        }
    }

    #[test]
    fn one_is_told_as_one_and_bars_stand_for_their_numbers() {
        let mut report = full(Moment::new(NOW));
        report.reviews = 1;
        let text = text(&report);
        assert!(text.starts_with("Weak concepts, from your latest 1 answer\n"));
        (report.reviews, report.sounded) = (15, 46);
        let head = "Weak concepts, from your latest 15 answers (46 more showed where you stand)\n";
        assert!(super::text(&report).starts_with(head));
        (report.reviews, report.sounded) = (0, 0);
        assert!(super::text(&report).starts_with("Weak concepts, before your first answer\n"));
        // Minutes 0, 6, 0, 3, 0, 0, 0.1 of 6 at most: in eighths, rounded up.
        assert!(text.contains("·█·▄··▁"), "{text}");
    }

    #[test]
    fn a_drill_stands_at_the_first_line_of_what_it_is_about() {
        let report = full(Moment::new(NOW));
        let begin = |section: usize| {
            let lines = lines(&sections(&report)[section], 77, 99);
            let drills = lines.iter().filter(|l| l.drill.is_some());
            drills.map(|l| l.text[..12].to_string()).collect::<Vec<_>>()
        };
        assert_eq!(begin(0), ["1. rumba cla"]);
        assert_eq!(begin(1), ["a name that ", "strokes     "]);
    }
}
