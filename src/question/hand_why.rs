//! Why one row of hands is right and another is not.

use super::hand_fit::{filled, swapped};
use super::{Answer, Question, Reason};
use crate::hands::{self, Player, Refusal, Rudiment};
use crate::rhythm::{Hand, Pattern, Tempo, capital, spaced, uncapital};

/// Most reasons that are given.
const MOST: usize = 3;

/// What an answer about hands is judged by.
#[derive(Clone, Debug, PartialEq)]
pub struct StickingTask {
    /// The drums with every hand, in the form that is shown.
    pub drums: Pattern,
    /// The pulses that are asked, in the order of the keys.
    pub asked: Vec<usize>,
    /// Whose hands they are.
    pub player: Player,
    /// The named sticking that is asked for; `None` where anything that works is right.
    pub rudiment: Option<&'static Rudiment>,
}

impl StickingTask {
    /// The drums with this row of hands at the pulses that are asked.
    pub fn with(&self, row: &[Hand]) -> Pattern {
        filled(&self.drums, &self.asked, row)
    }

    /// Why this row is refused. `None` where it is right.
    fn refusal(&self, row: &[Hand], tempo: Tempo) -> Option<Reason> {
        let Some(rudiment) = self.rudiment else {
            let refusal = hands::judge(&self.with(row), tempo, &self.player).err()?;
            return Some(Reason::new(refusal.text, refusal.pulses));
        };
        let at = |pulse: usize| self.drums.at(pulse).and_then(|s| s.hand);
        let wrong = self
            .asked
            .iter()
            .zip(row)
            .find(|(p, h)| at(**p) != Some(**h));
        let pulse = *wrong?.0;
        let hand = at(pulse)?;
        Some(Reason::new(
            format!(
                "The stroke on {} is the {}'s: {}",
                self.drums.spoken(pulse),
                hand.name(),
                self.definition(rudiment)
            ),
            vec![pulse],
        ))
    }

    fn definition(&self, rudiment: &Rudiment) -> String {
        let hands: Vec<Hand> = self.drums.hands().into_iter().flatten().collect();
        let lead = hands.first().map_or("right", |h| h.name());
        format!(
            "from the {lead}, the {} goes {}.",
            rudiment.name,
            spaced(hands.iter().map(|h| h.letter()))
        )
    }
}

impl Question {
    /// Why an answer in hands is refused: a reason that names a stroke and holds for exactly this answer. `None` where
    /// the answer is right, where keys are missing or over, and for questions about anything else.
    pub fn refusal(&self, answer: &Answer) -> Option<Reason> {
        let sticking = self.reveal.sticking.as_ref()?;
        let row: Option<Vec<Hand>> = answer
            .text()
            .chars()
            .map(|k| Hand::from_letter(k.to_ascii_uppercase()))
            .collect();
        let row = row.filter(|row| row.len() == sticking.asked.len())?;
        if self.form.is_right(answer) {
            return None;
        }
        sticking.refusal(&row, self.prompt.take.tempo)
    }
}

