//! Frozen: the recipe of each voice, and the samples that come of some.

use super::{all, measured};
use crate::rhythm::{Drum, Hand, Instrument, Stroke, Tone, Weight};
use crate::sound::bank;
use crate::sound::modal::Partial;
use crate::sound::voices::Sound;
use std::fmt::Write;

/// Sines that are told one by one.
const SINES: usize = 8;
const WEIGHTS: [Weight; 3] = [Weight::Ghost, Weight::Plain, Weight::Accent];

fn drum(drum: Drum, tone: Tone, weight: Weight, hand: Hand) -> Sound {
    Sound::Drum(Stroke {
        weight,
        hand: Some(hand),
        ..Stroke::new(drum, tone)
    })
}

fn band(instrument: Instrument, weight: Weight, note: u8) -> Sound {
    Sound::Band {
        instrument,
        weight,
        note,
    }
}

fn drums() -> Vec<Sound> {
    let mut sounds = Vec::new();
    for tone in Tone::ALL {
        sounds.push(drum(Drum::Conga, tone, Weight::Plain, Hand::Right));
        sounds.push(drum(Drum::Conga, tone, Weight::Accent, Hand::Left));
    }
    sounds.push(drum(Drum::Conga, Tone::Slap, Weight::Ghost, Hand::Right));
    for other in [Drum::Quinto, Drum::Tumbadora] {
        sounds.push(drum(other, Tone::Open, Weight::Plain, Hand::Right));
    }
    sounds
}

fn others() -> Vec<Sound> {
    let mut sounds = Vec::new();
    for instrument in Instrument::ALL {
        let notes: &[u8] = match instrument {
            Instrument::Bass => &[28, 40, 47],
            Instrument::Piano => &[48, 63, 79],
            _ => &[0],
        };
        for note in notes {
            sounds.extend(WEIGHTS.map(|w| band(instrument, w, *note)));
        }
    }
    sounds
}

fn recipes(sounds: &[Sound]) -> String {
    let mut text = String::new();
    for sound in sounds {
        let recipe = sound.recipe(1);
        let name = format!("{sound:?}").replace(['{', '}'], "");
        writeln!(
            text,
            "{name}\n  level, attack, lead, longest: {}{}",
            all([recipe.level, recipe.attack, recipe.lead, recipe.longest]),
            if recipe.scattered { ", scattered" } else { "" }
        )
        .unwrap();
        for p in recipe.partials.iter().take(SINES) {
            writeln!(text, "  sine {}", all([p.hz, p.gain, p.t60])).unwrap();
        }
        if let Some(rest @ [_, ..]) = recipe.partials.get(SINES..) {
            let sum = |of: fn(&Partial) -> f64| rest.iter().map(of).sum();
            let sums = all([sum(|p| p.hz), sum(|p| p.gain), sum(|p| p.t60)]);
            writeln!(text, "  and {} more, in sum {sums}", rest.len()).unwrap();
        }
        for b in &recipe.bursts {
            let fields = all([b.hz, b.q, b.gain, b.attack, b.t60]);
            writeln!(text, "  noise {fields}").unwrap();
        }
        if let Some(r) = &recipe.rattle {
            let fields = [r.hz, r.q, r.collisions, r.sound_t60, r.energy_t60, r.rise];
            writeln!(text, "  rattle {}", all(fields)).unwrap();
        }
    }
    text
}

#[test]
fn the_recipes_of_the_drums_are_what_they_were() {
    insta::assert_snapshot!(recipes(&drums()));
}

#[test]
fn the_recipes_of_the_band_are_what_they_were() {
    insta::assert_snapshot!(recipes(&others()));
}

#[test]
fn samples_are_what_they_were() {
    let mut sounds: Vec<(Sound, u32)> = Vec::new();
    for tone in Tone::ALL {
        sounds.push((drum(Drum::Conga, tone, Weight::Plain, Hand::Right), 0));
    }
    let open = drum(Drum::Tumbadora, Tone::Open, Weight::Accent, Hand::Left);
    sounds.push((open, 3));
    for instrument in Instrument::ALL {
        let note = match instrument {
            Instrument::Bass => 36,
            Instrument::Piano => 60,
            _ => 0,
        };
        sounds.push((band(instrument, Weight::Plain, note), 2));
    }
    let mut text = String::new();
    for (sound, variant) in sounds {
        let hit = bank::make(sound, variant);
        writeln!(
            text,
            "{sound:?} {variant}: {} samples, {} before the pulse, seed {}\n  {}",
            hit.samples.len(),
            hit.lead,
            sound.seed(variant),
            measured(&hit.samples)
        )
        .unwrap();
    }
    insta::assert_snapshot!(text);
}
