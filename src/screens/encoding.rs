//! Text for a terminal whose locale is not UTF-8: each character that is not ASCII becomes one that is.

use std::io::{self, Write};

/// Writes on, in ASCII where that is all the terminal takes.
pub struct Encoded<W> {
    to: W,
    ascii: bool,
    /// The beginning of a character whose rest is still to come.
    held: Vec<u8>,
}

/// Does the locale use something other than UTF-8? `variable` looks up a variable of the environment; if none says
/// anything, it is UTF-8 (order of the variables: POSIX, *Base Definitions*, 8.2).
pub fn is_other(variable: impl Fn(&str) -> Option<String>) -> bool {
    let mut set = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter();
    let locale = set.find_map(|name| variable(name).filter(|v| !v.is_empty()));
    let name = |locale: String| locale.to_lowercase().replace('-', "");
    locale.is_some_and(|locale| !name(locale).contains("utf8"))
}

impl<W: Write> Encoded<W> {
    /// Nothing is written yet; in ASCII, or as it is.
    pub fn new(to: W, ascii: bool) -> Encoded<W> {
        let held = Vec::new();
        Encoded { to, ascii, held }
    }
}

impl<W: Write> Write for Encoded<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if !self.ascii {
            return self.to.write(bytes);
        }
        self.held.extend_from_slice(bytes);
        let whole = match std::str::from_utf8(&self.held) {
            Err(error) if error.error_len().is_none() => error.valid_up_to(),
            _ => self.held.len(),
        };
        let text: String = String::from_utf8_lossy(&self.held[..whole])
            .chars()
            .map(in_ascii)
            .collect();
        self.held.drain(..whole);
        self.to.write_all(text.as_bytes())?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.to.flush()
    }
}

/// The character in ASCII that is most like it, as wide as it is.
fn in_ascii(c: char) -> char {
    match c {
        '\0'..='\x7f' => c,
        '─' | '━' | '–' | '—' => '-',
        '│' => '|',
        '╭' | '╮' | '╰' | '╯' | '┬' | '┴' => '+',
        '●' => '*',
        '◐' => '+',
        '○' => 'o',
        '↑' | '▲' => '^',
        '↓' | '▼' => 'v',
        '→' | '›' | '»' => '>',
        '←' | '‹' | '«' => '<',
        '“' | '”' => '"',
        '’' | '‘' => '\'',
        '…' | '·' | '▁' | '▂' => '.',
        '▃' | '▄' | '▅' => 'o',
        '▆' | '▇' | '█' => '#',
        '±' => '~',
        '\u{a0}' => ' ',
        'á' | 'à' | 'â' | 'ä' | 'ã' => 'a',
        'é' | 'è' | 'ê' => 'e',
        'í' => 'i',
        'ó' | 'ö' | 'õ' | 'ô' => 'o',
        'ú' | 'ü' => 'u',
        'ç' => 'c',
        'ñ' => 'n',
        _ => '?',
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(text: &str, ascii: bool, size: usize) -> String {
        let mut to = Vec::new();
        let mut out = Encoded::new(&mut to, ascii);
        let pieces = text.as_bytes().chunks(size);
        pieces.for_each(|piece| out.write_all(piece).unwrap());
        String::from_utf8(to).unwrap()
    }

    #[test]
    fn a_character_becomes_one_character_in_however_many_pieces() {
        let text = "\x1b[1m│ ● São · 80\u{a0}% ▁▄█ 名\n";
        for size in [1, 2, 3, 100] {
            assert_eq!(written(text, true, size), "\x1b[1m| * Sao . 80 % .o# ?\n");
            assert_eq!(written(text, false, size), text);
        }
    }

    #[test]
    fn the_first_variable_that_is_set_says_which_encoding_it_is() {
        let locale = |all: &'static str, ctype: &'static str, lang: &'static str| {
            is_other(move |name| {
                let value = match name {
                    "LC_ALL" => all,
                    "LC_CTYPE" => ctype,
                    _ => lang,
                };
                Some(value.to_string())
            })
        };
        assert!(!locale("", "", "") && !locale("", "", "es_CU.UTF-8"));
        assert!(!locale("C.utf8", "", "C") && !locale("", "C.UTF-8", "C"));
        assert!(locale("C", "", "C.UTF-8") && locale("", "", "de_DE.ISO-8859-1"));
    }
}
