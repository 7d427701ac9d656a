//! The kind `hold`: the clave goes away, and the player's hands hold it until it comes back.

use super::clapping::{clapped, claves};
use super::{AnswerMode, Draw, Kind, Prompt, QuestionParts, Sense, Setup, scene};
use crate::deck::{Card, States};
use crate::rhythm::{Instrument, Line, Score};
use crate::sound::Take;
use crate::taps::TapTask;
use std::ops::Range;

/// Cycles in all, of which the first is listened to (all of these chosen).
const CYCLES: usize = 8;
/// Cycles without the clave.
const AWAY: Range<usize> = 2..7;
/// Of these the ones in which one line is left at most, and in which nothing sounds.
const THIN: Range<usize> = 4..7;
const REST: Range<usize> = 5..7;
/// Lines of the band around the part.
const BAND: std::ops::RangeInclusive<usize> = 1..=2;

/// Clap the clave all through: it sounds with the band, goes away, the band thins out to one line and rests, and all come
/// back. How far did the player drift meanwhile, and was the direction kept?
pub(super) static HOLD: Kind = Kind {
    name: "hold",
    about: "the clave, clapped through while it goes away and comes back",
    usual_guess: 0.5,
    may_turn: true,
    answered: AnswerMode::Tapped,
    concepts: |_, _| vec!["direction", "clave held"],
    drawn_concepts: claves,
    usual_seconds: |card| super::timing::tapped(card, CYCLES),
    fits,
    make,
    ..Kind::CHOSEN
};

fn fits(card: &Card, sense: Sense) -> bool {
    sense == Sense::Hear
        && card.states == States::Direction
        && card.clave.is_some()
        && scene::part(card).bars() == 2
}

fn make(card: &Card, sense: Sense, draw: &mut Draw, setup: &Setup) -> Option<QuestionParts> {
    let scene = scene::begun(card, setup, draw);
    let clave = scene.clave?;
    let mut all = scene.clone();
    if !setup.as_written {
        all.score.set_line(clave.line(card.grid));
        all.score = scene::with_band(card, &all, BAND, true, draw);
    }
    let take = scene::take(all.score, setup.tempo, sense, draw);
    let (text, asked) = match setup.as_written {
        true => (format!("{}: the clave is", card.title), take.clone()),
        false => {
            let text = format!(
                "Clap the {} clave all through. After {} cycles it goes away, then the band thins out and rests; keep \
                 clapping until all come back. The first cycle does not count.",
                clave.family.name(),
                AWAY.start
            );
            let score = going_away(&take.score, draw);
            let take = take.clone();
            (text, Take { score, ..take })
        }
    };
    let task = TapTask::of_clave(clave, card.grid, asked.playable_tempo()).by(setup.player);
    let task = task.in_turns(1..CYCLES).without_clave(AWAY);
    let prompt = Prompt::new(text, asked, sense);
    clapped(card, &scene, prompt, &take, task, CYCLES - 1)
}

/// All cycles of a score of two bars: the clave goes away, then all but the drums or, where none play, one line.
fn going_away(score: &Score, draw: &mut Draw) -> Score {
    let band = score.lines.iter().map(Line::instrument);
    let band: Vec<Instrument> = band.filter(|i| *i != Instrument::Clave).collect();
    let left = draw.pick(&band).filter(|_| score.drums.is_none());
    let pulses = |cycles: Range<usize>| {
        let per = score.grid.pulses_per_cycle();
        cycles.start * per..cycles.end * per
    };
    let mut all = score.tiled(2 * CYCLES);
    all.drums = all.drums.map(|drums| drums.silent_in(pulses(REST)));
    for line in &mut all.lines {
        *line = line.silent_in(pulses(match line.instrument() {
            Instrument::Clave => AWAY,
            instrument if left == Some(instrument) => REST,
            _ => THIN,
        }));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::question::fixture;
    use crate::rhythm::Tempo;

    /// By cycle: the clave in two, the band in four, one line in five; two of nothing; all in the last.
    #[test]
    fn the_clave_goes_away_then_the_band_then_all_come_back() {
        let setup = Setup {
            tempo: Tempo::new(120.0),
            player: Default::default(),
            as_written: false,
            weighed: false,
            unseen: false,
        };
        for (id, drums) in [
            ("yard/open-tones-in-clave", true),
            ("yard/son-clave", false),
        ] {
            let cards = fixture::deck().cards;
            let card = cards.iter().find(|c| c.id == id).unwrap();
            for seed in 0..30 {
                let parts = (HOLD.make)(card, Sense::Hear, &mut Draw::new(seed), &setup).unwrap();
                let score = &parts.prompt.take.score;
                let of_cycle = |cycle: usize| cycle * 16..(cycle + 1) * 16;
                let clave = score.line(Instrument::Clave).unwrap();
                let others = score
                    .lines
                    .iter()
                    .filter(|l| l.instrument() != Instrument::Clave);
                let others: Vec<_> = others.collect();
                assert!(!others.is_empty(), "{id} {seed}");
                for cycle in 0..8 {
                    let sounds = |line: &Line| of_cycle(cycle).any(|p| line.at(p).is_some());
                    let clave = sounds(clave);
                    let lines = others.iter().filter(|l| sounds(l)).count();
                    let drum =
                        |d: &crate::rhythm::Pattern| of_cycle(cycle).any(|p| d.at(p).is_some());
                    let drum = score.drums.as_ref().is_some_and(drum);
                    let (all, one) = (others.len(), usize::from(!drums));
                    let due = match cycle {
                        0 | 1 | 7 => (true, all, drums),
                        2 | 3 => (false, all, drums),
                        4 => (false, one, drums),
                        _ => (false, 0, false),
                    };
                    assert_eq!((clave, lines, drum), due, "{id} {seed} {cycle}");
                }
            }
        }
    }
}
