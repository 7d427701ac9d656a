//! Keeps every hit that was made, since the same few come again in every take.

use super::loudness;
use super::voices::Sound;
use std::collections::HashMap;
use std::sync::{Arc, LazyLock, Mutex};

/// Hits of one sound that differ a little. A take picks among them, never the same twice running, and varies each further.
pub(super) const VARIANTS: u32 = 6;

/// One hit, at its loudness.
pub(super) struct RenderedHit {
    pub samples: Vec<f32>,
    /// How many of the samples lie before the pulse.
    pub lead: usize,
    /// Momentary loudness, LUFS.
    pub level: f64,
}

type HitCache = Mutex<HashMap<(Sound, u32), Arc<RenderedHit>>>;
static CACHE: LazyLock<HitCache> = LazyLock::new(HitCache::default);

/// The hit of a sound; `variant` is read modulo [`VARIANTS`].
pub(super) fn hit(sound: Sound, variant: u32) -> Arc<RenderedHit> {
    let key = (sound, variant % VARIANTS);
    let cache = || CACHE.lock().unwrap_or_else(|e| e.into_inner());
    if let Some(hit) = cache().get(&key) {
        return hit.clone();
    }
    let made = Arc::new(make(key.0, key.1));
    cache().insert(key, made.clone());
    made
}

/// Makes a hit and brings it to its level.
pub(super) fn make(sound: Sound, variant: u32) -> RenderedHit {
    let recipe = sound.recipe(variant);
    let rate = super::RATE;
    let (seed, kin) = (sound.seed(variant), sound.seed(u32::MAX));
    let mut samples = recipe.samples(f64::from(rate), seed, kin);
    let gain = loudness::gain(recipe.level - loudness::momentary(&samples, rate)) as f32;
    for sample in &mut samples {
        *sample *= gain;
    }
    RenderedHit {
        samples,
        lead: (recipe.lead * f64::from(rate)) as usize,
        level: recipe.level,
    }
}
