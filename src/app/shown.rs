//! What is written to a terminal: text from decks, files and logs goes through here and loses its control characters.

use std::io::{self, Write};

/// Writes on and puts the code of a control character (`\\u001b`) in its place, but for line breaks and tabs: none of
/// them can then move the cursor, change colours or the title of the window. The codes are those of JSON.
pub struct Shown<W> {
    to: W,
    /// The first byte of what may be a control character of two bytes (U+0080 to U+009F in UTF-8).
    held: bool,
}

const LEAD: u8 = 0xc2;

impl<W: Write> Shown<W> {
    /// Nothing is written yet.
    pub fn new(to: W) -> Shown<W> {
        Shown { to, held: false }
    }
}

impl<W: Write> Write for Shown<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let mut clean = Vec::with_capacity(bytes.len());
        for byte in bytes {
            let held = std::mem::take(&mut self.held);
            let control = match byte {
                b'\n' | b'\t' => false,
                0x80..=0x9f => held,
                _ => byte.is_ascii_control(),
            };
            if held && !control {
                clean.push(LEAD);
            }
            match *byte {
                byte if control => write!(clean, "\\u{byte:04x}")?,
                LEAD => self.held = true,
                byte => clean.push(byte),
            }
        }
        self.to.write_all(&clean)?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.to.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_control_character_gets_through_and_all_else_does() {
        for (text, shown) in [
            ("\u{1b}]0;x\u{7}", "\\u001b]0;x\\u0007"),
            (
                "a\u{9b}2J\u{85}\u{7f}\0\r",
                "a\\u009b2J\\u0085\\u007f\\u0000\\u000d",
            ),
            (
                "cáscara ¿ \u{c2}\u{a0}│ 2&\n\tO",
                "cáscara ¿ \u{c2}\u{a0}│ 2&\n\tO",
            ),
        ] {
            // In one piece, and byte by byte.
            for size in [1, 2, 100] {
                let mut to = Vec::new();
                let mut out = Shown::new(&mut to);
                text.as_bytes()
                    .chunks(size)
                    .for_each(|piece| out.write_all(piece).unwrap());
                assert_eq!(String::from_utf8(to).unwrap(), shown);
            }
        }
    }
}
