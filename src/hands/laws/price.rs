//! The price of one written-out sticking, from the definitions: slow, plain, and without the solver's tables.

use crate::hands::model::Model;
use crate::hands::solve::Aim;
use crate::rhythm::{Drum, Hand, Pattern, Stroke, Tempo, Tone, Weight};

/// Distance across from the conga and depth from the edge, in cm.
fn spot(s: Stroke) -> (f64, f64) {
    let across = match s.drum {
        Drum::Quinto => -33.0,
        Drum::Conga => 0.0,
        Drum::Tumbadora => 33.0,
    };
    let depth = match s.tone {
        Tone::Heel | Tone::Tip => 9.0,
        Tone::Bass => 12.0,
        _ => 0.0,
    };
    (across, depth)
}

fn carries(s: Stroke) -> bool {
    let edge = spot(s).1 == 0.0;
    s.weight == Weight::Accent || (edge && s.weight == Weight::Plain)
}

/// Milliseconds that a right-handed practised player needs from one stroke to the next with the same hand.
pub(super) fn need(a: Stroke, b: Stroke, h: Hand) -> f64 {
    let m = Model::DEFAULT;
    let turn = |low: Tone| {
        (a.tone == low && b.tone == Tone::Tip) || (a.tone == Tone::Tip && b.tone == low)
    };
    if a.drum == b.drum && turn(Tone::Heel) {
        return m.rock;
    }
    if a.drum == b.drum && turn(Tone::Bass) {
        return m.rock_bass;
    }
    let ((ax, ay), (bx, by)) = (spot(a), spot(b));
    let d = ((ax - bx).powi(2) + (ay - by).powi(2)).sqrt();
    let w = if a.drum == b.drum {
        m.width_same
    } else {
        m.width_other
    };
    let repeat = if h == Hand::Right {
        m.repeat_strong
    } else {
        m.repeat_weak
    };
    let travel = if 2.0 * d > w {
        m.travel_base + m.travel_bit * (2.0 * d / w).log2()
    } else {
        m.travel_base
    };
    let stays = matches!(a.tone, Tone::ClosedSlap | Tone::Muffled);
    repeat.max(travel) + if stays { m.hold } else { 0.0 }
}

/// What a written-out sticking amounts to.
pub(super) struct Priced {
    pub habit: f64,
    pub strain: f64,
    pub shortage: f64,
    pub crossings: usize,
    pub peak: f64,
}

impl Priced {
    pub(super) fn works(&self) -> bool {
        self.peak <= 1.0 + 1e-9 && self.crossings == 0
    }

    pub(super) fn under(&self, aim: Aim) -> f64 {
        match aim {
            Aim::Works(_) if !self.works() => f64::INFINITY,
            Aim::Works(share) => self.habit + share * self.strain,
            Aim::Whatever => {
                let m = Model::DEFAULT;
                let crossed = m.cross * self.crossings as f64;
                self.habit + self.strain + m.shortage * self.shortage + crossed
            }
        }
    }
}

