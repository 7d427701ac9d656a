//! Reasons in a player's words.

use super::Player;
use super::moves::{STRONG, WEAK, hand, rocks};
use super::problem::StickingProblem;
use super::stick::Sticking;
use super::words::{movement, name, named, said_all};
use crate::rhythm::{Drum, Hand, Reason, Tempo, Tone};

/// Everything worth saying about a sticking.
pub(super) fn explain(
    case: &StickingProblem,
    roles: &[usize],
    tempo: Tempo,
    player: &Player,
    sticking: &Sticking,
) -> Vec<Reason> {
    let mut reasons = Vec::new();
    rocking(case, roles, &mut reasons);
    low_drum(case, roles, &mut reasons);
    alternation(case, roles, &mut reasons);
    accents(case, roles, &mut reasons);
    speed(case, roles, tempo, player, sticking, &mut reasons);
    reasons
}

/// Heel (or bass) and tip in turn in one hand.
fn rocking(case: &StickingProblem, roles: &[usize], reasons: &mut Vec<Reason>) {
    for (role, low) in [WEAK, STRONG]
        .into_iter()
        .flat_map(|r| [Tone::Heel, Tone::Bass].map(|low| (r, low)))
    {
        let mut pulses = Vec::new();
        case.each_move(roles, |from, to| {
            let (a, b) = (case.moves.strokes[from], case.moves.strokes[to]);
            if roles[to] == role && rocks(a.1, b.1) == Some(low) && next_door(case, from, to) {
                pulses.extend([a.0, b.0]);
            }
        });
        if pulses.is_empty() {
            continue;
        }
        pulses.sort_unstable();
        pulses.dedup();
        reasons.push(Reason::new(
            format!(
                "The {} stays on the head and rocks between {} and tip on {}.",
                name(role, case.handed),
                low.name(),
                said_all(case.pattern, &pulses)
            ),
            pulses,
        ));
    }
}

/// Whether two strokes follow each other without another stroke or a long gap between.
pub(super) fn next_door(case: &StickingProblem, from: usize, to: usize) -> bool {
    let n = case.moves.len();
    let near = (case.pattern.grid().pulses_per_beat() / 2).max(1);
    from == (to + n - 1) % n && case.moves.gap(from, to) <= near
}

/// How a hand gets to the low drum.
fn low_drum(case: &StickingProblem, roles: &[usize], reasons: &mut Vec<Reason>) {
    let n = roles.len();
    case.each_move(roles, |from, to| {
        let ((since, a), (at, b)) = (case.moves.strokes[from], case.moves.strokes[to]);
        let before = (to + n - 1) % n;
        // A hand that follows the other one to the low drum is told by the run that it is in.
        let follows = case.moves.strokes[before].1.drum == Drum::Tumbadora;
        if b.drum != Drum::Tumbadora || a.drum == b.drum || follows {
            return;
        }
        let (mine, other) = (name(roles[to], case.handed), name(1 - roles[to], case.handed));
        let text = if roles[before] == roles[to] {
            format!(
                "The {mine} goes straight from {} on {} to the low drum on {}.",
                named(a),
                case.pattern.spoken(since),
                case.pattern.spoken(at)
            )
        } else {
            format!(
                "The {other} plays {} on {}, which leaves the {mine} free to reach the low drum on {}.",
                named(case.moves.strokes[before].1),
                case.pattern.spoken(case.moves.strokes[before].0),
                case.pattern.spoken(at)
            )
        };
        reasons.push(Reason::new(text, vec![case.moves.strokes[before].0, at]));
    });
}

/// Rows of three or more strong strokes whose hands take turns.
fn alternation(case: &StickingProblem, roles: &[usize], reasons: &mut Vec<Reason>) {
    let strokes = &case.moves.strokes;
    let mut start = 0;
    for i in 1..=strokes.len() {
        let on = i < strokes.len()
            && strokes[i].1.asks_for_stronger_hand()
            && strokes[i - 1].1.asks_for_stronger_hand()
            && roles[i] != roles[i - 1]
            && next_door(case, i - 1, i);
        if on {
            continue;
        }
        if i - start >= 3 {
            let pulses: Vec<usize> = strokes[start..i].iter().map(|(p, _)| *p).collect();
            reasons.push(Reason::new(
                format!(
                    "The hands take turns on {}, so that neither strikes twice in a row.",
                    said_all(case.pattern, &pulses)
                ),
                pulses,
            ));
        }
        start = i;
    }
}

