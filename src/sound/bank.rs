//! Every hit that was ever made, kept, since the same few come again in every take.

use super::loudness;
use super::voices::Sound;
use std::collections::HashMap;
use std::sync::{Arc, Mutex, OnceLock};

/// Hits of one sound that differ a little; a take picks among them.
pub(super) const VARIANTS: u32 = 3;

/// One hit, at its loudness.
pub(super) struct Hit {
    pub samples: Vec<f32>,
    /// Momentary loudness, LUFS.
    pub level: f64,
}

/// Hits, and the factor that brings a sound to its level.
#[derive(Default)]
struct Shelf {
    hits: HashMap<(Sound, u32), Arc<Hit>>,
    gains: HashMap<Sound, f64>,
}

static SHELF: OnceLock<Mutex<Shelf>> = OnceLock::new();

fn shelf<T>(look: impl FnOnce(&mut Shelf) -> T) -> T {
    let shelf = SHELF.get_or_init(Mutex::default);
    look(&mut shelf.lock().unwrap_or_else(|e| e.into_inner()))
}

/// The hit of a sound; `variant` is read modulo [`VARIANTS`].
pub(super) fn hit(sound: Sound, variant: u32) -> Arc<Hit> {
    let key = (sound, variant % VARIANTS);
    if let Some(hit) = shelf(|s| s.hits.get(&key).cloned()) {
        return hit;
    }
    let made = Arc::new(make(key.0, key.1));
    shelf(|s| s.hits.insert(key, made.clone()));
    made
}

/// Makes a hit. The loudness is measured on the first hit of a sound and taken for the others, which differ by
/// less than a player hears; which hit is asked for first changes nothing.
pub(super) fn make(sound: Sound, variant: u32) -> Hit {
    let (mut samples, level) = raw(sound, variant);
    let known = shelf(|s| s.gains.get(&sound).copied());
    let gain = known.unwrap_or_else(|| {
        let loudness = if variant == 0 {
            loudness::momentary(&samples, super::RATE)
        } else {
            loudness::momentary(&raw(sound, 0).0, super::RATE)
        };
        let gain = loudness::gain(-loudness);
        shelf(|s| s.gains.insert(sound, gain));
        gain
    });
    let factor = (gain * loudness::gain(level)) as f32;
    for sample in &mut samples {
        *sample *= factor;
    }
    Hit { samples, level }
}

/// The samples of a hit before they are brought to a level, and that level.
fn raw(sound: Sound, variant: u32) -> (Vec<f32>, f64) {
    let voicing = sound.voicing(variant);
    let rate = f64::from(super::RATE);
    let samples = voicing.recipe.samples(rate, sound.seed(variant));
    (samples, voicing.level)
}
