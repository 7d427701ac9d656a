//! A pattern put to the model: its forms, what they cost, and how fast they go.

use super::Handed;
use super::model::Model;
use super::moves::{Moves, STRONG, WEAK, hand, stands};
use super::solve::{Aim, StepCosts, crosses, solve};
use super::words::Crossing;
use crate::rhythm::{Hand, Pattern, Tempo};

/// How much ease counts, from the first try to the last.
const EASE_SHARES: [f64; 7] = [1.0, 0.75, 0.55, 0.4, 0.3, 0.2, 0.1];

/// Habit alone, among what works.
pub(super) const HABIT: Aim = Aim::Works(0.0);

/// Slowest tempo at which forms are compared: here nearly all is possible and habit decides.
const LEISURE: Tempo = Tempo::new(60.0);

/// One pattern put to the model, in roles instead of hands.
pub(super) struct StickingProblem<'a> {
    pub pattern: &'a Pattern,
    pub moves: Moves,
    pub model: &'a Model,
    pub handed: Handed,
}

/// A sticking in roles with what it costs tempo apart.
#[derive(Clone, Debug)]
pub(super) struct CandidateSticking {
    pub roles: Vec<usize>,
    /// Cost of habit in each bar.
    pub habit: Vec<f64>,
    /// Fastest tempo without overload.
    pub ceiling: Tempo,
    /// Fastest tempo without overload or crossing.
    pub limit: Tempo,
}

impl CandidateSticking {
    /// Cost of habit in all bars together.
    pub(super) fn total_habit(&self) -> f64 {
        self.habit.iter().sum()
    }
}

/// The roles where each stroke may have one hand only.
pub(super) fn settled(allowed: &[[bool; 2]]) -> Option<Vec<usize>> {
    let role = |a: &[bool; 2]| match a {
        [true, false] => Some(WEAK),
        [false, true] => Some(STRONG),
        _ => None,
    };
    allowed.iter().map(role).collect()
}

