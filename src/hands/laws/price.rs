//! The price of one written-out sticking, from the definitions: slow, plain, and without the solver's tables.

use crate::hands::model::Model;
use crate::hands::solve::Aim;
use crate::rhythm::{Drum, Hand, Pattern, Stroke, Tone, Weight};

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
fn need(a: Stroke, b: Stroke, h: Hand) -> f64 {
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

pub(super) fn priced(p: &Pattern, hands: &[Hand], bpm: f64) -> Priced {
    let m = Model::DEFAULT;
    let per_beat = p.grid().pulses_per_beat();
    let ms = 60_000.0 / bpm / per_beat as f64;
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
        if carries(s) && !right {
            out.habit += m.accent_weak;
            if pulse % per_beat == 0 {
                out.habit += m.lead;
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
            out.habit += match (run, strong, right) {
                (true, ..) => m.double_run,
                (false, false, _) => 0.0,
                (false, true, true) => m.double_strong,
                (false, true, false) => m.double_weak,
            };
            if strong && prev.drum != s.drum {
                out.habit += m.double_across;
            }
        }
        if let Some((other, _, ago)) = last(pulse, &|x| x != h) {
            let toward_right = bx - spot(other).0;
            let crossed = if right {
                toward_right < 0.0
            } else {
                toward_right > 0.0
            };
            if crossed && (ago as f64 * ms) < m.cross_within - 1e-6 {
                out.crossings += 1;
            }
        }
    }
    out
}
