//! The sounds of a take in time order: which hit, when, how strong and where in the room.

use super::bank::{self, RenderedHit};
use super::voices::Sound;
use super::{RATE, Take, loudness};
use crate::rhythm::{Drum, Hand, Instrument, Line, Stroke, Tone, Weight};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use std::sync::Arc;

/// How one hit differs from the next by strength, dB, and in what is bright, as a share: half of the whole
/// range. Players who try to strike alike scatter by one to two dB (Dahl 2000, *Acta Acustica* 86, from memory).
const STRENGTH: f64 = 1.0;
const BRIGHTNESS: f64 = 0.18;

/// Something that makes only one sound at a time: a new sound takes from the ring of the one before.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Ringing {
    Head(Drum),
    Strings(Instrument),
    Free,
}

pub(super) struct NoteEvent {
    /// Frame after the count-in.
    pub at: usize,
    pub hit: Arc<RenderedHit>,
    pub gain: f64,
    /// Share of what is bright in the hit that is added to it, or taken away.
    pub bright: f32,
    /// 0 is left, 1 is right.
    pub side: f64,
    pub ringing: Ringing,
    /// The share of an earlier ring on the same head or strings that this sound leaves.
    pub leaves: f32,
}

/// The frame of every pulse of the passes, counted from the first.
pub(super) fn places(take: &Take) -> Vec<usize> {
    let grid = take.score.grid;
    let pulse = take.playable_tempo().pulse(grid).seconds() * f64::from(RATE);
    (0..take.score.pulses() * take.passes())
        .map(|p| (take.feel.place(grid, p) * pulse).round() as usize)
        .collect()
}

/// All sounds of the passes, in time order. Each part draws its own small differences, so that it sounds alike with
/// and without the rest of the band.
pub(super) fn events(take: &Take, places: &[usize]) -> Vec<NoteEvent> {
    let once = take.score.pulses();
    let mut events = Vec::new();
    if let Some(drums) = &take.score.drums {
        let mut touch = Touches::new(take.seed, 0);
        let mut next_hand = Hand::Right;
        for (p, &at) in places.iter().enumerate() {
            let Some(stroke) = drums.at(p % once) else {
                continue;
            };
            let hand = stroke.hand.unwrap_or(next_hand);
            next_hand = hand.other();
            let hand = Some(hand);
            events.push(NoteEvent {
                at,
                hit: touch.hit(Sound::Drum(Stroke { hand, ..stroke })),
                gain: touch.strength(),
                bright: touch.brightness(),
                side: drum_side(stroke.drum),
                ringing: Ringing::Head(stroke.drum),
                leaves: leaves(stroke.tone),
            });
        }
    }
    for line in &take.score.lines {
        let instrument = line.instrument();
        let mut touch = Touches::new(take.seed, 1 + instrument as u64);
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
            // The fingers of a chord strike together.
            let (strength, bright) = (touch.strength(), touch.brightness());
            for (i, note) in notes.into_iter().enumerate() {
                let sound = Sound::Band {
                    instrument,
                    weight: hit.weight,
                    note,
                };
                events.push(NoteEvent {
                    at,
                    hit: touch.hit(sound),
                    gain: share * strength,
                    bright,
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

/// The touches of one part of a take: no hit is like the one before.
struct Touches {
    random: ChaCha8Rng,
    last: u32,
}

impl Touches {
    fn new(seed: u64, part: u64) -> Touches {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(part);
        Touches { random, last: 0 }
    }

    fn hit(&mut self, sound: Sound) -> Arc<RenderedHit> {
        self.last = (self.last + self.random.random_range(1..bank::VARIANTS)) % bank::VARIANTS;
        bank::hit(sound, self.last)
    }

    /// A factor on the amplitude.
    fn strength(&mut self) -> f64 {
        loudness::gain(self.random.random_range(-STRENGTH..STRENGTH))
    }

    fn brightness(&mut self) -> f32 {
        self.random.random_range(-BRIGHTNESS..BRIGHTNESS) as f32
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

/// Where the drums stand, as the player hears them: the conga in front, the others beside it, and nothing of the band but
/// the bass behind it.
fn drum_side(drum: Drum) -> f64 {
    match drum {
        Drum::Quinto => 0.36,
        Drum::Conga => 0.47,
        Drum::Tumbadora => 0.60,
    }
}

fn band_side(instrument: Instrument) -> f64 {
    match instrument {
        Instrument::Clave => 0.68,
        Instrument::Bell => 0.24,
        Instrument::Shell => 0.14,
        Instrument::Bass => 0.53,
        Instrument::Piano => 0.80,
        Instrument::Shaker => 0.88,
        Instrument::Click => 0.50,
    }
}

/// The notes of a bass or piano hit at a pulse of the whole take.
fn notes(take: &Take, line: &Line, pulse: usize, degree: Option<u8>) -> Vec<u8> {
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

/// The clicks of the count-in, counted from its start, where a pulse lasts so many frames.
pub(super) fn clicks(take: &Take, pulse: f64) -> Vec<NoteEvent> {
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
                bright: 0.0,
                side: 0.5,
                ringing: Ringing::Free,
                leaves: 1.0,
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rhythm::{Grid, Hit, Pattern, Score, Tempo};

    /// Counted by hand: three bars of drums, and a bell of two bars that strikes on its first pulse alone. In bar 3 it begins
    /// again, and with the second round, in bar 4, it begins again too, though its own second bar would come.
    #[test]
    fn each_round_begins_with_the_first_bar_of_every_part() {
        let stroke = |p: usize| (p == 0).then(|| Stroke::new(Drum::Conga, Tone::Open));
        let drums = Pattern::new(Grid::Eighths, (0..24).map(stroke).collect()).unwrap();
        let bell = (0..16).map(|p| (p == 0).then(Hit::default)).collect();
        let mut score = Score::of(drums);
        score.set_line(Line::new(Instrument::Bell, Grid::Eighths, bell).unwrap());
        let mut take = Take::new(score, Tempo::new(120.0), 1);
        take.cycles = 2;
        let places = places(&take);
        let events = events(&take, &places);
        let bells = events.iter().filter(|e| e.ringing == Ringing::Free);
        // A bar at 120 lasts two seconds.
        let bars: Vec<usize> = bells.map(|e| e.at / (2 * RATE as usize)).collect();
        assert_eq!(bars, [0, 2, 3, 5]);
    }
}
