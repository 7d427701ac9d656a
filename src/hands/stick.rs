//! The sticking of least effort, and how fast a sticking goes.

use super::model::Model;
use super::moves::{Moves, Reach};
use super::problem::{HABIT, StickingProblem};
use super::reason;
use super::{Handed, Level, Player};
use crate::rhythm::{Hand, Pattern, Reason, Tempo};
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
    /// Fastest tempo by load alone, beats a minute: with `need` the time that each movement of a hand needs in
    /// milliseconds, `60000 / (pulses a beat x max(need / pulses since that hand's last stroke))`. An estimate;
    /// unlimited where nothing is struck.
    pub ceiling: Tempo,
    /// Fastest tempo at which this sticking works: no overload and no crossed hands. An estimate, never above `ceiling`.
    pub works_to: Tempo,
    /// At the tempo asked for the hands do not get there in time, or cross. What is shown is then the form to learn
    /// at a slower tempo, never one invented for the speed.
    pub too_fast: bool,
    /// Where it is too fast, a form that works at this tempo: one with other hands than were written, or hand to hand.
    pub instead: Option<Vec<Option<Hand>>>,
    /// A light stroke that is better left out at this tempo.
    pub leave_out: Option<LeaveOut>,
    /// Why, in words, with the pulses.
    pub reasons: Vec<Reason>,
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
    /// Fastest tempo at which the hands without it work.
    pub works_to: Tempo,
}

impl LeaveOut {
    /// Pulses that go to the other hand than in `hands`.
    pub fn changed(&self, hands: &[Option<Hand>]) -> Vec<usize> {
        (0..self.hands.len())
            .filter(|p| *p != self.pulse && self.hands[*p] != hands[*p])
            .collect()
    }
}

/// The sticking of least effort for `player` at `tempo`.
/// Hands that are written in the pattern are kept; the rest is found.
pub fn stick(pattern: &Pattern, tempo: Tempo, player: &Player) -> Sticking {
    DEFAULT.stick(pattern, tempo, player)
}

/// Fastest tempo at which any sticking that keeps the written hands works, however unusual: the
/// highest of all [`Sticking::works_to`]. An estimate; unlimited where nothing is struck.
pub fn fastest(pattern: &Pattern, player: &Player) -> Tempo {
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
    pub fn stick(&self, pattern: &Pattern, tempo: Tempo, player: &Player) -> Sticking {
        let Some(case) = self.case(pattern, player.level, player.handed) else {
            return Sticking {
                hands: vec![None; pattern.pulses()],
                load: 0.0,
                tightest: None,
                ceiling: Tempo::UNLIMITED,
                works_to: Tempo::UNLIMITED,
                too_fast: false,
                instead: None,
                leave_out: None,
                reasons: Vec::new(),
            };
        };
        let (form, too_fast) = case.form(tempo, &case.moves.allowed);
        let (load, _, tightest) = case.peak(&form.roles, tempo);
        let free = vec![[true; 2]; case.moves.len()];
        let instead = (too_fast && case.moves.allowed != free)
            .then(|| case.form(tempo, &free))
            .and_then(|(other, fails)| (!fails).then_some(other.roles))
            .or_else(|| case.turns(tempo).filter(|_| too_fast))
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
            sticking.leave_out = self.leave_out(pattern, tempo, player, &sticking, &case);
        }
        sticking.reasons = reason::explain(&case, &form.roles, tempo, player, &sticking);
        let rocking = self.rocking(pattern, player, &form, &case);
        sticking.reasons.extend(rocking);
        sticking
    }

    /// The light stroke whose leaving out helps clearly: one that leaves the other hands as they are before any
    /// other, then the one that helps most.
    fn leave_out(
        &self,
        pattern: &Pattern,
        tempo: Tempo,
        player: &Player,
        whole: &Sticking,
        case: &StickingProblem,
    ) -> Option<LeaveOut> {
        // Clear relief is to work at a tempo as much faster. Where the hands get stuck there, one of the strokes that
        // they get stuck on has to go; no other helps.
        let faster = tempo / (whole.load - self.model.relief);
        let stuck = case.weights(faster, HABIT, &case.moves.allowed).stuck_on();
        let strokes = stuck.unwrap_or_else(|| (0..case.moves.len()).collect());
        let strokes = strokes.into_iter().map(|i| case.moves.strokes[i]);
        let light = strokes.filter(|(_, stroke)| stroke.is_light());
        let left_out = light.filter_map(|(pulse, _)| {
            let less = pattern.without(&[pulse]);
            let case = self.case(&less, player.level, player.handed)?;
            let (form, too_fast) = case.form(tempo, &case.moves.allowed);
            let (load, ..) = case.peak(&form.roles, tempo);
            let helps = !too_fast && load <= whole.load - self.model.relief;
            helps.then(|| LeaveOut {
                pulse,
                hands: case.hands(&form.roles),
                load,
                works_to: form.limit,
            })
        });
        let moves = |leave: &LeaveOut| !leave.changed(&whole.hands).is_empty();
        left_out.min_by(|a, b| {
            let by_hands = moves(a).cmp(&moves(b));
            by_hands.then(a.load.total_cmp(&b.load))
        })
    }

    /// See [`fastest`].
    pub fn fastest(&self, pattern: &Pattern, player: &Player) -> Tempo {
        let Some(case) = self.case(pattern, player.level, player.handed) else {
            return Tempo::UNLIMITED;
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
