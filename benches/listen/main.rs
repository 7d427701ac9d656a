//! What a microphone hears: how well onsets are found. Prints its table and exits with 1 where a bound is missed.
//!
//!     cargo bench --bench listen            the report, on the seeds kept for it
//!     cargo bench --bench listen -- choose  the same on the seeds on which the numbers were chosen
//!     cargo bench --bench listen -- device  through a sound server: see tests/sound/listen.sh
//!     cargo bench --bench listen -- delay   what really lay between two pairs of channels: see tests/sound/delays.sh
//!
//! Strokes are rendered: conga voices, the clave, and claps synthesised as bursts of noise with one resonance, after Repp 1987,
//! *The sound of two hands clapping*, JASA 81:1100-1109 (resonances of 0.5 to 2.5 kHz by the shape of the hands, gone within
//! some tens of milliseconds; figures from memory). They are played in time with the band by a musician's scatter, in a dry
//! room and in one that rings (0.3 s). The band leaks in at -20 dB, there is noise at 20 dB SNR, pink or white, or both: levels
//! are root mean squares, of the strokes in the 50 ms after each onset. Onsets count by the definition of mir_eval (Raffel et al.
//! 2014, *ISMIR*): the most pairs of a found and a real onset that lie within 30 ms of one another, each used once.

mod delay;
mod device;
mod material;
mod score;

use material::{Instruments, Performance, STROKES, in_room, noise, rms, scaled, scaled_like};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use score::{Tally, detect, pairs};
use std::process::ExitCode;
use whichside::sound::{OnsetDetector, PowerMeter, RATE, SoundCheck};

const CHOOSING: u64 = 1_000_000;
const REPORTING: u64 = 9_000_000;
const RUNS: u64 = 6;
/// What leaks and what is noise, below the strokes, dB.
const BELOW: f64 = 20.0;

/// What is in the way.
#[derive(Clone, Copy)]
struct Setting {
    name: &'static str,
    room: bool,
    leaks: bool,
    noise: Option<bool>,
    checked: bool,
}

const SETTINGS: [Setting; 6] = [
    Setting {
        name: "band leaking in",
        room: false,
        leaks: true,
        noise: None,
        checked: true,
    },
    Setting {
        name: "band leaking in, a room that rings",
        room: true,
        leaks: true,
        noise: None,
        checked: true,
    },
    Setting {
        name: "white noise",
        room: false,
        leaks: false,
        noise: Some(false),
        checked: true,
    },
    Setting {
        name: "pink noise, a room that rings",
        room: true,
        leaks: false,
        noise: Some(true),
        checked: true,
    },
    Setting {
        name: "band and pink noise",
        room: true,
        leaks: true,
        noise: Some(true),
        checked: true,
    },
    Setting {
        name: "band and pink noise, no sound check",
        room: true,
        leaks: true,
        noise: Some(true),
        checked: false,
    },
];

