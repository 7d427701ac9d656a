//! Taps as text: seconds from the first pulse, with `L` or `R` where the hand is told.

use super::Tap;
use crate::rhythm::Hand;

/// Most taps that are read.
pub const MOST_TAPS: usize = 50_000;
/// Latest tap that is read, seconds either side of the first pulse: six hours.
pub(super) const LATEST: f64 = 21_600.0;

/// A place in a text of taps that is not a tap. Lines count from 1.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TapsError {
    /// A word that is neither a time nor a hand.
    #[error(
        "line {line}: `{word}` is no tap; write seconds from the first pulse, then L or R if you like: `1.25 R`"
    )]
    Word {
        /// The line.
        line: usize,
        /// What stands there, cut where it is long.
        word: String,
    },
    /// A comma that may stand between two taps or for the point of one.
    #[error(
        "line {line}: is `{word}` one tap or two? Write a point for the parts of a second, `1.25`, and each tap on a line of its own"
    )]
    Comma {
        /// The line.
        line: usize,
        /// What stands there.
        word: String,
    },
    /// A time that cannot be one.
    #[error(
        "line {line}: `{word}` is out of range; a tap comes within six hours of the first pulse, in seconds"
    )]
    Range {
        /// The line.
        line: usize,
        /// What stands there.
        word: String,
    },
    /// A hand without a tap before it, or a second one.
    #[error("line {line}: `{word}` has no tap of its own; write the hand after its time: `1.25 R`")]
    Hand {
        /// The line.
        line: usize,
        /// What stands there.
        word: String,
    },
    /// Too many.
    #[error("line {line}: these are more than {MOST_TAPS} taps; take a shorter stretch")]
    TooMany {
        /// The line of the first one too many.
        line: usize,
    },
}

/// Reads taps: times in seconds from the first pulse, each with `L` or `R` after it where the hand is told. One a line, or
/// several with blanks or commas between; empty lines and what follows a `#` mean nothing.
///
/// # Errors
/// [`TapsError`] with the first line that cannot be read.
pub fn read_taps(text: &str) -> Result<Vec<Tap>, TapsError> {
    let mut taps: Vec<Tap> = Vec::new();
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    for (number, content) in text.lines().enumerate() {
        let line = number + 1;
        let content = content.split('#').next().unwrap_or("");
        let mut free = false;
        let words = content.split([' ', '\t', ';']);
        if let Some(word) = words.into_iter().find(|word| is_decimal_comma(word)) {
            let word = word.chars().take(20).collect();
            return Err(TapsError::Comma { line, word });
        }
        let parts = |c: char| c.is_whitespace() || c == ',' || c == ';';
        for word in content.split(parts).filter(|w| !w.is_empty()) {
            let shown = || word.chars().take(20).collect::<String>();
            let hand_of = |text: &str| match text {
                "L" | "l" => Some(Hand::Left),
                "R" | "r" => Some(Hand::Right),
                _ => None,
            };
            if let Some(hand) = hand_of(word) {
                let word = shown();
                let last = taps.last_mut().filter(|_| free);
                last.ok_or(TapsError::Hand { line, word })?.hand = Some(hand);
                free = false;
                continue;
            }
            let number = word.trim_end_matches(['L', 'l', 'R', 'r']);
            let hand = hand_of(&word[number.len()..]);
            let seconds: Result<f64, _> = number.parse();
            let (Ok(seconds), true) = (seconds, hand.is_some() || number.len() == word.len())
            else {
                return Err(TapsError::Word {
                    line,
                    word: shown(),
                });
            };
            if !seconds.is_finite() || seconds.abs() > LATEST {
                return Err(TapsError::Range {
                    line,
                    word: shown(),
                });
            }
            if taps.len() == MOST_TAPS {
                return Err(TapsError::TooMany { line });
            }
            taps.push(Tap {
                hand,
                ..Tap::at(seconds)
            });
            free = hand.is_none();
        }
    }
    Ok(taps)
}

/// Whole numbers on both sides of one comma, without a blank: `1,25`.
fn is_decimal_comma(word: &str) -> bool {
    let number = word
        .trim_start_matches(['-', '+'])
        .trim_end_matches(['L', 'l', 'R', 'r']);
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    number
        .split_once(',')
        .is_some_and(|(whole, parts)| digits(whole) && digits(parts))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn taps_are_read_with_hands_notes_and_empty_lines() {
        let text = "# clave\n0\n\n0.5 L # left\n-0.02R\n1.5, r 2e0\r\n";
        let taps = read_taps(text).unwrap();
        let seconds: Vec<f64> = taps.iter().map(|t| t.seconds).collect();
        assert_eq!(seconds, [0.0, 0.5, -0.02, 1.5, 2.0]);
        let hands: String = taps
            .iter()
            .map(|t| t.hand.map_or('.', Hand::letter))
            .collect();
        assert_eq!(hands, ".LRR.");
        assert_eq!(read_taps("0,0.5, 1 ,R").map(|taps| taps.len()), Ok(3));
        assert_eq!(read_taps(""), Ok(Vec::new()));
    }

    #[test]
    fn what_is_no_tap_is_named_with_its_line() {
        for (text, start) in [
            ("0.1\nx", "line 2: `x` is no tap"),
            ("0.1\n\nR", "line 3: `R` has no tap"),
            ("0.1 L R", "line 1: `R` has no tap"),
            ("nan", "line 1: `nan` is out of range"),
            ("1e9", "line 1: `1e9` is out of range"),
            ("0.5LR", "line 1: `0.5LR` is no tap"),
            ("0\n1,25 R", "line 2: is `1,25` one tap or two?"),
            ("-0,5L", "line 1: is `-0,5L` one tap or two?"),
        ] {
            let error = read_taps(text).unwrap_err().to_string();
            assert!(error.starts_with(start), "{error}");
        }
        let many = "1\n".repeat(MOST_TAPS + 1);
        let line = MOST_TAPS + 1;
        assert_eq!(read_taps(&many), Err(TapsError::TooMany { line }));
    }
}
