//! The shipped decks, read as a player's program reads them.

use whichside::deck::{SHIPPED, read, render, shipped};
use whichside::rhythm::notation::{read_block, write_block};

#[test]
fn shipped_decks_have_no_mistakes() {
    for (name, text) in SHIPPED {
        let (deck, found) = read(name, text);
        assert!(found.is_empty(), "{}", render(&found, text, 80));
        assert!(!deck.cards.is_empty(), "{name}");
    }
}

#[test]
fn what_is_written_of_a_shipped_card_reads_back_the_same() {
    let decks = shipped();
    let cards = decks.iter().flat_map(|d| &d.cards);
    for card in cards.filter(|c| c.choice.is_none()) {
        if card.score.drums.is_none() && card.score.lines.is_empty() {
            continue; // The clave by itself: its row is the clave.
        }
        let (again, problems) = read_block(&write_block(&card.score));
        assert!(problems.is_empty(), "{}: {problems:?}", card.id);
        assert_eq!(again.as_ref(), Some(&card.score), "{}", card.id);
    }
}