fn run(what: Instruments, setting: Setting, seed: u64, tally: &mut Tally) {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let performance = Performance::new(what, &mut random);
    let level = performance.level();
    let below = level * 10f64.powf(-BELOW / 20.0);
    let air = |wave: &[f32], random: &mut ChaCha8Rng| match setting.room {
        true => in_room(wave, random),
        false => wave.to_vec(),
    };
    // What is heard of the band comes later than reckoned.
    let shift = random.random_range(0..RATE as usize / 5);
    let leak = |played: &[f32], random: &mut ChaCha8Rng| {
        let mut late = vec![0.0; shift];
        late.extend_from_slice(&played[..played.len() - shift]);
        air(&late, random)
    };
    let gain = (below / rms(&performance.played)) as f32;
    let with_noise = |heard: &mut [f32], random: &mut ChaCha8Rng| {
        if let Some(pink) = setting.noise {
            let noise = scaled(&noise(heard.len(), pink, random), below);
            heard.iter_mut().zip(noise).for_each(|(s, n)| *s += n);
        }
    };
    let levels = setting.checked.then(|| {
        let mut silence = vec![0.0; 2 * RATE as usize];
        with_noise(&mut silence, &mut random);
        let mut quiet = PowerMeter::new(RATE);
        quiet.feed(&silence, &[]);
        let part = &performance.played[..performance.played.len().min(5 * RATE as usize)];
        let mut leaking = match setting.leaks {
            true => leak(part, &mut random).iter().map(|s| s * gain).collect(),
            false => vec![0.0; part.len()],
        };
        with_noise(&mut leaking, &mut random);
        let mut band = PowerMeter::new(RATE);
        band.feed(&leaking, part);
        let others = Performance::new(what, &mut random);
        let mut heard = scaled_like(&others, level, &air(&others.strokes, &mut random));
        with_noise(&mut heard, &mut random);
        let strokes = detect(&mut OnsetDetector::new(RATE, None), &heard, &[]);
        let strokes: Vec<_> = strokes.into_iter().take(8).collect();
        SoundCheck::of(&quiet, &band, &strokes)
            .unwrap_or_else(|e| panic!("{what:?}, {}: {e}", setting.name))
    });
    let mut heard = air(&performance.strokes, &mut random);
    if setting.leaks {
        let leaking = leak(&performance.played, &mut random);
        heard
            .iter_mut()
            .zip(leaking)
            .for_each(|(s, l)| *s += gain * l);
    }
    with_noise(&mut heard, &mut random);
    let mut detector = OnsetDetector::new(RATE, levels.as_ref().map(|check| &check.levels));
    let late = levels.map_or(0.0, |check| check.levels.leak_late);
    let mut played = vec![0.0; (late.max(0.0) * f64::from(RATE)) as usize];
    played.extend_from_slice(&performance.played);
    let found: Vec<f64> = detect(&mut detector, &heard, &played)
        .iter()
        .map(|o| o.sample as f64 / f64::from(RATE))
        .collect();
    let mut real = performance.onsets.clone();
    real.sort_by(f64::total_cmp);
    let pairs = pairs(&found, &real);
    tally.hits += pairs.len();
    tally.found += found.len();
    tally.real += real.len();
    tally.errors.extend(pairs.iter().map(|(f, r)| f - r));
    let own = 2.0 * pairs.len() as f64 / (found.len() + real.len()) as f64;
    tally.worst = tally.worst.min(own);
}

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().collect();
    if let Some(at) = args.iter().position(|a| a == "delay") {
        return delay::compare(&args[at + 1..]);
    }
    if let Some(at) = args.iter().position(|a| a == "device") {
        let number = |n: usize| args.get(at + n).and_then(|word| word.parse().ok());
        return device::through(&device::DeviceRun {
            runs: number(1).unwrap_or(1),
            seed: number(2).unwrap_or(REPORTING),
            recording: args.get(at + 3).cloned(),
        });
    }
    let choosing = std::env::args().any(|a| a == "choose");
    let (first, name) = match choosing {
        true => (CHOOSING, "for choosing"),
        false => (REPORTING, "for reporting"),
    };
    println!("{RUNS} performances each, seeds {name} from {first}\n");
    let mut missed = 0;
    let only = std::env::args().find(|a| SETTINGS.iter().any(|s| s.name == *a));
    for setting in SETTINGS
        .into_iter()
        .filter(|s| only.as_ref().is_none_or(|o| o == s.name))
    {
        println!("{}", setting.name);
        let mut all = Tally::default();
        for (what, words) in STROKES {
            let mut tally = Tally {
                worst: 1.0,
                ..Tally::default()
            };
            for seed in 0..RUNS {
                run(what, setting, first + 1000 * what as u64 + seed, &mut tally);
            }
            println!(
                "  {words:<36} F {:.4}  worst {:.3}  missed {:4.1} %  added {:4.1} %  median error {:.1} ms",
                tally.f(),
                tally.worst,
                100.0 * (tally.real - tally.hits) as f64 / tally.real as f64,
                100.0 * (tally.found - tally.hits) as f64 / tally.real as f64,
                tally.median()
            );
            all.hits += tally.hits;
            all.found += tally.found;
            all.real += tally.real;
            all.errors.extend(tally.errors);
        }
        let good = all.f() >= 0.98 && all.median() <= 3.0;
        missed += usize::from(!good && setting.checked);
        println!(
            "  {:<36} F {:.4}  median error {:.1} ms\n",
            "all",
            all.f(),
            all.median()
        );
    }
    match missed {
        0 => ExitCode::SUCCESS,
        n => {
            println!("missed in {n} settings (F at least 0.98, median error at most 3 ms)");
            ExitCode::FAILURE
        }
    }
}
