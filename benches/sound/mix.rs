//! The mix: what is asked of it, and whether it holds. Each bound is the one of the sound's own issue or of the source named.

use crate::decoder::{FEWEST, LEAST, asked, told};
use crate::features::power;
use crate::{levels, scores};
use ebur128::{EbuR128, Mode};
use whichside::rhythm::{Drum, Instrument, Pattern, Score, Stroke, Tempo, Tone};
use whichside::sound::{RATE, Take, Wave, render, unbent};

/// Beats a minute at which the mix is judged.
pub const TEMPOS: [f64; 4] = [60.0, 110.0, 180.0, 240.0];
/// Most by which the loudness of a take may change with the tempo, LU.
pub const STEADY: f64 = 2.0;
/// EBU R 128: highest true peak, dBTP.
pub const TRUE_PEAK: f64 = -1.0;
/// Most that may be bent off a sample, dB, and of how many samples anything.
pub const BENT: f64 = 4.0;
pub const BENT_SHARE: f64 = 0.001;
/// A sound is heard in noise from some -4 dB in its critical band on (Zwicker & Fastl 1999, *Psychoacoustics*, ch. 4); a
/// third of an octave is near to that band. Here it must be as strong as the rest.
pub const HEARD: f64 = 0.0;
/// The drum in front stands no further from the middle, as a share of the angle between both sides, and no part of the band
/// but the bass nearer to it: our choice.
pub const MIDDLE: f64 = 0.05;
pub const APART: f64 = 0.10;

/// Levels of a take.
pub struct Levels {
    /// Integrated loudness, LUFS.
    pub lufs: f64,
    /// dBTP.
    pub true_peak: f64,
    /// Share of samples that were bent, and the most that was taken from one, dB.
    pub bent: f64,
    pub most_bent: f64,
}

/// The levels of a take as it goes round.
pub fn measure(take: &Take) -> Result<Levels, ebur128::Error> {
    let wave = render(take);
    let mut meter = EbuR128::new(2, RATE, Mode::TRUE_PEAK)?;
    meter.add_frames_f32(wave.frames().as_flattened())?;
    let true_peak = meter.true_peak(0)?.max(meter.true_peak(1)?);
    let samples = wave.frames().as_flattened();
    let off = samples.iter().map(|s| unbent(*s) / s).filter(|r| *r > 1.0);
    let most = off.clone().fold(1.0f32, f32::max);
    Ok(Levels {
        lufs: levels::integrated(take)?.0,
        true_peak: 20.0 * true_peak.log10(),
        bent: off.count() as f64 / samples.len() as f64,
        most_bent: 20.0 * f64::from(most).log10(),
    })
}

