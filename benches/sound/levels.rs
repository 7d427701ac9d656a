//! Loudness of voices and loops at full volume, by the `ebur128` library on the finished samples.

use crate::scores;
use ebur128::{EbuR128, Mode};
use whichside::rhythm::{Drum, Stroke, Tempo, Tone};
use whichside::sound::{CEILING_LUFS, RATE, Take, render, single};

/// Integrated loudness of a loop played for at least ten seconds, LUFS, and the highest sample.
pub fn integrated(take: &Take) -> Result<(f64, f32), ebur128::Error> {
    let wave = render(take);
    let mut meter = EbuR128::new(2, RATE, Mode::I)?;
    let rounds = 1 + 10 * RATE as usize / wave.ring().len();
    let mut peak = 0.0f32;
    for _ in 0..rounds {
        meter.add_frames_f32(wave.ring().as_flattened())?;
    }
    for sample in wave
        .frames()
        .as_flattened()
        .iter()
        .chain(wave.ring().as_flattened())
    {
        peak = peak.max(sample.abs());
    }
    Ok((meter.loudness_global()?, peak))
}

pub fn report() {
    println!("Loops at full volume; the ceiling is {CEILING_LUFS} LUFS integrated (ITU-R BS.1770)");
    let mut alone = scores::with_drums();
    alone.lines.clear();
    let mut clave = scores::full_band();
    clave.lines.truncate(1);
    for (name, score) in [
        ("full band with drums", scores::with_drums()),
        ("drums alone", alone),
        ("clave alone", clave),
    ] {
        for bpm in [60.0, 120.0, 180.0, 240.0, 300.0, 400.0] {
            match integrated(&Take::new(score.clone(), Tempo::new(bpm), 1)) {
                Ok((lufs, peak)) => {
                    println!("  {name:<22} at {bpm:>3}: {lufs:>6.1} LUFS, highest sample {peak:.3}")
                }
                Err(error) => println!("  {name} at {bpm}: {error}"),
            }
        }
    }
    println!("Peaks of single strokes on the conga before the mix");
    for tone in Tone::ALL {
        let samples = single(Stroke::new(Drum::Conga, tone), 0);
        let peak = samples.iter().fold(0.0f32, |m, s| m.max(s.abs()));
        println!(
            "  {:<14} {peak:.3}, {:.0} ms long",
            tone.name(),
            samples.len() as f32 / 48.0
        );
    }
}
