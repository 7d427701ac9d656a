//! A card's part as one question meets it: where it begins, what stands beside it, who plays along, and the picture of the
//! answer.

use super::kind::for_hands;
use super::{Draw, Question, Reveal, Sense, Setup};
use crate::clave::{self, Clave, Direction, Family, Side};
use crate::deck::{Card, States};
use crate::rhythm::{Drum, Grid, Hand, Instrument, Line, Pattern, Score, Stroke, Tempo, Tone};
use crate::sound::{CountIn, Take};
use std::ops::{Range, RangeInclusive};

/// A card's part as one question meets it: begun at some bar, with the clave that lies under it there.
#[derive(Clone, Debug)]
pub(super) struct Scene {
    /// The part under study, without the band.
    pub score: Score,
    /// The clave under the first bar of `score`.
    pub clave: Option<Clave>,
    /// Bars of `score` that are the card's own; others were put around them.
    pub own: Range<usize>,
}

impl Scene {
    /// The clave under the first bar, where the card states a side.
    pub fn clave_of(&self, card: &Card) -> Option<Clave> {
        self.clave.filter(|_| card.states != States::Neither)
    }

    /// The card's own bars alone.
    pub fn own_score(&self) -> Score {
        let mut score = self.score.clone();
        if self.own.len() < score.bars() {
            score.drums = score.drums.map(|d| d.only_bars(self.own.clone()));
        }
        score
    }

    /// The pulses of the card's own bars.
    pub fn own_pulses(&self) -> Range<usize> {
        let per = self.score.grid.pulses_per_bar();
        self.own.start * per..self.own.end * per
    }
}

/// The card's part as written. A card of the clave itself has it as its part.
pub(super) fn part(card: &Card) -> Score {
    let mut score = card.score.clone();
    if let (true, Some(clave)) = (score.is_empty(), card.clave) {
        score.set_line(clave.line(card.grid));
    }
    score
}

/// Does the card's part go round without turning the clave over?
pub(super) fn loops(card: &Card) -> bool {
    clave::goes_round(card.clave, part(card).bars())
}

/// Begins the card's part at a bar drawn at random where it [`loops`]; otherwise, and where the card is shown as
/// written, at its first bar.
///
/// At tempos where the card is played in its thinner form it is asked in that form.
pub(super) fn begun(card: &Card, setup: &Setup, draw: &mut Draw) -> Scene {
    let mut score = part(card);
    if card.is_thin_at(setup.tempo, &setup.player) && !setup.as_written {
        score.drums = card.thinned().or(score.drums);
    }
    let bars = score.bars();
    let anywhere = loops(card) && !setup.as_written;
    // Longer phrases begin as written or an odd number of bars later: their bars have names and numbers.
    let first = match anywhere {
        true if bars > 2 && draw.chance(0.5) => 0,
        true if bars > 2 => 2 * draw.below(bars / 2) + 1,
        true => draw.below(bars),
        false => 0,
    };
    Scene {
        score: score.rotated(first * card.grid.pulses_per_bar()),
        clave: card.clave_under().map(|c| c.begun_later(first)),
        own: 0..bars,
    }
}

/// The card's part as it is written, whatever the set-up says.
pub(super) fn as_written(card: &Card, setup: &Setup, draw: &mut Draw) -> Scene {
    let written = Setup {
        as_written: true,
        ..*setup
    };
    begun(card, &written, draw)
}

/// Like [`begun`], but a single bar is shown as it is played. One that goes with either side is played on both: it
/// comes twice. One that belongs to a side comes before or after a bar of the drum that states none ([`beside`]).
pub(super) fn in_company(card: &Card, setup: &Setup, draw: &mut Draw) -> Scene {
    let scene = begun(card, setup, draw);
    if setup.as_written || scene.score.bars() != 1 {
        return scene;
    }
    if card.states == States::Neither {
        return Scene {
            score: scene.score.tiled(2),
            own: 0..2,
            ..scene
        };
    }
    let Some(drums) = scene.score.drums.as_ref() else {
        return scene;
    };
    let drum_alone = scene.score.lines.is_empty();
    let Some(beside) = beside(card).filter(|_| drum_alone) else {
        return scene;
    };
    let beside = for_hands(beside, setup.player.handed);
    let at = draw.below(2);
    let score = match at {
        0 => Score::of(drums.then(&beside)),
        _ => Score::of(beside.then(drums)),
    };
    Scene {
        score,
        clave: scene.clave.map(|c| c.begun_later(at)),
        own: at..at + 1,
    }
}

/// Is the card built on the parts of a rumba? In 6/8 the family of the clave only says which form it has.
fn in_rumba(card: &Card) -> bool {
    card.grid != Grid::SixEight && card.clave.is_some_and(|c| c.family == Family::Rumba)
}