/// The takes that are judged: the band with and without drums, the drums, and the clave by itself.
pub fn takes() -> [(&'static str, Score); 4] {
    let mut drums = scores::with_drums();
    drums.lines.clear();
    let mut clave = scores::full_band();
    clave.lines.truncate(1);
    [
        ("band with drums", scores::with_drums()),
        ("band", scores::full_band()),
        ("drums", drums),
        ("clave", clave),
    ]
}

fn only(instrument: Instrument) -> Score {
    let band = scores::with_drums();
    let mut alone = Score::empty(band.grid);
    alone.set_line(band.line(instrument).expect("it plays").clone());
    alone
}

fn both(wave: &Wave, from: usize) -> Vec<f32> {
    let part = &wave.frames()[from..from + RATE as usize * 60 / 1000];
    part.iter().map(|f| f[0] + f[1]).collect()
}

/// On a loudspeaker that gives nothing below 200 Hz: by how many dB the bass is over the rest in its best third of an octave,
/// at each pulse that it plays. At this tempo a take is neither raised nor lowered, so that a part is as loud alone as in
/// the band.
pub fn bass_over_the_rest() -> Vec<(usize, f64)> {
    const SIZE: usize = 4096;
    let band = scores::with_drums();
    let mut rest = band.clone();
    rest.remove(Instrument::Bass);
    let alone = only(Instrument::Bass);
    let [all, alone, rest] =
        [band.clone(), alone, rest].map(|s| render(&Take::new(s, Tempo::new(120.0), 1)));
    for (frame, sum) in alone.frames().iter().zip(rest.frames()).zip(all.frames()) {
        let parts = frame.0[0] + frame.1[0];
        assert!((parts - sum[0]).abs() < 0.02, "the parts are the whole");
    }
    let bass = band.line(Instrument::Bass).expect("the bass plays");
    let over = |pulse: usize| {
        let heard = |wave| power(&both(wave, all.pulse_frames()[pulse]), SIZE);
        let (bass, rest) = (heard(&alone), heard(&rest));
        let bin = |i: i32| {
            (200.0 * 2f64.powf(f64::from(i) / 3.0) * SIZE as f64 / f64::from(RATE)) as usize
        };
        let band = |i: i32| {
            let sum = |power: &[f64]| power[bin(i)..bin(i + 1)].iter().sum::<f64>();
            10.0 * (sum(&bass) / sum(&rest)).log10()
        };
        (0..16).map(band).fold(f64::MIN, f64::max)
    };
    let pulses = (0..16).filter(|p| bass.at(*p).is_some());
    pulses.map(|p| (p, over(p))).collect()
}

/// Where a part is heard, as the share of the angle between left (0) and right (1), from the levels of both sides.
fn place(score: Score) -> f64 {
    let wave = render(&Take::new(score, Tempo::new(120.0), 1));
    let side = |i: usize| {
        let squares = wave.frames().iter().map(|f| f64::from(f[i]).powi(2));
        squares.sum::<f64>().sqrt()
    };
    side(1).atan2(side(0)) / std::f64::consts::FRAC_PI_2
}

/// The conga, and each instrument of the band.
pub fn places() -> (f64, Vec<(Instrument, f64)>) {
    let mut conga = Score::empty(scores::full_band().grid);
    let open = Some(Stroke::new(Drum::Conga, Tone::Open));
    conga.drums = Some(Pattern::new(conga.grid, vec![open; 16]).expect("whole bars"));
    let band = scores::full_band();
    let line = |instrument| (instrument, place(only(instrument)));
    let band = band.lines.iter().map(|l| line(l.instrument())).collect();
    (place(conga), band)
}

/// Prints the report.
///
/// # Errors
///
/// Says how many bounds were missed, or why something could not be measured.
pub fn report() -> Result<(), Box<dyn std::error::Error>> {
    let mut missed = 0;
    let mut mark = |holds: bool| {
        missed += usize::from(!holds);
        if holds { "" } else { "   MISSED" }
    };
    println!(
        "Levels at full volume. Bounds: loudness within {STEADY} LU over the tempo, true peak below {TRUE_PEAK} dBTP, at most\n\
         {BENT} dB bent off any sample and anything off {} % of them.",
        100.0 * BENT_SHARE
    );
    for (name, score) in takes() {
        let (mut least, mut most) = (f64::MAX, f64::MIN);
        for bpm in TEMPOS {
            let l = measure(&Take::new(score.clone(), Tempo::new(bpm), 1))?;
            (least, most) = (least.min(l.lufs), most.max(l.lufs));
            let holds = l.true_peak < TRUE_PEAK && l.most_bent <= BENT && l.bent <= BENT_SHARE;
            println!(
                "  {name:<16} at {bpm:>3}: {:>6.1} LUFS, {:>6.2} dBTP, {:.4} % bent, by {:.1} dB at most{}",
                l.lufs,
                l.true_peak,
                100.0 * l.bent,
                l.most_bent,
                mark(holds)
            );
        }
        println!(
            "  {name:<16} within {:.1} LU{}",
            most - least,
            mark(most - least < STEADY)
        );
    }
    println!(
        "\nBass above 200 Hz, in its best third of an octave over the rest. Bound: {HEARD} dB."
    );
    for (pulse, over) in bass_over_the_rest() {
        println!(
            "  pulse {:>2}: {over:>5.1} dB{}",
            pulse + 1,
            mark(over >= HEARD)
        );
    }
    let (conga, band) = places();
    println!(
        "\nPlaces, 0 left to 1 right. Bounds: the conga within {MIDDLE} of the middle, the band but for the bass {APART} from it.\n  {:<8} {conga:.2}{}",
        "conga",
        mark((conga - 0.5).abs() <= MIDDLE)
    );
    for (instrument, at) in band {
        let holds = instrument == Instrument::Bass || (at - conga).abs() >= APART;
        println!("  {:<8} {at:.2}{}", instrument.name(), mark(holds));
    }
    println!(
        "\nStrokes that the drill asks by ear, told by a decoder. Bound: an area of {LEAST} under the curve where there are {FEWEST} or more."
    );
    for bpm in [60.0, 120.0, 180.0, 240.0] {
        let (asked, lines) = asked(|_| vec![bpm]);
        println!(
            "  at {bpm:>3}: {} strokes, {lines} lines of the band beside them",
            asked.len()
        );
        for tone in Tone::ALL {
            let (area, count) = told(&asked, tone);
            let holds = count < FEWEST || area >= LEAST;
            println!(
                "    {:<14} {area:.3} of {count}{}",
                tone.name(),
                mark(holds)
            );
        }
    }
    match missed {
        0 => Ok(()),
        n => Err(format!("{n} bounds were missed").into()),
    }
}
