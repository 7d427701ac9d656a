//! The sticking of least effort, and how fast a sticking goes.

use super::model::Model;
use super::moves::{Moves, Reach, STRONG, WEAK, hand};
use super::reason::{self, StickingReason};
use super::solve::{Aim, StepCosts, solve};
use super::{Handed, Level, Player};
use crate::rhythm::{Hand, Pattern};
use std::sync::LazyLock;

/// A sticking of a whole cycle.
#[derive(Clone, Debug, PartialEq)]
pub struct Sticking {
    /// The hand of each pulse; `None` where nothing is struck.
    pub hands: Vec<Option<Hand>>,
    /// Peak load at the tempo asked for: the greatest share of its time that a movement needs. Above 1 it is too fast.
    pub load: f64,
    /// The pulse at the end of the movement with the peak load; `None` where nothing is struck.
    pub tightest: Option<usize>,
    /// Fastest tempo by load alone, in beats a minute: with `need` the time that each movement of a hand needs in
    /// milliseconds, `60000 / (pulses a beat x max(need / pulses since that hand's last stroke))`. An estimate;
    /// infinite where nothing is struck.
    pub ceiling: f64,
    /// Fastest tempo at which this sticking works: no overload and no crossed hands. An estimate, never above `ceiling`.
    pub works_to: f64,
    /// At the tempo asked for the hands do not get there in time, or cross. What is shown is then the form to learn
    /// at a slower tempo, never one invented for the speed.
    pub too_fast: bool,
    /// Where it is too fast, a form that works at this tempo: one with other hands than were written, or hand to hand.
    pub instead: Option<Vec<Option<Hand>>>,
    /// A light stroke that is better left out at this tempo.
    pub leave_out: Option<LeaveOut>,
    /// Why, in words, with the pulses.
    pub reasons: Vec<StickingReason>,
}

/// A light stroke that may become a rest with clear relief for the hands.
#[derive(Clone, Debug, PartialEq)]
pub struct LeaveOut {
    /// Where the stroke is, from 0 in the pattern.
    pub pulse: usize,
    /// The hands without it, one entry a pulse.
    pub hands: Vec<Option<Hand>>,
    /// Peak load without it.
    pub load: f64,
    /// Fastest tempo at which the hands without it work, beats a minute.
    pub works_to: f64,
}

impl LeaveOut {
    /// Pulses that go to the other hand than in `hands`.
    pub fn changed(&self, hands: &[Option<Hand>]) -> Vec<usize> {
        (0..self.hands.len())
            .filter(|p| *p != self.pulse && self.hands[*p] != hands[*p])
            .collect()
    }
}

/// The sticking of least effort for `player` at `bpm` beats a minute (see [`crate::rhythm::Grid`] for the beat).
/// Hands that are written in the pattern are kept; the rest is found. A `bpm` that is not a positive number counts as 1.
pub fn stick(pattern: &Pattern, bpm: f64, player: &Player) -> Sticking {
    DEFAULT.stick(pattern, bpm, player)
}

/// Fastest tempo in beats a minute at which any sticking that keeps the written hands works, however unusual: the
/// highest of all [`Sticking::works_to`]. An estimate; infinite where nothing is struck.
pub fn fastest(pattern: &Pattern, player: &Player) -> f64 {
    DEFAULT.fastest(pattern, player)
}

/// The model with its distances worked out.
#[derive(Clone, Debug)]
pub struct Solver {
    pub(super) model: Model,
    pub(super) reach: Reach,
}

/// The solver with the numbers of [`Model::DEFAULT`].
pub(super) static DEFAULT: LazyLock<Solver> = LazyLock::new(|| Solver::new(Model::DEFAULT));

/// How much ease counts, from the first try to the last.
const EASE_SHARES: [f64; 7] = [1.0, 0.75, 0.55, 0.4, 0.3, 0.2, 0.1];

/// Habit alone, among what works.
pub(super) const HABIT: Aim = Aim::Works(0.0);

/// Slowest tempo at which forms are compared, beats a minute: here nearly all is possible and habit decides.
const LEISURE: f64 = 60.0;

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
    pub ceiling: f64,
    /// Fastest tempo without overload or crossing.
    pub limit: f64,
}

impl CandidateSticking {
    /// Cost of habit in all bars together.
    pub(super) fn total_habit(&self) -> f64 {
        self.habit.iter().sum()
    }
}

impl Solver {
    /// A solver for a model of its own.
    pub fn new(model: Model) -> Solver {
        let reach = Reach::new(&model);
        Solver { model, reach }
    }

