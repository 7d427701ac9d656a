//! A block of rows, as on paper:
//!
//! ```text
//! count | 1 & 2 & 3 & 4 & | 1 & 2 & 3 & 4 & |
//! conga | H T S T H T O O | H T S T H T O O |
//! hand  | L L R L L L R R | L L R L L L R R |
//! mark  | . . > . . . . . | . ( . . . . . . |
//! clave | . . x . x . . . | x . . x . . x . |
//! ```
//!
//! A row is its name, then `|`, then cells; blanks mean nothing, `|` separates bars, a rest is `.`. The count row
//! decides the grid; where it is shorter than the rest it goes round. Drum rows (`quinto`, `conga`, `tumba`) hold
//! stroke letters, at most one stroke a pulse over all of them; `hand` holds `L` and `R`, `?` where the hand is left
//! open; `mark` holds `>` for an accent and `(` for a ghost. The rows of the band hold `x` for a hit; bass and piano
//! also a scale degree from 1 to 8. A mark may also be written at its cell: `>O`, `(T)`, `>x`, `(x)`, `>5`. In the band
//! `X` is read as `>x` and `o` as `(x)`, as older decks have them. Long phrases go on below after an empty line; a row
//! that is missing there rests. Lines that begin with `#` are notes.

use super::MOST_BARS;
use super::build::{build, join};
use super::row::{NotationCell, NotationRow, RowRole, read_row, systems, trimmed};
use crate::rhythm::{Grid, Hand, Instrument, Score, Tone, Weight, counted, spaced};
use std::ops::Range;

/// What sort of mistake a [`Problem`] is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum NotationFault {
    /// A line that is not a row, an unknown row name, a row written twice.
    Row,
    /// A count row that is missing or counts no grid.
    Count,
    /// A bar with too many or too few pulses.
    Bar,
    /// Rows of one player that are not equally long.
    Length,
    /// A letter that means nothing in its row.
    Letter,
    /// Two drums struck on one pulse.
    Clash,
    /// A hand without a stroke or a stroke without a hand.
    Hand,
    /// An accent or ghost without a stroke, a bracket not closed.
    Mark,
    /// No row but the count.
    Empty,
    /// More than is read.
    Long,
}

/// One mistake in a block.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// What is wrong.
    pub fault: NotationFault,
    /// Bytes of the text that are wrong.
    pub span: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// How to mend it.
    pub mend: String,
}

impl Problem {
    pub(super) fn new(
        fault: NotationFault,
        span: &Range<usize>,
        message: impl Into<String>,
        mend: impl Into<String>,
    ) -> Problem {
        Problem {
            fault,
            span: span.clone(),
            message: message.into(),
            mend: mend.into(),
        }
    }
}

/// Most bytes of a block.
const MOST_TEXT: usize = 1 << 20;

/// Reads a block. The score is there exactly where there are no problems; all problems are found at once.
pub fn read_block(text: &str) -> (Option<Score>, Vec<Problem>) {
    let mut problems = Vec::new();
    let too_long = |span| {
        let most = MOST_TEXT >> 10;
        let message = format!("a grid has at most {MOST_BARS} bars and {most} KiB of text");
        Problem::new(
            NotationFault::Long,
            span,
            message,
            "make several cards of it",
        )
    };
    if text.len() > MOST_TEXT {
        return (None, vec![too_long(&trimmed(text, 0))]);
    }
    let systems = read_systems(text, &mut problems);
    let mut bars = 0;
    for system in &systems {
        let longest = system.iter().max_by_key(|row| row.bars.len());
        bars += longest.map_or(0, |row| row.bars.len());
        if let Some(row) = longest.filter(|_| bars > MOST_BARS) {
            problems.push(too_long(&row.span));
            return (None, problems);
        }
    }
    let Some(grid) = grid_of(&systems, text, &mut problems) else {
        return (None, problems);
    };
    for row in systems.iter().flatten() {
        check_row(row, grid, &mut problems);
    }
    check_lengths(&systems, &mut problems);
    if !problems.is_empty() {
        return (None, problems);
    }
    let rows = join(&systems, grid);
    let score = build(&rows, grid, &mut problems);
    if score.drums.is_none() && score.lines.is_empty() && problems.is_empty() {
        let (whole, message) = (trimmed(text, 0), "nothing plays in this grid");
        let mend = "add a drum row such as `conga | H T S T H T O O |` or a row of the band";
        problems.push(Problem::new(NotationFault::Empty, &whole, message, mend));
    }
    (problems.is_empty().then_some(score), problems)
}

