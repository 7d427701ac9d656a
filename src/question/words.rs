use crate::rhythm::{Drum, Grid, Stroke, Weight};

/// `a`, `a and b`, `a, b and c`.
pub(super) fn list<S: AsRef<str>>(words: &[S]) -> String {
    match words {
        [] => String::new(),
        [one] => one.as_ref().to_string(),
        [most @ .., last] => {
            let most: Vec<&str> = most.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", most.join(", "), last.as_ref())
        }
    }
}

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
