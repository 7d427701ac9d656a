//! The kind `thin`: what may be left out above a tempo.

use super::{Choice, Draw, Kind, Prompt, QuestionParts, Reason, Sense, Setup, scene};
use crate::deck::{Card, ThinningEffect};
use crate::hands::{Player, stick};
use crate::rhythm::{Pattern, Tempo, listed};
use crate::sound::Take;
use std::collections::BTreeSet;

/// How far above a limit a tempo must be to be called too fast, and how far below to be called slow enough: our choice.
const MARGIN: f64 = 1.03;
const KEYS: [char; 4] = ['a', 'b', 'c', 'd'];

/// What is left out where the hands do not get through every stroke: which light strokes, as rests, give them the time.
///
/// It is asked by eye, above the tempo that the hands of the card reach with every stroke, and only where leaving the
/// strokes out raises that clearly. Wrong answers are light strokes whose leaving out does not help, so that the hands
/// that are shown tell the answer.
pub(super) static THIN: Kind = Kind {
    name: "thin",
    about: "which light strokes to leave out where the hands do not get through all of them",
    usual_guess: 0.2,
    concepts: |_, _| vec!["thin form"],
    fits: |card, sense| sense == Sense::Read && ThinCase::new(card, &Player::default()).is_some(),
    make,
    ..Kind::CHOSEN
};

fn make(card: &Card, sense: Sense, draw: &mut Draw, setup: &Setup) -> Option<QuestionParts> {
    // Hands of another level may need no relief where those of the practised do: then it is asked of these.
    let practised = Player {
        handed: setup.player.handed,
        ..Player::default()
    };
    let players = [setup.player, practised];
    let case = players.iter().find_map(|p| ThinCase::new(card, p))?;
    let (low, high) = case.tempos(card);
    let tempo = low.toward(high, draw.unit()).round().clamp(low, high);
    let (choices, key) = case.choices(draw);
    let scene = scene::as_written(card, setup, draw);
    // A card that is met is played at the tempo where the player starts, whatever tempo the words name.
    let played = if setup.as_written { setup.tempo } else { tempo };
    let take = Take::new(scene.score.clone(), played, draw.seed());
    let mut shown = take.clone();
    if !setup.as_written {
        shown.score.drums = card.thinned();
    }
    let mut reveal = scene::reveal(card, &scene, &shown, String::new());
    reveal.reasons = case.reasons(tempo);
    let stroke = match card.thin.len() {
        1 => "Which light stroke, left out, gives",
        _ => "Which light strokes, left out, give",
    };
    let text = format!(
        "At {tempo:.0} these hands do not get through every stroke. {stroke} them the time?"
    );
    let prompt = Prompt {
        show_hands: true,
        audible: true,
        worded: true,
        ..Prompt::new(text, take, sense)
    };
    QuestionParts::one_key(prompt, choices, key, reveal)
}

/// A card whose thinner form helps a player's hands.
struct ThinCase<'a> {
    drums: &'a Pattern,
    player: &'a Player,
    /// Pulses of the strokes that are left out.
    thin: &'a [usize],
    relief: ThinningEffect,
    /// As many light strokes each, whose leaving out does not help.
    idle: Vec<Vec<usize>>,
}

impl<'a> ThinCase<'a> {
    /// `None` where leaving out does not help clearly, or every light stroke would help.
    fn new(card: &'a Card, player: &'a Player) -> Option<ThinCase<'a>> {
        let drums = card.score.drums.as_ref()?;
        let relief = card.relief(player).filter(ThinningEffect::is_clear)?;
        let light = drums.strokes().filter(|(_, s)| s.is_light());
        let others: Vec<usize> = light
            .map(|(p, _)| p)
            .filter(|p| !card.thin.contains(p))
            .collect();
        let most = relief.whole * MARGIN;
        let helps_not = |pulses: &Vec<usize>| {
            let other = ThinningEffect::new(drums, pulses, player);
            other.is_some_and(|r| r.thinner < most)
        };
        let idle: Vec<Vec<usize>> = exchanged(&card.thin, &others)
            .into_iter()
            .filter(helps_not)
            .collect();
        (!idle.is_empty()).then_some(ThinCase {
            drums,
            player,
            thin: &card.thin,
            relief,
            idle,
        })
    }

    /// Slowest and fastest tempo to ask at: too fast for every stroke, not too fast without those that are left out.
    /// No faster than the card goes, where it goes so fast.
    fn tempos(&self, card: &Card) -> (Tempo, Tempo) {
        let low = Tempo::new((self.relief.whole * MARGIN).bpm().ceil());
        let high = (self.relief.thinner / MARGIN).min(card.tempo.1).floor();
        (low, high.max(low))
    }

    fn choices(&self, draw: &mut Draw) -> (Vec<Choice>, char) {
        let mut answers = draw.shuffled(self.idle.clone());
        answers.truncate(KEYS.len() - 1);
        let at = draw.below(answers.len() + 1);
        answers.insert(at, self.thin.to_vec());
        let choices = KEYS.iter().zip(&answers);
        let choices = choices.map(|(key, a)| Choice::new(*key, said(self.drums, a)));
        (choices.collect(), KEYS[at])
    }

    fn reasons(&self, tempo: Tempo) -> Vec<Reason> {
        let thin = said(self.drums, self.thin);
        let mut all: Vec<Reason> = self.tight(tempo).into_iter().collect();
        all.push(Reason::new(format!(
                "Without {thin} these hands go to about {:.0}, with every stroke to about {:.0}: estimates of a model.",
                self.relief.thinner, self.relief.whole
            ), self.thin.to_vec()));
        all.push(Reason::of(format!(
            "Up to about {:.0} light strokes get softer as it gets faster; none is left out.",
            self.relief.whole
        )));
        all
    }

    /// The two strokes between which a hand gets stuck.
    fn tight(&self, tempo: Tempo) -> Option<Reason> {
        let found = stick(self.drums, tempo, self.player);
        let to = found.tightest.filter(|_| found.load > 1.0)?;
        let hand = (*found.hands.get(to)?)?;
        let pulses = self.drums.pulses();
        let back = (1..=pulses).find(|n| found.hands[(to + pulses - n) % pulses] == Some(hand))?;
        let from = (to + pulses - back) % pulses;
        let ms = 1000.0 * back as f64 * tempo.pulse(self.drums.grid());
        let [a, b] = [from, to].map(|p| said(self.drums, &[p]));
        Some(Reason::new(
            format!(
                "The {} hand plays {a} and then {b}: at {tempo:.0} it has {ms:.0} ms from one to the other, and that is where it gets stuck.",
                hand.name()
            ),
            vec![from, to],
        ))
    }
}

