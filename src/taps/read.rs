//! Taps as text: seconds from the first pulse, with `L` or `R` where the hand is given.

use super::Tap;
use crate::rhythm::Hand;
use crate::time::Seconds;

/// Most taps that are read.
pub const MOST_TAPS: usize = 50_000;
/// Latest tap that is read, either side of the first pulse: six hours.
pub(super) const LATEST: Seconds = Seconds::new(21_600.0);

/// A place in a text of taps that is not a tap. Lines count from 1.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TapsError {
    /// A word that is neither a time nor a hand.
    #[error(
        "line {line}: `{word}` is not a tap; write seconds from the first pulse, then L or R if you like: `1.25 R`, \
         and put a # before anything else"
    )]
    Word {
        /// The line.
        line: usize,
        /// What stands there, cut where it is long.
        word: String,
    },
    /// A comma that may stand between two taps or for the point of one.
    #[error(
        "line {line}: is `{word}` one tap or two? Write a decimal point, `1.25`, and put each tap on a line of its own"
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
    /// Times too far apart for seconds.
    #[error(
        "a tap every {seconds:.0} seconds? Write seconds from the first pulse, such as `1.25`, not milliseconds or samples"
    )]
    Slow {
        /// The middle of the steps from tap to tap.
        seconds: Seconds,
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
    #[error("line {line}: there are more than {MOST_TAPS} taps; take a shorter stretch")]
    TooMany {
        /// The line of the first one too many.
        line: usize,
    },
}

impl TapsError {
    /// The word that is not a tap, if it is a word.
    pub fn word(&self) -> Option<&str> {
        match self {
            TapsError::Word { word, .. }
            | TapsError::Comma { word, .. }
            | TapsError::Range { word, .. }
            | TapsError::Hand { word, .. } => Some(word),
            TapsError::Slow { .. } | TapsError::TooMany { .. } => None,
        }
    }
}

/// Words of a headline, as a table of taps may have one.
const HEADLINE: [&str; 8] = [
    "time", "times", "s", "seconds", "onset", "onsets", "hand", "hands",
];
/// Where the middle of the steps from tap to tap is longer, these are no seconds: chosen, one stroke in four bars at 20
/// beats a minute.
const SLOWEST: Seconds = Seconds::new(48.0);
/// Fewest taps that show it.
const FEWEST: usize = 4;

