//! The kind `play`: a variation with two keys, one for each hand, over the clave and the band.

use super::phrase;
use super::scene::{self, Scene};
use super::strokes_reasons::reasons;
use super::{
    AnswerMode, Choice, Draw, Form, Kind, Mark, Prompt, QuestionParts, Sense, Setup, plain_tumbao,
    words,
};
use crate::clave::Direction;
use crate::deck::{Card, PhrasePlace, States};
use crate::hands;
use crate::rhythm::{Pattern, Stroke, Tempo, spaced};
use crate::taps::TapTask;

/// The key of the left hand: where its first finger lies on a keyboard.
pub const LEFT: char = 'f';
/// The key of the right hand.
pub const RIGHT: char = 'j';
/// How often two bars are played (chosen, as in `clap`); a longer phrase twice at least, one of more than eight bars once.
pub(super) const TIMES: usize = 4;
/// The longest phrase that goes round, in bars: of a longer one its end (chosen).
const LONGEST: usize = 16;
/// Each step down from a tempo that the player's hands are not reckoned to reach, and how many at most (chosen).
const SLOWER: f64 = 0.9;
const STEPS: i32 = 15;

/// Tap the strokes of a variation with both hands, in time: which are missed, added, early or late, and whether the hands
/// are those that are written or others that work. A single bar lies on its side, the plain tumbao in the other bar; where
/// the deck says in which bar of a phrase it comes, in that bar.
pub(super) static PLAY: Kind = Kind {
    name: "play",
    about: "a variation tapped with a key for each hand, in time with the band",
    usual_guess: 1e-6,
    may_turn: true,
    answered: AnswerMode::Tapped,
    concepts: |_, _| vec!["strokes played"],
    usual_seconds: |card| {
        let bars = usual_bars(card);
        super::timing::tapped(card, times(bars) * bars / 2)
    },
    usual_bars,
    fits,
    make: |card, sense, draw, setup| made(card, sense, draw, setup, Turns::Along),
    ..Kind::CHOSEN
};

fn usual_bars(card: &Card) -> usize {
    let place = card.place.filter(|place| has_phrase(*place));
    let phrase = place.and_then(|place| {
        let phrase = phrase::phrase(card, longest(place), Direction::TwoThree)?;
        (!phrase.homes().is_empty()).then_some(phrase.bars)
    });
    phrase.unwrap_or(2)
}

/// When the player plays.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Turns {
    /// Round and round with the band.
    Along,
    /// In the two bars after each two bars in which the conga played it.
    CallAndAnswer,
}

/// Can the card be played with two hands: strokes of one drum with their hands, alone or beside the plain tumbao?
pub(super) fn fits(card: &Card, sense: Sense) -> bool {
    let Some(drums) = &card.score.drums else {
        return false;
    };
    let scene = in_company(card, &met(card));
    sense == Sense::Hear
        && card.clave.is_some()
        && card.rudiment.is_none()
        && card.thin.is_empty()
        && card.score.lines.is_empty()
        && drums.drums().len() == 1
        && drums.has_full_sticking()
        && (drums.bars() != 2 || scene::loops(card))
        && scene.score.bars() == 2
        && is_plain_beside(&scene)
        && playable_tempo(&scene, &met(card)).is_some()
}

