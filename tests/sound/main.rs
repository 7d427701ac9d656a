//! The sound, checked against things outside the program. Two more checks need programs of their own and are run by
//! hand: `onsets.py` (an independent onset detector) and `playback.sh` (real time through a sound server).

#[allow(dead_code)]
#[path = "../../benches/sound/decoder.rs"]
mod decoder;
#[allow(dead_code)]
#[path = "../../benches/sound/features.rs"]
mod features;
#[allow(dead_code)]
#[path = "../../benches/sound/levels.rs"]
mod levels;
#[allow(dead_code)]
#[path = "../../benches/sound/mix.rs"]
mod mix;
#[allow(dead_code)]
#[path = "../../benches/sound/scores.rs"]
mod scores;
#[allow(dead_code)]
#[path = "../../benches/sound/separability.rs"]
mod separability;

mod callback;
mod caution;
mod changes;
mod command;
mod listen;
mod loudness;
mod place;
mod player;
mod render;
mod separable;
mod spectra;
