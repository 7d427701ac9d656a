//! How far our voices are from recordings, in bands and time, beside how far the recordings are from each other.

use realfft::RealFftPlanner;
use std::path::Path;
use whichside::rhythm::{Drum, Grid, Hit, Instrument, Line, Score, Stroke, Tone, Weight};
use whichside::sound::{RATE, Take, Vamp, render, single};

/// Edges of the bands, Hz, and of the moments after the onset, milliseconds.
const EDGES: [f64; 9] = [
    40.0, 90.0, 180.0, 355.0, 710.0, 1400.0, 2800.0, 5600.0, 11_200.0,
];
const MOMENTS: [f64; 5] = [0.0, 5.0, 20.0, 60.0, 150.0];
/// Nothing below this, dB against the whole, counts.
const FLOOR: f64 = -55.0;
/// Banks by which the voices were chosen; all others were held back.
const CHOSEN: [&str; 2] = ["A", "B"];
/// Touches of each voice.
const TOUCHES: u32 = 24;
/// Recordings that vote on what a sound is.
const NEAREST: usize = 3;

/// Levels of the bands in each moment against the whole, dB; nothing where the recording has no such band or moment.
type Levels = Vec<Option<f64>>;

struct Recording {
    kind: String,
    chosen: bool,
    levels: Levels,
}

/// The part of a sound from its first sample above a hundredth of the loudest one, with as much silence before and after it.
fn from_onset(sound: &[f32], rate: f64) -> (Vec<f64>, usize) {
    let loudest = sound.iter().fold(0.0f32, |m, s| m.max(s.abs()));
    let start = sound.iter().position(|s| s.abs() > 0.01 * loudest);
    let sound = &sound[start.unwrap_or(0)..];
    let length = (0.001 * MOMENTS[4] * rate) as usize;
    let heard = sound.len().min(length);
    let mut all = vec![0.0; length];
    all.extend(sound[..heard].iter().map(|s| f64::from(*s)));
    all.resize(3 * length, 0.0);
    (all, heard)
}

/// Each band is cut out of the spectrum and made a sound again, whose energy is summed up moment by moment.
fn levels(sound: &[f32], rate: f64) -> Levels {
    let (mut input, heard) = from_onset(sound, rate);
    let size = input.len();
    let total: f64 = input.iter().map(|s| s * s).sum();
    let mut plan = RealFftPlanner::<f64>::new();
    let (there, back) = (plan.plan_fft_forward(size), plan.plan_fft_inverse(size));
    let mut whole = there.make_output_vec();
    there
        .process(&mut input, &mut whole)
        .expect("the buffers are the plan's own");
    let mut all = Vec::new();
    for edge in EDGES.windows(2) {
        let bin = |hz: f64| ((hz * size as f64 / rate) as usize).min(whole.len());
        let mut band = back.make_input_vec();
        band[bin(edge[0])..bin(edge[1])].copy_from_slice(&whole[bin(edge[0])..bin(edge[1])]);
        let mut sound = back.make_output_vec();
        back.process(&mut band, &mut sound)
            .expect("the buffers are the plan's own");
        for (i, moment) in MOMENTS.windows(2).enumerate() {
            let at = |ms: f64| (0.001 * ms * rate) as usize;
            let is_there =
                edge[1] < 0.65 * rate && (i == 0 || heard as f64 > at(moment[0]) as f64 * 1.3);
            // What the cut smears before the onset belongs to it.
            let from = if i == 0 { 0 } else { size / 3 + at(moment[0]) };
            let part = &sound[from..size / 3 + at(moment[1])];
            let energy = part.iter().map(|s| (s / size as f64).powi(2)).sum::<f64>();
            let level = 10.0 * (energy / total.max(1e-30) + 1e-30).log10();
            all.push(is_there.then_some(level.max(FLOOR)));
        }
    }
    all
}

/// Mean difference, dB, where both have a level.
fn distance(one: &Levels, other: &Levels) -> f64 {
    let both = one
        .iter()
        .zip(other)
        .filter_map(|(a, b)| Some((a.as_ref()? - b.as_ref()?).abs()));
    let (sum, count) = both.fold((0.0, 0), |(sum, count), d| (sum + d, count + 1));
    sum / f64::from(count.max(1))
}

fn median(mut all: Vec<f64>) -> Option<f64> {
    all.sort_by(f64::total_cmp);
    let upper = *all.get(all.len() / 2)?;
    Some(0.5 * (upper + all[(all.len() - 1) / 2]))
}

/// KIND-BANK-NAME.wav, as `tests/sound/unpack_recordings.py` writes them.
fn read(folder: &Path) -> Result<Vec<Recording>, Box<dyn std::error::Error>> {
    let mut paths: Vec<_> = std::fs::read_dir(folder)?.collect::<Result<Vec<_>, _>>()?;
    paths.sort_by_key(|entry| entry.path());
    let mut all = Vec::new();
    for path in paths.iter().map(|entry| entry.path()) {
        let name = path
            .file_stem()
            .unwrap_or_default()
            .to_string_lossy()
            .to_string();
        let mut parts = name.split('-');
        let (Some(kind), Some(bank)) = (parts.next(), parts.next()) else {
            return Err(format!("{}: call it KIND-BANK-NAME.wav", path.display()).into());
        };
        let mut reader = hound::WavReader::open(&path)?;
        let samples: Vec<f32> = reader.samples::<f32>().collect::<Result<_, _>>()?;
        all.push(Recording {
            kind: kind.to_string(),
            chosen: CHOSEN.contains(&bank),
            levels: levels(&samples, f64::from(reader.spec().sample_rate)),
        });
    }
    Ok(all)
}

