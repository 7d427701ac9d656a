//! What a command reads from a file or standard input: up to a limit, so that a device or a file that went wrong is
//! reported instead of filling the memory.

use anyhow::{Context, anyhow, bail};
use std::fs::File;
use std::io::{self, BufRead, Read, Write};
use std::path::Path;

/// Most bytes of a line with a pattern.
const MOST_LINE: u64 = 1 << 20;

/// The name that stands for standard input in place of a file.
pub const STDIN: &str = "-";

/// Opens a file, or standard input.
///
/// # Errors
/// Where the file cannot be opened.
pub fn open(file: &Path) -> io::Result<Box<dyn Read>> {
    Ok(match file == Path::new(STDIN) {
        true => Box::new(io::stdin().lock()),
        false => Box::new(File::open(file)?),
    })
}

/// Reads at most `most` bytes of text. It stops at the first byte 0, which no text has.
///
/// # Errors
/// Where it cannot be read, is longer, or has such a byte.
pub fn read_bytes(mut from: impl Read, most: u64) -> anyhow::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    loop {
        let before = bytes.len();
        let read = from.by_ref().take(1 << 16).read_to_end(&mut bytes)?;
        if let Some(at) = bytes[before..].iter().position(|b| *b == 0) {
            bail!(
                "byte {} is 0, so it is not text; name a file of plain text in UTF-8",
                before + at + 1
            );
        }
        if bytes.len() as u64 > most {
            bail!(
                "it is longer than {} MiB, which is the most that is read; name a shorter file",
                most >> 20
            );
        }
        if read == 0 {
            return Ok(bytes);
        }
    }
}

/// Reads text in UTF-8 of at most `most` bytes.
///
/// # Errors
/// Where it cannot be read, is longer, or is not text.
pub fn read_text(from: impl Read, most: u64) -> anyhow::Result<String> {
    String::from_utf8(read_bytes(from, most)?).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        anyhow!(
            "byte {} is not UTF-8, so it is not plain text; save it as plain text in UTF-8",
            at + 1
        )
    })
}

/// Asks until the answer is yes or no; `None` where none comes.
///
/// # Errors
/// Those of the input and the output.
pub fn yes(
    question: &str,
    input: &mut dyn BufRead,
    out: &mut dyn Write,
) -> io::Result<Option<bool>> {
    loop {
        write!(out, "{question}")?;
        out.flush()?;
        let mut line = String::new();
        if input.read_line(&mut line)? == 0 {
            return Ok(None);
        }
        match line.trim().to_lowercase().as_str() {
            "y" | "yes" => return Ok(Some(true)),
            "n" | "no" => return Ok(Some(false)),
            _ => writeln!(out, "Answer y or n.")?,
        }
    }
}

/// The lines of standard input with their numbers from 1, those without anything left out.
///
/// # Errors
/// In place of a line that cannot be read, is too long or is not text; nothing comes after it.
pub fn lines(mut from: impl BufRead) -> impl Iterator<Item = anyhow::Result<(usize, String)>> {
    let mut number = 0;
    let mut next = move || -> anyhow::Result<Option<(usize, String)>> {
        loop {
            number += 1;
            let mut line = Vec::new();
            let read = from
                .by_ref()
                .take(MOST_LINE + 1)
                .read_until(b'\n', &mut line);
            if read.with_context(|| format!("line {number} cannot be read"))? == 0 {
                return Ok(None);
            }
            if line.len() as u64 > MOST_LINE {
                bail!(
                    "line {number} is longer than {} MiB; write one pattern a line",
                    MOST_LINE >> 20
                );
            }
            let line = String::from_utf8(line);
            let line = line.map_err(|_| anyhow!("line {number} is not text in UTF-8"))?;
            if !line.trim().is_empty() {
                return Ok(Some((
                    number,
                    line.trim_end_matches(['\r', '\n']).to_string(),
                )));
            }
        }
    };
    let mut over = false;
    std::iter::from_fn(move || {
        let line = if over { None } else { next().transpose() };
        over = !matches!(line, Some(Ok(_)));
        line
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::{self, Cursor};

    #[test]
    fn what_never_ends_is_told_and_not_read() {
        let error = read_text(io::repeat(0), 1 << 30).unwrap_err().to_string();
        assert!(error.starts_with("byte 1 is 0"), "{error}");
        let error = read_text(io::repeat(b'x'), 1 << 20)
            .unwrap_err()
            .to_string();
        assert!(error.starts_with("it is longer than 1 MiB"), "{error}");
        let error = read_text(&b"caf\xe9"[..], 1 << 20).unwrap_err().to_string();
        assert!(error.starts_with("byte 4 is not UTF-8"), "{error}");
        let endless = io::BufReader::new(io::repeat(b'x'));
        let told: Vec<_> = lines(endless).map(|l| l.unwrap_err().to_string()).collect();
        assert_eq!(told.len(), 1);
        assert!(
            told[0].starts_with("line 1 is longer than 1 MiB"),
            "{told:?}"
        );
    }

    #[test]
    fn what_fits_is_read_whole() {
        assert_eq!(read_text(&b"caf\xc3\xa9\n"[..], 6).unwrap(), "café\n");
        assert!(read_text(&b"caf\xc3\xa9\n"[..], 5).is_err());
        let read: Vec<_> = lines(Cursor::new("x..x\r\n\n  \n.x\n"))
            .map(Result::unwrap)
            .collect();
        assert_eq!(read, [(1, "x..x".to_string()), (4, ".x".to_string())]);
    }
}
