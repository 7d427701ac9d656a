//! A take as a wave: strokes placed in time and mixed.

use super::bank::{self, RenderedHit};
use super::voices::Sound;
use super::{Take, Wave, loudness};
use crate::rhythm::{Drum, Hand, Instrument, Stroke, Tone, Weight};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::sync::Arc;

/// Frames a second of every wave.
pub const RATE: u32 = 48_000;

/// The loudest that a take is at full volume, LUFS (ITU-R BS.1770, integrated): dense takes are turned down to it.
pub const CEILING_LUFS: f64 = -16.0;

/// Samples above this are bent so that none passes ±1.
const KNEE: f32 = 0.8;
/// How fast a hand that lands takes the ring away, seconds to 1/e (from memory).
const CHOKE_SECONDS: f64 = 0.006;
/// The stretch over which the loudness of a dense passage is judged, seconds.
const JUDGED: f64 = 1.0;

/// What can sound only one thing at a time: a new sound takes from the ring of the one before.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Ringing {
    Head(Drum),
    Strings(Instrument),
    Free,
}

struct NoteEvent {
    /// Frame after the count-in.
    at: usize,
    hit: Arc<RenderedHit>,
    gain: f64,
    /// 0 left, 1 right.
    side: f64,
    ringing: Ringing,
    /// The share of an earlier ring on the same head or strings that this sound leaves.
    leaves: f32,
}

/// Makes the wave of a take: the same take always gives the same wave, to the bit, on the same machine.
///
/// Every pulse lies on the frame nearest to its exact time, counted from the start of the score, so rounding never
/// adds up.
pub fn render(take: &Take) -> Wave {
    let grid = take.score.grid;
    let pulse = grid.pulse_seconds(take.tempo()) * f64::from(RATE);
    let pulses = take.score.pulses() * take.passes();
    let length = (pulse * pulses as f64).round() as usize;
    let lead_in = (pulse * take.count_in_pulses() as f64).round() as usize;
    let places: Vec<usize> = (0..pulses)
        .map(|p| (take.feel.place(grid, p) * pulse).round() as usize)
        .collect();

    let events = events(take, &places);
    let turn_down = turn_down(&events, length);
    let tail = events.iter().map(|e| e.at + e.hit.samples.len()).max();
    let tail = tail.unwrap_or(0).saturating_sub(length);

    let mut frames = vec![[0.0f32; 2]; lead_in + length + tail];
    for click in clicks(take, pulse) {
        mix(
            &mut frames[..lead_in + length],
            &click,
            click.at,
            &[],
            turn_down,
        );
    }
    for (i, event) in events.iter().enumerate() {
        let chokes = chokes(&events, i, None);
        mix(&mut frames, event, lead_in + event.at, &chokes, turn_down);
    }

    let mut ring = frames[lead_in..lead_in + length].to_vec();
    for (i, event) in events.iter().enumerate() {
        let over = (event.at + event.hit.samples.len()).saturating_sub(length);
        if over == 0 {
            continue;
        }
        let mut whole = vec![[0.0f32; 2]; event.hit.samples.len()];
        mix(
            &mut whole,
            event,
            0,
            &chokes(&events, i, Some(length)),
            turn_down,
        );
        for (i, frame) in whole[whole.len() - over..].iter().enumerate() {
            let into = &mut ring[i % length];
            into[0] += frame[0];
            into[1] += frame[1];
        }
    }
    bend(&mut frames);
    bend(&mut ring);
    Wave {
        rate: RATE,
        frames,
        ring,
        lead_in,
        pulse_frames: places.iter().map(|p| lead_in + p).collect(),
    }
}