/// What is asked of a card that [`fits`].
pub(super) fn made(
    card: &Card,
    sense: Sense,
    draw: &mut Draw,
    setup: &Setup,
    turns: Turns,
) -> Option<QuestionParts> {
    let along = turns == Turns::Along && !setup.as_written;
    let placed = along.then(|| in_phrase(card, setup, draw)).flatten();
    let scene = placed.unwrap_or_else(|| scene::in_company(card, setup, draw));
    let (clave, mut drums) = (scene.clave?, scene.score.drums.clone()?);
    let (mut bars, own) = (scene.score.bars(), scene.own.clone());
    let score = match setup.as_written {
        true => scene.score.clone(),
        false => scene::with_band(card, &scene, 0..=1, true, draw),
    };
    let take = scene::take(score, playable_tempo(&scene, setup)?, sense, draw);
    let per = card.grid.pulses_per_bar();
    let struck = drums.strokes().map(|(pulse, _)| pulse);
    let struck: Vec<usize> = struck.filter(|p| own.contains(&(p / per))).collect();
    let answer = struck.iter().filter_map(|p| drums.at(*p));
    let answer = spaced(answer.map(|s| s.tone.letter()));
    let mut reveal = scene::reveal(card, &scene, &take, answer);
    reveal.reasons = reasons(&drums, &struck, Sense::Read, scene.clave_of(card));
    let (mark, place) = match own.len() == bars {
        true => (Mark::Whole, String::new()),
        false => (
            Mark::of_bars(&own),
            format!(" in {} of {bars}", words::bars(&own)),
        ),
    };
    let beside = match bars - own.len() {
        0 => "",
        1 => ", the plain tumbao in the other",
        _ => ", the plain tumbao in the others",
    };
    // A bar that belongs to a side is answered on that side, so a whole cycle later; one that goes with either, in the next bar.
    let next_bar =
        turns == Turns::CallAndAnswer && card.states == States::Neither && card.score.bars() == 1;
    if next_bar {
        (drums, bars) = (drums.only_bars(0..1), 1);
    }
    let times = times(bars);
    let again = match times {
        1 => "once".to_string(),
        2 => "twice".to_string(),
        times => format!("{times} times"),
    };
    let (title, mut asked) = (&card.title, take);
    let mut task = TapTask::new(drums.clone(), asked.playable_tempo())
        .over(clave)
        .by(setup.player);
    let text = match turns {
        _ if setup.as_written => format!("{title}: played, it is"),
        Turns::Along => {
            asked.score.set_line(clave.line(card.grid));
            asked.score = asked.score.tiled(bars);
            asked.score.drums = None;
            format!("Play “{title}”{place}{beside}, with the band, {again}.")
        }
        Turns::CallAndAnswer => {
            asked.score.set_line(clave.line(card.grid));
            asked.score.drums = Some(drums.tiled(2 * bars).silent_in(bars * per..));
            asked.cycles = times as u32;
            task = task.in_turns((0..times).map(|n| 2 * n + 1));
            let yours = if next_bar { "bar is" } else { "two bars are" };
            format!(
                "Call and answer: the conga plays “{title}”{place}{beside}, and the next {yours} yours, {again}."
            )
        }
    };
    let keys = [(LEFT, "left hand"), (RIGHT, "right hand")];
    let form = Form::Taps {
        choices: keys.map(|(key, hand)| Choice::new(key, hand)).to_vec(),
        task,
        cycles: times,
    };
    let mut prompt = Prompt::new(text, asked, sense);
    prompt.mark = mark;
    Some(QuestionParts::new(prompt, form, reveal))
}

/// How often so many bars are played.
fn times(bars: usize) -> usize {
    (TIMES * 2 / bars).max(if bars > 8 { 1 } else { 2 })
}

/// Bars of the phrase in which a card is played, or of its end.
fn longest(place: PhrasePlace) -> usize {
    (place.of as usize).min(LONGEST)
}

/// Is the card played in its bar of a phrase? Not where it says nothing, nor in a phrase of two bars, which is the bar and the
/// plain tumbao as without a place, nor of an odd number, which does not go round with the clave.
fn has_phrase(place: PhrasePlace) -> bool {
    place.of > 2 && place.of.is_multiple_of(2)
}

/// The card in the bar of a phrase where its deck says that it comes, the plain tumbao around it; see [`has_phrase`].
fn in_phrase(card: &Card, setup: &Setup, draw: &mut Draw) -> Option<Scene> {
    let place = card.place.filter(|place| has_phrase(*place))?;
    let phrase = phrase::phrase(card, longest(place), draw.pick(&Direction::ALL)?)?;
    let start = draw.pick(&phrase.homes())?;
    let own = scene::as_written(card, setup, draw);
    Some(Scene {
        score: phrase.lay(own.score.drums.as_ref()?, start, setup.player.handed)?,
        clave: phrase.clave(card),
        own: start..start + phrase.own,
    })
}

/// A set-up that shows whether a card fits.
fn met(card: &Card) -> Setup {
    Setup {
        tempo: card.tempo.0,
        player: hands::Player::default(),
        as_written: false,
        weighed: false,
        unseen: false,
    }
}

fn in_company(card: &Card, setup: &Setup) -> Scene {
    scene::in_company(card, setup, &mut Draw::new(0))
}

