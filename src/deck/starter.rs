//! The deck that a writer begins with.

use super::read::id_of;
use crate::rhythm::{capital, nearest};

/// A commented deck of three cards; its id is taken from the name of its file.
pub fn starter(file: &str) -> String {
    let id = id_of(file);
    let title = capital(&id.replace('-', " "));
    let text = include_str!("starter.toml");
    text.replace("DECK_ID", &id).replace("DECK_TITLE", &title)
}

/// The rule that a name was probably meant to be.
pub fn nearest_rule(name: &str) -> Option<&'static str> {
    let rules = super::rules::all().into_iter();
    nearest(name, rules.map(|r| (r.name, r.name)), 0.8)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deck::{Setting, check, read};

    #[test]
    fn the_starter_deck_is_clean_and_takes_its_name_from_the_file() {
        let text = starter("decks/Street Corner.toml");
        let found = check(&[("street.toml".into(), text.clone())], &Setting::default());
        assert_eq!(found, vec![vec![]]);
        let (deck, _) = read("street.toml", &text);
        assert_eq!(
            (deck.id.as_str(), deck.title.as_str()),
            ("street-corner", "Street corner")
        );
        assert_eq!(deck.cards.len(), 3);
    }
}