    /// The pattern's movements; `None` where nothing is struck.
    pub(super) fn case<'a>(
        &'a self,
        pattern: &'a Pattern,
        level: Level,
        handed: Handed,
    ) -> Option<StickingProblem<'a>> {
        let moves = Moves::new(pattern, level, handed, &self.model, &self.reach)?;
        Some(StickingProblem {
            pattern,
            moves,
            model: &self.model,
            handed,
        })
    }

    /// See [`stick`].
    pub fn stick(&self, pattern: &Pattern, bpm: f64, player: &Player) -> Sticking {
        let bpm = sane(bpm);
        let Some(case) = self.case(pattern, player.level, player.handed) else {
            return Sticking {
                hands: vec![None; pattern.pulses()],
                load: 0.0,
                tightest: None,
                ceiling: f64::INFINITY,
                works_to: f64::INFINITY,
                too_fast: false,
                instead: None,
                leave_out: None,
                reasons: Vec::new(),
            };
        };
        let (form, too_fast) = case.form(bpm, &case.moves.allowed);
        let (load, tightest) = case.peak(&form.roles, bpm);
        let free = vec![[true; 2]; case.moves.len()];
        let instead = (too_fast && case.moves.allowed != free)
            .then(|| case.form(bpm, &free))
            .and_then(|(other, fails)| (!fails).then_some(other.roles))
            .or_else(|| case.turns(bpm).filter(|_| too_fast))
            .filter(|roles| *roles != form.roles)
            .map(|roles| case.hands(&roles));
        let mut sticking = Sticking {
            hands: case.hands(&form.roles),
            load,
            tightest: Some(case.moves.strokes[tightest].0),
            ceiling: form.ceiling,
            works_to: form.limit,
            too_fast,
            instead,
            leave_out: None,
            reasons: Vec::new(),
        };
        if load > self.model.crowded {
            sticking.leave_out = self.leave_out(pattern, bpm, player, &sticking, &case);
        }
        sticking.reasons = reason::explain(&case, &form.roles, bpm, player, &sticking);
        let rocking = self.rocking(pattern, player, &form, &case);
        sticking.reasons.extend(rocking);
        sticking
    }

    /// The light stroke whose leaving out helps clearly: one that leaves the other hands as they are before any
    /// other, then the one that helps most.
    fn leave_out(
        &self,
        pattern: &Pattern,
        bpm: f64,
        player: &Player,
        whole: &Sticking,
        case: &StickingProblem,
    ) -> Option<LeaveOut> {
        // Clear relief is to work at a tempo as much faster. Where the hands get stuck there, one of the strokes that
        // they get stuck on has to go; no other helps.
        let faster = bpm / (whole.load - self.model.relief);
        let jam = case.weights(faster, HABIT, &case.moves.allowed).jam();
        let strokes = jam.unwrap_or_else(|| (0..case.moves.len()).collect());
        let mut best: Option<(bool, LeaveOut)> = None;
        for i in strokes {
            let (pulse, stroke) = case.moves.strokes[i];
            if stroke.carries() {
                continue;
            }
            let mut cells = pattern.cells().to_vec();
            cells[pulse] = None;
            let Ok(less) = Pattern::new(pattern.grid(), cells) else {
                continue;
            };
            let Some(case) = self.case(&less, player.level, player.handed) else {
                continue;
            };
            let (form, too_fast) = case.form(bpm, &case.moves.allowed);
            let (load, _) = case.peak(&form.roles, bpm);
            if too_fast || load > whole.load - self.model.relief {
                continue;
            }
            let leave = LeaveOut {
                pulse,
                hands: case.hands(&form.roles),
                load,
                works_to: form.limit,
            };
            let moved = !leave.changed(&whole.hands).is_empty();
            if best
                .as_ref()
                .is_none_or(|(m, b)| (moved, load) < (*m, b.load))
            {
                best = Some((moved, leave));
            }
        }
        best.map(|(_, leave)| leave)
    }

    /// See [`fastest`].
    pub fn fastest(&self, pattern: &Pattern, player: &Player) -> f64 {
        let Some(case) = self.case(pattern, player.level, player.handed) else {
            return f64::INFINITY;
        };
        let mut form = case.usual(&case.moves.allowed);
        while let Some(next) = case.faster(&form, &case.moves.allowed) {
            if next.limit <= form.limit {
                break;
            }
            form = next;
        }
        form.limit
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

/// A tempo that can be reckoned with.
pub(super) fn sane(bpm: f64) -> f64 {
    if bpm.is_finite() && bpm > 0.0 {
        bpm
    } else {
        1.0
    }
}

impl StickingProblem<'_> {
    pub(super) fn pulse_ms(&self, bpm: f64) -> f64 {
        1000.0 * self.pattern.grid().pulse_seconds(bpm)
    }

    /// The form for a tempo and whether even that is too fast: the easiest one that works, unless it strays further
    /// from habit than players do; then ease counts for less and less; above that the last usual one.
    pub(super) fn form(&self, bpm: f64, allowed: &[[bool; 2]]) -> (CandidateSticking, bool) {
        if let Some(roles) = settled(allowed) {
            let form = self.measure(roles);
            let too_fast = form.limit < bpm;
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
            match self.cheapest(bpm, Aim::Works(share), allowed) {
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
            let slow = form.limit < bpm;
            if !familiar(&next) || next.limit <= form.limit {
                break;
            }
            form = next;
            // The first form above the tempo, since it may be the easier one.
            if !slow {
                break;
            }
        }
        if form.limit < bpm {
            return known.map_or((form, true), |known| (known, false));
        }
        let cost = |form: &CandidateSticking| form.total_habit() + self.strain(&form.roles, bpm);
        match known {
            Some(known) if cost(&known) <= cost(&form) => (known, false),
            _ => (form, false),
        }
    }

    /// What hurry costs in all movements of a sticking at a tempo.
    fn strain(&self, roles: &[usize], bpm: f64) -> f64 {
        let mut sum = 0.0;
        self.each_move(roles, |from, to| {
            let over = (self.load(roles, from, to, bpm) - self.model.ease).max(0.0);
            sum += self.model.strain * (over / (1.0 - self.model.ease)).powi(2);
        });
        sum
    }

    /// The hands in turn, the stronger one first or else the weaker one, where that works at a tempo.
    fn turns(&self, bpm: f64) -> Option<Vec<usize>> {
        [STRONG, WEAK].into_iter().find_map(|first| {
            let roles: Vec<usize> = (0..self.moves.len()).map(|i| (first + i) % 2).collect();
            (self.measure(roles.clone()).limit >= bpm).then_some(roles)
        })
    }

    /// The form of least habit where there is all the time in the world.
    fn usual(&self, allowed: &[[bool; 2]]) -> CandidateSticking {
        let mut bpm = LEISURE;
        for _ in 0..10 {
            if let Some(form) = self.cheapest(bpm, HABIT, allowed) {
                return form;
            }
            bpm /= 2.0;
        }
        // Written hands that cross whatever the tempo.
        let roles = self.cheapest(LEISURE, Aim::Whatever, allowed);
        roles.unwrap_or_else(|| self.measure(vec![0; self.moves.len()]))
    }

    /// The form of least habit above the limit of another.
    fn faster(&self, form: &CandidateSticking, allowed: &[[bool; 2]]) -> Option<CandidateSticking> {
        self.cheapest(form.limit * (1.0 + 1e-7), HABIT, allowed)
    }

    /// The cheapest sticking at a tempo under an aim.
    pub(super) fn cheapest(
        &self,
        bpm: f64,
        aim: Aim,
        allowed: &[[bool; 2]],
    ) -> Option<CandidateSticking> {
        let (_, roles) = solve(&self.weights(bpm, aim, allowed))?;
        Some(self.measure(roles))
    }

    pub(super) fn weights<'b>(
        &'b self,
        bpm: f64,
        aim: Aim,
        allowed: &'b [[bool; 2]],
    ) -> StepCosts<'b> {
        StepCosts::new(&self.moves, self.model, self.pulse_ms(bpm), aim, allowed)
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
        let ceiling = 60_000.0 / (per_beat * longest);
        let by_crossing = if crossing.is_finite() {
            60_000.0 * crossing / (per_beat * self.model.cross_within)
        } else {
            f64::INFINITY
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
    pub(super) fn load(&self, roles: &[usize], from: usize, to: usize, bpm: f64) -> f64 {
        let time = self.moves.gap(from, to) as f64 * self.pulse_ms(bpm);
        self.moves.need(roles[to], from, to) / time
    }

    /// Peak load at a tempo and the stroke at the end of that movement.
    pub(super) fn peak(&self, roles: &[usize], bpm: f64) -> (f64, usize) {
        let mut peak = (0.0, 0);
        self.each_move(roles, |from, to| {
            let load = self.load(roles, from, to, bpm);
            if load > peak.0 {
                peak = (load, to);
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
}