/// These pulses with one of them exchanged for one of the others, in every way.
fn exchanged(pulses: &[usize], others: &[usize]) -> Vec<Vec<usize>> {
    let exchanged = |i: usize, other: usize| {
        let mut with = pulses.to_vec();
        with[i] = other;
        with.sort_unstable();
        with
    };
    let ways = |i: usize| others.iter().map(move |other| exchanged(i, *other));
    let all: BTreeSet<Vec<usize>> = (0..pulses.len()).flat_map(ways).collect();
    all.into_iter().collect()
}

fn said(drums: &Pattern, pulses: &[usize]) -> String {
    listed(pulses.iter().map(|p| drums.spoken(*p)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::question::fixture;

    fn card(id: &str) -> Card {
        let cards = fixture::deck().cards;
        cards.into_iter().find(|c| c.id == id).unwrap()
    }

    fn setup(player: Player) -> Setup {
        Setup {
            tempo: Tempo::new(150.0),
            player,
            as_written: false,
            weighed: false,
            unseen: false,
        }
    }

    #[test]
    fn it_is_not_asked_where_leaving_out_does_not_help() {
        // The plain tumbao is as fast without its tips (see `ThinningEffect`).
        let mut plain = card("yard/plain-tumbao");
        plain.thin = vec![1, 5];
        plain.thin_from = Some(Tempo::new(150.0));
        assert!(!(THIN.fits)(&plain, Sense::Read));
        assert!(
            THIN.ask(&plain, Sense::Read, 1, &setup(Player::default()))
                .is_none()
        );
        assert!(!plain.is_thin_at(Tempo::new(190.0), &Player::default()));
    }

    #[test]
    fn it_is_asked_above_what_the_hands_reach_and_below_what_they_reach_without() {
        use crate::hands::{Handed, Level, stick};
        let card = card("yard/tips-in-a-row");
        for level in Level::ALL {
            let player = Player {
                level,
                handed: Handed::Right,
            };
            let whole = stick(
                card.score.drums.as_ref().unwrap(),
                Tempo::new(100.0),
                &player,
            )
            .ceiling;
            let thinner = stick(&card.thinned().unwrap(), Tempo::new(100.0), &player).ceiling;
            for seed in 0..50 {
                let q = THIN.ask(&card, Sense::Read, seed, &setup(player)).unwrap();
                let tempo = q.prompt.take.tempo;
                assert!(tempo > whole && tempo < thinner, "{level:?}: {tempo}");
                assert!(q.prompt.text.contains(&format!("{tempo:.0}")));
                // The left hand's two tips, on 3& and 4: only one of them helps (read from the grid).
                assert_eq!(q.reveal.answer, "3&");
                assert!(
                    q.form.choices().iter().all(|c| c.label != "4"),
                    "{:?}",
                    q.form.choices()
                );
                assert!(
                    q.reveal.reasons[0]
                        .text
                        .starts_with("The left hand plays 3& and then 4:")
                );
            }
        }
    }

    #[test]
    fn the_whole_is_played_as_far_as_the_hands_reach() {
        let mut card = card("yard/tips-in-a-row");
        card.thin_from = None;
        let player = Player::default();
        let whole = card.relief(&player).unwrap().whole;
        assert!(!card.is_thin_at(whole * 0.98, &player) && card.is_thin_at(whole, &player));
        // A tempo that is written makes it later, not sooner.
        card.thin_from = Some(Tempo::new(100.0));
        assert!(!card.is_thin_at(whole * 0.98, &player));
        card.thin_from = Some(whole * 1.1);
        assert!(!card.is_thin_at(whole * 1.02, &player));
    }
}
