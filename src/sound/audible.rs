//! Is a stroke heard in its mix?

use super::events::{NoteEvent, Ringing, events, places};
use super::modal::Band;
use super::render::{chokes, mix};
use super::{RATE, Take};

/// Middles of the bands in which stroke and band are weighed, Hz, half an octave apart.
const BANDS: [f64; 14] = [
    100.0, 141.0, 200.0, 283.0, 400.0, 566.0, 800.0, 1131.0, 1600.0, 2263.0, 3200.0, 4525.0,
    6400.0, 9051.0,
];
/// Middle over width of half an octave.
const Q: f64 = 2.9;
/// How long to listen after a pulse, seconds, and how long before it a sound may have begun that still rings.
const EAR: f64 = 0.060;
const BEFORE: f64 = 0.5;
/// How long a band may settle before it is measured, seconds: five time constants of the lowest, `Q / (pi f)`.
const SETTLE: f64 = 0.050;
/// Bands in which the stroke has less than this beside its strongest one say nothing about it, dB.
const FAINT: f64 = -25.0;
/// A sound is heard in noise from some -4 dB in its critical band on (Zwicker & Fastl 1999, *Psychoacoustics*, ch. 4), but
/// which one it is takes more: here it must be as strong as all the rest, dB, in two bands.
const STANDS_OUT: f64 = 0.0;

impl Take {
    /// Do the strokes at these pulses of the first time round stand out from everything else that sounds there, so that
    /// their tones can be told apart? Not where there is no stroke.
    pub fn tells(&self, pulses: &[usize]) -> bool {
        let places = places(self);
        let events = events(self, &places);
        pulses
            .iter()
            .all(|p| stands_out(&events, &places, *p) >= STANDS_OUT)
    }
}

/// By how many dB the stroke at a pulse is above the rest in its second best band.
fn stands_out(events: &[NoteEvent], places: &[usize], pulse: usize) -> f64 {
    let Some(&at) = places.get(pulse) else {
        return f64::NEG_INFINITY;
    };
    let frames = |seconds: f64| (seconds * f64::from(RATE)) as usize;
    let (before, ear) = (frames(BEFORE), frames(EAR));
    let ear = places.get(pulse + 1).map_or(ear, |next| ear.min(next - at));
    let is_asked = |e: &NoteEvent| e.at == at && matches!(e.ringing, Ringing::Head(_));
    let mut stroke = vec![[0.0f32; 2]; before + ear];
    let mut rest = stroke.clone();
    for (i, event) in events.iter().enumerate() {
        let lead = event.hit.lead;
        if event.at + before < at + lead || event.at >= at + ear + lead {
            continue;
        }
        let into = if is_asked(event) {
            &mut stroke
        } else {
            &mut rest
        };
        let chokes = chokes(events, i, None);
        mix(into, event, event.at + before - at, &chokes, 1.0);
    }
    let heard = |part: &[[f32; 2]]| BANDS.map(|hz| power(part, before, hz));
    let (stroke, rest) = (heard(&stroke), heard(&rest));
    let most = stroke.iter().copied().fold(0.0, f64::max);
    let mut over: Vec<f64> = (stroke.iter().zip(&rest))
        .filter(|(s, _)| **s > most * 10f64.powf(FAINT / 10.0))
        .map(|(s, r)| 10.0 * (s / (r + 1e-12)).log10())
        .collect();
    over.sort_by(f64::total_cmp);
    over.len()
        .checked_sub(2)
        .map_or(f64::NEG_INFINITY, |second| over[second])
}

/// The power of a band, both sides together, from frame `from` on.
fn power(frames: &[[f32; 2]], from: usize, hz: f64) -> f64 {
    let mut band = Band::new(hz, Q, f64::from(RATE));
    let mut sum = 0.0;
    let first = from.saturating_sub((SETTLE * f64::from(RATE)) as usize);
    for (i, [left, right]) in frames.iter().enumerate().skip(first) {
        let y = band.pass(f64::from(left + right));
        if i >= from {
            sum += y * y;
        }
    }
    sum
}