/// A bar of the drum that states no side, to stand beside one that does: the plain tumbao; in 6/8 the rocking hand
/// with a slap and an open tone; in rumba, where the plain tumbao is nobody's part, the quinto waits and the lower drum
/// keeps time with heel and tips (common practice, no source). `None` on a grid without one.
fn beside(card: &Card) -> Option<Pattern> {
    let grid = card.grid;
    if !in_rumba(card) {
        return match grid {
            Grid::SixEight => with_hands(grid, 1, "HTSHTO", "LLRLLR"),
            _ => plain_tumbao(grid),
        };
    }
    let quinto = card.score.drums.as_ref()?.drums().contains(&Drum::Quinto);
    match (quinto, eighths(grid)) {
        (true, _) => Pattern::new(grid, vec![None; grid.pulses_per_bar()]).ok(),
        (false, Some(step)) => with_hands(grid, step, "HTTTHTTT", "LLRLLLRL"),
        (false, None) => None,
    }
}

/// Pulses of an eighth, on the grids that are counted so.
pub(super) fn eighths(grid: Grid) -> Option<usize> {
    match grid {
        Grid::Eighths => Some(1),
        Grid::Sixteenths => Some(2),
        Grid::Triplets | Grid::SixEight => None,
    }
}

/// The plain one-drum tumbao with its hands (Wikipedia, *Conga* and *Tumbao*), on the grids where it is
/// played: in sixteenths a bar of it takes half the pulses, the strokes on every other one.
pub fn plain_tumbao(grid: Grid) -> Option<Pattern> {
    let step = eighths(grid)?;
    with_hands(grid, step, "HTSTHTOO", "LLRLLLRR")
}

/// The bars of the drums that are worth asking about: of a longer phrase those that are not the plain tumbao, where
/// there are such; of everything else all.
pub(super) fn speaking_bars(drums: &Pattern) -> Vec<usize> {
    let all: Vec<usize> = (0..drums.bars()).collect();
    let other = |bar: &usize| !is_plain(drums, *bar);
    match all.iter().copied().filter(other).collect::<Vec<usize>>() {
        own if drums.bars() > 2 && !own.is_empty() => own,
        _ => all,
    }
}

/// Is this bar of the drums the plain tumbao, whatever its hands?
pub(super) fn is_plain(drums: &Pattern, bar: usize) -> bool {
    let heard = |drums: &Pattern| drums.with_hands(&[]);
    let plain = plain_tumbao(drums.grid());
    plain.is_some_and(|p| heard(&p) == heard(&drums.only_bars(bar..bar + 1)))
}

/// One bar on the conga: a stroke and its hand on every `step`th pulse.
fn with_hands(grid: Grid, step: usize, strokes: &str, hands: &str) -> Option<Pattern> {
    let strokes = strokes.chars().filter_map(Tone::from_letter);
    let hands = hands.chars().map(Hand::from_letter);
    let mut cells = vec![None; grid.pulses_per_bar()];
    for (i, (tone, hand)) in strokes.zip(hands).enumerate() {
        cells[i * step] = Some(Stroke {
            hand,
            ..Stroke::new(Drum::Conga, tone)
        });
    }
    Pattern::new(grid, cells).ok()
}

/// The score of the scene with lines of the band around it, as many as `number` says, where there are as many; an instrument
/// that the part has itself stays out.
/// `may_state`: lines that tell the side may be among them.
pub(super) fn with_band(
    card: &Card,
    scene: &Scene,
    number: RangeInclusive<usize>,
    may_state: bool,
    draw: &mut Draw,
) -> Score {
    let grid = scene.score.grid;
    let clave = scene.clave.unwrap_or(Clave {
        family: Family::Son,
        direction: Direction::TwoThree,
    });
    let may_state = may_state && scene.clave.is_some();
    let mut free: Vec<Instrument> = Instrument::ALL
        .into_iter()
        .filter(|i| *i != Instrument::Click && scene.score.line(*i).is_none())
        .filter(|i| plays_along(card, scene, *i, may_state))
        .collect();
    let mut score = scene.score.clone();
    let wanted = number.start() + draw.below(number.end() + 1 - number.start());
    while score.lines.len() < scene.score.lines.len() + wanted && !free.is_empty() {
        let instrument = free.swap_remove(draw.below(free.len()));
        let mut fitting = clave::band_lines(grid, clave, instrument);
        fitting.retain(|(part, _)| may_state || !part.states_side);
        let at = draw.below(fitting.len());
        if let Some((_, line)) = fitting.into_iter().nth(at) {
            score.set_line(line);
        }
    }
    score
}

