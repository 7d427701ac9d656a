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

type Shelf = Mutex<HashMap<(Sound, u32), Arc<Hit>>>;
static SHELF: OnceLock<Shelf> = OnceLock::new();

fn shelf<T>(look: impl FnOnce(&mut HashMap<(Sound, u32), Arc<Hit>>) -> T) -> T {
    let shelf = SHELF.get_or_init(Shelf::default);
    look(&mut shelf.lock().unwrap_or_else(|e| e.into_inner()))
}

/// The hit of a sound; `variant` is read modulo [`VARIANTS`].
pub(super) fn hit(sound: Sound, variant: u32) -> Arc<Hit> {
    let key = (sound, variant % VARIANTS);
    if let Some(hit) = shelf(|s| s.get(&key).cloned()) {
        return hit;
    }
    let made = Arc::new(make(key.0, key.1));
    shelf(|s| s.insert(key, made.clone()));
    made
}

/// Makes a hit and brings it to its level.
pub(super) fn make(sound: Sound, variant: u32) -> Hit {
    let voicing = sound.voicing(variant);
    let rate = super::RATE;
    let mut samples = voicing.recipe.samples(f64::from(rate), sound.seed(variant));
    let gain = loudness::gain(voicing.level - loudness::momentary(&samples, rate)) as f32;
    for sample in &mut samples {
        *sample *= gain;
    }
    Hit {
        samples,
        level: voicing.level,
    }
}
