//! Counts, strokes and lists in words.

use crate::rhythm::Tone;
use std::ops::Range;

/// Bars of a phrase, of which there is one or two: `bar 7`, `bars 7 and 8`.
pub(super) fn bars(bars: &Range<usize>) -> String {
    match bars.len() {
        1 => format!("bar {}", bars.start + 1),
        _ => format!("bars {} and {}", bars.start + 1, bars.end),
    }
}

/// Tones that a text names or plainly means: a name of a slap may mean either slap, and rocking is done with heel and
/// tip.
pub(super) fn tones(text: &str) -> Vec<Tone> {
    let text = text.to_lowercase();
    let mut named: Vec<Tone> = text
        .split(|c: char| !c.is_alphabetic())
        .flat_map(|word| -> &[Tone] {
            match word {
                "open" | "opens" => &[Tone::Open],
                "slap" | "slaps" | "closed" => &[Tone::Slap, Tone::ClosedSlap],
                "muffled" | "mute" | "muted" | "pressed" => &[Tone::Muffled],
                "bass" | "basses" => &[Tone::Bass],
                "heel" | "heels" => &[Tone::Heel],
                "tip" | "tips" => &[Tone::Tip],
                "rock" | "rocks" | "rocking" => &[Tone::Heel, Tone::Tip],
                _ => &[],
            }
        })
        .copied()
        .collect();
    named.sort();
    named.dedup();
    named
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_title_tells_the_tones_that_it_names() {
        let named = |text: &str| tones(text).iter().map(|t| t.letter()).collect::<String>();
        let mut slaps = [Tone::Slap, Tone::ClosedSlap];
        slaps.sort();
        let slaps: String = slaps.iter().map(|t| t.letter()).collect();
        assert_eq!(named("Open on 3, then wait"), "O");
        assert_eq!(named("Heels only"), "H");
        assert_eq!(named("Slaps walk through the clave"), slaps);
        assert_eq!(named("The corner"), "");
        assert_eq!(named("Opening night"), "", "a word that only begins so");
    }
}