/// One hit of an instrument of the band, at the lowest note of its home chord.
fn hit(instrument: Instrument, weight: Weight, seed: u64) -> Vec<f32> {
    let grid = Grid::Eighths;
    let mut cells = vec![None; 16];
    cells[2] = Some(Hit {
        weight,
        degree: None,
    });
    let mut score = Score::empty(grid);
    score.set_line(Line::new(instrument, grid, cells).expect("whole bars"));
    let take = Take {
        vamp: Vamp {
            one_chord: true,
            ..Vamp::default()
        },
        ..Take::new(score, 60.0, seed)
    };
    render(&take).frames().iter().map(|f| f[0] + f[1]).collect()
}

/// A voice: its name, the kind of recording that it is held against, the name that a listener has for it, and its touches.
fn voices() -> Vec<(&'static str, &'static str, &'static str, Vec<Levels>)> {
    let rate = f64::from(RATE);
    let drum = |drum, tone| {
        let touch = move |t| levels(&single(Stroke::new(drum, tone), 1000 + t), rate);
        (0..TOUCHES).map(touch).collect::<Vec<_>>()
    };
    let band = |instrument, weight| {
        let touch = move |t| levels(&hit(instrument, weight, u64::from(t)), rate);
        (0..TOUCHES).map(touch).collect::<Vec<_>>()
    };
    let both = |tone| [drum(Drum::Quinto, tone), drum(Drum::Conga, tone)].concat();
    vec![
        ("open tone", "open", "open", both(Tone::Open)),
        (
            "low open tone",
            "lowopen",
            "open",
            drum(Drum::Tumbadora, Tone::Open),
        ),
        (
            "closed slap",
            "closedslap",
            "closedslap",
            both(Tone::ClosedSlap),
        ),
        (
            "clave",
            "clave",
            "clave",
            band(Instrument::Clave, Weight::Plain),
        ),
        (
            "bell, mouth",
            "bell",
            "bell",
            band(Instrument::Bell, Weight::Accent),
        ),
        (
            "bell, neck",
            "bell",
            "bell",
            band(Instrument::Bell, Weight::Plain),
        ),
        (
            "shaker",
            "shaker",
            "shaker",
            band(Instrument::Shaker, Weight::Plain),
        ),
        (
            "bass",
            "bass",
            "bass",
            band(Instrument::Bass, Weight::Plain),
        ),
    ]
}

/// What a listener calls a kind of recording. Rims and basses of other drums have no like in the band.
fn listener(kind: &str) -> Option<&str> {
    match kind {
        "lowopen" | "bongo" | "djembetone" => Some("open"),
        "djembebass" | "piano" | "muffled" => None,
        other => Some(other),
    }
}

/// The name that the nearest recordings give, each by how near it is and how few of its name there are.
fn name<'a>(sound: &Levels, known: &'a [Recording], without: Option<usize>) -> Option<&'a str> {
    let named = known
        .iter()
        .enumerate()
        .filter(|(i, _)| Some(*i) != without);
    let mut near: Vec<(f64, &str)> = named
        .filter_map(|(_, r)| Some((distance(sound, &r.levels), listener(&r.kind)?)))
        .collect();
    near.sort_by(|a, b| a.0.total_cmp(&b.0));
    near.truncate(NEAREST);
    let votes = |name: &str| {
        near.iter()
            .filter(|n| n.1 == name)
            .map(|n| 1.0 / n.0)
            .sum::<f64>()
    };
    near.iter()
        .map(|n| n.1)
        .max_by(|a, b| votes(a).total_cmp(&votes(b)))
}

pub fn report(folder: &Path) -> Result<(), Box<dyn std::error::Error>> {
    let known = read(folder)?;
    println!(
        "Distances in dB: the mean over {} bands and {} moments; median over {TOUCHES} touches and over the recordings.\n\
         Chosen by banks {CHOSEN:?}; the others were held back.\n",
        EDGES.len() - 1,
        MOMENTS.len() - 1
    );
    println!(
        "{:<16}{:>12}{:>10}{:>8}{:>10}{:>8}   named by {NEAREST} nearest",
        "voice", "recordings", "their own", "ours", "chosen", "held"
    );
    for (voice, kind, right, touches) in voices() {
        let of = |chosen: Option<bool>| -> Vec<&Levels> {
            let is_it = |r: &&Recording| r.kind == kind && chosen.is_none_or(|c| r.chosen == c);
            known.iter().filter(is_it).map(|r| &r.levels).collect()
        };
        let to = |sound: &Levels, others: &[&Levels]| {
            median(others.iter().map(|o| distance(sound, o)).collect())
        };
        let ours =
            |others: &[&Levels]| median(touches.iter().filter_map(|t| to(t, others)).collect());
        let all = of(None);
        let own = (0..all.len()).filter_map(|i| {
            let others: Vec<_> = (0..all.len()).filter(|n| *n != i).map(|n| all[n]).collect();
            to(all[i], &others)
        });
        let print = |value: Option<f64>| value.map_or("-".to_string(), |v| format!("{v:.1}"));
        let named = touches
            .iter()
            .filter(|t| name(t, &known, None) == Some(right))
            .count();
        println!(
            "{voice:<16}{:>12}{:>10}{:>8}{:>10}{:>8}   {named} of {}",
            all.len(),
            print(median(own.collect())),
            print(ours(&all)),
            print(ours(&of(Some(true)))),
            print(ours(&of(Some(false)))),
            touches.len()
        );
    }
    let heard = known
        .iter()
        .enumerate()
        .filter(|(_, r)| listener(&r.kind).is_some());
    let (mut right, mut count) = (0, 0);
    for (i, recording) in heard {
        count += 1;
        right += usize::from(name(&recording.levels, &known, Some(i)) == listener(&recording.kind));
    }
    println!("\nThe recordings themselves, each named by the others: {right} of {count}");
    Ok(())
}