impl StickingProblem<'_> {
    pub(super) fn pulse_ms(&self, tempo: Tempo) -> f64 {
        tempo.pulse(self.pattern.grid()).millis()
    }

    /// The form for a tempo and whether even that is too fast: the easiest one that works, unless it strays further
    /// from habit than players do; then ease counts for less and less; above that the last usual one.
    pub(super) fn form(&self, tempo: Tempo, allowed: &[[bool; 2]]) -> (CandidateSticking, bool) {
        if let Some(roles) = settled(allowed) {
            let form = self.measure(roles);
            let too_fast = form.limit < tempo;
            return (form, too_fast);
        }
        let usual = self.usual(allowed);
        let familiar = |form: &CandidateSticking| {
            let bars = form.habit.iter().zip(&usual.habit);
            bars.into_iter()
                .all(|(h, least)| *h <= least + self.model.relearn)
        };
        let mut known: Option<CandidateSticking> = None;
        for share in EASE_SHARES {
            match self.cheapest(tempo, Aim::Works(share), allowed) {
                Some(easy) if familiar(&easy) && share == EASE_SHARES[0] => return (easy, false),
                Some(easy) if familiar(&easy) => {
                    known = Some(easy);
                    break;
                }
                Some(_) => {}
                None => break,
            }
        }
        let mut form = usual.clone();
        while let Some(next) = self.faster(&form, allowed) {
            let slow = form.limit < tempo;
            if !familiar(&next) || next.limit <= form.limit {
                break;
            }
            form = next;
            // The first form above the tempo, since it may be the easier one.
            if !slow {
                break;
            }
        }
        if form.limit < tempo {
            return known.map_or((form, true), |known| (known, false));
        }
        let cost = |form: &CandidateSticking| form.total_habit() + self.strain(&form.roles, tempo);
        match known {
            Some(known) if cost(&known) <= cost(&form) => (known, false),
            _ => (form, false),
        }
    }

    /// What hurry costs in all movements of a sticking at a tempo.
    fn strain(&self, roles: &[usize], tempo: Tempo) -> f64 {
        let mut sum = 0.0;
        self.each_move(roles, |from, to| {
            let over = (self.load(roles, from, to, tempo) - self.model.ease).max(0.0);
            sum += self.model.strain * (over / (1.0 - self.model.ease)).powi(2);
        });
        sum
    }

    /// The hands in turn, the stronger one first or else the weaker one, where that works at a tempo.
    pub(super) fn turns(&self, tempo: Tempo) -> Option<Vec<usize>> {
        [STRONG, WEAK].into_iter().find_map(|first| {
            let roles: Vec<usize> = (0..self.moves.len()).map(|i| (first + i) % 2).collect();
            (self.measure(roles.clone()).limit >= tempo).then_some(roles)
        })
    }

    /// The form of least habit where there is all the time in the world.
    pub(super) fn usual(&self, allowed: &[[bool; 2]]) -> CandidateSticking {
        let mut tempo = LEISURE;
        for _ in 0..10 {
            if let Some(form) = self.cheapest(tempo, HABIT, allowed) {
                return form;
            }
            tempo = tempo / 2.0;
        }
        // Written hands that cross whatever the tempo.
        let roles = self.cheapest(LEISURE, Aim::Whatever, allowed);
        roles.unwrap_or_else(|| self.measure(vec![0; self.moves.len()]))
    }

    /// The form of least habit above the limit of another.
    pub(super) fn faster(
        &self,
        form: &CandidateSticking,
        allowed: &[[bool; 2]],
    ) -> Option<CandidateSticking> {
        self.cheapest(form.limit * (1.0 + 1e-7), HABIT, allowed)
    }

    /// The cheapest sticking at a tempo under an aim.
    pub(super) fn cheapest(
        &self,
        tempo: Tempo,
        aim: Aim,
        allowed: &[[bool; 2]],
    ) -> Option<CandidateSticking> {
        let (_, roles) = solve(&self.weights(tempo, aim, allowed))?;
        Some(self.measure(roles))
    }

    pub(super) fn weights<'b>(
        &'b self,
        tempo: Tempo,
        aim: Aim,
        allowed: &'b [[bool; 2]],
    ) -> StepCosts<'b> {
        StepCosts::new(&self.moves, self.model, self.pulse_ms(tempo), aim, allowed)
    }

    /// What a sticking costs tempo apart and how fast it goes.
    pub(super) fn measure(&self, roles: Vec<usize>) -> CandidateSticking {
        let n = roles.len();
        let per_bar = self.pattern.grid().pulses_per_bar();
        let mut habit = vec![0.0; self.pattern.bars()];
        let mut longest = 0.0_f64;
        // Crossed hands forbid all tempos at which both times are shorter than the window.
        let mut crossing = f64::INFINITY;
        self.each_move(&roles, |from, to| {
            let (moves, role) = (&self.moves, roles[to]);
            let bar = &mut habit[moves.strokes[to].0 / per_bar];
            *bar += moves.habit(role, moves.sort[from], to);
            longest = longest.max(moves.need(role, from, to) / moves.gap(from, to) as f64);
            crossing = crossing.min(moves.crossed(role, from, to));
            if from == (to + n - 1) % n {
                *bar += self.moves.double[roles[to]][to];
            }
        });
        let per_beat = self.pattern.grid().pulses_per_beat() as f64;
        let ceiling = Tempo::new(60_000.0 / (per_beat * longest));
        let by_crossing = if crossing.is_finite() {
            Tempo::new(60_000.0 * crossing / (per_beat * self.model.cross_within))
        } else {
            Tempo::UNLIMITED
        };
        CandidateSticking {
            roles,
            habit,
            ceiling,
            limit: ceiling.min(by_crossing),
        }
    }

    /// Calls `f(from, to)` for each movement of each hand, round the cycle.
    pub(super) fn each_move(&self, roles: &[usize], mut f: impl FnMut(usize, usize)) {
        for role in 0..2 {
            let Some(mut from) = roles.iter().rposition(|r| *r == role) else {
                continue;
            };
            for to in (0..roles.len()).filter(|i| roles[*i] == role) {
                f(from, to);
                from = to;
            }
        }
    }

    /// Load of one movement at a tempo.
    pub(super) fn load(&self, roles: &[usize], from: usize, to: usize, tempo: Tempo) -> f64 {
        let time = self.moves.gap(from, to) as f64 * self.pulse_ms(tempo);
        self.moves.need(roles[to], from, to) / time
    }

    /// Peak load at a tempo and the strokes at both ends of that movement.
    pub(super) fn peak(&self, roles: &[usize], tempo: Tempo) -> (f64, usize, usize) {
        let mut peak = (0.0, 0, 0);
        self.each_move(roles, |from, to| {
            let load = self.load(roles, from, to, tempo);
            if load > peak.0 {
                peak = (load, from, to);
            }
        });
        peak
    }

    /// Roles as hands, one entry a pulse.
    pub(super) fn hands(&self, roles: &[usize]) -> Vec<Option<Hand>> {
        let mut hands = vec![None; self.pattern.pulses()];
        for ((pulse, _), r) in self.moves.strokes.iter().zip(roles) {
            hands[*pulse] = Some(hand(*r, self.handed));
        }
        hands
    }

    /// The first place at which the hands cross at a tempo.
    pub(super) fn crossing(&self, roles: &[usize], tempo: Tempo) -> Option<Crossing> {
        let (n, pulse_ms) = (roles.len(), self.pulse_ms(tempo));
        let mut first = None;
        self.each_move(roles, |from, to| {
            let crossed = || crosses(&self.moves, self.model, roles[to], (from, to), pulse_ms);
            if first.is_some() || !crossed() {
                return;
            }
            let side = |i: usize| match roles[to] == STRONG {
                true => stands(self.moves.strokes[i].1.drum),
                false => -stands(self.moves.strokes[i].1.drum),
            };
            let between = (1..n).map(|d| (from + d) % n).take_while(|i| *i != to);
            let beyond = between.filter(|i| side(*i) > side(from).max(side(to)));
            let worst = |i: &usize| self.moves.gap(from, *i).max(self.moves.gap(*i, to));
            first = beyond.min_by_key(worst).map(|at| Crossing { at, from, to });
        });
        first
    }
}