/// Strong strokes in the stronger hand, and those that had to move over.
fn accents(case: &StickingProblem, roles: &[usize], reasons: &mut Vec<Reason>) {
    let of = |role: usize| -> Vec<usize> {
        let strokes = case.moves.strokes.iter().zip(roles);
        strokes
            .filter(|((_, s), r)| s.asks_for_stronger_hand() && **r == role)
            .map(|((p, _), _)| *p)
            .collect()
    };
    let (mine, others) = (of(STRONG), of(WEAK));
    if !mine.is_empty() && others.is_empty() {
        reasons.push(Reason::new(
            format!(
                "The {}, the stronger hand, takes the strokes that carry: {}.",
                name(STRONG, case.handed),
                said_all(case.pattern, &mine)
            ),
            mine,
        ));
    }
}

/// A ceiling as a whole number, never above what it is but for rounding.
pub(super) fn whole(ceiling: Tempo) -> Tempo {
    Tempo::new(ceiling.bpm() + 1e-6).floor()
}

/// Share of its time that the tightest movement takes, below which no movement is named: there is none to look out
/// for.
const EASY: f64 = 0.5;
/// Tempo above which a ceiling is not mentioned, since nobody plays there: our choice.
const PLAYED: Tempo = Tempo::new(400.0);

/// The tightest movement, the ceiling and what to do above it.
fn speed(
    case: &StickingProblem,
    roles: &[usize],
    tempo: Tempo,
    player: &Player,
    sticking: &Sticking,
    reasons: &mut Vec<Reason>,
) {
    let (load, from, to) = case.peak(roles, tempo);
    let pulses = vec![case.moves.strokes[from].0, case.moves.strokes[to].0];
    let unit = case.pattern.grid().beat_unit();
    let most = format!(
        "About {:.0} {unit} notes a minute is the most for a {} player",
        whole(sticking.works_to),
        player.level.name()
    );
    if sticking.too_fast {
        let crossed = case.crossing(roles, tempo).filter(|_| load <= 1.0);
        let (why, pulses) = match crossed {
            Some(c) => (
                c.words(
                    case.pattern,
                    &case.moves.strokes,
                    hand(roles[c.at], case.handed),
                ),
                c.pulses(&case.moves.strokes),
            ),
            None => (movement(case, roles, from, to, tempo), pulses),
        };
        reasons.push(Reason::new(
            format!("Too fast for this sticking at {tempo:.0}: {why}. {most}."),
            pulses,
        ));
        if let Some(instead) = &sticking.instead {
            let changed: Vec<usize> = (0..instead.len())
                .filter(|p| instead[*p] != sticking.hands[*p])
                .collect();
            let struck: Vec<Hand> = instead.iter().flatten().copied().collect();
            let turns = struck.windows(2).all(|w| w[0] != w[1]);
            reasons.push(Reason::new(
                match struck.first() {
                    Some(first) if turns && struck.len() > 2 => format!(
                        "At this tempo hand to hand works, with the {} first.",
                        first.name()
                    ),
                    _ => format!(
                        "At this tempo the other hand works on {}.",
                        said_all(case.pattern, &changed)
                    ),
                },
                changed,
            ));
        }
    } else {
        let ceiling = match sticking.works_to {
            top if top > PLAYED => String::new(),
            top => format!(
                " Works up to about {:.0} {unit} notes a minute.",
                whole(top)
            ),
        };
        let (text, pulses) = match load < EASY {
            true => (String::new(), Vec::new()),
            false => {
                let movement = movement(case, roles, from, to, tempo);
                (format!("Tightest: {movement}."), pulses)
            }
        };
        let text = (text + &ceiling).trim_start().to_string();
        if !text.is_empty() {
            reasons.push(Reason::new(text, pulses));
        }
    }
    if let Some(leave) = &sticking.leave_out {
        let stroke = case.pattern.at(leave.pulse);
        let changed = leave.changed(&sticking.hands);
        let how = if changed.is_empty() {
            String::new()
        } else {
            format!(
                " with the other hand on {},",
                said_all(case.pattern, &changed)
            )
        };
        reasons.push(Reason::new(format!(
                "Leaving out {} on {} helps here:{how} the tightest movement then takes {:.0} % of its time instead of \
                 {:.0} %.",
                stroke.map_or_else(|| "the stroke".to_string(), named),
                case.pattern.spoken(leave.pulse),
                100.0 * leave.load,
                100.0 * load
            ), vec![leave.pulse]));
    }
}