/// The place of a pulse (from 0) of the row called `row` in a block.
pub fn locate(text: &str, row: &str, pulse: usize) -> Option<Range<usize>> {
    let mut before = 0;
    for system in read_systems(text, &mut Vec::new()) {
        let found = system.iter().find(|r| r.role.name() == row);
        if let Some(cell) = found.and_then(|r| r.cells().nth(pulse.checked_sub(before)?)) {
            return Some(cell.span.clone());
        }
        before += system.iter().map(|r| r.cells().count()).max().unwrap_or(0);
    }
    None
}

/// Rows in groups separated by empty lines.
fn read_systems(text: &str, problems: &mut Vec<Problem>) -> Vec<Vec<NotationRow>> {
    systems(text, |above: &[NotationRow], line, start| {
        let row = read_row(line, start, problems)?;
        let twice = above.iter().any(|r| r.role == row.role);
        if twice {
            let message = format!("the row `{}` is here twice", row.role.name());
            let mend = "take one out, or put an empty line between to go on in time";
            problems.push(Problem::new(NotationFault::Row, &row.span, message, mend));
        }
        (!twice).then_some(row)
    })
}

/// The letters of a count; `+` is written for `&` by many.
fn letters(cells: &[NotationCell]) -> String {
    let letter = |c: &NotationCell| if c.letter == '+' { '&' } else { c.letter };
    cells.iter().map(letter).collect()
}

/// Cells of a bar that do not count as the grid does.
fn miscounts(cells: &[NotationCell], grid: Grid) -> usize {
    let is = letters(cells);
    let pairs = is.chars().zip(grid.counted().chars());
    pairs.filter(|(is, due)| is != due).count()
}

/// The grid that the first count row counts. Where it counts none exactly, the number of pulses in a bar decides and
/// the mistake is noted.
fn grid_of(systems: &[Vec<NotationRow>], text: &str, problems: &mut Vec<Problem>) -> Option<Grid> {
    let rows = || systems.iter().flatten();
    let by_length = |n: usize| Grid::ALL.into_iter().find(|g| g.pulses_per_bar() == n);
    let Some(count) = rows().find(|r| r.role == RowRole::Count) else {
        if problems.is_empty() || rows().next().is_some() {
            let first = rows().next().map_or(trimmed(text, 0), |r| r.span.clone());
            let mend = "write one above the rest, such as `count | 1 & 2 & 3 & 4 & |`";
            let message = "there is no count row";
            problems.push(Problem::new(NotationFault::Count, &first, message, mend));
        }
        return rows().find_map(|r| by_length(r.bars.first()?.1.len()));
    };
    let bars = || count.bars.iter().map(|(_, cells)| cells);
    let exact = |g: &Grid| bars().any(|cells| letters(cells) == g.counted());
    let grid = Grid::ALL
        .into_iter()
        .find(exact)
        .or_else(|| bars().find_map(|c| by_length(c.len())));
    if grid.is_none() {
        let message = "no bar that is known here is counted like this";
        let mend = "write `1 & 2 & 3 & 4 &` (eighths), `1 e & a 2 e & a ...` (sixteenths), `1 & a 2 & a ...` (triplets) or `1 2 3 4 5 6` (6/8)";
        problems.push(Problem::new(
            NotationFault::Count,
            &count.span,
            message,
            mend,
        ));
    }
    grid
}

