use super::scene::{self, Scene};
use super::{Mark, Reason, words};
use crate::clave::{self, Clave, Cue, CueKind, Direction, Ear, LowDrum, Meeting, Reading, Side};
use crate::deck::{Card, School, States};
use crate::rhythm::Grid;

/// Most signs that are named for one question, the clearest first.
const SIGNS: usize = 2;

/// Why a part lies as it does: what the clave strikes there, what in the part speaks for it, and where the two lock
/// or go against each other.
pub(super) fn reasons(card: &Card, scene: &Scene, mark: Mark) -> Vec<Reason> {
    let Some(clave) = scene.clave else {
        return Vec::new();
    };
    let case = Case {
        scene,
        clave,
        strong: scene::carrying(&scene.score, scene.score.pulses()),
        reading: ear(card.school.as_ref()).score(&scene.own_score()),
    };
    if card.states == States::Neither {
        return case.neutral();
    }
    let per = scene.score.grid.pulses_per_bar();
    let bars: Vec<usize> = match mark {
        Mark::Bar(bar) => vec![bar],
        Mark::Bars(first, last) => (first..=last).collect(),
        Mark::Pulse(pulse) => vec![pulse / per],
        Mark::Whole => scene.own.clone().collect(),
    };
    let mut reasons = vec![case.ground(bars[0])];
    if scene::is_clave(&scene.score) {
        reasons.extend(bars.iter().skip(1).take(1).map(|b| case.ground(*b)));
        return reasons;
    }
    if mark == Mark::Whole && bars[0] > 0 {
        let side = clave.direction.side(0).name();
        reasons.push(Reason {
            text: format!("So bar 1, which could be either, is the {side}."),
            pulses: Vec::new(),
        });
    }
    reasons.extend(case.name());
    let locks = case.locks(&bars);
    reasons.extend(case.signs(&bars, locks.is_none()));
    reasons.extend(locks);
    reasons
}

/// How a card's deck hears the low drum.
fn ear(school: Option<&School>) -> Ear {
    let way = school.filter(|s| s.subject == "low drum").map(|s| &s.way);
    let low_drum = match way {
        Some(way) if way.starts_with("three") => Some(LowDrum::OnThreeSide),
        Some(way) if way.starts_with("two") => Some(LowDrum::OnTwoSide),
        _ => None,
    };
    Ear {
        low_drum,
        ..Ear::default()
    }
}

struct Case<'a> {
    scene: &'a Scene,
    clave: Clave,
    strong: Vec<bool>,
    /// Of the card's own bars.
    reading: Reading,
}