/// Reads taps: times in seconds from the first pulse, each with `L` or `R` (`left`, `right`) after it where the hand is told. One
/// a line, or several with blanks or commas between; empty lines, a headline such as `time, hand` and what follows a `#` mean
/// nothing. Where each line is one tap and no number has a point, a comma stands for it: `1,25`.
///
/// # Errors
/// [`TapsError`] with the first line that cannot be read.
pub fn read_taps(text: &str) -> Result<Vec<Tap>, TapsError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let lines = text.lines().map(|l| l.split('#').next().unwrap_or(""));
    let mut lines: Vec<(usize, String)> = (1..).zip(lines.map(str::to_string)).collect();
    lines.retain(|(_, content)| !content.trim().is_empty());
    let separates = |c: char| c.is_whitespace() || c == ',' || c == ';';
    let heads = |word: &str| HEADLINE.contains(&word.to_lowercase().as_str());
    if lines.first().is_some_and(|(_, first)| {
        let mut words = first.split(separates).filter(|w| !w.is_empty());
        words.all(heads)
    }) {
        lines.remove(0);
    }
    let commas = |content: &String| decimal_comma(content).is_some();
    if lines.iter().filter(|l| commas(&l.1)).count() > 1
        && lines.iter().all(|l| commas(&l.1) || is_whole(&l.1))
    {
        lines
            .iter_mut()
            .for_each(|l| l.1 = l.1.replacen(',', ".", 1));
    }
    let mut taps: Vec<Tap> = Vec::new();
    let mut far = None;
    for (line, content) in lines {
        let shown = |word: &str| word.chars().take(20).collect::<String>();
        let mut words = content.split([' ', '\t', ';']);
        if let Some(word) = words.find(|word| decimal_comma(word).is_some()) {
            let word = shown(word);
            return Err(TapsError::Comma { line, word });
        }
        let mut free = false;
        for word in content.split(separates).filter(|w| !w.is_empty()) {
            let named = shown(word);
            if let Some(hand) = hand(word) {
                let last = taps.last_mut().filter(|_| free);
                last.ok_or(TapsError::Hand { line, word: named })?.hand = Some(hand);
                free = false;
                continue;
            }
            let number = word.trim_end_matches(['L', 'l', 'R', 'r']);
            let hand = hand(&word[number.len()..]);
            let seconds: Result<f64, _> = number.parse();
            let (Ok(seconds), true) = (
                seconds.map(Seconds::new),
                hand.is_some() || number.len() == word.len(),
            ) else {
                return Err(TapsError::Word { line, word: named });
            };
            if seconds.seconds().is_nan() || seconds.abs() > LATEST {
                far.get_or_insert(TapsError::Range { line, word: named });
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
    let mut times: Vec<Seconds> = taps.iter().map(|t| t.seconds).collect();
    times.sort_by(Seconds::total_cmp);
    let mut steps: Vec<Seconds> = times.windows(2).map(|w| w[1] - w[0]).collect();
    steps.sort_by(Seconds::total_cmp);
    match steps.get(steps.len() / 2) {
        Some(seconds) if *seconds > SLOWEST && taps.len() >= FEWEST => {
            Err(TapsError::Slow { seconds: *seconds })
        }
        _ => far.map_or(Ok(taps), Err),
    }
}

fn hand(word: &str) -> Option<Hand> {
    match word.to_lowercase().as_str() {
        "l" | "left" => Some(Hand::Left),
        "r" | "right" => Some(Hand::Right),
        _ => None,
    }
}

/// A number with the hand after it where that is told: what stands before and after its point, or the comma in its place.
fn number(text: &str) -> &str {
    let text = text.trim().trim_start_matches(['-', '+']);
    text.trim_end_matches(|c: char| !c.is_ascii_digit() && c != '.')
}

fn is_whole(text: &str) -> bool {
    let number = number(text);
    !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit())
}

/// Whole numbers on both sides of one comma, without a blank: `1,25`.
fn decimal_comma(text: &str) -> Option<(&str, &str)> {
    let digits = |part: &&str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    let parts = number(text).split_once(',')?;
    [parts.0, parts.1].iter().all(digits).then_some(parts)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn taps_are_read_with_hands_notes_and_empty_lines() {
        let text = "# clave\n0\n\n0.5 L # left\n-0.02R\n1.5, r 2e0\r\n";
        let taps = read_taps(text).unwrap();
        let seconds: Vec<f64> = taps.iter().map(|t| t.seconds.seconds()).collect();
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
    fn tables_of_other_programs_are_read() {
        let seconds = |text: &str| -> Vec<f64> {
            let taps = read_taps(text).unwrap();
            taps.iter().map(|t| t.seconds.seconds()).collect()
        };
        assert_eq!(
            seconds("0,75\n1,5 L\n-2;R\n3,25,r\n"),
            [0.75, 1.5, -2.0, 3.25]
        );
        assert_eq!(
            seconds("\n# son\nTime;Hand\n0,5;left\n1,0;Right"),
            [0.5, 1.0]
        );
        assert_eq!(seconds("seconds\r\n0.5\r\n"), [0.5]);
        let hands = |text: &str| read_taps(text).unwrap()[0].hand;
        assert_eq!(hands("time,hand\n1.5,left"), Some(Hand::Left));
    }

    #[test]
    fn what_is_no_tap_is_named_with_its_line() {
        for (text, start) in [
            ("0.1\nx", "line 2: `x` is not a tap"),
            ("0.1\n\nR", "line 3: `R` has no tap"),
            ("0.1 L R", "line 1: `R` has no tap"),
            ("nan", "line 1: `nan` is out of range"),
            ("1e9", "line 1: `1e9` is out of range"),
            ("0.5LR", "line 1: `0.5LR` is not a tap"),
            ("0\n1,25 R", "line 2: is `1,25` one tap or two?"),
            ("-0,5L", "line 1: is `-0,5L` one tap or two?"),
            ("0,5,R", "line 1: is `0,5,R` one tap or two?"),
            ("0.5\n1,25", "line 2: is `1,25` one tap or two?"),
            ("0,1\n1,2 3", "line 1: is `0,1` one tap or two?"),
            ("time\n0\ntime", "line 3: `time` is not a tap"),
            ("ms\n0", "line 1: `ms` is not a tap"),
            // A clave at 120 in milliseconds: steps of 750, 750, 1000, 500.
            ("0\n750\n1500\n2500\n3000", "a tap every 750 seconds?"),
            ("0\n750\n1500\n22500", "a tap every 750 seconds?"),
        ] {
            let error = read_taps(text).unwrap_err().to_string();
            assert!(error.starts_with(start), "{error}");
        }
        let many = "1\n".repeat(MOST_TAPS + 1);
        let line = MOST_TAPS + 1;
        assert_eq!(read_taps(&many), Err(TapsError::TooMany { line }));
    }
}
