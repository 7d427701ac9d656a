//! Which hands work at one stroke.

use super::Player;
use super::moves::hand;
use super::reason::{Reason, movement, named, said, sentence};
use super::solve::{Aim, solve};
use super::stick::{Case, DEFAULT, HABIT, Solver, sane, settled};
use crate::rhythm::{Hand, Pattern};

/// The hands that work at one pulse.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Hands with which the whole pattern can be played in time without crossing, and the written one. Never empty
    /// where there is a stroke at the pulse, empty where there is none.
    pub hands: Vec<Hand>,
    /// No usual sticking works at this tempo; `hands` then holds those of the form to learn at a slower tempo.
    pub too_fast: bool,
    /// Why a hand does not work, or that either does.
    pub reasons: Vec<Reason>,
}

/// The hands that work at `pulse` for `player` at `bpm` beats a minute: those with which the whole pattern can be
/// played at a load of at most 1 and without crossing. Hands written at other pulses are kept, open ones may be
/// whatever works. The hand written at the pulse itself does not bind, but always counts as one that works. A `bpm`
/// that is no positive number counts as 1.
pub fn fits(pattern: &Pattern, pulse: usize, bpm: f64, player: &Player) -> Fit {
    DEFAULT.fits(pattern, pulse, bpm, player)
}

/// Pulses whose stroke may go to either hand at `bpm`, each for itself; see [`fits`]. Hands written at other pulses are
/// kept.
pub fn either(pattern: &Pattern, bpm: f64, player: &Player) -> Vec<usize> {
    DEFAULT.either(pattern, bpm, player)
}

impl Solver {
    /// See [`fits`].
    pub fn fits(&self, pattern: &Pattern, pulse: usize, bpm: f64, player: &Player) -> Fit {
        let bpm = sane(bpm);
        let pulse = pulse % pattern.pulses();
        let case = self.case(pattern, player.level, player.handed);
        let at = pattern.strokes().position(|(p, _)| p == pulse);
        let (Some(case), Some(at)) = (case, at) else {
            return Fit {
                hands: Vec::new(),
                too_fast: false,
                reasons: Vec::new(),
            };
        };
        let (form, too_fast) = case.form(bpm, &case.opened(at));
        let written = case.moves.strokes[at].1.hand;
        let mut hands: Vec<Hand> = written.into_iter().collect();
        let mut reasons = Vec::new();
        for r in 0..2 {
            let h = hand(r, player.handed);
            let works = if too_fast {
                written.is_none() && form.roles[at] == r
            } else {
                form.roles[at] == r || case.works(bpm, at, r)
            };
            if works {
                hands.push(h);
            } else {
                reasons.extend(case.stuck(bpm, at, r));
            }
        }
        hands.sort_unstable();
        hands.dedup();
        if hands.len() == 2 && reasons.is_empty() {
            reasons.push(Reason {
                text: format!(
                    "At this tempo {} on {} may go to either hand.",
                    named(case.moves.strokes[at].1),
                    said(pattern, pulse)
                ),
                pulses: vec![pulse],
            });
        }
        Fit {
            hands,
            too_fast,
            reasons,
        }
    }

    /// See [`either`].
    pub fn either(&self, pattern: &Pattern, bpm: f64, player: &Player) -> Vec<usize> {
        let bpm = sane(bpm);
        let Some(case) = self.case(pattern, player.level, player.handed) else {
            return Vec::new();
        };
        let (form, too_fast) = case.form(bpm, &case.moves.allowed);
        if too_fast {
            return Vec::new();
        }
        let works = case.all_that_work(bpm, &form.roles);
        (0..case.moves.len())
            .filter(|i| match case.moves.allowed[*i] {
                [true, true] => works[*i] == [true; 2],
                _ => case.works(bpm, *i, 1 - form.roles[*i]),
            })
            .map(|i| case.moves.strokes[i].0)
            .collect()
    }
}

impl Case<'_> {
    /// Whether a whole sticking works with stroke `at` in that role.
    fn works(&self, bpm: f64, at: usize, r: usize) -> bool {
        let pinned = self.pinned(at, r);
        match settled(&pinned) {
            Some(roles) => self.measure(roles).limit >= bpm,
            None => self.cheapest(bpm, HABIT, &pinned).is_some(),
        }
    }

    /// The roles that each stroke can have in some sticking that works, `[stroke][role]`, from one such sticking on:
    /// as long as there is one with a role that was not seen yet, it is the cheapest one where seen roles cost.
    fn all_that_work(&self, bpm: f64, one: &[usize]) -> Vec<[bool; 2]> {
        let mut seen = vec![[false; 2]; one.len()];
        let weights = self.weights(bpm, HABIT, &self.moves.allowed);
        let mut next = Some((0.0, one.to_vec()));
        while let Some((known, roles)) = next.take() {
            if known >= roles.len() as f64 {
                break;
            }
            for (s, r) in seen.iter_mut().zip(roles) {
                s[r] = true;
            }
            next = solve(&weights.repriced(|i, r| f64::from(u8::from(seen[i][r]))));
        }
        seen
    }

    /// The written hands, but stroke `at` open.
    fn opened(&self, at: usize) -> Vec<[bool; 2]> {
        let mut allowed = self.moves.allowed.clone();
        allowed[at] = [true; 2];
        allowed
    }

    /// The written hands, but stroke `at` in that role.
    fn pinned(&self, at: usize, r: usize) -> Vec<[bool; 2]> {
        let mut allowed = self.moves.allowed.clone();
        allowed[at] = [r == 0, r == 1];
        allowed
    }

    /// Where the hands get stuck with stroke `at` in that role, in the best sticking that has it there.
    fn stuck(&self, bpm: f64, at: usize, r: usize) -> Option<Reason> {
        let form = self.cheapest(bpm, Aim::Whatever, &self.pinned(at, r))?;
        let (pulse, stroke) = self.moves.strokes[at];
        let (load, to) = self.peak(&form.roles, bpm);
        let others_open =
            (0..self.moves.len()).any(|i| i != at && self.moves.allowed[i] == [true; 2]);
        let start = format!(
            "{} on {} with the {}: {}",
            sentence(&named(stroke)),
            said(self.pattern, pulse),
            hand(r, self.handed).name(),
            if others_open { "even at best " } else { "" }
        );
        if load > 1.0 {
            let from = self.before(&form.roles, to);
            return Some(Reason {
                text: format!("{start}{}.", movement(self, &form.roles, from, to, bpm)),
                pulses: vec![self.moves.strokes[from].0, self.moves.strokes[to].0],
            });
        }
        let crossing = self.crossing(&form.roles, bpm)?;
        let strokes = &self.moves.strokes;
        let over = hand(form.roles[crossing.at], self.handed);
        Some(Reason {
            text: format!("{start}{}.", crossing.words(self.pattern, strokes, over)),
            pulses: crossing.pulses(strokes),
        })
    }
}