/// May this instrument be laid around the scene? In rumba there are clave, guagua (on the shell) and shaker only. Where
/// the side is asked for, the piano stays out: a bar of it that states the downbeat means the two side, also where it is
/// played all the time. And beside a single bar only the shaker plays: a bar of bell or bass could be that of one side.
fn plays_along(card: &Card, scene: &Scene, instrument: Instrument, may_state: bool) -> bool {
    use Instrument::{Clave, Piano, Shaker, Shell};
    let rumba = !in_rumba(card) || matches!(instrument, Clave | Shell | Shaker);
    let long_enough = scene.score.bars() > 1 || instrument == Shaker;
    rumba && (may_state || (instrument != Piano && long_enough))
}

/// The side on which bar `bar` of the scene lies, if the card says that it belongs to one.
pub(super) fn side_of(card: &Card, scene: &Scene, bar: usize) -> Option<Side> {
    match card.states {
        States::Neither => None,
        States::Bar(_) | States::Direction => Some(scene.clave?.direction.side(bar)),
    }
}

/// The pulses in which the card's bars lie on the wrong side of the clave: all of its own or none. Bars that were put
/// around them belong where they are.
pub(super) fn wrong_side(card: &Card, scene: &Scene) -> Range<usize> {
    // A part that fills the scene may be begun at any bar, with the clave that lies under it there.
    let laid = scene.own.len() < scene.score.bars() && card.states != States::Neither;
    match (card.clave_under(), scene.clave) {
        (Some(due), Some(there))
            if laid && due.direction != there.direction.begun_later(scene.own.start) =>
        {
            scene.own_pulses()
        }
        _ => 0..0,
    }
}

/// How a score is played for a question: by ear the band comes in with a pick-up.
pub(super) fn take(score: Score, tempo: Tempo, sense: Sense, draw: &mut Draw) -> Take {
    let mut take = Take::new(score, tempo, draw.seed());
    if sense == Sense::Hear {
        take.count_in = CountIn::PickUp;
    }
    take
}

/// Is the part under study the clave itself?
pub(super) fn is_clave(part: &Score) -> bool {
    part.drums.is_none() && part.line(Instrument::Clave).is_some()
}

/// Are all bars of the score the same?
pub(super) fn bars_alike(score: &Score) -> bool {
    let per = score.grid.pulses_per_bar();
    let played = |p: usize| {
        let heard = |s: Stroke| (s.drum, s.tone, s.weight);
        let drums = score.drums.as_ref().and_then(|d| d.at(p)).map(heard);
        let lines: Vec<_> = score.lines.iter().map(|l| l.at(p)).collect();
        (drums, lines)
    };
    (per..score.pulses()).all(|p| played(p) == played(p % per))
}

/// Did the bars that go round begin on a different bar from the card's, so that they are numbered differently?
pub fn is_turned(card: &Card, question: &Question) -> bool {
    let written = card.clave.map(|c| c.direction);
    let shown = question.reveal.clave.map(|c| c.direction);
    super::kind(&question.item.kind).is_some_and(|k| k.may_turn)
        && !matches!(card.states, States::Bar(_))
        && !bars_alike(&part(card))
        && written.zip(shown).is_some_and(|(w, s)| w != s)
}

/// The picture that comes with the answer: everything shown, the clave as a line, no count-in. `take` is what was
/// asked, with its hands. A single bar that belongs to a side is followed by one that states none, so that it does not
/// sound over the other side.
pub(super) fn reveal(card: &Card, scene: &Scene, take: &Take, answer: String) -> Reveal {
    let mut take = Take {
        count_in: CountIn::None,
        ..take.clone()
    };
    let mut part = scene.score.clone();
    if let (States::Bar(_), Some(drums), Some(plain)) =
        (card.states, &take.score.drums, beside(card))
        && drums.bars() == 1
    {
        part.drums = Some(drums.then(&plain));
        take.score.drums.clone_from(&part.drums);
    }
    if let Some(clave) = scene.clave {
        let grid = take.score.grid;
        let asked = take.score.line(Instrument::Clave).map_or(0, Line::pulses);
        let line = clave.line(grid).tiled(asked / grid.pulses_per_bar());
        take.score.set_line(line);
    }
    let meets = match scene.clave {
        Some(clave) if !is_clave(&part) => {
            let carrying = part.carrying(take.score.pulses());
            clave::meets(&carrying, clave, card.grid, wrong_side(card, scene))
        }
        _ => Vec::new(),
    };
    let cells = take.score.drums.iter().flat_map(|d| d.cells());
    Reveal {
        meets,
        hands: cells.map(|cell| cell.and_then(|s| s.hand)).collect(),
        clave: scene.clave,
        answer,
        ..Reveal::new(take)
    }
}
