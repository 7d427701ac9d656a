//! Where in a phrase a card comes.

use super::diagnostic::Notes;
use super::keys::TableKeys;
use super::read_card::read_direction;
use super::{Card, PhrasePlace, States, rules};
use crate::rhythm::counted;

/// `bar 7 of 8`, `bar 7 of 8 in 2-3`.
pub(super) fn read_place(keys: &TableKeys, notes: &mut Notes) -> Option<PhrasePlace> {
    let text = keys.text("place", notes)?;
    let words: Vec<&str> = text.value.split_whitespace().collect();
    let place = match words[..] {
        ["bar", bar, "of", of] => Some((bar, of, None)),
        ["bar", bar, "of", of, "in", direction] => Some((bar, of, Some(direction))),
        _ => None,
    };
    let place = place.and_then(|(bar, of, direction)| {
        let phrase = match direction {
            Some(word) => Some(read_direction(word)?),
            None => None,
        };
        let place = PhrasePlace {
            bar: bar.parse().ok()?,
            of: of.parse().ok()?,
            phrase,
        };
        (place.bar >= 1 && place.bar <= place.of && place.of <= 64).then_some(place)
    });
    if place.is_none() {
        let mend = "write it like `bar 7 of 8`, or `bar 7 of 8 in 2-3`; bars count from 1, and phrases have up to 64";
        let message = format!("`{}` is not a place in a phrase", text.value);
        notes.value(text.span, message, mend);
    }
    place
}

/// The card ends within the phrase and lies on the side of its bar.
pub(super) fn check_place(card: &Card, keys: &TableKeys, notes: &mut Notes) {
    let Some(place) = card.place else { return };
    if place.bar + card.score.bars() as u32 - 1 > place.of {
        let message = format!(
            "the card has {} and begins on bar {}: it goes past the end of a phrase of {}",
            counted(card.score.bars(), "bar"),
            place.bar,
            counted(place.of as usize, "bar")
        );
        let mend = "begin earlier, or make the phrase longer";
        notes.add(&rules::PLACE, keys.place_of("place"), message, mend);
    }
    if let (Some(phrase), Some(clave)) = (place.phrase, card.clave) {
        let side = phrase.side(place.bar as usize - 1);
        if card.states != States::Neither && side != clave.direction.side(0) {
            let message = format!(
                "bar {} of a phrase in {} is the {}, but the card begins on the {}",
                place.bar,
                phrase.name(),
                side.name(),
                side.other().name()
            );
            let mend = "move it by one bar, or turn the phrase round";
            notes.add(&rules::PLACE, keys.place_of("place"), message, mend);
        }
    }
}
