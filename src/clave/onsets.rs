//! Two bars of eighths as a row of `x` and `.`.

use super::{Reading, SideClassifier};
use crate::rhythm::Grid;

/// Why a row of onsets cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum OnsetsError {
    /// A character that is neither stroke nor rest.
    #[error("column {column}: `{found}` is neither a stroke `x` nor a rest `.`")]
    Unknown {
        /// Where it stands, from 1.
        column: usize,
        /// The character.
        found: char,
    },
    /// No two bars of eighths.
    #[error(
        "{found} pulses, 16 are needed: two bars of eighths, `x` a stroke and `.` none, as in `x..x..x...x.x...`"
    )]
    Length {
        /// Pulses that there were.
        found: usize,
    },
}

/// Reads two bars of eighths written as 16 characters, `x` a stroke and `.` none.
///
/// # Errors
/// [`OnsetsError`] at the first other character, or where there are not 16.
pub fn read_onsets(text: &str) -> Result<Reading, OnsetsError> {
    let onset = |(column, c)| match c {
        'x' | 'X' => Ok(true),
        '.' => Ok(false),
        found => Err(OnsetsError::Unknown { column, found }),
    };
    let onsets: Vec<bool> = (1..)
        .zip(text.chars())
        .map(onset)
        .collect::<Result<_, _>>()?;
    if onsets.len() != Grid::Eighths.pulses_per_cycle() {
        return Err(OnsetsError::Length {
            found: onsets.len(),
        });
    }
    Ok(SideClassifier::default().onsets(Grid::Eighths, &onsets))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mistakes_in_a_row_of_onsets_are_named() {
        let error = |t: &str| read_onsets(t).unwrap_err().to_string();
        assert!(error("x..o").starts_with("column 4: `o`"));
        assert!(error("x..x").starts_with("4 pulses, 16 are needed"));
    }
}
