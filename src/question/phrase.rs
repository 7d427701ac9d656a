//! A card's bars laid into a phrase of the plain tumbao, and whether they lie on their side of the clave there.

use super::kind::for_hands;
use super::scene;
use crate::clave::{Clave, Direction, Side};
use crate::deck::{Card, States};
use crate::hands::Handed;
use crate::rhythm::{Pattern, Score};
use std::collections::BTreeSet;

/// Longest phrase that is laid out, in bars: more do not fit on a screen at once.
const LONGEST: usize = 8;
/// Most bars of a card that count as a remark inside a phrase; longer ones are phrases themselves.
const REMARK: usize = 2;

/// A phrase into which a card's bars are laid. Bars count from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Phrase {
    /// Its length in bars.
    pub bars: usize,
    /// The direction in which it begins.
    pub direction: Direction,
    /// Length of the card in bars.
    pub own: usize,
    /// The side on which the card begins; `None` where it goes with either.
    pub side: Option<Side>,
    /// Two bars, one on each side, from which the card usually begins; `None` in a phrase of another length than the
    /// card's own, unless its place is at the end.
    pub window: Option<[usize; 2]>,
}

/// How a card lies in a phrase.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum PhrasePosition {
    /// On its side.
    InClave,
    /// On the wrong side.
    Crossed,
    /// It goes with either side.
    Either,
}

impl PhrasePosition {
    const ALL: [PhrasePosition; 3] = [
        PhrasePosition::InClave,
        PhrasePosition::Crossed,
        PhrasePosition::Either,
    ];
}

/// Can a card be laid into a phrase: it names a place that leaves a choice, and is a remark on the drums over a clave.
pub(super) fn has_place(card: &Card) -> bool {
    let own = card.score.bars();
    let Some(place) = card.place else {
        return false;
    };
    card.clave.is_some()
        && card.score.drums.is_some()
        && card.score.lines.is_empty()
        && own <= REMARK
        && place.of as usize > own
}

/// The card in a phrase of `bars` bars that begins in `direction`. `None` where it names no place, or fills the phrase.
pub(super) fn phrase(card: &Card, bars: usize, direction: Direction) -> Option<Phrase> {
    let place = card.place.filter(|_| has_place(card))?;
    let own = card.score.bars();
    if own >= bars {
        return None;
    }
    let (first, of) = (place.bar as usize - 1, place.of as usize);
    let window = match is_at_end(card) {
        true => Some([bars - own - 1, bars - own]),
        false => (bars == of).then_some([first - first % 2, first - first % 2 + 1]),
    };
    Some(Phrase {
        bars,
        direction,
        own,
        side: match card.states {
            States::Neither => None,
            States::Bar(_) | States::Direction => Some(card.clave?.direction.side(0)),
        },
        window,
    })
}

/// Does the card usually come at the end of its phrase?
pub(super) fn is_at_end(card: &Card) -> bool {
    let own = card.score.bars();
    let place = card.place;
    place.is_some_and(|p| p.bar as usize + own >= p.of as usize)
}

/// The direction in which the card's own phrase begins. If the card does not say, it is the one that puts its bar where
/// it belongs.
pub(super) fn own_direction(card: &Card) -> Option<Direction> {
    let (place, clave) = (card.place?, card.clave?);
    let from = clave.direction.begun_later(place.bar as usize - 1);
    Some(place.phrase.unwrap_or(from))
}

/// Lengths of phrases in which the card can be laid out, in bars.
pub(super) fn lengths(card: &Card) -> Vec<usize> {
    let of = card.place.map_or(0, |p| p.of as usize);
    let fits = |n: &usize| phrase(card, *n, Direction::TwoThree).is_some();
    let lengths = BTreeSet::from([4, 6, 8, of]).into_iter();
    lengths.filter(|n| *n <= LONGEST && fits(n)).collect()
}

impl Phrase {
    /// How the card lies if it begins in bar `start`.
    pub(super) fn lies(&self, start: usize) -> PhrasePosition {
        match self.side {
            None => PhrasePosition::Either,
            Some(side) if self.direction.side(start) == side => PhrasePosition::InClave,
            Some(_) => PhrasePosition::Crossed,
        }
    }

    /// The bars in which the card can begin so.
    pub(super) fn starts(&self, lies: PhrasePosition) -> Vec<usize> {
        let starts = 0..=self.bars - self.own;
        starts.filter(|s| self.lies(*s) == lies).collect()
    }

    /// The ways to lie that there are in this phrase.
    pub(super) fn ways(&self) -> Vec<PhrasePosition> {
        let all = PhrasePosition::ALL.into_iter();
        all.filter(|l| !self.starts(*l).is_empty()).collect()
    }

