//! A take as a wave: strokes placed in time and mixed.

use super::events::{NoteEvent, Ringing, clicks, events, places};
use super::{Take, Wave, loudness};
use crate::rhythm::Tempo;
use std::f64::consts::TAU;

/// Frames a second of every wave.
pub const RATE: u32 = 48_000;

/// The loudest that a take is at full volume, LUFS (ITU-R BS.1770, integrated): dense takes are turned down to it.
pub const CEILING_LUFS: f64 = -18.0;

/// Samples above this are bent so that none passes the ceiling, which leaves room for what a converter makes of the
/// curve between two samples (ITU-R BS.1770 annex 2: true peak; EBU R 128 allows -1 dBTP).
const KNEE: f32 = 0.66;
const CEILING: f32 = 0.84;
/// A take is as loud as it would be at this tempo: in a slow one its sounds come less often and are the
/// louder for it, in a fast one they are softer.
const STEADY_TEMPO: Tempo = Tempo::new(120.0);
/// But no sound gains more than this many dB: it would stand out.
const MOST_GAIN: f64 = 3.0;
/// Room for peaks, dB.
const HEADROOM: f64 = -3.0;
/// A hit is brighter or duller than the next in what lies above this, Hz.
const BRIGHT_HZ: f64 = 1500.0;
/// How fast a hand that lands takes the ring away, seconds to 1/e (from memory).
const CHOKE_SECONDS: f64 = 0.006;
/// The stretch over which the loudness of a dense passage is judged, seconds.
const JUDGED: f64 = 1.0;

