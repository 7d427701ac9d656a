use crate::rhythm::Grid;

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
