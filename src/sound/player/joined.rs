//! Takes that follow one another in one wave: what the player would let you hear, without a device.

use super::connection::mixer;
use super::{JoinPoint, LoopBuffer, Order};
use crate::sound::{CountIn, RATE, Take, Wave, render};
use std::sync::Arc;
use std::sync::atomic::Ordering;

/// The wave of several takes, at least one, each with the pulse that it lasts to, counted from the first pulse of all.
/// Only the count-in of the first is heard. It can be played once, and its pulses are not known any more.
pub fn joined(parts: &[(Take, usize)]) -> Wave {
    let (link, mixer) = mixer();
    link.shared.volume.store(1f32.to_bits(), Ordering::Relaxed);
    let mut mixer = mixer(RATE);
    let mut frames: Vec<[f32; 2]> = Vec::new();
    // Goes on to a place of what runs when it is called.
    let mut go_to = |place: i64| {
        let count = place - mixer.at().unwrap_or(0);
        let from = frames.len();
        frames.resize(from + count.max(0) as usize, [0.0; 2]);
        mixer.serve(frames[from..].as_flattened_mut(), 2, 0, 0);
    };
    let mut lead_in = 0;
    let mut last: Option<(Arc<LoopBuffer>, usize)> = None;
    for (take, to) in parts {
        let mut take = take.clone();
        if last.is_some() {
            take.count_in = CountIn::None;
        }
        let wave = Arc::new(render(&take));
        let new = Arc::new(LoopBuffer::new(wave.clone(), true, 0, RATE));
        match &last {
            None => {
                lead_in = wave.lead_in();
                link.order(Order::Play(0, new.clone()));
                go_to(0);
            }
            Some((old, line)) => {
                let entry = JoinPoint {
                    line: *line,
                    ..JoinPoint::default()
                };
                go_to(old.place(line - 1) + 1);
                link.order(Order::TakeOver(0, new.clone(), entry));
                go_to(old.place(*line));
            }
        }
        last = Some((new, *to));
    }
    if let Some((old, line)) = last {
        // The ring after the last stroke.
        let wave = old.wave.clone();
        let (pulse, end) = (wave.pulse_frames().len(), wave.frames().len());
        let entry = JoinPoint {
            line,
            pulse: Some(pulse),
            phase: 0,
        };
        go_to(old.place(line - 1) + 1);
        let ring = LoopBuffer::new(wave, false, 0, RATE);
        link.order(Order::TakeOver(0, Arc::new(ring), entry));
        go_to(old.place(line));
        go_to(end as i64);
    }
    Wave {
        rate: RATE,
        frames,
        ring: Vec::new(),
        lead_in,
        pulse_frames: Vec::new(),
    }
}