/// Makes the wave of a take: the same take always gives the same wave, to the bit, on the same machine.
///
/// Every pulse lies on the frame nearest to its exact time, counted from the start of the score, so rounding never
/// adds up.
pub fn render(take: &Take) -> Wave {
    let grid = take.score.grid;
    let pulse = take.playable_tempo().pulse(grid).seconds() * f64::from(RATE);
    let pulses = take.score.pulses() * take.passes();
    let length = (pulse * pulses as f64).round() as usize;
    let lead_in = (pulse * take.count_in_pulses() as f64).round() as usize;
    let places = places(take);
    let events = events(take, &places);
    let steady =
        gated(&events, length, take.playable_tempo() / STEADY_TEMPO) / gated(&events, length, 1.0);
    let turn = loudness::gain((10.0 * steady.log10()).min(MOST_GAIN) + HEADROOM);
    let turn_down = turn * turn_down(&events, length, turn);
    let tail = events
        .iter()
        .map(|e| e.at + e.hit.samples.len() - e.hit.lead);
    let tail = tail.max();
    let tail = tail.unwrap_or(0).saturating_sub(length);

    let mut frames = vec![[0.0f32; 2]; lead_in + length + tail];
    for click in clicks(take, pulse) {
        let part = &mut frames[..lead_in + length];
        mix(part, &click, click.at, &[], turn_down);
    }
    for (i, event) in events.iter().enumerate() {
        let chokes = chokes(&events, i, None);
        mix(&mut frames, event, lead_in + event.at, &chokes, turn_down);
    }

    let mut ring = frames[lead_in..lead_in + length].to_vec();
    for (i, event) in events.iter().enumerate() {
        let (lead, count) = (event.hit.lead, event.hit.samples.len());
        let early = lead.saturating_sub(event.at);
        let late = (event.at + count).saturating_sub(length + lead);
        if early + late == 0 {
            continue;
        }
        let mut whole = vec![[0.0f32; 2]; count];
        let chokes = chokes(&events, i, Some(length));
        mix(&mut whole, event, lead, &chokes, turn_down);
        // What comes before the first pulse belongs to the end of the time round before, and what passes the end to the
        // start of the next.
        let first = (event.at + length * (1 + lead / length)) - lead;
        let outside = (0..early).chain(count - late..count);
        for n in outside {
            let into = &mut ring[(first + n) % length];
            into[0] += whole[n][0];
            into[1] += whole[n][1];
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

/// When later sounds take from the ring of event `i`: frames after its start and what they leave. With `round` (the
/// length of the loop) the sounds of the next time round count as well.
pub(super) fn chokes(events: &[NoteEvent], i: usize, round: Option<usize>) -> Vec<(usize, f32)> {
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

/// Adds an event to the frames, its pulse at `at`; what passes either end is left out.
pub(super) fn mix(
    frames: &mut [[f32; 2]],
    event: &NoteEvent,
    at: usize,
    chokes: &[(usize, f32)],
    turn: f64,
) {
    let angle = event.side * std::f64::consts::FRAC_PI_2;
    let left = (event.gain * turn * angle.cos()) as f32;
    let right = (event.gain * turn * angle.sin()) as f32;
    let lead = event.hit.lead;
    let skip = lead.saturating_sub(at);
    let from = (at + skip) - lead;
    let samples = event.hit.samples.iter().skip(skip);
    let step = |seconds: f64| 1.0 - (-1.0 / (seconds * f64::from(RATE))).exp() as f32;
    let (choke, dull) = (step(CHOKE_SECONDS), step(1.0 / (TAU * BRIGHT_HZ)));
    let (mut gain, mut target, mut slow) = (1.0f32, 1.0f32, 0.0f32);
    let mut chokes = chokes.iter().peekable();
    for (n, (frame, sample)) in (skip..).zip(frames[from..].iter_mut().zip(samples)) {
        if let Some((_, leaves)) = chokes.next_if(|(start, _)| n >= lead + start) {
            target *= leaves;
        }
        gain += (target - gain) * choke;
        if gain < 1e-4 {
            return;
        }
        slow += (sample - slow) * dull;
        let sample = gain * (sample + event.bright * (sample - slow));
        frame[0] += left * sample;
        frame[1] += right * sample;
    }
}

/// The energy of an event, weighted as BS.1770 does.
fn energy(event: &NoteEvent) -> f64 {
    loudness::power(event.hit.level) * event.gain.powi(2) * loudness::MOMENT.seconds()
}

/// The mean power of a loop of `length` frames whose times are all `stretch` times as long, gated as the integrated
/// loudness of BS.1770 is: over blocks of 400 ms, a quarter of a block apart, those far below the mean left out. Judged
/// from the loudness of the single hits, as if each fell into its block whole and their powers added up. 1 for silence.
fn gated(events: &[NoteEvent], length: usize, stretch: f64) -> f64 {
    let quarter = loudness::MOMENT.seconds() / 4.0 * f64::from(RATE);
    let mut slots = vec![0.0; ((length as f64 * stretch / quarter) as usize).max(4)];
    for event in events {
        let slot = (event.at as f64 * stretch / quarter) as usize % slots.len();
        slots[slot] += energy(event);
    }
    let blocks = (0..slots.len()).map(|i| (i..i + 4).map(|n| slots[n % slots.len()]).sum::<f64>());
    let blocks: Vec<f64> = blocks.filter(|b| *b > 0.0).collect();
    let mean = |blocks: &[f64]| blocks.iter().sum::<f64>() / blocks.len().max(1) as f64;
    // The relative gate: 10 LU below the mean of what is not silent.
    let gate = 0.1 * mean(&blocks);
    let heard: Vec<f64> = blocks.into_iter().filter(|b| *b >= gate).collect();
    match mean(&heard) {
        0.0 => 1.0,
        power => power,
    }
}

/// The factor that brings the densest second of the take, at a gain of `turn`, down to the ceiling, at most 1. Judged from the loudness
/// of the single hits, as if their powers added up.
fn turn_down(events: &[NoteEvent], length: usize, turn: f64) -> f64 {
    let window = ((JUDGED * f64::from(RATE)) as usize).min(length.max(1));
    let (mut sum, mut most, mut oldest) = (0.0f64, 0.0f64, 0);
    for event in events {
        sum += energy(event) * turn * turn;
        while events[oldest].at + window <= event.at {
            sum -= energy(&events[oldest]) * turn * turn;
            oldest += 1;
        }
        most = most.max(sum);
    }
    let power = most / (window as f64 / f64::from(RATE));
    let allowed = loudness::power(CEILING_LUFS - 0.5);
    (allowed / power).sqrt().min(1.0)
}

/// Bends peaks above the knee smoothly towards the ceiling. Looks at one sample at a time, so a loop stays without a seam.
fn bend(frames: &mut [[f32; 2]]) {
    for sample in frames.as_flattened_mut() {
        let size = sample.abs();
        if size > KNEE {
            let over = (size - KNEE) / (CEILING - KNEE);
            *sample = (KNEE + (CEILING - KNEE) * over / (1.0 + over)).copysign(*sample);
        }
    }
}

/// The sample that [`render`] bent into this one; another sample is itself.
#[cfg(any(test, feature = "internals"))]
pub fn unbent(sample: f32) -> f32 {
    let bent = (sample.abs() - KNEE) / (CEILING - KNEE);
    if bent > 0.0 {
        (KNEE + (CEILING - KNEE) * bent / (1.0 - bent)).copysign(sample)
    } else {
        sample
    }
}
