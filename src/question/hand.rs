//! The kind `hand`: which hands fit the strokes left blank.

use super::hand_fit::{self, Bar, Options};
use super::hand_why::{self, StickingTask};
use super::{
    Choice, Draw, Form, Kind, Mark, Prompt, QuestionParts, Sense, Setup, hand_named, scene,
};
use crate::deck::Card;
use crate::hands::{Handed, Level, Player};
use crate::rhythm::{self, Pattern, Tempo, spaced};
use crate::sound::Take;

/// Share of questions that start with the other hand, where nothing in the card's own hands goes against the
/// rule of thumb.
const MIRRORED: f64 = 0.5;
/// Share of questions that ask for strokes where the rule of thumb fails, if there are any.
const AGAINST_THUMB: f64 = 0.7;

/// The concept of a sticking in the upper third of its tempos.
const AT_SPEED: &str = "hand at speed";

/// Which hands fit the strokes that are left blank, the others being shown; or, where a named sticking is the idea of the
/// card, how that sticking goes on.
///
/// Every way to fill the blanks is right if the bar can then be played at the tempo and is idiom, see
/// [`crate::hands::judge`]. It is asked only where that leaves something to know. If it leaves nothing at the tempo of
/// the set-up, the nearest tempo at which it does is taken.
///
/// It is asked by eye: no ear tells the hands apart. The part may be listened to before answering.
pub(super) static HAND: Kind = Kind {
    name: "hand",
    about: "which hands fit the strokes left blank, or how a named sticking goes",
    usual_guess: 0.05,
    concepts: |_, _| vec!["sticking"],
    drawn_concepts,
    fits,
    make,
    ..Kind::CHOSEN
};

fn drawn_concepts() -> Vec<String> {
    let hands = rhythm::Hand::ALL.map(|hand| format!("{} hand", hand.name()));
    [&hands[..], &[AT_SPEED.to_string()]].concat()
}

fn fits(card: &Card, sense: Sense) -> bool {
    let Some(drums) = card.score.drums.as_ref() else {
        return false;
    };
    sense == Sense::Read
        && (card.rudiment.is_some()
            || drums.strokes().count() > 2 && hand_fit::tells_hands(drums, card.tempo))
}

fn make(card: &Card, _: Sense, draw: &mut Draw, setup: &Setup) -> Option<QuestionParts> {
    // How trained a player is does not show in the question, so it does not decide.
    let player = Player {
        level: Level::Practised,
        ..setup.player
    };
    let setup = &Setup { player, ..*setup };
    let made = match card.rudiment {
        Some(rudiment) => hand_named::asked(card, rudiment, setup, draw)?,
        None => asked(card, setup, draw)?,
    };
    Some(made.parts(card, draw))
}

/// What makes up a question about hands; the rest follows from it.
pub(super) struct HandQuestion {
    pub scene: scene::Scene,
    pub tempo: Tempo,
    pub mark: Mark,
    pub text: String,
    /// The drums as they are shown, without the hands that are not.
    pub shown: Pattern,
    pub sticking: StickingTask,
    /// Rows of hands that are right, the one that is shown first.
    pub right: Vec<Vec<rhythm::Hand>>,
}

impl HandQuestion {
    fn parts(self, card: &Card, draw: &mut Draw) -> QuestionParts {
        let right: Vec<String> = self.right.iter().map(|row| keys(row)).collect();
        let form = Form::at_pulses(choices(), right);
        let mut score = self.scene.score.clone();
        score.drums = Some(self.sticking.drums.clone());
        let whole = Take::new(score, self.tempo, draw.seed());
        let mut reveal = scene::reveal(card, &self.scene, &whole, answer(&self.right, self.mark));
        reveal.reasons = hand_why::reasons(&self.sticking, &self.right, self.tempo);
        let told = self.right.first().into_iter().flatten();
        let mut concepts: Vec<String> = told.map(|hand| format!("{} hand", hand.name())).collect();
        if self.tempo >= card.tempo.0.toward(card.tempo.1, 2.0 / 3.0) {
            concepts.push(AT_SPEED.to_string());
        }
        let mut take = whole;
        take.score.drums = Some(self.shown);
        reveal.sticking = Some(self.sticking);
        QuestionParts {
            prompt: Prompt {
                mark: self.mark,
                show_hands: true,
                audible: true,
                ..Prompt::new(self.text, take, Sense::Read)
            },
            form,
            reveal,
            concepts,
        }
    }
}

fn choices() -> Vec<Choice> {
    let choice = |hand: rhythm::Hand| Choice::new(key(hand), format!("{} hand", hand.name()));
    rhythm::Hand::ALL.map(choice).to_vec()
}

fn key(hand: rhythm::Hand) -> char {
    hand.letter().to_ascii_lowercase()
}

fn keys(row: &[rhythm::Hand]) -> String {
    row.iter().map(|hand| key(*hand)).collect()
}

/// The right rows in words: all where there are one or two, otherwise the first and how many there are.
fn answer(right: &[Vec<rhythm::Hand>], mark: Mark) -> String {
    let row = |row: &Vec<rhythm::Hand>| match (mark, row.as_slice()) {
        (Mark::Pulse(_), [hand]) => format!("{} hand", hand.name()),
        _ => spaced(row.iter().map(|h| h.letter())),
    };
    match right {
        [] => String::new(),
        [one] => row(one),
        [one, other] => format!("{} or {}", row(one), row(other)),
        [one, ..] => format!("{}, one of {} right answers", row(one), right.len()),
    }
}

