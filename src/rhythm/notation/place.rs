//! Which bar and pulse of a block of rows a piece of its text is, as its writer is told.

use super::row::{read_bars, systems, trimmed};
use std::ops::Range;

/// The bars of one row that a piece of text touches. All ranges are bytes of the block.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BlockPlace {
    /// The row's name.
    pub name: Range<usize>,
    /// Number of the first of these bars in the block, from 1.
    pub bar: usize,
    /// The pulse as a player says it, such as `3&`; `None` where the text is more or less than one cell, or nothing
    /// counts the pulse.
    pub pulse: Option<String>,
    /// The cells of the bars.
    pub cells: Vec<Vec<Range<usize>>>,
    /// The cells of the count row over the same bars; empty where there is none, or the row itself is the count.
    pub count: Vec<Vec<Range<usize>>>,
}

/// One line of a block with a bar line in it, whether or not its name is known.
#[derive(Debug)]
struct RowLine {
    whole: Range<usize>,
    name: Range<usize>,
    bars: Vec<Vec<Range<usize>>>,
}

/// The rows of a block, read once to find many places in it. Mistakes in the block do not matter.
#[derive(Debug)]
pub struct BlockIndex<'a> {
    text: &'a str,
    systems: Vec<Vec<RowLine>>,
}

impl<'a> BlockIndex<'a> {
    /// Reads the rows of a block.
    pub fn new(text: &'a str) -> BlockIndex<'a> {
        BlockIndex {
            text,
            systems: systems(text, |_, line, start| row_line(line, start)),
        }
    }

    /// The bars of the row that `span` (bytes of the block) lies in. `None` where it lies in no row, or goes on past
    /// the line.
    pub fn place(&self, span: &Range<usize>) -> Option<BlockPlace> {
        let lies_in = |row: &RowLine| {
            row.whole.start <= span.start && span.end.max(span.start) <= row.whole.end
        };
        let systems = &self.systems;
        let at = systems.iter().position(|s| s.iter().any(lies_in))?;
        let row = systems[at].iter().find(|r| lies_in(r))?;
        let is_count = |r: &&RowLine| self.text.get(r.name.clone()) == Some("count");
        let mut counts = systems[at].iter().chain(systems.iter().flatten());
        let count = counts.find(is_count);
        let longest = |system: &Vec<RowLine>| system.iter().map(|r| r.bars.len()).max();
        let before: usize = systems[..at].iter().filter_map(longest).sum();
        let touched = |bar: &Vec<Range<usize>>| {
            let bar = bar.first().zip(bar.last());
            bar.is_some_and(|(first, last)| touches(span, &(first.start..last.end)))
        };
        let first = row.bars.iter().position(touched).unwrap_or(0);
        let last = row.bars.iter().rposition(touched).unwrap_or(0);
        let bars = row.bars.iter().take(last + 1).skip(first);
        let cells: Vec<_> = bars.cloned().collect();
        let over = count.into_iter().flat_map(|r| r.bars.iter().cycle());
        let over: Vec<_> = over.skip(first).take(cells.len()).cloned().collect();
        let one = |cell: &Range<usize>| cell.start <= span.start && span.end <= cell.end;
        let pulse = cells.first().and_then(|bar| bar.iter().position(one));
        let pulse = pulse.and_then(|p| spoken(self.text, over.first()?, p));
        Some(BlockPlace {
            name: row.name.clone(),
            bar: before + first + 1,
            pulse,
            cells,
            count: if is_count(&row) { Vec::new() } else { over },
        })
    }
}

/// Do `span`, taken as one byte where it is empty, and a cell have a byte in common?
pub fn touches(span: &Range<usize>, cell: &Range<usize>) -> bool {
    cell.start < span.end.max(span.start + 1) && span.start < cell.end
}

fn row_line(line: &str, start: usize) -> Option<RowLine> {
    let (head, cells) = line.split_once('|')?;
    let (from, marks) = (start + head.len() + 1, head.trim() == "mark");
    let bars = read_bars(cells, from, marks, &mut Vec::new()).into_iter();
    let spans = bars.map(|(_, cells)| cells.into_iter().map(|c| c.span).collect());
    Some(RowLine {
        whole: trimmed(line, start),
        name: trimmed(head, start),
        bars: spans.collect(),
    })
}

/// A pulse by the letters of the count: the number at or before it, then its letter.
fn spoken(text: &str, count: &[Range<usize>], pulse: usize) -> Option<String> {
    let letter = |cell: &Range<usize>| text.get(cell.clone())?.chars().next();
    let here = letter(count.get(pulse)?)?;
    if here.is_ascii_digit() {
        return Some(here.to_string());
    }
    let letter_of = |c| if c == '+' { '&' } else { c };
    let mut before = count[..pulse].iter().rev().filter_map(letter);
    let beat = before.find(char::is_ascii_digit)?;
    matches!(here, '&' | '+' | 'e' | 'a').then(|| format!("{beat}{}", letter_of(here)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is found at the `nth` `needle` of a block: bar, pulse, cells and count of the bars as text.
    fn at(text: &str, needle: &str, nth: usize) -> Option<(usize, Option<String>, String, String)> {
        let (start, found) = text.match_indices(needle).nth(nth).unwrap();
        let place = BlockIndex::new(text).place(&(start..start + found.len()))?;
        let joined = |bars: &[Vec<Range<usize>>]| {
            let bars = bars.iter().map(|bar| {
                let cells = bar.iter().map(|c| &text[c.clone()]);
                cells.collect::<Vec<_>>().join(" ")
            });
            bars.collect::<Vec<_>>().join(" | ")
        };
        Some((
            place.bar,
            place.pulse,
            joined(&place.cells),
            joined(&place.count),
        ))
    }

    // Bars and pulses counted by hand.
    const BLOCK: &str = "count | 1 & 2 & 3 & 4 & |\r\nconga | H T S T H T O O | H T >S T M T (O) O |\r\n\r\n\
                         # a remark | with a line\nconga |H T S C H T O O|\n";

    #[test]
    fn a_cell_is_found_with_its_bar_its_pulse_and_its_count() {
        let count = "1 & 2 & 3 & 4 &".to_string();
        let second = "H T >S T M T (O) O".to_string();
        let place = |pulse: &str| Some((2, Some(pulse.to_string()), second.clone(), count.clone()));
        assert_eq!(at(BLOCK, ">S", 0), place("2"));
        assert_eq!(at(BLOCK, "M", 0), place("3"));
        assert_eq!(at(BLOCK, "(O)", 0), place("4"));
        // In the second block of rows, third bar, whose count is that of the first.
        let third = "H T S C H T O O".to_string();
        assert_eq!(
            at(BLOCK, "C", 0),
            Some((3, Some("2&".into()), third, count))
        );
    }

    #[test]
    fn more_than_a_cell_gives_the_bars_that_it_touches() {
        let (bar, pulse, cells, _) = at(BLOCK, "O O | H", 0).unwrap();
        assert_eq!((bar, pulse), (1, None));
        assert_eq!(cells, "H T S T H T O O | H T >S T M T (O) O");
        // A name, known or not, shows its first bar.
        let (bar, pulse, cells, _) = at(&BLOCK.replace("conga", "comga"), "comga", 0).unwrap();
        assert_eq!((bar, pulse, cells.as_str()), (1, None, "H T S T H T O O"));
    }

    #[test]
    fn what_is_no_row_has_no_bar() {
        assert_eq!(at(BLOCK, "remark", 0), None);
        assert_eq!(at("conga H T S T", "H", 0), None);
        assert_eq!(at(BLOCK, "O |\r\n\r\n", 0), None);
        assert_eq!(BlockIndex::new("").place(&(0..0)), None);
    }

    #[test]
    fn other_grids_are_counted_as_said_aloud() {
        let sixteenths =
            "count | 1 e + a 2 e + a 3 e + a 4 e + a |\nhand  | . . . . L . R . . . . . . . . ? |";
        let pulse = |needle: &str, block: &str| at(block, needle, 0).and_then(|found| found.1);
        assert_eq!(pulse("L", sixteenths).as_deref(), Some("2"));
        assert_eq!(pulse("R", sixteenths).as_deref(), Some("2&"));
        assert_eq!(pulse("?", sixteenths).as_deref(), Some("4a"));
        let six = "count | 1 2 3 4 5 6 |\nbell | x . x . X . |";
        assert_eq!(pulse("X", six).as_deref(), Some("5"));
        // Nothing counts it.
        assert_eq!(pulse("x", "bell | . x . |"), None);
    }
}
