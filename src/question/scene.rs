use super::{Draw, Reveal};
use crate::clave::{Clave, Direction, Side};
use crate::deck::{Card, States};
use crate::rhythm::{Hand, Pattern, Score};
use crate::sound::Take;

/// A card's part as one question meets it: begun at some bar, with the clave that lies under it there.
#[derive(Clone, Debug)]
pub(super) struct Scene {
    pub score: Score,
    /// The clave under the first bar of `score`.
    pub clave: Option<Clave>,
}

/// The card's part as written. A card of the clave itself has it as its part.
pub(super) fn part(card: &Card) -> Score {
    let mut score = card.score.clone();
    if let (None, true, Some(clave)) = (&score.drums, score.lines.is_empty(), card.clave) {
        score.set_line(clave.line(card.grid));
    }
    score
}

/// The clave under the card's first bar. A bar that belongs to a side lies on that side.
pub(super) fn clave(card: &Card) -> Option<Clave> {
    let clave = card.clave?;
    Some(match card.states {
        States::Bar(side) => Clave {
            direction: Direction::starting(side),
            ..clave
        },
        _ => clave,
    })
}

/// Does the part go round without turning the clave over? A single bar is repeated on its own, so it does too.
pub(super) fn loops(card: &Card) -> bool {
    let bars = part(card).bars();
    card.clave.is_none() || bars == 1 || bars.is_multiple_of(2)
}

/// Begins the card's part at a bar drawn at random where it [`loops`], otherwise at its first bar.
pub(super) fn begun(card: &Card, draw: &mut Draw) -> Scene {
    let score = part(card);
    let first = if loops(card) {
        draw.below(score.bars())
    } else {
        0
    };
    Scene {
        score: score.rotated(first * card.grid.pulses_per_bar()),
        clave: clave(card).map(|c| c.begun_later(first)),
    }
}

/// The side on which bar `bar` of the scene lies, if the card says that it belongs to one.
pub(super) fn side_of(card: &Card, scene: &Scene, bar: usize) -> Option<Side> {
    match card.states {
        States::Neither => None,
        States::Bar(_) | States::Direction => Some(scene.clave?.direction.side(bar)),
    }
}

/// The picture that comes with the answer: everything shown, the clave as a line.
pub(super) fn reveal(take: &Take, clave: Option<Clave>, answer: String) -> Reveal {
    let mut take = take.clone();
    if let Some(clave) = clave {
        take.score.set_line(clave.line(take.score.grid));
    }
    Reveal {
        hands: hands(take.score.drums.as_ref()),
        take,
        clave,
        answer,
        reasons: Vec::new(),
    }
}

/// The written hands, one entry a pulse.
pub(super) fn hands(drums: Option<&Pattern>) -> Vec<Option<Hand>> {
    drums.map_or_else(Vec::new, |p| {
        p.cells().iter().map(|c| c.and_then(|s| s.hand)).collect()
    })
}

/// The card's title, unless one of these words in it would tell the answer.
pub(super) fn safe_title<'a>(card: &'a Card, telling: &[&str]) -> Option<&'a str> {
    let title = card.title.to_lowercase();
    let tells = telling.iter().any(|w| title.contains(&w.to_lowercase()));
    (!tells && !title.trim().is_empty()).then_some(card.title.as_str())
}

/// `bar 2` where there are several bars, `the bar` where there is one.
pub(super) fn bar_name(bar: usize, bars: usize) -> String {
    if bars == 1 {
        "the bar".to_string()
    } else {
        format!("bar {}", bar + 1)
    }
}