/// Bars full, letters known.
fn check_row(row: &NotationRow, grid: Grid, problems: &mut Vec<Problem>) {
    let name = row.role.name();
    let needed = grid.pulses_per_bar();
    if row.bars.is_empty() {
        let message = format!("the row `{name}` has no cells");
        let mend = "take it out or fill it; a rest is `.`";
        problems.push(Problem::new(NotationFault::Bar, &row.span, message, mend));
    }
    for (i, (span, cells)) in row.bars.iter().enumerate() {
        if cells.len() != needed {
            let (more, mend) = match cells.len() < needed {
                true => (needed - cells.len(), "missing: a rest is `.`"),
                false => (cells.len() - needed, "too many, or a `|` is missing"),
            };
            let message = format!(
                "bar {} of `{name}` has {}, but a bar of {} has {needed}",
                i + 1,
                counted(cells.len(), "pulse"),
                grid.name()
            );
            let mend = format!("{more} {mend}");
            problems.push(Problem::new(NotationFault::Bar, span, message, mend));
            continue;
        }
        if row.role == RowRole::Count && miscounts(cells, grid) > 1 {
            let message = format!("this does not count a bar of {}", grid.name());
            let mend = format!("write `{}`", spaced(grid.counted().chars()));
            problems.push(Problem::new(NotationFault::Count, span, message, mend));
            continue;
        }
        for (pulse, cell) in cells.iter().enumerate() {
            if let Some((fault, mend)) = wrong_letter(row.role, cell, grid, pulse) {
                let message = format!("`{}` means nothing in the row `{name}`", cell.letter);
                problems.push(Problem::new(fault, &cell.span, message, mend));
            }
        }
    }
}

/// What is wrong with a letter, if anything.
fn wrong_letter(
    role: RowRole,
    cell: &NotationCell,
    grid: Grid,
    pulse: usize,
) -> Option<(NotationFault, String)> {
    let c = cell.letter;
    let rest_meant = matches!(c, '-' | '_' | '·' | '*');
    let upper = c.to_ascii_uppercase();
    let letter = |mend: String| Some((NotationFault::Letter, mend));
    let may_be_marked = matches!(role, RowRole::Drum(_) | RowRole::Band(_)) && c != '.';
    if cell.weight != Weight::Plain && !may_be_marked {
        let mend = "only strokes and hits have accents and ghosts".to_string();
        return Some((NotationFault::Mark, mend));
    }
    match role {
        RowRole::Count => {
            let due = grid.count(pulse);
            (c != due && !(c == '+' && due == '&'))
                .then(|| (NotationFault::Count, format!("write `{due}` here")))
        }
        _ if c == '.' => None,
        _ if rest_meant => letter("a rest is `.`".into()),
        RowRole::Drum(_) if Tone::from_letter(c).is_some() => None,
        RowRole::Drum(_) if Tone::from_letter(upper).is_some() => {
            letter(format!("strokes are capital letters: `{upper}`"))
        }
        RowRole::Drum(_) => {
            let all = Tone::ALL.map(|t| format!("{} {}", t.letter(), t.name()));
            letter(format!("strokes are {}", all.join(", ")))
        }
        RowRole::Hand if c == '?' || Hand::from_letter(c).is_some() => None,
        RowRole::Hand => letter("hands are `L` and `R`, `?` where it is left open".into()),
        RowRole::Mark if matches!(c, '>' | '(') => None,
        RowRole::Mark => letter("marks are `>` for an accent and `(` for a ghost".into()),
        RowRole::Band(_) if matches!(c, 'x' | 'X' | 'o') => None,
        RowRole::Band(Instrument::Bass | Instrument::Piano) if ('1'..='8').contains(&c) => None,
        RowRole::Band(Instrument::Bass | Instrument::Piano) => letter(
            "write `x` for a hit, `>x` for an accent, `(x)` for a ghost, or a scale degree from 1 to 8"
                .into(),
        ),
        RowRole::Band(_) => letter("write `x` for a hit, `>x` for an accent, `(x)` for a ghost".into()),
    }
}

/// Rows of the player are equally long; in a block of several systems all rows of a system are.
fn check_lengths(systems: &[Vec<NotationRow>], problems: &mut Vec<Problem>) {
    for system in systems {
        let alike = |r: &&NotationRow| systems.len() > 1 || r.role.of_the_player();
        let of_drums = |r: &&NotationRow| matches!(r.role, RowRole::Drum(_));
        let first = system.iter().find(of_drums);
        let Some(first) = first.or_else(|| system.iter().find(alike)) else {
            continue;
        };
        for row in system.iter().filter(alike) {
            if row.bars.len() != first.bars.len() {
                let [this, that] =
                    [row, first].map(|r| (r.role.name(), counted(r.bars.len(), "bar")));
                let message = format!(
                    "the row `{}` has {} and `{}` has {}",
                    this.0, this.1, that.0, that.1
                );
                let mend = "make them equally long";
                problems.push(Problem::new(
                    NotationFault::Length,
                    &row.span,
                    message,
                    mend,
                ));
            }
        }
    }
}
