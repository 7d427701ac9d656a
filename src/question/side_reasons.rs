use super::scene::Scene;
use super::{Mark, Reason, words};
use crate::clave::{self, Clave, Meeting};
use crate::deck::{Card, States};
use crate::rhythm::{Drum, Score, Stroke, Tone, Weight};

/// Why a part lies as it does: what the clave strikes under each bar, and what the part does there.
pub(super) fn reasons(card: &Card, scene: &Scene, mark: Mark) -> Vec<Reason> {
    let per = scene.score.grid.pulses_per_bar();
    let strong = strong(&scene.score);
    let bars: Vec<usize> = match mark {
        Mark::Bar(bar) => vec![bar],
        Mark::Pulse(pulse) => vec![pulse / per],
        Mark::Whole => scene.own.clone().take(2).collect(),
    };
    let Some(clave) = scene.clave else {
        return Vec::new();
    };
    if card.states == States::Neither {
        return vec![neutral(scene, clave, &strong)];
    }
    bars.into_iter()
        .flat_map(|bar| sided(scene, clave, &strong, bar))
        .collect()
}

/// Onsets of the strokes that carry the part: everything that the band plays, and of the drums the tones that ring
/// or crack, accents, and whatever the low drum plays. Heel, tip and ghost strokes keep time between them.
fn strong(score: &Score) -> Vec<bool> {
    (0..score.pulses())
        .map(|p| {
            let drums = score.drums.as_ref().and_then(|d| d.at(p));
            drums.is_some_and(carries) || score.lines.iter().any(|l| l.at(p).is_some())
        })
        .collect()
}

fn carries(stroke: Stroke) -> bool {
    match stroke.weight {
        Weight::Ghost => false,
        Weight::Accent => true,
        Weight::Plain => {
            !matches!(stroke.tone, Tone::Heel | Tone::Tip) || stroke.drum == Drum::Tumbadora
        }
    }
}

fn sided(scene: &Scene, clave: Clave, strong: &[bool], bar: usize) -> Vec<Reason> {
    let grid = scene.score.grid;
    let per = grid.pulses_per_bar();
    let onsets = clave.onsets(grid);
    let met = clave::locks(strong, clave, grid);
    let side = clave.direction.side(bar);
    let of = |wanted: Meeting| -> Vec<usize> {
        (bar * per..(bar + 1) * per)
            .filter(|p| met.get(*p) == Some(&wanted))
            .collect()
    };
    let struck: Vec<usize> = (bar * per..(bar + 1) * per)
        .filter(|p| onsets[p % onsets.len()])
        .collect();
    let name = match scene.score.bars() {
        1 => "This bar".to_string(),
        _ => format!("Bar {}", bar + 1),
    };
    let mut reasons = vec![Reason {
        text: format!(
            "{name} is the {}: here the {} clave strikes {}.",
            side.name(),
            clave.family.name(),
            words::pulses(grid, &struck)
        ),
        pulses: struck,
    }];
    let locks = of(Meeting::Locks);
    if !locks.is_empty() {
        reasons.push(Reason {
            text: format!("The part locks with it on {}.", words::pulses(grid, &locks)),
            pulses: locks,
        });
    }
    let crosses = of(Meeting::Crosses);
    if !crosses.is_empty() {
        reasons.push(Reason {
            text: format!(
                "On {} it goes against it: there the clave strikes in the other bar.",
                words::pulses(grid, &crosses)
            ),
            pulses: crosses,
        });
    }
    reasons
}

fn neutral(scene: &Scene, clave: Clave, strong: &[bool]) -> Reason {
    let grid = scene.score.grid;
    let per = grid.pulses_per_bar();
    let own = &strong[scene.own.start * per..scene.own.end * per];
    let pulses: Vec<usize> = (0..own.len())
        .filter(|p| own[*p])
        .map(|p| p + scene.own.start * per)
        .collect();
    let alike = own.chunks(per).all(|bar| bar == &own[..per]);
    let count = |clave: Clave| {
        let met = clave::locks(strong, clave, grid);
        met.iter().filter(|m| **m == Meeting::Locks).count()
    };
    let (with, turned) = (count(clave), count(clave.begun_later(1)));
    let text = if alike {
        format!(
            "Every bar of it is the same, with its weight on {}: it sits over either side.",
            words::pulses(grid, &in_first_bar(&pulses, per))
        )
    } else if with == turned {
        format!("It locks {with} times with the clave whichever way it goes: it sits over either.")
    } else {
        "It is played over either side; the bars around it tell.".to_string()
    };
    Reason { text, pulses }
}

fn in_first_bar(pulses: &[usize], per: usize) -> Vec<usize> {
    let mut inside: Vec<usize> = pulses.iter().map(|p| p % per).collect();
    inside.sort_unstable();
    inside.dedup();
    inside
}
