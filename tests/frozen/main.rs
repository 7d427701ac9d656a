//! Frozen: what the program said, chose and drew when it was last looked at. None of it is right by itself; what is right
//! stands in the other tests, from outside. What is meant to change is written anew with `INSTA_UPDATE=always`, and the
//! difference is read. Where a text would be too long to be read, a line tells how many there are and their CRC-32.

#[allow(dead_code)]
#[path = "../../benches/report/players.rs"]
mod players;
#[allow(dead_code)]
#[path = "../month/program.rs"]
mod program;
#[allow(dead_code)]
#[path = "../shown/mod.rs"]
mod shown;
#[allow(dead_code)]
#[path = "../terminal/mod.rs"]
mod terminal;

mod commands;
mod decks;
mod drills;
mod evenings;
mod pages;
mod questions;
mod readings;
mod reports;
mod stickings;
mod tapping;
mod windows;

use std::collections::BTreeMap;
use std::fmt::Write;

/// The text with each number that has a decimal point cut to four digits that count, so that the last bits of another
/// machine's arithmetic are not seen.
fn rounded(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(from) = rest.find(|c: char| c.is_ascii_digit()) {
        let (before, number) = rest.split_at(from);
        out.push_str(before);
        let end = number
            .find(|c: char| !c.is_ascii_digit() && c != '.')
            .unwrap_or(number.len());
        let (mut digits, mut after) = number.split_at(end);
        if let Some(exponent) = after.strip_prefix("e-") {
            let end = exponent.find(|c: char| !c.is_ascii_digit());
            let length = 2 + end.unwrap_or(exponent.len());
            digits = &number[..digits.len() + length];
            after = &after[length..];
        }
        match digits.parse::<f64>() {
            Ok(value) if digits.contains(['.', 'e']) => out.push_str(&short(value)),
            _ => out.push_str(digits),
        }
        rest = after;
    }
    out + rest
}

/// A number that is not negative with four digits that count; what is below a billionth is nothing.
fn short(value: f64) -> String {
    if value < 1e-9 {
        return "0".into();
    }
    let digits = (3 - value.log10().floor() as i32).clamp(0, 12) as usize;
    let text = format!("{value:.digits$}");
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').into(),
        false => text,
    }
}

/// Texts by what they are about: how many, and a sum of them all.
#[derive(Default)]
struct TextSums(BTreeMap<String, (usize, crc32fast::Hasher)>);

impl TextSums {
    fn add(&mut self, about: impl Into<String>, text: &str) {
        let (count, sum) = self.0.entry(about.into()).or_default();
        *count += 1;
        sum.update(text.as_bytes());
        sum.update(&[0]);
    }

    fn told(self) -> String {
        let mut text = String::new();
        for (about, (count, sum)) in self.0 {
            writeln!(text, "{about}: {count} with {:08x}", sum.finalize()).unwrap();
        }
        text
    }
}

/// A number below `below`, the next of a row that looks like chance (xorshift, Marsaglia 2003).
fn chance(state: &mut u64, below: u64) -> u64 {
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    (*state >> 11) % below
}