pub(super) fn priced(p: &Pattern, hands: &[Hand], tempo: Tempo) -> Priced {
    let m = Model::DEFAULT;
    let per_beat = p.grid().pulses_per_beat();
    let per_bar = p.grid().pulses_per_bar();
    let ms = 60_000.0 / tempo.bpm() / per_beat as f64;
    let len = p.pulses();
    let mut at: Vec<Option<(Stroke, Hand)>> = vec![None; len];
    for ((pulse, s), h) in p.strokes().zip(hands) {
        at[pulse] = Some((s, *h));
    }
    // The latest stroke before a pulse that satisfies a condition, and how many pulses ago.
    let last = |pulse: usize, want: &dyn Fn(Hand) -> bool| {
        (1..=len).find_map(|d| {
            let (s, h) = at[(pulse + len - d) % len]?;
            want(h).then_some((s, h, d))
        })
    };
    let mut out = Priced {
        habit: 0.0,
        strain: 0.0,
        shortage: 0.0,
        crossings: 0,
        peak: 0.0,
    };
    for pulse in 0..len {
        let Some((s, h)) = at[pulse] else { continue };
        let right = h == Hand::Right;
        if s.weight == Weight::Accent && !right {
            out.habit += m.stress_weak;
        }
        if carries(s) && !right {
            out.habit += m.accent_weak;
            if pulse % per_beat == 0 {
                out.habit += m.lead;
            }
            if pulse % per_bar == 0 {
                out.habit += m.lead_bar;
            }
        }
        if matches!(s.tone, Tone::Heel | Tone::Tip) && right {
            out.habit += m.light_strong;
        }
        let (from, _, ago) = last(pulse, &|x| x == h).unwrap();
        let ((ax, ay), (bx, by)) = (spot(from), spot(s));
        out.habit += m.effort * (ax - bx).hypot(ay - by);
        if s.drum == Drum::Tumbadora && from.drum != Drum::Tumbadora && !right {
            out.habit += m.low_weak;
        }
        if ay != by {
            out.habit += m.place;
        }
        let ago_own = ago;
        let (need, time) = (need(from, s, h), ago as f64 * ms);
        let load = need / time;
        out.peak = out.peak.max(load);
        if load > m.ease {
            out.strain += m.strain * ((load - m.ease) / (1.0 - m.ease)).powi(2);
        }
        out.shortage += (need - time).max(0.0);
        let (prev, prev_hand, ago) = last(pulse, &|_| true).unwrap();
        let near = (per_beat / 2).max(1);
        let close = |ago: usize| ago < len && ago <= near;
        if prev_hand == h && close(ago) {
            let same = |a: Stroke, b: Stroke| {
                a.drum == b.drum && a.tone == b.tone && !"HT".contains(b.tone.letter())
            };
            let (older, _, older_ago) = last((pulse + len - ago) % len, &|_| true).unwrap();
            let (after, after_ago) = (1..=len)
                .find_map(|d| at[(pulse + d) % len].map(|(x, _)| (x, d)))
                .unwrap();
            let run = same(prev, s)
                && ((same(older, prev) && close(older_ago))
                    || (same(s, after) && close(after_ago)));
            let strong = carries(prev) && carries(s);
            // Strokes that carry, on one drum: from the second to the last but one, and to the last unless it repeats
            // the tone before it.
            let heavy = |x: Stroke, y: Stroke| {
                x.drum == y.drum
                    && ![x, y]
                        .iter()
                        .any(|z| z.weight == Weight::Ghost || "HT".contains(z.tone.letter()))
            };
            let goes_on = heavy(s, after) && close(after_ago);
            let went_on = heavy(older, prev) && close(older_ago);
            let row = heavy(prev, s) && (goes_on || (went_on && prev.tone != s.tone));
            let again =
                prev.tone == s.tone && prev.drum == s.drum && "HT".contains(s.tone.letter());
            let timed = |x: Stroke| "HT".contains(x.tone.letter());
            let speaks = |x: Stroke| "OSCM".contains(x.tone.letter()) && x.weight != Weight::Ghost;
            // The stroke that carries, in one hand with a heel or tip, and who is on its other side.
            let beside = if timed(prev) && speaks(s) {
                Some((after, close(after_ago)))
            } else if speaks(prev) && timed(s) {
                Some((older, close(older_ago)))
            } else {
                None
            };
            let mixed = match beside {
                Some(_) if prev.drum != s.drum => 0.0,
                Some((x, true)) if x.drum != s.drum => 0.0,
                Some((x, true)) if !timed(x) => 0.5,
                Some(_) => 1.0,
                None => 0.0,
            };
            let rocking = prev.drum == s.drum && timed(prev) && timed(s) && prev.tone != s.tone;
            out.habit += match (run || row, strong, right) {
                _ if rocking && right => m.rock_strong,
                _ if rocking => 0.0,
                _ if mixed > 0.0 && !strong => mixed * m.double_mixed,
                _ if again => m.double_light,
                (true, ..) => m.double_run,
                (false, false, _) => 0.0,
                (false, true, true) => m.double_strong,
                (false, true, false) => m.double_weak,
            };
            if strong && prev.drum != s.drum {
                out.habit += m.double_across;
            }
        }
        // Strokes of the other hand since this one's last, further over than both of its own.
        let time = |pulses: usize| pulses as f64 * ms;
        let across = (1..ago_own).any(|d| {
            at[(pulse + len - d) % len].is_some_and(|(other, _)| {
                let over = spot(other).0;
                let beyond = if right {
                    over > ax.max(bx)
                } else {
                    over < ax.min(bx)
                };
                beyond && time(d).max(time(ago_own - d)) < m.cross_within - 1e-6
            })
        });
        out.crossings += usize::from(across);
    }
    out
}
