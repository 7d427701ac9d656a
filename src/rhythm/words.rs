//! Numbers and lists in words, and the word that was probably meant.

/// A number with its noun: `1 bar`, `2 bars`.
pub fn counted(n: usize, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}

/// `a`, `a and b`, `a, b and c`.
pub fn listed(words: impl IntoIterator<Item = impl ToString>) -> String {
    let words: Vec<String> = words.into_iter().map(|word| word.to_string()).collect();
    match words.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => words.concat(),
    }
}

/// With a capital at its start.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}

/// With a small letter at its start, as a sentence goes on after a colon.
pub fn uncapital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().into_iter().flat_map(char::to_lowercase);
    first.chain(letters).collect()
}

/// Letters or words with a blank between two.
pub fn spaced(words: impl IntoIterator<Item = impl ToString>) -> String {
    let words = words.into_iter().map(|word| word.to_string());
    words.collect::<Vec<_>>().join(" ")
}

/// The value of the name that `word` was probably meant to be: the name most like it, by the measure of Jaro and
/// Winkler (0 to 1, whatever the case of the letters), where that is above `least`.
pub fn nearest<T>(
    word: &str,
    known: impl IntoIterator<Item = (impl AsRef<str>, T)>,
    least: f64,
) -> Option<T> {
    let word = word.to_lowercase();
    let like = |name: &str| strsim::jaro_winkler(&word, &name.to_lowercase());
    let near = known
        .into_iter()
        .map(|(name, of)| (like(name.as_ref()), of));
    let (likeness, near) = near.max_by(|a, b| a.0.total_cmp(&b.0))?;
    (likeness > least).then_some(near)
}

/// The mend for a word that is not `known`: the nearest known word, or what to do `otherwise`.
pub fn did_you_mean(word: &str, known: &[&str], otherwise: impl FnOnce() -> String) -> String {
    match nearest(word, known.iter().map(|k| (k, *k)), 0.8) {
        Some(near) => format!("did you mean `{near}`?"),
        None => otherwise(),
    }
}
