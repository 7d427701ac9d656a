//! One row of a block: its name and its cells, before anything is made of them.

use super::{Fault, Problem};
use crate::rhythm::{Drum, Instrument, Weight};
use std::ops::Range;

/// What a row is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Role {
    Count,
    Drum(Drum),
    Hand,
    Mark,
    Band(Instrument),
}

impl Role {
    /// Every row that can be written, in the order in which a block is written.
    pub(super) fn all() -> Vec<Role> {
        let mut all = vec![Role::Count];
        all.extend(Drum::ALL.map(Role::Drum));
        all.extend([Role::Hand, Role::Mark]);
        all.extend(Instrument::ALL.map(Role::Band));
        all
    }

    pub(super) fn name(self) -> &'static str {
        match self {
            Role::Count => "count",
            Role::Drum(drum) => drum.name(),
            Role::Hand => "hand",
            Role::Mark => "mark",
            Role::Band(instrument) => instrument.name(),
        }
    }

    fn named(name: &str) -> Option<Role> {
        Role::all().into_iter().find(|r| r.name() == name)
    }

    /// True for the rows that belong to the player's hands and therefore share one length.
    pub(super) fn of_the_player(self) -> bool {
        matches!(self, Role::Drum(_) | Role::Hand | Role::Mark)
    }
}

/// One pulse of a row as written.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Cell {
    pub(super) span: Range<usize>,
    pub(super) letter: char,
    /// `>` or brackets around the letter.
    pub(super) weight: Weight,
}

/// One row as written.
#[derive(Clone, Debug)]
pub(super) struct Row {
    pub(super) role: Role,
    pub(super) span: Range<usize>,
    pub(super) bars: Vec<(Range<usize>, Vec<Cell>)>,
}

impl Row {
    pub(super) fn cells(&self) -> impl Iterator<Item = &Cell> {
        self.bars.iter().flat_map(|(_, cells)| cells)
    }
}

/// Reads one line that starts at byte `start` of the block.
pub(super) fn read_row(line: &str, start: usize, problems: &mut Vec<Problem>) -> Option<Row> {
    let whole = start + (line.len() - line.trim_start().len())..start + line.trim_end().len();
    let Some(bar_line) = line.find('|') else {
        problems.push(Problem {
            fault: Fault::Row,
            span: whole,
            message: "this line is not a row".into(),
            mend: "a row is its name, then `|`, then its cells, as in `conga | H T S T H T O O |`"
                .into(),
        });
        return None;
    };
    let name = line[..bar_line].trim();
    let Some(role) = Role::named(name) else {
        let at = start + line[..bar_line].len() - line[..bar_line].trim_start().len();
        problems.push(Problem {
            fault: Fault::Row,
            span: at..(at + name.len()).max(at + 1),
            message: if name.is_empty() {
                "this row has no name".into()
            } else {
                format!("there is no row `{name}`")
            },
            mend: nearest_row(name),
        });
        return None;
    };
    let bars = read_bars(
        &line[bar_line + 1..],
        start + bar_line + 1,
        role == Role::Mark,
        problems,
    );
    Some(Row {
        role,
        span: whole,
        bars,
    })
}

fn nearest_row(name: &str) -> String {
    let lower = name.to_lowercase();
    let near = Role::all()
        .into_iter()
        .map(|r| (strsim::jaro_winkler(&lower, r.name()), r.name()))
        .max_by(|a, b| a.0.total_cmp(&b.0));
    match near {
        Some((score, near)) if score > 0.75 => format!("did you mean `{near}`?"),
        _ => {
            let named = |role: Role| match role {
                Role::Drum(Drum::Tumbadora) => format!("{} (the low drum)", role.name()),
                Role::Drum(Drum::Quinto) => format!("{} (the high drum)", role.name()),
                _ => role.name().to_string(),
            };
            let names: Vec<_> = Role::all().into_iter().map(named).collect();
            format!("rows are {}", names.join(", "))
        }
    }
}

/// Cuts what follows the first bar line into bars and cells. In the mark row `>` and `(` are cells themselves.
pub(super) fn read_bars(
    text: &str,
    start: usize,
    marks_are_cells: bool,
    problems: &mut Vec<Problem>,
) -> Vec<(Range<usize>, Vec<Cell>)> {
    let mut bars = Vec::new();
    let mut offset = start;
    let mut pieces = text.split('|').peekable();
    while let Some(piece) = pieces.next() {
        let last = pieces.peek().is_none();
        // Blank after the closing line, or a double bar line: no bar.
        if (last && piece.trim().is_empty()) || piece.is_empty() {
            offset += piece.len() + 1;
            continue;
        }
        let inner = piece.trim();
        let from = offset + (piece.len() - piece.trim_start().len());
        let span = match inner.len() {
            0 => offset..offset + piece.len(),
            n => from..from + n,
        };
        bars.push((span, read_cells(piece, offset, marks_are_cells, problems)));
        offset += piece.len() + 1;
    }
    bars
}

fn read_cells(
    text: &str,
    start: usize,
    marks_are_cells: bool,
    problems: &mut Vec<Problem>,
) -> Vec<Cell> {
    let mut cells = Vec::new();
    let mut chars = text
        .char_indices()
        .filter(|(_, c)| !c.is_whitespace())
        .map(|(i, c)| (start + i, c))
        .peekable();
    while let Some((at, c)) = chars.next() {
        let mut cell = Cell {
            span: at..at + c.len_utf8(),
            letter: c,
            weight: Weight::Plain,
        };
        if !marks_are_cells && matches!(c, '>' | '(') {
            let Some((next, letter)) = chars.next() else {
                problems.push(Problem {
                    fault: Fault::Mark,
                    span: cell.span,
                    message: format!("`{c}` stands before nothing"),
                    mend: "an accent is written `>O`, a ghost `(O)`; or use a mark row".into(),
                });
                break;
            };
            cell.letter = letter;
            cell.span.end = next + letter.len_utf8();
            cell.weight = if c == '>' {
                Weight::Accent
            } else {
                Weight::Ghost
            };
            if c == '(' {
                match chars.next_if(|(_, c)| *c == ')') {
                    Some((close, _)) => cell.span.end = close + 1,
                    None => problems.push(Problem {
                        fault: Fault::Mark,
                        span: cell.span.clone(),
                        message: "this bracket is not closed".into(),
                        mend: "a ghost is written `(O)`; or use a mark row".into(),
                    }),
                }
            }
        }
        cells.push(cell);
    }
    cells
}
