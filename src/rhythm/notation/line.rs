//! Strokes as letters on one line, for the command line. Blanks mean nothing; `|` and `/` separate bars. A stroke is
//! its letter, before it an optional drum (`q` quinto, `c` conga, `t` low drum; without one the conga) and before that
//! an optional accent `>`; a ghost stroke stands in brackets; a rest is `.`: `H T S tO >O (T) . O`.

use super::MOST_BARS;
use crate::rhythm::{Drum, Grid, LengthError, Pattern, Stroke, Tone, Weight, spaced};

/// What is wrong with a line of notation. Columns count characters from 1.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LineError {
    /// A character that is not a stroke letter, mark or rest.
    #[error(
        "column {column}: `{found}` is not a stroke; the strokes are O S C M B H T, and a rest is `.`"
    )]
    Unknown {
        /// Where it stands, from 1.
        column: usize,
        /// The character.
        found: char,
    },
    /// A ghost stroke whose bracket stays open.
    #[error(
        "column {column}: a ghost stroke is closed with `)` right after its letter, as in `(T)`"
    )]
    Unclosed {
        /// Where the bracket opens, from 1.
        column: usize,
    },
    /// An accent, a drum or a bracket with nothing after it.
    #[error("the line ends where a stroke letter should come")]
    Ends,
    /// A bar that is not as long as its grid says.
    #[error("column {column}: this bar has {found} pulses, {expected} are needed")]
    Bar {
        /// Where the bar begins, from 1.
        column: usize,
        /// Pulses that it has.
        found: usize,
        /// Pulses that a bar of the grid has.
        expected: usize,
    },
    /// More than [`MOST_BARS`].
    #[error(
        "column {column}: the pattern has more than {MOST_BARS} bars; write a shorter stretch of it"
    )]
    Long {
        /// Where the first bar too many begins, from 1.
        column: usize,
    },
    /// No whole, positive number of bars.
    #[error(transparent)]
    Length(#[from] LengthError),
}

/// Reads one line of notation.
///
/// # Errors
/// [`LineError`] at the first character that does not fit, or where bars are not full.
pub fn read_line(text: &str, grid: Grid) -> Result<Pattern, LineError> {
    let mut cells = Vec::new();
    let mut chars = text
        .chars()
        .enumerate()
        .map(|(i, c)| (i + 1, c))
        .filter(|(_, c)| !c.is_whitespace())
        .peekable();
    while let Some((column, c)) = chars.next() {
        if cells.len() == MOST_BARS * grid.pulses_per_bar() && !matches!(c, '|' | '/') {
            return Err(LineError::Long { column });
        }
        match c {
            '|' | '/' => {
                let over = cells.len() % grid.pulses_per_bar();
                if over != 0 {
                    return Err(LineError::Bar {
                        column,
                        found: over,
                        expected: grid.pulses_per_bar(),
                    });
                }
            }
            '.' => cells.push(None),
            _ => {
                let weight = Weight::from_mark(c).unwrap_or_default();
                let mut letter = (column, c);
                if weight != Weight::Plain {
                    letter = chars.next().ok_or(LineError::Ends)?;
                }
                let mut drum = Drum::Conga;
                if let Some(named) = Drum::from_prefix(letter.1) {
                    drum = named;
                    letter = chars.next().ok_or(LineError::Ends)?;
                }
                let tone = Tone::from_letter(letter.1).ok_or(LineError::Unknown {
                    column: letter.0,
                    found: letter.1,
                })?;
                if weight == Weight::Ghost && chars.next().is_none_or(|(_, c)| c != ')') {
                    return Err(LineError::Unclosed { column });
                }
                cells.push(Some(Stroke {
                    weight,
                    ..Stroke::new(drum, tone)
                }));
            }
        }
    }
    Ok(Pattern::new(grid, cells)?)
}

/// Writes a pattern on one line: strokes separated by blanks, bars by `|`. Hands are not part of this notation.
pub fn write_line(pattern: &Pattern) -> String {
    let bars = (0..pattern.bars()).map(|b| {
        let cells = pattern.bar(b).iter().map(|cell| match cell {
            None => ".".to_string(),
            Some(s) => {
                let letter = s.tone.letter();
                s.weight.written(&match s.drum {
                    Drum::Conga => letter.to_string(),
                    other => format!("{}{letter}", other.prefix()),
                })
            }
        });
        spaced(cells)
    });
    bars.collect::<Vec<_>>().join(" | ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn any_stroke() -> impl Strategy<Value = Option<Stroke>> {
        proptest::option::of(
            (0..3usize, 0..7usize, 0..3usize).prop_map(|(d, t, w)| Stroke {
                weight: [Weight::Ghost, Weight::Plain, Weight::Accent][w],
                ..Stroke::new(Drum::ALL[d], Tone::ALL[t])
            }),
        )
    }

    proptest! {
        #[test]
        fn a_written_line_reads_back_the_same(grid in 0..4usize, bars in 1..4usize, seed in proptest::collection::vec(any_stroke(), 64)) {
            let grid = Grid::ALL[grid];
            let cells = (0..bars * grid.pulses_per_bar()).map(|i| seed[i % 64]).collect();
            let pattern = Pattern::new(grid, cells).unwrap();
            prop_assert_eq!(read_line(&write_line(&pattern), grid), Ok(pattern));
        }

        #[test]
        fn any_text_reads_or_is_refused(text in ".*") {
            let _ = read_line(&text, Grid::Eighths);
        }
    }

    #[test]
    fn mistakes_name_their_column() {
        let error = |t: &str| read_line(t, Grid::Eighths).unwrap_err().to_string();
        assert!(error("H T X").starts_with("column 5: `X` is not a stroke"));
        assert!(error("(T H").starts_with("column 1: a ghost"));
        assert!(error("H T S | T").starts_with("column 7: this bar has 3 pulses, 8"));
        assert!(error("H T S").contains("3 pulses do not make whole bars of 8"));
        assert!(error("H T >").contains("ends where a stroke letter"));
    }
}
