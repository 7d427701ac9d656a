//! A card's bars laid into a phrase of the plain tumbao, and whether they are in their place there.

use super::scene;
use crate::clave::{Clave, Direction, Side};
use crate::deck::{Card, States};
use crate::rhythm::{Pattern, Score};

/// Longest phrase that is laid out, in bars: more do not fit on a screen at once.
const LONGEST: usize = 8;
/// Most bars of a card that count as a remark inside a phrase; longer ones are phrases themselves.
const REMARK: usize = 2;

/// A phrase in which a card's bars have their place. Bars count from 0.
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
    /// Does the card come at the end of the phrase?
    pub at_end: bool,
    /// The two bars from which the card may begin as far as its part of the phrase goes: one on each side.
    pub window: [usize; 2],
    /// The bar of the window that the card names, where either side will do.
    named: usize,
}

/// Where a card begins in a phrase, by its side and by its part of the phrase.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Fit {
    pub side: bool,
    pub part: bool,
}

impl Fit {
    pub(super) const ALL: [Fit; 4] = [
        Fit::new(true, true),
        Fit::new(false, true),
        Fit::new(true, false),
        Fit::new(false, false),
    ];

    const fn new(side: bool, part: bool) -> Fit {
        Fit { side, part }
    }
}

/// Can a card's place be asked: it names a place that leaves a choice, and is a remark on the drums over a clave.
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

/// The card in a phrase of `bars` bars that begins in `direction`. `None` where it has no place there: the card names
/// none, or the phrase is of another length than its own and the place is not at the end.
pub(super) fn phrase(card: &Card, bars: usize, direction: Direction) -> Option<Phrase> {
    let place = card.place.filter(|_| has_place(card))?;
    let (first, of) = (place.bar as usize - 1, place.of as usize);
    let own = card.score.bars();
    let last = of.checked_sub(own)?;
    let at_end = first + 1 >= last;
    if own >= bars || (bars != of && !at_end) {
        return None;
    }
    let moved = |bar: usize| (bar + bars).checked_sub(of);
    let window = match at_end {
        true => [(bars - own).checked_sub(1)?, bars - own],
        false => [first - first % 2, first - first % 2 + 1],
    };
    Some(Phrase {
        bars,
        direction,
        own,
        side: match card.states {
            States::Neither => None,
            States::Bar(_) | States::Direction => Some(card.clave?.direction.side(0)),
        },
        at_end,
        window,
        named: moved(first)?,
    })
}

/// The direction in which the card's own phrase begins. A card that says nothing about it has the one in which its
/// bar is where it belongs.
pub(super) fn own_direction(card: &Card) -> Option<Direction> {
    let (place, clave) = (card.place?, card.clave?);
    let from = clave.direction.begun_later(place.bar as usize - 1);
    Some(place.phrase.unwrap_or(from))
}

/// Lengths of phrases in which the card can be laid out, in bars.
pub(super) fn lengths(card: &Card) -> Vec<usize> {
    let of = card.place.map_or(0, |p| p.of as usize);
    let mut lengths: Vec<usize> = [4, 6, 8, of]
        .into_iter()
        .filter(|n| *n <= LONGEST)
        .filter(|n| phrase(card, *n, Direction::TwoThree).is_some_and(|p| p.fits().len() > 1))
        .collect();
    lengths.sort_unstable();
    lengths.dedup();
    lengths
}

impl Phrase {
    fn fits_side(&self, start: usize) -> bool {
        self.side
            .is_none_or(|side| self.direction.side(start) == side)
    }

    /// How the card fits where it begins in bar `start`; `None` where nobody could say for certain: between the two
    /// parts of the phrase, or on the bar beside the one that a card of either side names.
    pub(super) fn fit(&self, start: usize) -> Option<Fit> {
        let side = self.fits_side(start);
        if self.window.contains(&start) {
            let named = self.side.is_some() || start == self.named;
            return named.then_some(Fit { side, part: true });
        }
        let apart = match self.at_end {
            true => start + self.own <= self.bars / 2,
            false => {
                start
                    .abs_diff(self.window[0])
                    .min(start.abs_diff(self.window[1]))
                    > 1
            }
        };
        apart.then_some(Fit { side, part: false })
    }

    /// The bars in which the card can begin so.
    pub(super) fn starts(&self, fit: Fit) -> Vec<usize> {
        let starts = 0..=self.bars - self.own;
        starts.filter(|s| self.fit(*s) == Some(fit)).collect()
    }

    /// The fits that there are in this phrase.
    pub(super) fn fits(&self) -> Vec<Fit> {
        let all = Fit::ALL.into_iter();
        all.filter(|f| !self.starts(*f).is_empty()).collect()
    }

    /// The bars of the window on whose side the card belongs.
    pub(super) fn homes(&self) -> Vec<usize> {
        let window = self.window.into_iter();
        window.filter(|start| self.fits_side(*start)).collect()
    }

    /// The phrase with the card's drums from bar `start` on, the plain tumbao elsewhere. `None` on a grid without it.
    pub(super) fn lay(&self, drums: &Pattern, start: usize) -> Option<Score> {
        let grid = drums.grid();
        let per = grid.pulses_per_bar();
        let plain = scene::plain_tumbao(grid)?.tiled(self.bars);
        let mut cells = plain.cells().to_vec();
        let own = drums.cells();
        cells
            .get_mut(start * per..start * per + own.len())?
            .copy_from_slice(own);
        Some(Score {
            drums: Some(Pattern::new(grid, cells).ok()?),
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
        // It names bar 8: bar 7 is not called wrong, nor right.
        assert_eq!(phrase.fit(6), None);
        assert_eq!(phrase.fit(7), Some(Fit::new(true, true)));
        assert_eq!(phrase.fit(1), Some(Fit::new(true, false)));
    }

    #[test]
    fn each_fit_is_what_it_says() {
        let phrase = phrase(&card("yard/corner"), 8, Direction::TwoThree).unwrap();
        assert_eq!(phrase.starts(Fit::new(true, true)), [6]);
        assert_eq!(phrase.starts(Fit::new(false, true)), [7]);
        assert_eq!(phrase.starts(Fit::new(true, false)), [0, 2]);
        assert_eq!(phrase.starts(Fit::new(false, false)), [1, 3]);
        // Bars 5 and 6 are neither the beginning nor the end.
        assert_eq!((phrase.fit(4), phrase.fit(5)), (None, None));
    }

    #[test]
    fn the_bars_around_it_are_the_plain_tumbao() {
        let card = card("yard/corner");
        let phrase = phrase(&card, 4, Direction::ThreeTwo).unwrap();
        let drums = card.score.drums.as_ref().unwrap();
        let laid = phrase.lay(drums, 2).unwrap().drums.unwrap();
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
            .map(|p| crate::deck::Place { bar: 1, of: 2, ..p });
        assert!(!has_place(&whole));
    }
}
