//! Where a heel for a tip would let a hand rock.

use super::Player;
use super::moves::is_light_double;
use super::problem::{CandidateSticking, StickingProblem};
use super::reason::{next_door, whole};
use super::stick::Solver;
use super::words::{name, said_all};
use crate::rhythm::{Pattern, Reason, Stroke, Tempo, Tone};

/// How much faster heels for tips must let a sticking go before that is mentioned, as a share: our choice.
const WORTH_A_WORD: f64 = 0.05;

impl Solver {
    /// Where heels for tips would lift the ceiling of a sticking.
    pub(super) fn rocking(
        &self,
        pattern: &Pattern,
        player: &Player,
        form: &CandidateSticking,
        case: &StickingProblem,
    ) -> Option<Reason> {
        let found = stiff(case, &form.roles);
        let first = *found.first()?;
        let (role, tone) = (form.roles[first], case.moves.strokes[first].1.tone);
        // One sentence speaks of one hand and one tone.
        let alike = |i: &usize| form.roles[*i] == role && case.moves.strokes[*i].1.tone == tone;
        let stiff: Vec<usize> = found.into_iter().filter(alike).collect();
        let pulses: Vec<usize> = stiff.iter().map(|i| case.moves.strokes[*i].0).collect();
        let other = if tone == Tone::Tip {
            Tone::Heel
        } else {
            Tone::Tip
        };
        let loose = pattern.map(|p, s| {
            let tone = if pulses.contains(&p) { other } else { s.tone };
            Some(Stroke { tone, ..s })
        });
        let limit = self
            .case(&loose, player.level, player.handed)?
            .measure(form.roles.clone())
            .limit;
        (limit > form.limit * (1.0 + WORTH_A_WORD))
            .then(|| loosened(case, role, (tone, other), pulses, limit))
    }
}

/// Strokes at which a heel for a tip, or a tip for a heel, would let a hand rock: the first of two equal ones that one
/// hand plays in a row.
fn stiff(case: &StickingProblem, roles: &[usize]) -> Vec<usize> {
    let mut stiff: Vec<usize> = Vec::new();
    case.each_move(roles, |from, to| {
        let again = is_light_double(case.moves.strokes[from].1, case.moves.strokes[to].1);
        // Of three in a row the middle one alone.
        if again && next_door(case, from, to) && stiff.last() != Some(&from) {
            stiff.push(from);
        }
    });
    stiff
}

/// What a heel for a tip would do: `limit` is the fastest tempo with it.
fn loosened(
    case: &StickingProblem,
    role: usize,
    (tone, loose): (Tone, Tone),
    pulses: Vec<usize>,
    limit: Tempo,
) -> Reason {
    let (one, other) = (loose.name(), tone.name());
    Reason::new(
        format!(
            "A {one} for the {other} on {} would let the {} rock: that works up to about {:.0} {} notes a minute.",
            said_all(case.pattern, &pulses),
            name(role, case.handed),
            whole(limit),
            case.pattern.grid().beat_unit()
        ),
        pulses,
    )
}
