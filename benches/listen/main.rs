//! What a microphone hears: how well onsets are found. Prints its table and exits with 1 where a bound is missed.
//!
//!     cargo bench --bench listen            the report, on the seeds kept for it
//!     cargo bench --bench listen -- choose  the same on the seeds on which the numbers were chosen
//!     cargo bench --bench listen -- device  through a sound server: see tests/sound/listen.sh
//!     cargo bench --bench listen -- delay   what really lay between two pairs of channels: see tests/sound/delays.sh
//!
//! Strokes are rendered: conga voices, the clave, and claps synthesised as bursts of noise with one resonance, after Repp 1987,
//! *The sound of two hands clapping*, JASA 81:1100-1109 (resonances of 0.5 to 2.5 kHz by the shape of the hands, gone within
//! some tens of milliseconds; figures from memory). They are played in time with the band by a musician's scatter, in a dry
//! room and in one that rings (0.3 s). The band leaks in at -20 dB, there is noise at 20 dB SNR, pink or white, or both: levels
//! are root mean squares, of the strokes in the 50 ms after each onset. Onsets count by the definition of mir_eval (Raffel et al.
//! 2014, *ISMIR*): the most pairs of a found and a real onset that lie within 30 ms of one another, each used once.

mod delay;
mod device;
mod material;
mod offline;
mod score;

use std::process::ExitCode;

const CHOOSING: u64 = 1_000_000;
const REPORTING: u64 = 9_000_000;
/// What leaks and what is noise, below the strokes, dB.
const BELOW: f64 = 20.0;

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let after = |word: &str| {
        let at = args.iter().position(|a| a == word)?;
        Some(&args[at + 1..])
    };
    if let Some(args) = after("delay") {
        return delay::compare(args);
    }
    if let Some(args) = after("device") {
        let number = |n: usize| args.get(n).and_then(|word| word.parse().ok());
        return device::through(&device::DeviceRun {
            runs: number(0).unwrap_or(1),
            seed: number(1).unwrap_or(REPORTING),
            recording: args.get(2).cloned(),
        });
    }
    let first = after("seed").and_then(|args| args.first()?.parse().ok());
    let first = first.unwrap_or(match after("choose") {
        Some(_) => CHOOSING,
        None => REPORTING,
    });
    let only = after("only").and_then(|args| args.first());
    offline::report(first, only.map(String::as_str))
}