/// All sounds of the passes, in time order. Each part draws its own small differences, so that it sounds alike with
/// and without the rest of the band.
fn events(take: &Take, places: &[usize]) -> Vec<NoteEvent> {
    let once = take.score.pulses();
    let mut events = Vec::new();
    if let Some(drums) = &take.score.drums {
        let mut random = stream(take.seed, 0);
        let mut next_hand = Hand::Right;
        for (p, &at) in places.iter().enumerate() {
            let Some(stroke) = drums.at(p % once) else {
                continue;
            };
            let hand = stroke.hand.unwrap_or(next_hand);
            next_hand = hand.other();
            events.push(NoteEvent {
                at,
                hit: bank::hit(drum_sound(stroke, hand), variant(&mut random)),
                gain: 1.0,
                side: drum_side(stroke.drum),
                ringing: Ringing::Head(stroke.drum),
                leaves: leaves(stroke.tone),
            });
        }
    }
    for line in &take.score.lines {
        let instrument = line.instrument();
        let mut random = stream(take.seed, 1 + instrument as u64);
        let pitched = matches!(instrument, Instrument::Bass | Instrument::Piano);
        let ringing = if pitched {
            Ringing::Strings(instrument)
        } else {
            Ringing::Free
        };
        for (p, &at) in places.iter().enumerate() {
            let Some(hit) = line.at(p % once) else {
                continue;
            };
            let notes = if pitched {
                notes(take, line, p, hit.degree)
            } else {
                vec![0]
            };
            let share = (notes.len() as f64).sqrt().recip();
            for (i, note) in notes.into_iter().enumerate() {
                let sound = Sound::Band {
                    instrument,
                    weight: hit.weight,
                    note,
                };
                events.push(NoteEvent {
                    at,
                    hit: bank::hit(sound, variant(&mut random)),
                    gain: share,
                    side: band_side(instrument),
                    ringing,
                    // Only the first note of a chord takes the ring of the chord before.
                    leaves: if pitched && i == 0 { 0.0 } else { 1.0 },
                });
            }
        }
    }
    events.sort_by_key(|e| e.at);
    events
}

/// The generator of one part of a take.
fn stream(seed: u64, part: u64) -> ChaCha8Rng {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    random.set_stream(part);
    random
}

fn variant(random: &mut ChaCha8Rng) -> u32 {
    random.random_range(0..bank::VARIANTS)
}

fn drum_sound(stroke: Stroke, hand: Hand) -> Sound {
    Sound::Drum {
        drum: stroke.drum,
        tone: stroke.tone,
        weight: stroke.weight,
        hand,
    }
}

/// What is left of a ring on the drum when a hand lands on it: nothing where the hand stays, some where it springs
/// off (from memory).
fn leaves(tone: Tone) -> f32 {
    match tone {
        Tone::Open | Tone::Slap | Tone::Bass => 0.35,
        Tone::ClosedSlap | Tone::Muffled | Tone::Heel => 0.0,
        Tone::Tip => 0.1,
    }
}

/// Where the drums stand, as the player hears them.
fn drum_side(drum: Drum) -> f64 {
    match drum {
        Drum::Quinto => 0.40,
        Drum::Conga => 0.50,
        Drum::Tumbadora => 0.62,
    }
}

fn band_side(instrument: Instrument) -> f64 {
    match instrument {
        Instrument::Clave => 0.56,
        Instrument::Bell => 0.30,
        Instrument::Shell => 0.28,
        Instrument::Bass => 0.50,
        Instrument::Piano => 0.66,
        Instrument::Shaker => 0.72,
        Instrument::Click => 0.50,
    }
}

/// The notes of a bass or piano hit at a pulse of the whole take.
fn notes(take: &Take, line: &crate::rhythm::Line, pulse: usize, degree: Option<u8>) -> Vec<u8> {
    let grid = take.score.grid;
    let bar_pulses = grid.pulses_per_bar();
    let once = take.score.pulses();
    // A note in the last beat of a bar, held over a silent downbeat, already belongs to the next chord (common
    // practice, no source: the anticipated bass).
    let in_bar = pulse % bar_pulses;
    let to_downbeat = bar_pulses - in_bar;
    let anticipates = to_downbeat <= grid.pulses_per_beat()
        && (1..=to_downbeat).all(|d| line.at((pulse + d) % once).is_none());
    let bar = pulse / bar_pulses + usize::from(anticipates);
    // Round and round, the bar after the last is the first again.
    let bars = once * take.passes() / bar_pulses;
    let chord = take.vamp.chord(bar % bars);
    match (line.instrument(), degree) {
        (Instrument::Bass, degree) => vec![chord.note(degree.unwrap_or(1), 28)],
        (_, Some(degree)) => vec![chord.note(degree, 60), chord.note(degree, 72)],
        (_, None) => {
            // Octaves and inner thirds in turn, as montunos go (common practice, no source).
            let before = (0..in_bar).filter(|p| {
                let start = pulse - in_bar;
                line.at((start + p) % once).is_some()
            });
            if before.count().is_multiple_of(2) {
                vec![chord.note(5, 48), chord.note(5, 60)]
            } else {
                vec![chord.note(1, 60), chord.note(3, 60)]
            }
        }
    }
}

