//! The named sticking that is the idea of a card.

use super::diagnostic::Notes;
use super::keys::TableKeys;
use super::read_card::one_of;
use super::rules;
use crate::hands::{RUDIMENTS, Rudiment};
use crate::rhythm::{Hand, Score, spaced};

/// The rudiment that a card names, where its hands are those of the rudiment.
pub(super) fn read_rudiment(
    keys: &TableKeys,
    score: &Score,
    notes: &mut Notes,
) -> Option<&'static Rudiment> {
    let name = keys.text("rudiment", notes)?;
    let message = format!("there is no sticking called `{}`", name.value);
    let all = RUDIMENTS.iter().map(|r| (r.name, r));
    let rudiment = one_of(&name.value, all, (&name.span, message), notes)?;
    match unlike(rudiment, score) {
        None => Some(rudiment),
        Some((pulse, message, mend)) => {
            let hand = pulse.and_then(|p| notes.pulse("hand", p));
            notes.add(&rules::RUDIMENT, hand.unwrap_or(name.span), message, mend);
            None
        }
    }
}

/// What keeps the hands of a card from being those of a rudiment: the first pulse that is not, the message, the mend.
fn unlike(rudiment: &Rudiment, score: &Score) -> Option<(Option<usize>, String, String)> {
    let strokes: Vec<_> = score.drums.iter().flat_map(|d| d.strokes()).collect();
    let n = strokes.len();
    let round = rudiment.strokes();
    if n == 0 || !n.is_multiple_of(round) {
        return Some((
            None,
            format!(
                "one round of {} is {round} strokes; the {n} of the card are not a whole number of rounds",
                rudiment.name
            ),
            "write it out whole, or take `rudiment` out".into(),
        ));
    }
    let hands: Vec<Option<Hand>> = strokes.iter().map(|(_, s)| s.hand).collect();
    let lead = hands[0].unwrap_or(Hand::Right);
    let wanted = rudiment.row(lead, n);
    let wrong = hands
        .iter()
        .zip(&wanted)
        .position(|(h, w)| *h != Some(*w))?;
    let pulse = strokes[wrong].0;
    let at = score.grid.spoken(pulse);
    let message = match hands[wrong] {
        Some(hand) => format!(
            "stroke {} of {}, on {at}, belongs to the {} hand, but the card gives it to the {}",
            wrong + 1,
            rudiment.name,
            wanted[wrong].name(),
            hand.name()
        ),
        None => format!("no hand is written for the stroke on {at}"),
    };
    let mend = format!(
        "write the hands {}",
        spaced(wanted.iter().map(|h| h.letter()))
    );
    Some((Some(pulse), message, mend))
}