/// Is a bar that was put beside the card's own the plain tumbao? True where there is none.
fn is_plain_beside(scene: &Scene) -> bool {
    let bars = 0..scene.score.bars();
    let (Some(drums), Some(plain)) = (&scene.score.drums, plain_tumbao(scene.score.grid)) else {
        return false;
    };
    let tones =
        |cells: &[Option<Stroke>]| -> Vec<_> { cells.iter().map(|c| c.map(|s| s.tone)).collect() };
    let mut beside = bars.filter(|bar| !scene.own.contains(bar));
    beside.all(|bar| tones(drums.bar(bar)) == tones(plain.cells()))
}

/// The tempo that is asked for, or the next lower one at which the player's hands are reckoned to manage the sticking:
/// nobody is urged beyond that.
fn playable_tempo(scene: &Scene, setup: &Setup) -> Option<Tempo> {
    let drums: &Pattern = scene.score.drums.as_ref()?;
    let mut tempos = (0..STEPS).map(|n| setup.tempo * SLOWER.powi(n));
    tempos.find(|tempo| hands::judge(drums, *tempo, &setup.player).is_ok())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deck::PhrasePlace;
    use crate::question::fixture;

    /// What is asked of `card` as these turns, over some seeds.
    fn asked(card: &Card, turns: Turns) -> Vec<QuestionParts> {
        let seeds = 0..12;
        let of = |seed| made(card, Sense::Hear, &mut Draw::new(seed), &met(card), turns);
        seeds.filter_map(of).collect()
    }

    fn card(id: &str) -> Card {
        let cards = fixture::deck().cards;
        cards.into_iter().find(|c| c.id == id).unwrap()
    }

    #[test]
    fn a_variation_comes_in_its_bar_of_a_phrase_of_any_even_length() {
        for (of, times) in [(4, 2), (6, 2), (8, 2), (12, 1), (16, 1)] {
            let mut card = card("yard/corner");
            card.place = card.place.map(|p| PhrasePlace {
                bar: of - 1,
                of,
                ..p
            });
            for parts in asked(&card, Turns::Along) {
                let Form::Taps { task, cycles, .. } = &parts.form else {
                    panic!("{of}");
                };
                assert_eq!((task.part().bars(), *cycles), (of as usize, times));
                // The last bar or the one before it, whichever lies on its side.
                let Mark::Bar(bar) = parts.prompt.mark else {
                    panic!("{of}: {:?}", parts.prompt.mark);
                };
                assert!(bar + 2 >= of as usize, "{bar} of {of}");
                assert!(
                    parts
                        .prompt
                        .text
                        .contains(&format!("in bar {} of {of}", bar + 1))
                );
            }
        }
        // Two bars are the bar and the plain tumbao; odd phrases do not go round with the clave.
        for of in [2, 5, 7, 9] {
            let mut card = card("yard/corner");
            card.place = card.place.map(|p| PhrasePlace { bar: of, of, ..p });
            for parts in asked(&card, Turns::Along) {
                assert!(
                    matches!(&parts.form, Form::Taps { task, .. } if task.part().bars() == 2),
                    "{of}"
                );
            }
        }
    }

    #[test]
    fn a_bar_is_answered_in_the_next_one_that_lies_on_its_side() {
        let turns = |id: &str| {
            let parts = asked(&card(id), Turns::CallAndAnswer).remove(0);
            let Form::Taps { task, .. } = parts.form else {
                panic!("{id}");
            };
            let called = parts.prompt.take.score.drums.unwrap();
            let bars: Vec<bool> = (0..called.bars())
                .map(|b| called.bar(b).iter().any(Option::is_some))
                .collect();
            (
                task.part().bars(),
                task.turns().unwrap()[..2].to_vec(),
                bars,
                parts.prompt.text,
            )
        };
        let (bars, own, called, text) = turns("yard/slap-for-open");
        assert_eq!((bars, own, called), (1, vec![1, 3], vec![true, false]));
        assert!(
            text.ends_with("and the next bar is yours, 8 times."),
            "{text}"
        );
        let (bars, own, called, text) = turns("yard/corner");
        assert_eq!(
            (bars, own, called),
            (2, vec![1, 3], vec![true, true, false, false])
        );
        assert!(
            text.ends_with("the next two bars are yours, 4 times."),
            "{text}"
        );
    }
}
