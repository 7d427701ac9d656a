//! Counts, strokes and lists in words.

pub(super) use crate::rhythm::listed as list;
use crate::rhythm::{Drum, Grid, Stroke, Tone, Weight};

/// Pulses as a player says them: `2, 2& and 4`.
pub(super) fn pulses(grid: Grid, pulses: &[usize]) -> String {
    let spoken: Vec<String> = pulses.iter().map(|p| grid.spoken(*p)).collect();
    list(&spoken)
}

/// With a capital at its start.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// A pulse with its bar where there are several: `2& of bar 1`.
pub(super) fn place(grid: Grid, bars: usize, pulse: usize) -> String {
    match bars {
        1 => grid.spoken(pulse),
        _ => format!(
            "{} of bar {}",
            grid.spoken(pulse),
            pulse / grid.pulses_per_bar() + 1
        ),
    }
}

/// A stroke with its article: `the slap`, `the open tone on the low drum`.
pub(super) fn stroke(stroke: Stroke) -> String {
    let ghost = match stroke.weight {
        Weight::Ghost => "ghost ",
        Weight::Accent => "accented ",
        Weight::Plain => "",
    };
    let drum = match stroke.drum {
        Drum::Conga => "",
        Drum::Quinto => " on the quinto",
        Drum::Tumbadora => " on the low drum",
    };
    format!("the {ghost}{}{drum}", stroke.tone.name())
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
