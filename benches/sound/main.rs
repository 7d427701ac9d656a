//! Measurements of the sound. Without arguments: speed and the jitter of the playback position.
//!
//!     cargo bench --bench sound                        speed, playback position
//!     cargo bench --bench sound -- separability        can the strokes be told apart?
//!     cargo bench --bench sound -- loudness            integrated loudness of loops at full volume
//!     cargo bench --bench sound -- mix                 the mix against its bounds; fails where one is missed
//!     cargo bench --bench sound -- recordings FOLDER   the voices against recordings (tests/sound/unpack_recordings.py)
//!     cargo bench --bench sound -- spectrograms FOLDER OUT
//!                                                      pictures of both side by side, as PNG files in the folder OUT
//!     cargo bench --bench sound -- waves FOLDER        WAV files for the onset check
//!     cargo bench --bench sound -- play EXPECTED.wav   play a known take and write what should come out
//!     cargo bench --bench sound -- open TIMES          open the sound device again and again
//!     cargo bench --bench sound -- watch SECONDS       play and say what happens to the device

mod clock;
mod decoder;
mod features;
mod levels;
mod mix;
mod recordings;
mod scores;
mod second;
mod separability;
mod spectrograms;
mod speed;
mod waves;

use std::path::Path;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let words: Vec<String> = std::env::args()
        .skip(1)
        .filter(|a| a != "--bench")
        .collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    match words[..] {
        [] => {
            speed::report();
            clock::report();
        }
        ["speed"] => speed::report(),
        ["clock"] => clock::report(),
        ["separability"] => separability::report(),
        ["loudness"] => levels::report(),
        ["mix"] => mix::report()?,
        ["recordings", folder] => recordings::report(Path::new(folder))?,
        ["spectrograms", folder, out] => spectrograms::write(Path::new(folder), Path::new(out))?,
        ["waves", folder] => waves::write(Path::new(folder))?,
        ["play", expected] => waves::play(Path::new(expected))?,
        ["open", times] => waves::open(times.parse()?),
        ["watch", seconds] => waves::watch(seconds.parse()?)?,
        _ => {
            return Err("known words: speed, clock, separability, loudness, mix, recordings FOLDER, spectrograms FOLDER OUT, waves FOLDER, play FILE, open TIMES, watch SECONDS".into());
        }
    }
    Ok(())
}
