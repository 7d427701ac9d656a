//! Strokes, band, rooms and noise put together here, without a device.

use super::BELOW;
use super::material::{
    Instruments, LeakPath, Performance, STROKES, in_room, noise, rms, scaled, scaled_like,
};
use super::score::{Tally, detect, pairs};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use std::process::ExitCode;
use whichside::sound::{OnsetDetector, PowerMeter, RATE, SoundCheck};

const RUNS: u64 = 6;

/// What is in the way.
#[derive(Clone, Copy)]
struct Setting {
    name: &'static str,
    room: bool,
    /// How the band is heard, if it leaks.
    leak: Option<LeakPath>,
    /// Pink, or white.
    noise: Option<bool>,
    /// The noise is there while the band alone is heard in the sound check.
    stays: bool,
    checked: bool,
}

const STILL: Setting = Setting {
    name: "",
    room: false,
    leak: None,
    noise: None,
    stays: true,
    checked: true,
};

/// The band and pink noise in a room that rings, where the microphone hears the sides by these gains.
const fn unequal(name: &'static str, gains: [f32; 2], right_late: f64) -> Setting {
    Setting {
        name,
        room: true,
        leak: Some(LeakPath { gains, right_late }),
        noise: Some(true),
        ..STILL
    }
}

const SETTINGS: [Setting; 11] = [
    Setting {
        name: "band leaking in",
        leak: Some(LeakPath::MIDDLE),
        ..STILL
    },
    Setting {
        name: "band leaking in, a room that rings",
        room: true,
        leak: Some(LeakPath::MIDDLE),
        ..STILL
    },
    Setting {
        name: "white noise",
        noise: Some(false),
        ..STILL
    },
    Setting {
        name: "pink noise, a room that rings",
        room: true,
        noise: Some(true),
        ..STILL
    },
    unequal("band and pink noise", [0.5, 0.5], 0.0),
    unequal("left side and pink noise", [1.0, 0.0], 0.0),
    unequal("right side and pink noise", [0.0, 1.0], 0.0),
    unequal("right side 6 dB softer, pink noise", [1.0, 0.5], 0.0),
    unequal("right side 1 ms later, pink noise", [1.0, 1.0], 0.001),
    Setting {
        stays: false,
        ..unequal(
            "band and pink noise that pauses in the sound check",
            [0.5, 0.5],
            0.0,
        )
    },
    Setting {
        checked: false,
        ..unequal("band and pink noise, no sound check", [0.5, 0.5], 0.0)
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
    let ear = setting.leak.unwrap_or(LeakPath::MIDDLE);
    let gain = (below / rms(&ear.hears(&performance.played))) as f32;
    let leak = |played: &[[f32; 2]], random: &mut ChaCha8Rng| {
        let mut late = vec![0.0; shift];
        late.extend(&ear.hears(played)[..played.len() - shift]);
        late.iter_mut().for_each(|s| *s *= gain);
        air(&late, random)
    };
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
        let mut leaking = match setting.leak {
            Some(_) => leak(part, &mut random),
            None => vec![0.0; part.len()],
        };
        if setting.stays {
            with_noise(&mut leaking, &mut random);
        }
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
    if setting.leak.is_some() {
        let leaking = leak(&performance.played, &mut random);
        heard.iter_mut().zip(leaking).for_each(|(s, l)| *s += l);
    }
    with_noise(&mut heard, &mut random);
    let mut detector = OnsetDetector::new(RATE, levels.as_ref().map(|check| &check.levels));
    let late = levels.map_or(0.0, |check| check.levels.leak_late.seconds());
    let mut played = vec![[0.0; 2]; (late.max(0.0) * f64::from(RATE)) as usize];
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

/// All settings, or the one that is named, on seeds from the first on.
pub fn report(first: u64, only: Option<&str>) -> ExitCode {
    println!("{RUNS} performances each, seeds from {first}\n");
    let mut missed = 0;
    for setting in SETTINGS.iter().filter(|s| only.is_none_or(|o| o == s.name)) {
        println!("{}", setting.name);
        let mut all = Tally::default();
        for (what, words) in STROKES {
            let mut tally = Tally {
                worst: 1.0,
                ..Tally::default()
            };
            for seed in 0..RUNS {
                run(
                    what,
                    *setting,
                    first + 1000 * what as u64 + seed,
                    &mut tally,
                );
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
