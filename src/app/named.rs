//! Arguments that take one of a few names.

use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};

/// Reads an argument as one of `all`; `value` gives the name and the help of each.
pub fn one_of<T: Clone + Send + Sync + 'static>(
    all: &'static [T],
    value: fn(&T) -> PossibleValue,
) -> impl TypedValueParser<Value = T> {
    PossibleValuesParser::new(all.iter().map(value)).try_map(move |name| {
        let named = all.iter().find(|t| value(t).matches(&name, false));
        named.cloned().ok_or("there is no such value")
    })
}
