//! One row of a block: its name and its cells, before anything is made of them.

use super::{NotationFault, Problem};
use crate::rhythm::{Drum, Instrument, Weight, nearest};
use std::ops::Range;

/// What a row is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum RowRole {
    Count,
    Drum(Drum),
    Hand,
    Mark,
    Band(Instrument),
}

impl RowRole {
    /// Every row that can be written, in the order in which a block is written.
    pub(super) fn all() -> Vec<RowRole> {
        let mut all = vec![RowRole::Count];
        all.extend(Drum::ALL.map(RowRole::Drum));
        all.extend([RowRole::Hand, RowRole::Mark]);
        all.extend(Instrument::ALL.map(RowRole::Band));
        all
    }

    pub(super) fn name(self) -> &'static str {
        match self {
            RowRole::Count => "count",
            RowRole::Drum(drum) => drum.name(),
            RowRole::Hand => "hand",
            RowRole::Mark => "mark",
            RowRole::Band(instrument) => instrument.name(),
        }
    }

    fn named(name: &str) -> Option<RowRole> {
        RowRole::all().into_iter().find(|r| r.name() == name)
    }

    /// True for the rows that belong to the player's hands and therefore share one length.
    pub(super) fn of_the_player(self) -> bool {
        matches!(self, RowRole::Drum(_) | RowRole::Hand | RowRole::Mark)
    }
}

/// One pulse of a row as written.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct NotationCell {
    pub(super) span: Range<usize>,
    pub(super) letter: char,
    /// `>` or brackets around the letter.
    pub(super) weight: Weight,
}

/// One row as written.
#[derive(Clone, Debug)]
pub(super) struct NotationRow {
    pub(super) role: RowRole,
    pub(super) span: Range<usize>,
    pub(super) bars: Vec<(Range<usize>, Vec<NotationCell>)>,
}

impl NotationRow {
    pub(super) fn cells(&self) -> impl Iterator<Item = &NotationCell> {
        self.bars.iter().flat_map(|(_, cells)| cells)
    }
}

/// The rows of a block as `read` reads them: those that sound together in one list, from one empty line to the next.
/// `read` gets the rows above, a line and where that begins.
pub(super) fn systems<R>(
    text: &str,
    mut read: impl FnMut(&[R], &str, usize) -> Option<R>,
) -> Vec<Vec<R>> {
    let mut systems: Vec<Vec<R>> = Vec::new();
    let mut system = Vec::new();
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let content = line.trim_end_matches(['\n', '\r']);
        if content.trim().is_empty() {
            systems.push(std::mem::take(&mut system));
        } else if !content.trim_start().starts_with('#') {
            system.extend(read(&system, content, start));
        }
        start += line.len();
    }
    systems.push(system);
    systems.retain(|s| !s.is_empty());
    systems
}

/// The bytes of a text that starts at byte `start`, without the blanks around it.
pub fn trimmed(text: &str, start: usize) -> Range<usize> {
    let from = start + text.len() - text.trim_start().len();
    from..from + text.trim().len()
}

/// Reads one line that starts at byte `start` of the block.
pub(super) fn read_row(
    line: &str,
    start: usize,
    problems: &mut Vec<Problem>,
) -> Option<NotationRow> {
    let span = trimmed(line, start);
    let Some((head, cells)) = line.split_once('|') else {
        let message = "this line is not a row";
        let mend = "a row is its name, then `|`, then its cells, as in `conga | H T S T H T O O |`";
        problems.push(Problem::new(NotationFault::Row, &span, message, mend));
        return None;
    };
    let name = head.trim();
    let Some(role) = RowRole::named(name) else {
        let at = trimmed(head, start);
        let at = at.start..at.end.max(at.start + 1);
        let message = match name {
            "" => "this row has no name".to_string(),
            name => format!("there is no row `{name}`"),
        };
        problems.push(Problem::new(
            NotationFault::Row,
            &at,
            message,
            nearest_row(name),
        ));
        return None;
    };
    let from = start + head.len() + 1;
    let bars = read_bars(cells, from, role == RowRole::Mark, problems);
    Some(NotationRow { role, span, bars })
}

fn nearest_row(name: &str) -> String {
    let roles = RowRole::all();
    match nearest(name, roles.iter().map(|r| (r.name(), r.name())), 0.75) {
        Some(near) => format!("did you mean `{near}`?"),
        None => {
            let named = |role: RowRole| match role {
                RowRole::Drum(Drum::Tumbadora) => format!("{} (the low drum)", role.name()),
                RowRole::Drum(Drum::Quinto) => format!("{} (the high drum)", role.name()),
                _ => role.name().to_string(),
            };
            let names: Vec<_> = roles.into_iter().map(named).collect();
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
) -> Vec<(Range<usize>, Vec<NotationCell>)> {
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
        let span = match trimmed(piece, offset) {
            blank if blank.is_empty() => offset..offset + piece.len(),
            inner => inner,
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
) -> Vec<NotationCell> {
    let mut cells = Vec::new();
    let mut chars = text
        .char_indices()
        .filter(|(_, c)| !c.is_whitespace())
        .map(|(i, c)| (start + i, c))
        .peekable();
    while let Some((at, c)) = chars.next() {
        let mut cell = NotationCell {
            span: at..at + c.len_utf8(),
            letter: c,
            weight: Weight::Plain,
        };
        if let Some(weight) = Weight::from_mark(c).filter(|_| !marks_are_cells) {
            let Some((next, letter)) = chars.next() else {
                let message = format!("there is nothing after `{c}`");
                let mend = "an accent is written `>O`, a ghost `(O)`; or use a mark row";
                problems.push(Problem::new(NotationFault::Mark, &cell.span, message, mend));
                break;
            };
            cell.letter = letter;
            cell.span.end = next + letter.len_utf8();
            cell.weight = weight;
            if let Some((close, _)) = chars.next_if(|(_, c)| weight == Weight::Ghost && *c == ')') {
                cell.span.end = close + 1;
            } else if weight == Weight::Ghost {
                let message = "this bracket is not closed";
                let mend = "a ghost is written `(O)`; or use a mark row";
                problems.push(Problem::new(NotationFault::Mark, &cell.span, message, mend));
            }
        }
        cells.push(cell);
    }
    cells
}