fn clicks(take: &Take, pulse: f64) -> Vec<NoteEvent> {
    let grid = take.score.grid;
    let beat = grid.pulses_per_beat();
    // Counted from the cycle before the score, so that only the first beat of a bar is accented.
    let from = grid.pulses_per_cycle() - take.count_in_pulses();
    (from..grid.pulses_per_cycle())
        .step_by(beat)
        .map(|p| {
            let weight = if p % grid.pulses_per_bar() == 0 {
                Weight::Accent
            } else {
                Weight::Plain
            };
            let sound = Sound::Band {
                instrument: Instrument::Click,
                weight,
                note: 0,
            };
            NoteEvent {
                at: ((p - from) as f64 * pulse).round() as usize,
                hit: bank::hit(sound, 0),
                gain: 1.0,
                side: 0.5,
                ringing: Ringing::Free,
                leaves: 1.0,
            }
        })
        .collect()
}

/// When later sounds take from the ring of event `i`: frames after its start and what they leave. With `round` (the
/// length of the loop) the sounds of the next time round count as well.
fn chokes(events: &[NoteEvent], i: usize, round: Option<usize>) -> Vec<(usize, f32)> {
    let event = &events[i];
    if event.ringing == Ringing::Free {
        return Vec::new();
    }
    let length = event.hit.samples.len();
    let mut found = Vec::new();
    let mut offset = 0;
    let mut from = i + 1;
    loop {
        for later in &events[from..] {
            let after = offset + later.at - event.at;
            if after >= length {
                return found;
            }
            if after > 0 && later.ringing == event.ringing && later.leaves < 1.0 {
                found.push((after, later.leaves));
                if later.leaves == 0.0 {
                    return found;
                }
            }
        }
        match round {
            Some(length) => offset += length,
            None => return found,
        }
        from = 0;
    }
}

/// Adds an event to the frames, its first sample at `at`; what passes the end is left out.
fn mix(frames: &mut [[f32; 2]], event: &NoteEvent, at: usize, chokes: &[(usize, f32)], turn: f64) {
    let angle = event.side * std::f64::consts::FRAC_PI_2;
    let left = (event.gain * turn * angle.cos()) as f32;
    let right = (event.gain * turn * angle.sin()) as f32;
    let samples = &event.hit.samples;
    let end = samples.len().min(frames.len().saturating_sub(at));
    let first = chokes.first().map_or(end, |c| c.0.min(end));
    for (frame, sample) in frames[at..].iter_mut().zip(&samples[..first]) {
        frame[0] += left * sample;
        frame[1] += right * sample;
    }
    let step = 1.0 - (-1.0 / (CHOKE_SECONDS * f64::from(RATE))).exp() as f32;
    let (mut gain, mut target) = (1.0f32, 1.0f32);
    for (i, (start, leaves)) in chokes.iter().enumerate() {
        target *= leaves;
        let stop = chokes.get(i + 1).map_or(end, |c| c.0.min(end));
        for n in (*start).min(end)..stop {
            gain += (target - gain) * step;
            if gain < 1e-4 {
                return;
            }
            frames[at + n][0] += left * gain * samples[n];
            frames[at + n][1] += right * gain * samples[n];
        }
    }
}

/// The factor that brings the densest second of the take down to the ceiling, at most 1. Judged from the loudness
/// of the single hits, as if their powers added up.
fn turn_down(events: &[NoteEvent], length: usize) -> f64 {
    let window = ((JUDGED * f64::from(RATE)) as usize).min(length.max(1));
    let energy = |e: &NoteEvent| loudness::power(e.hit.level) * e.gain * e.gain * loudness::MOMENT;
    let (mut sum, mut most, mut oldest) = (0.0f64, 0.0f64, 0);
    for event in events {
        sum += energy(event);
        while events[oldest].at + window <= event.at {
            sum -= energy(&events[oldest]);
            oldest += 1;
        }
        most = most.max(sum);
    }
    let power = most / (window as f64 / f64::from(RATE));
    let allowed = loudness::power(CEILING_LUFS - 0.5);
    if power > allowed {
        (allowed / power).sqrt()
    } else {
        1.0
    }
}

/// Bends peaks above the knee smoothly towards ±1. Looks at one sample at a time, so a loop stays without a seam.
fn bend(frames: &mut [[f32; 2]]) {
    for sample in frames.as_flattened_mut() {
        let size = sample.abs();
        if size > KNEE {
            let over = (size - KNEE) / (1.0 - KNEE);
            *sample = (KNEE + (1.0 - KNEE) * over / (1.0 + over)).copysign(*sample);
        }
    }
}
