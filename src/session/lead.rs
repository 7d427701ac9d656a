//! How far the player taps ahead or behind, from the answers of the log.

use crate::deck::Deck;
use crate::hands::Player;
use crate::question::{self, Setup};
use crate::rhythm::notation::write_block;
use crate::store::ReviewRow;
use crate::taps::TapLead;

/// The lead that these answers tell, the oldest first. Their questions are made again; those of cards that are gone or were
/// changed tell nothing.
pub fn lead_of(rows: &[ReviewRow], decks: &[Deck], player: Player) -> TapLead {
    rows.iter().fold(TapLead::default(), |lead, row| {
        let item = row.item_key();
        let setup = Setup {
            tempo: row.tempo,
            player,
            as_written: false,
            weighed: false,
            unseen: false,
        };
        let card = question::card(decks, &row.card);
        let question = card.and_then(|card| question::ask(card, &item, row.seed, &setup));
        let same = question.filter(|q| write_block(&q.prompt.take.score) == row.score);
        let answered = same.and_then(|q| Some((q.form.answer(&row.answer)?, q)));
        answered.map_or(lead, |(answer, question)| {
            question.lead_after(lead, &answer)
        })
    })
}
