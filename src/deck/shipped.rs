//! The decks that come with the program, in the order in which they are learned.

use super::{Deck, read};

macro_rules! decks {
    ($($name:literal),* $(,)?) => {
        &[$((
            concat!("decks/", $name, ".toml"),
            include_str!(concat!("../../decks/", $name, ".toml")),
        )),*]
    };
}

/// File name and text of each.
pub const SHIPPED: &[(&str, &str)] = decks![
    "clave",
    "strokes",
    "parts",
    "tumbao",
    "by-ear",
    "hands",
    "variations",
    "with-the-band",
    "six-eight",
    "low-drum-three",
    "low-drum-two",
    "variations-two-bars",
    "phrases",
    "rumba",
    "styles",
];

/// The shipped decks, read.
pub fn shipped() -> Vec<Deck> {
    SHIPPED
        .iter()
        .map(|(name, text)| read(name, text).0)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_deck_in_the_folder_is_shipped_after_those_it_needs() {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("decks");
        let files = folder.read_dir().unwrap().map(|f| f.unwrap().file_name());
        let mut files: Vec<String> = files
            .map(|f| format!("decks/{}", f.to_string_lossy()))
            .filter(|f| f.ends_with(".toml"))
            .collect();
        files.sort();
        let mut listed: Vec<&str> = SHIPPED.iter().map(|(name, _)| *name).collect();
        listed.sort_unstable();
        assert_eq!(files, listed);

        let mut before = Vec::new();
        for deck in shipped() {
            for need in &deck.needs {
                assert!(before.contains(need), "{} needs {need}", deck.id);
            }
            before.push(deck.id);
        }
    }
}