impl Case<'_> {
    fn grid(&self) -> Grid {
        self.scene.score.grid
    }

    /// The pulses of a bar for which `keep` holds.
    fn pulses(&self, bar: usize, keep: impl Fn(usize) -> bool) -> Vec<usize> {
        let per = self.grid().pulses_per_bar();
        (bar * per..(bar + 1) * per).filter(|p| keep(*p)).collect()
    }

    /// What the clave strikes in a bar: the ground for everything else.
    fn ground(&self, bar: usize) -> Reason {
        let onsets = self.clave.onsets(self.grid());
        let struck = self.pulses(bar, |p| onsets[p % onsets.len()]);
        let name = match self.scene.score.bars() {
            1 => "This bar".to_string(),
            _ => format!("Bar {}", bar + 1),
        };
        let side = self.clave.direction.side(bar);
        let family = self.clave.family.name();
        let at = words::pulses(self.grid(), &struck);
        let heard = match side {
            Side::Two => format!("nothing on 1, then the clave strikes {at}"),
            Side::Three => format!(
                "the {family} clave strikes {}",
                at.replace("2&", "2& (the bombo)")
            ),
        };
        Reason {
            text: format!("{name} is the {}: {heard}.", side.name()),
            pulses: struck,
        }
    }

    /// The part's name, where it has one and is what it should be.
    fn name(&self) -> Option<Reason> {
        let known = self.reading.known?;
        let way = match known.direction {
            None => String::new(),
            Some(d) if d == self.direction() => format!(", {}", d.name()),
            Some(_) => return None,
        };
        let near = match known.distance {
            0 => "",
            _ => ", but for one stroke",
        };
        Some(Reason {
            text: format!("The part: {}{near}{way}.", known.name),
            pulses: Vec::new(),
        })
    }

    /// The direction of the clave at the first of the card's own bars.
    fn direction(&self) -> Direction {
        self.clave.direction.begun_later(self.scene.own.start)
    }

    /// The clearest signs in these bars for the sides that they are: figures of several strokes, and of the low
    /// drum; single strokes only where the part does not lock with the clave anywhere.
    fn signs(&self, bars: &[usize], single_strokes: bool) -> Vec<Reason> {
        let first = self.scene.own.start;
        let mut signs: Vec<(&Cue, usize, Side)> = self
            .reading
            .cues
            .iter()
            .filter_map(|cue| {
                let (bar, side) = cue.bar?;
                let bar = bar + first;
                if cue.kind == CueKind::Stroke && !single_strokes {
                    return None;
                }
                let true_here = self.clave.direction.side(bar) == side && bars.contains(&bar);
                true_here.then_some((cue, bar, side))
            })
            .collect();
        signs.sort_by(|a, b| b.0.weight.total_cmp(&a.0.weight));
        signs.truncate(SIGNS);
        signs.sort_by_key(|(_, bar, _)| *bar);
        let shift = first * self.grid().pulses_per_bar();
        let reasons = signs.into_iter().filter_map(|(cue, bar, side)| {
            let text = sign(cue, self.grid(), side)?;
            Some(Reason {
                text: match bars {
                    [_] => format!("{}.", words::capital(&text)),
                    _ => format!("Bar {}: {text}.", bar + 1),
                },
                pulses: cue.pulses.iter().map(|p| p + shift).collect(),
            })
        });
        reasons.collect()
    }

    /// Where the part and the clave strike together.
    fn locks(&self, bars: &[usize]) -> Option<Reason> {
        let met = clave::locks(&self.strong, self.clave, self.grid());
        let by_bar: Vec<Vec<usize>> = bars
            .iter()
            .map(|b| self.pulses(*b, |p| met.get(p) == Some(&Meeting::Locks)))
            .collect();
        let said: Vec<String> = bars
            .iter()
            .zip(&by_bar)
            .filter(|(_, at)| !at.is_empty())
            .map(|(bar, at)| match bars {
                [_] => words::pulses(self.grid(), at),
                _ => format!("{} in bar {}", words::pulses(self.grid(), at), bar + 1),
            })
            .collect();
        let at = said.join(", on ");
        let pulses = by_bar.concat();
        (!pulses.is_empty()).then(|| Reason {
            text: format!("It locks with the clave on {at}."),
            pulses,
        })
    }

    /// Why a part goes with either side.
    fn neutral(&self) -> Vec<Reason> {
        let grid = self.grid();
        let per = grid.pulses_per_bar();
        let own = self.scene.own.clone();
        let pulses: Vec<usize> = own
            .clone()
            .flat_map(|bar| self.pulses(bar, |p| self.strong[p]))
            .collect();
        let mut inside: Vec<usize> = pulses.iter().map(|p| p % per).collect();
        inside.sort_unstable();
        inside.dedup();
        let alike = self.strong[own.start * per..own.end * per]
            .chunks(per)
            .all(|bar| bar == &self.strong[own.start * per..][..per]);
        let count = |clave: Clave| {
            let met = clave::locks(&self.strong, clave, grid);
            pulses.iter().filter(|p| met[**p] == Meeting::Locks).count()
        };
        let (with, turned) = (count(self.clave), count(self.clave.begun_later(1)));
        let times = |n: usize| match n {
            0 => "never".to_string(),
            1 => "once".to_string(),
            2 => "twice".to_string(),
            n => format!("{n} times"),
        };
        let weight = match inside.len() {
            n if n == per => "everywhere alike".to_string(),
            _ => format!("on {}", words::pulses(grid, &inside)),
        };
        let text = if pulses.is_empty() {
            "Nothing in it carries weight, so nothing states a side.".to_string()
        } else if alike && own.len() == self.scene.score.bars() {
            format!(
                "It is the same bar over and over, with its weight {weight}: nothing tells one side from the other."
            )
        } else if with == turned {
            format!(
                "Its weight lies {weight}. That locks with the clave {} whichever side is under it: no side stands out.",
                times(with)
            )
        } else {
            format!(
                "Its weight lies {weight}. It is played on either side; the bars around it tell."
            )
        };
        let mut reasons = vec![Reason { text, pulses }];
        reasons.extend(self.name());
        reasons
    }
}

/// A sign for a side as a player says it.
fn sign(cue: &Cue, grid: Grid, side: Side) -> Option<String> {
    let side = side.name();
    Some(match cue.kind {
        CueKind::Figure { .. } => format!("{}: that speaks for the {side}", cue.what(grid)),
        CueKind::Stroke => {
            let at = words::pulses(grid, &cue.pulses);
            let bombo = match at.as_str() {
                "2&" => ", the bombo,",
                _ => "",
            };
            format!("the stroke on {at}{bombo} speaks for the {side}")
        }
        CueKind::LowDrum => {
            format!("the low drum comes in here alone: in this school that is the {side}")
        }
        _ => return None,
    })
}