/// Strokes of a card, asked by what fits.
fn asked(card: &Card, setup: &Setup, draw: &mut Draw) -> Option<HandQuestion> {
    let scene = scene::as_written(card, setup, draw);
    let written = scene.score.drums.as_ref()?;
    let tempos = hand_fit::tempos(card.tempo, setup.tempo);
    let against = !setup.as_written && draw.chance(AGAINST_THUMB);
    let mirror = !setup.as_written && draw.chance(MIRRORED) && !setup.unseen;
    tempos.into_iter().find_map(|tempo| {
        let own = hand_fit::with_all_hands(written, tempo, &setup.player)?;
        let bar = Bar::drawn(&own, tempo, &setup.player, setup.as_written, draw)?;
        let options = bar.options.clone().for_either_hand(&bar);
        let surprising = options.against_thumb();
        let (drums, bar, options, mirrored) = if against && !surprising.is_empty() {
            (own, bar, surprising, false)
        } else if let Some((drums, bar)) = mirror
            .then(|| mirrored(&own, &bar, tempo, &setup.player))
            .flatten()
        {
            let options = bar.options.against_thumb();
            (drums, bar, options, true)
        } else {
            (own, bar, options, false)
        };
        let blank = pick(&bar, &options, setup, draw)?;
        let pulses: Vec<usize> = blank.iter().map(|i| bar.pulses[*i]).collect();
        let mark = match blank.as_slice() {
            [_] => Mark::Pulse(pulses[0]),
            _ => Mark::Bar(bar.bar),
        };
        Some(HandQuestion {
            scene: scene.clone(),
            tempo,
            mark,
            text: text(&drums, &bar, &pulses, tempo, mirrored, setup.player.handed),
            shown: hand_fit::without_hands(&drums, &pulses),
            right: bar.right(&blank),
            sticking: StickingTask {
                drums,
                asked: pulses,
                player: setup.player,
                rudiment: None,
            },
        })
    })
}

/// The same bar started with the other hand, where that is right as well and asks something that the rule of
/// thumb does not answer. On two drums it is not: the low drum stands on one side.
fn mirrored(own: &Pattern, bar: &Bar, tempo: Tempo, player: &Player) -> Option<(Pattern, Bar)> {
    if own.drums().len() > 1 {
        return None;
    }
    let turned = super::kind::mirrored(own);
    let bar = bar.of(&turned, tempo, player)?;
    (!bar.options.against_thumb().is_empty()).then_some((turned, bar))
}

/// Which strokes are blank, by their number in the bar. The size is drawn first; of one stroke the hand, so that
/// neither is right more often.
fn pick(bar: &Bar, options: &Options, setup: &Setup, draw: &mut Draw) -> Option<Vec<usize>> {
    // Among sets of several sizes the size is drawn before the set.
    let of = |from: &[Vec<usize>], draw: &mut Draw| {
        let mut sizes: Vec<usize> = from.iter().map(Vec::len).collect();
        sizes.sort_unstable();
        sizes.dedup();
        let size = draw.pick(&sizes)?;
        let of_size: Vec<_> = from.iter().filter(|blank| blank.len() == size).collect();
        draw.pick(&of_size).cloned()
    };
    if setup.as_written {
        return options.largest().cloned();
    }
    let mut sizes = options.sizes.each_ref();
    let drawn = draw.unit();
    // One stroke first in four of ten, a few in four, the bar in two; then what there is.
    let first = if drawn < 0.4 {
        0
    } else if drawn < 0.8 {
        1
    } else {
        2
    };
    sizes[..=first].reverse();
    let mut hands = rhythm::Hand::ALL;
    if draw.chance(0.5) {
        hands.reverse();
    }
    sizes.into_iter().find_map(|from| {
        let mut by_hand = hands.into_iter().map(|hand| {
            let own = |blank: &&Vec<usize>| blank.len() == 1 && bar.own(blank[0]) == hand;
            from.iter().filter(own).cloned().collect::<Vec<_>>()
        });
        let one = by_hand.find_map(|from| of(&from, draw));
        one.or_else(|| of(from, draw))
    })
}

/// The question in words, with all that it takes: tempo, drums, and who is left-handed.
fn text(
    drums: &Pattern,
    bar: &Bar,
    asked: &[usize],
    tempo: Tempo,
    mirrored: bool,
    handed: Handed,
) -> String {
    let bars = drums.bars();
    let on = match drums.drums().len() {
        1 => "one drum",
        2 => "two drums",
        _ => "three drums",
    };
    let turned = if mirrored { ", hands swapped" } else { "" };
    let what = match asked {
        [one] => format!("which hand for the stroke on {}?", drums.spoken(*one)),
        _ if asked.len() == bar.strokes => match bars {
            1 => "which hands play the bar, in order?".to_string(),
            _ => format!("which hands play bar {}, in order?", bar.bar + 1),
        },
        _ => {
            let of = match bars {
                1 => String::new(),
                _ => format!(" of bar {}", bar.bar + 1),
            };
            let at = drums.grid().spoken_all(asked);
            format!("which hands for the strokes on {at}{of}, in order?")
        }
    };
    let set_up = match handed {
        Handed::Right => "",
        Handed::Left => ", left-handed",
    };
    format!("At {tempo:.0}, on {on}{set_up}{turned}: {what}")
}
