//! The shipped decks, read as a player's program reads them.

use whichside::deck::{SHIPPED, read, render};

#[test]
fn shipped_decks_have_no_mistakes() {
    for (name, text) in SHIPPED {
        let (deck, found) = read(name, text);
        assert!(found.is_empty(), "{}", render(&found, text, false));
        assert!(!deck.cards.is_empty(), "{name}");
    }
}
