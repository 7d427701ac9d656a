//! Frozen: what the sound was when it was last looked at, as numbers. None of them is right by itself; what is right
//! stands in the tests beside the code. A change of a constant or a sign shows here (`INSTA_UPDATE=always` writes anew).

mod listening;
mod mixes;
mod playing;
mod voices;

/// A number with five digits that count.
fn short(x: f64) -> String {
    match x {
        0.0 => "0".into(),
        x if !x.is_finite() => x.to_string(),
        x => {
            let digits = (4 - x.abs().log10().floor() as i32).clamp(0, 12);
            let text = format!("{x:.*}", digits as usize);
            match text.contains('.') {
                true => text.trim_end_matches('0').trim_end_matches('.').into(),
                false => text,
            }
        }
    }
}

fn all(numbers: impl IntoIterator<Item = f64>) -> String {
    let numbers: Vec<String> = numbers.into_iter().map(short).collect();
    numbers.join(" ")
}

/// The level of samples, dB to two places; -200 for silence.
fn level<'a>(samples: impl Iterator<Item = &'a f32>) -> String {
    let (mut sum, mut count) = (0.0, 0u32);
    for sample in samples {
        sum += f64::from(*sample).powi(2);
        count += 1;
    }
    format!(
        "{:.2}",
        10.0 * (sum / f64::from(count.max(1)) + 1e-20).log10()
    )
}

/// Each twelfth of mono samples by its level, then some samples by themselves, in millionths.
fn measured(samples: &[f32]) -> String {
    let part = samples.len().div_ceil(12).max(1);
    let levels: Vec<String> = samples.chunks(part).map(|c| level(c.iter())).collect();
    let spots = [
        0, 1, 7, 24, 65, 131, 311, 700, 1511, 3001, 6007, 11_003, 17_011,
    ];
    let spots: Vec<String> = spots
        .iter()
        .filter_map(|n| samples.get(*n))
        .map(|s| format!("{:.0}", f64::from(*s) * 1e6))
        .collect();
    format!("{} | {}", levels.join(" "), spots.join(" "))
}

/// Both sides of frames, in so many stretches, by their level.
fn sides(frames: &[[f32; 2]], stretches: usize) -> String {
    let part = frames.len().div_ceil(stretches).max(1);
    let side = |n: usize| -> String {
        let levels = frames
            .chunks(part)
            .map(|c| level(c.iter().map(|f| &f[n])))
            .collect::<Vec<_>>();
        levels.join(" ")
    };
    format!("left {}\nright {}", side(0), side(1))
}
