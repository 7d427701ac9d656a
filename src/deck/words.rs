//! Numbers and lists in words.

/// `1 bar`, `2 bars`.
pub fn counted(n: usize, what: &str) -> String {
    match n {
        1 => format!("1 {what}"),
        n => format!("{n} {what}s"),
    }
}

/// `a`, `a and b`, `a, b and c`.
pub(super) fn listed(words: &[String]) -> String {
    match words.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, most)) => format!("{} and {last}", most.join(", ")),
        None => String::new(),
    }
}
