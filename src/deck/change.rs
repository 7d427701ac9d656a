//! What changed between two versions of a deck or card.

use super::show::states;
use super::{Card, Deck};
use crate::rhythm::notation::{read_block, write_block};

/// The first card of `now` that is new or differs from the one with its id in `before`; the first of all if there is no
/// earlier version.
pub fn changed_card<'a>(before: Option<&Deck>, now: &'a Deck) -> Option<&'a Card> {
    let Some(before) = before else {
        return now.cards.first();
    };
    now.cards
        .iter()
        .find(|card| before.cards.iter().all(|b| b != *card))
}

/// What a card is about, as text that stays the same under a new title, tempo, order or remark, and changes with the
/// strokes, the hands left aside, the clave, the side or the words asked. Two versions of a card with the same idea
/// share their history without a question.
pub fn idea(card: &Card) -> String {
    let mut score = card.score.clone();
    score.drums = score.drums.map(|drums| drums.with_hands(&[]));
    let states = states(card);
    let clave = card.clave.map_or("no clave".into(), |c| c.to_string());
    match &card.choice {
        Some(choice) => format!("{}\n{}\n", choice.ask, choice.right),
        None => format!("{states}, {clave}\n{}", write_block(&score)),
    }
}

/// Is what [`idea`] said `before` the same idea as what it says `now`? Signs of the grid that are read but no longer
/// written make no difference.
pub fn same_idea(before: &str, now: &str) -> bool {
    before == now || rewritten(before).is_some_and(|before| before == now)
}

/// The text of an idea with its grid as it is written today; `None` where it holds no grid.
fn rewritten(idea: &str) -> Option<String> {
    let (head, block) = idea.split_once('\n')?;
    let score = read_block(block).0?;
    Some(format!("{head}\n{}", write_block(&score)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deck::{SHIPPED, read};

    fn deck(edit: impl Fn(&str) -> String) -> Deck {
        let (name, text) = SHIPPED
            .iter()
            .find(|(n, _)| n.ends_with("tumbao.toml"))
            .unwrap();
        let (deck, found) = read(name, &edit(text));
        assert_eq!(found, []);
        deck
    }

    #[test]
    fn title_tempo_hands_and_order_leave_the_idea_and_the_id_as_they_are() {
        let before = deck(str::to_string);
        let edited = deck(|t| {
            let t = t.replace(
                "title = \"The tumbao, one bar\"",
                "title = \"Marching on the spot\"",
            );
            let t = t.replace("tempo = [80, 190]", "tempo = [70, 180]");
            t.replacen("| L L R L L L R R |", "| L L R L L L R L |", 1)
        });
        for (a, b) in before.cards.iter().zip(&edited.cards) {
            assert_eq!((&a.id, idea(a)), (&b.id, idea(b)));
        }
        assert_ne!(before.cards[0], edited.cards[0]);
        let mut turned = before.clone();
        turned.cards.reverse();
        assert_eq!(changed_card(Some(&before), &turned), None);
    }

    #[test]
    fn other_strokes_are_another_idea() {
        let before = deck(str::to_string);
        let edited = deck(|t| t.replacen("| H T S T H T O O |", "| H T S T H T S O |", 1));
        let changed = changed_card(Some(&before), &edited).unwrap();
        assert_eq!(changed.id, before.cards[0].id);
        assert_ne!(idea(changed), idea(&before.cards[0]));
        assert!(!same_idea(&idea(&before.cards[0]), &idea(changed)));
    }

    #[test]
    fn signs_of_older_decks_are_the_same_idea() {
        let text = |bell: &str| {
            format!(
                "title = \"T\"\nsource = \"s\"\n[[card]]\nid = \"b\"\ntitle = \"B\"\nclave = \"son 2-3\"\n\
                 states = \"neither\"\ntempo = [90, 160]\nconcepts = [\"bell\"]\ngrid = \"\"\"\n\
                 count | 1 & 2 & 3 & 4 & |\nbell  | {bell} |\n\"\"\"\n"
            )
        };
        let idea_of = |bell: &str| {
            let (deck, found) = read("t.toml", &text(bell));
            assert_eq!(found, []);
            idea(&deck.cards[0])
        };
        assert_eq!(idea_of("X . o x . . . ."), idea_of(">x . (x) x . . . ."));
        // As it was kept when ghosts and accents of the band were written so.
        let kept = "neither, son 2-3\ncount | 1 & 2 & 3 & 4 & |\nbell  | X . o x . . . . |\n";
        assert!(same_idea(kept, &idea_of(">x . (x) x . . . .")));
        assert!(!same_idea(kept, &idea_of("x . (x) x . . . .")));
    }
}
