//! How far our voices are from recordings, in bands and time, beside how far the recordings are from each other.

use crate::second::{Second, eight};
use realfft::RealFftPlanner;
use std::collections::BTreeMap;
use std::path::Path;
use whichside::rhythm::{Drum, Grid, Hit, Instrument, Line, Score, Stroke, Tempo, Tone, Weight};
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
pub const TOUCHES: u32 = 24;
/// Recordings that vote on what a sound is.
const NEAREST: usize = 3;

/// Levels of the bands in each moment against the whole, dB; nothing where the recording has no such band or moment.
type Levels = Vec<Option<f64>>;

/// A recording as it was read.
pub struct Recording {
    /// What was recorded.
    pub kind: String,
    /// Bank and name.
    pub name: String,
    /// At `rate` samples a second.
    pub sound: Vec<f32>,
    pub rate: f64,
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
pub fn read(folder: &Path) -> Result<Vec<Recording>, Box<dyn std::error::Error>> {
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
        let sound: Vec<f32> = reader.samples::<f32>().collect::<Result<_, _>>()?;
        let rate = f64::from(reader.spec().sample_rate);
        all.push(Recording {
            kind: kind.to_string(),
            name: name[kind.len() + 1..].to_string(),
            chosen: CHOSEN.contains(&bank),
            levels: levels(&sound, rate),
            sound,
            rate,
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
        ..Take::new(score, Tempo::new(60.0), seed)
    };
    render(&take).frames().iter().map(|f| f[0] + f[1]).collect()
}

/// One of our voices.
pub struct Voice {
    pub name: &'static str,
    /// The kind of recording that it is held against.
    pub kind: &'static str,
    /// What a listener calls it.
    called: &'static str,
    /// Its touches, [`TOUCHES`] on each drum.
    pub sounds: Vec<Vec<f32>>,
}

pub fn voices() -> Vec<Voice> {
    let drum = |name, kind, called, drums: &[Drum], tone| {
        let touch = |drum: &Drum, t| single(Stroke::new(*drum, tone), 1000 + t);
        let touches = |drum| (0..TOUCHES).map(move |t| touch(drum, t));
        Voice {
            name,
            kind,
            called,
            sounds: drums.iter().flat_map(touches).collect(),
        }
    };
    let band = |name, kind, instrument, weight| Voice {
        name,
        kind,
        called: kind,
        sounds: (0..TOUCHES)
            .map(|t| hit(instrument, weight, u64::from(t)))
            .collect(),
    };
    let high = &[Drum::Quinto, Drum::Conga];
    let low = &[Drum::Tumbadora];
    vec![
        drum("open tone", "open", "open", high, Tone::Open),
        drum("low open tone", "lowopen", "open", low, Tone::Open),
        drum(
            "closed slap",
            "closedslap",
            "closedslap",
            high,
            Tone::ClosedSlap,
        ),
        drum(
            "muffled tone",
            "muffled",
            "muffled",
            &Drum::ALL,
            Tone::Muffled,
        ),
        drum("open slap", "slap", "closedslap", &Drum::ALL, Tone::Slap),
        drum(
            "low closed slap",
            "lowslap",
            "closedslap",
            low,
            Tone::ClosedSlap,
        ),
        band("clave", "clave", Instrument::Clave, Weight::Plain),
        band("bell, mouth", "bell", Instrument::Bell, Weight::Accent),
        band("bell, neck", "bell", Instrument::Bell, Weight::Plain),
        band("shaker", "shaker", Instrument::Shaker, Weight::Plain),
        band("shell", "shell", Instrument::Shell, Weight::Plain),
        band("bass", "bass", Instrument::Bass, Weight::Plain),
    ]
}

/// What a listener calls a kind of recording. Rims and basses of other drums have no like in the band.
pub fn listener(kind: &str) -> Option<&str> {
    match kind {
        "lowopen" | "bongo" => Some("open"),
        // The muffled tone of the banks is an open one that was altered.
        "piano" | "muffled" => None,
        other => Some(other),
    }
}

/// The name that the nearest recordings give, each by how near it is.
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
        "{:<16}{:>12}{:>10}{:>8}{:>10}{:>8}   named by {NEAREST} nearest in bands; in eight figures",
        "voice", "recordings", "their own", "ours", "chosen", "held"
    );
    let second = Second::new(&known);
    let mut samples = String::new();
    for voice in voices() {
        let touches: Vec<Levels> = (voice.sounds.iter())
            .map(|sound| levels(sound, f64::from(RATE)))
            .collect();
        let of = |chosen: Option<bool>| -> Vec<&Levels> {
            let is_it =
                |r: &&Recording| r.kind == voice.kind && chosen.is_none_or(|c| r.chosen == c);
            known.iter().filter(is_it).map(|r| &r.levels).collect()
        };
        let to = |sound: &Levels, others: &[&Levels]| {
            median(others.iter().map(|o| distance(sound, o)).collect())
        };
        let ours =
            |others: &[&Levels]| median(touches.iter().filter_map(|t| to(t, others)).collect());
        let all = of(None);
        let own = |i: usize| {
            let others: Vec<_> = (0..all.len()).filter(|n| *n != i).map(|n| all[n]).collect();
            to(all[i], &others)
        };
        let print = |value: Option<f64>| value.map_or("-".to_string(), |v| format!("{v:.1}"));
        let named = touches
            .iter()
            .filter(|t| name(t, &known, None) == Some(voice.called))
            .count();
        let mut others: BTreeMap<&str, usize> = BTreeMap::new();
        for sound in &voice.sounds {
            let called = second.name(&eight(sound, f64::from(RATE)), "");
            *others.entry(called).or_default() += 1;
        }
        let others: Vec<String> = others.iter().map(|(n, c)| format!("{n} {c}")).collect();
        println!(
            "{:<16}{:>12}{:>10}{:>8}{:>10}{:>8}   {named} of {}; {}",
            voice.name,
            all.len(),
            print(median((0..all.len()).filter_map(own).collect())),
            print(ours(&all)),
            print(ours(&of(Some(true)))),
            print(ours(&of(Some(false)))),
            touches.len(),
            others.join(", ")
        );
        if ["bell", "shaker"].contains(&voice.kind) {
            samples += &format!("{:<16} ours {}", voice.name, print(ours(&all)));
            let of_kind = known.iter().filter(|r| r.kind == voice.kind);
            for (i, recording) in of_kind.enumerate() {
                samples += &format!(", {} {}", recording.name, print(own(i)));
            }
            samples += "\n";
        }
    }
    println!(
        "\nA recording as our sample instead: the median of each one's distances to the others.\n{samples}"
    );
    let heard = known
        .iter()
        .enumerate()
        .filter(|(_, r)| listener(&r.kind).is_some());
    let (mut right, mut count) = (0, 0);
    for (i, recording) in heard {
        count += 1;
        right += usize::from(name(&recording.levels, &known, Some(i)) == listener(&recording.kind));
    }
    println!("The recordings themselves, each named by the others: {right} of {count}");
    let (right, count) = second.leave_one_bank_out();
    println!("In eight figures, each named by those of the other banks: {right} of {count}");
    Ok(())
}