    /// The bars of the window on whose side the card belongs.
    pub(super) fn homes(&self) -> Vec<usize> {
        let window = self.window.into_iter().flatten();
        window
            .filter(|start| self.lies(*start) != PhrasePosition::Crossed)
            .collect()
    }

    /// The phrase with the card's drums from bar `start` on, the plain tumbao elsewhere. `None` on a grid without it.
    pub(super) fn lay(&self, drums: &Pattern, start: usize, handed: Handed) -> Option<Score> {
        let grid = drums.grid();
        let plain = for_hands(scene::plain_tumbao(grid)?.tiled(self.bars), handed);
        Some(Score {
            drums: Some(plain.with_bars(start, drums)?),
            ..Score::empty(grid)
        })
    }

    /// The clave under the first bar.
    pub(super) fn clave(&self, card: &Card) -> Option<Clave> {
        Some(Clave {
            direction: self.direction,
            ..card.clave?
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::question::fixture;

    fn card(id: &str) -> Card {
        let cards = fixture::deck().cards;
        cards.into_iter().find(|c| c.id == id).unwrap()
    }

    #[test]
    fn a_two_side_bar_near_the_end_of_eight_is_bar_seven_or_eight() {
        // Bar 7 of an eight-bar phrase in 2-3 is a two-side bar, in 3-2 a three-side bar (common practice, no source).
        let card = card("yard/corner");
        let homes = |direction| phrase(&card, 8, direction).unwrap().homes();
        assert_eq!(homes(Direction::TwoThree), [6]);
        assert_eq!(homes(Direction::ThreeTwo), [7]);
        assert_eq!(own_direction(&card), Some(Direction::TwoThree));
    }

    #[test]
    fn two_bars_begin_where_both_lie_on_their_sides() {
        let card = card("yard/call-and-answer");
        let homes = |direction| phrase(&card, 8, direction).unwrap().homes();
        assert_eq!(homes(Direction::TwoThree), [6]);
        // In 3-2 they lie on bars 6 and 7: from bar 7 on they would be turned over.
        assert_eq!(homes(Direction::ThreeTwo), [5]);
    }

    #[test]
    fn a_neutral_bar_is_at_home_on_either_side() {
        let phrase = phrase(&card("yard/slap-for-open"), 8, Direction::TwoThree).unwrap();
        assert_eq!(phrase.homes(), [6, 7]);
        assert_eq!(phrase.ways(), [PhrasePosition::Either]);
    }

    #[test]
    fn only_the_side_is_right_or_wrong() {
        // In 2-3 the odd bars are the two side, whatever the part of the phrase.
        let phrase = phrase(&card("yard/corner"), 8, Direction::TwoThree).unwrap();
        assert_eq!(phrase.starts(PhrasePosition::InClave), [0, 2, 4, 6]);
        assert_eq!(phrase.starts(PhrasePosition::Crossed), [1, 3, 5, 7]);
        assert_eq!(phrase.starts(PhrasePosition::Either), [] as [usize; 0]);
    }

    #[test]
    fn a_place_in_the_middle_keeps_its_window_in_its_own_phrase_alone() {
        let mut card = card("yard/corner");
        card.place = card.place.map(|p| crate::deck::PhrasePlace { bar: 3, ..p });
        let window = |bars| phrase(&card, bars, Direction::TwoThree).unwrap().window;
        assert_eq!((window(8), window(4)), (Some([2, 3]), None));
    }

    #[test]
    fn the_bars_around_it_are_the_plain_tumbao() {
        let card = card("yard/corner");
        let phrase = phrase(&card, 4, Direction::ThreeTwo).unwrap();
        let drums = card.score.drums.as_ref().unwrap();
        let laid = phrase.lay(drums, 2, Handed::Right).unwrap().drums.unwrap();
        let plain = scene::plain_tumbao(drums.grid()).unwrap();
        for bar in 0..4 {
            let due = if bar == 2 { drums.bar(0) } else { plain.bar(0) };
            assert_eq!(laid.bar(bar), due);
        }
    }

    #[test]
    fn what_has_no_place_or_fills_its_phrase_is_not_laid_out() {
        assert!(!has_place(&card("yard/plain-tumbao")));
        assert!(!has_place(&card("yard/why-not-turn")));
        let mut whole = card("yard/call-and-answer");
        whole.place = whole
            .place
            .map(|p| crate::deck::PhrasePlace { bar: 1, of: 2, ..p });
        assert!(!has_place(&whole));
    }
}