/// Why the row that is shown is right: what goes wrong with the other hand at each stroke that is asked, and where
/// either hand does.
pub(super) fn reasons(sticking: &StickingTask, right: &[Vec<Hand>], tempo: Tempo) -> Vec<Reason> {
    let drums = &sticking.drums;
    if let Some(rudiment) = sticking.rudiment {
        return vec![Reason::new(
            capital(&sticking.definition(rudiment)),
            drums.strokes().map(|(p, _)| p).collect(),
        )];
    }
    let mut reasons: Vec<Reason> = Vec::new();
    let mut either = Vec::new();
    // Only of a stroke whose hand is the same in all rows that are right can it be said that the other one is wrong.
    let fixed = |nth: &usize| right.iter().all(|row| row.get(*nth) == right[0].get(*nth));
    // What is said of heel and tip in one hand must hold in every row that is right.
    let denied = |refusal: &Refusal| {
        let split = |row: &Vec<Hand>| {
            let drums = sticking.with(row);
            let hand = |p: &usize| drums.at(*p).and_then(|s| s.hand);
            let mut pairs = refusal.pulses.chunks_exact(2);
            pairs.any(|pair| hand(&pair[0]) != hand(&pair[1]))
        };
        refusal.rocking && right.iter().any(split)
    };
    for (nth, pulse) in sticking.asked.iter().enumerate() {
        if !fixed(&nth) {
            either.push(*pulse);
            continue;
        }
        let Err(refusal) = hands::judge(&swapped(drums, *pulse), tempo, &sticking.player) else {
            either.push(*pulse);
            continue;
        };
        let Some(hand) = drums.at(*pulse).and_then(|s| s.hand) else {
            continue;
        };
        if denied(&refusal) {
            continue;
        }
        let at = drums.spoken(*pulse);
        let (other, text) = (hand.other().name(), uncapital(&refusal.text));
        let text = format!("With the {other} on {at}: {text}");
        if !reasons.iter().any(|r| same(&r.pulses, &refusal.pulses)) {
            reasons.push(Reason::new(text, refusal.pulses));
        }
    }
    reasons.truncate(MOST - usize::from(right.len() > 2));
    // Where every single hand may change, it is all of them together that count.
    if reasons.is_empty() {
        // The wrong rows that are told first differ in one hand.
        let mut rows: Vec<Vec<Hand>> = hands::every_row(right[0].len()).collect();
        let apart = |row: &Vec<Hand>| row.iter().zip(&right[0]).filter(|(a, b)| a != b).count();
        rows.sort_by_key(apart);
        let wrong = rows.into_iter().filter(|row| !right.contains(row));
        let judged = |row: Vec<Hand>| {
            let refusal = hands::judge(&sticking.with(&row), tempo, &sticking.player).err()?;
            Some((row, refusal))
        };
        let refusals: Vec<(Vec<Hand>, Refusal)> = wrong.filter_map(judged).collect();
        let mut told: Vec<_> = refusals.iter().filter(|(_, r)| !denied(r)).collect();
        if told.is_empty() {
            told.extend(refusals.first());
        }
        for (row, refusal) in told {
            let row = spaced(row.iter().map(|h| h.letter()));
            let reason = Reason::new(
                format!("Not {row}: {}", uncapital(&refusal.text)),
                refusal.pulses.clone(),
            );
            if reasons.len() < MOST - 1 && !reasons.iter().any(|r| alike(r, &reason)) {
                reasons.push(reason);
            }
        }
    }
    if right.len() > 2 {
        let rows = right[1..]
            .iter()
            .take(MOST)
            .map(|row| spaced(row.iter().map(|h| h.letter())));
        reasons.push(Reason::new(
            format!("Also right: {}.", rows.collect::<Vec<_>>().join("; ")),
            either,
        ));
    }
    numbered_first(reasons)
}

/// Puts reasons with a stroke of their own first, so that the numbers on the grid have no gap.
fn numbered_first(reasons: Vec<Reason>) -> Vec<Reason> {
    let mut taken: Vec<usize> = Vec::new();
    let (own, rest): (Vec<Reason>, Vec<Reason>) = reasons.into_iter().partition(|reason| {
        let own = reason.pulses.iter().any(|p| !taken.contains(p));
        taken.extend(&reason.pulses);
        own
    });
    [own, rest].concat()
}

/// Do two reasons end in the same rule?
fn alike(a: &Reason, b: &Reason) -> bool {
    let [a, b] = [a, b].map(|r| r.text.split(' ').rev().take(4));
    a.eq(b)
}

/// Are these the same pulses, in whatever order?
fn same(a: &[usize], b: &[usize]) -> bool {
    let [a, b] = [a, b].map(|pulses| {
        let mut pulses = pulses.to_vec();
        pulses.sort_unstable();
        pulses
    });
    a == b
}

impl Reason {
    /// The sentence as it goes on after a colon.
    pub fn continued(&self) -> String {
        uncapital(&self.text)
    }
}
