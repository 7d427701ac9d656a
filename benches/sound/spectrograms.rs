//! Spectrograms of our voices and of recordings side by side, as pictures.

use crate::recordings::{read, voices};
use realfft::RealFftPlanner;
use std::fs;
use std::path::Path;
use whichside::sound::RATE;

/// What a picture shows: milliseconds from the onset on, one column each; a row for each of so many steps from the
/// lowest frequency to the highest, Hz; the range from white to black, dB below the loudest point.
const COLUMNS: usize = 200;
const ROWS: usize = 120;
const LOWEST: f64 = 40.0;
const HIGHEST: f64 = 12_000.0;
const RANGE: f64 = 66.0;
/// Length of a window, seconds, and of what it is filled up to.
const WINDOW: f64 = 0.012;
const SIZE: usize = 4096;
/// Pixels of a point, and between two pictures.
const SCALE: usize = 2;
const GAP: usize = 8;

/// Rows from the highest frequency down, each as one shade a column.
type Picture = Vec<Vec<u8>>;

fn picture(sound: &[f32], rate: f64) -> Picture {
    let loudest = sound.iter().fold(0.0f32, |m, s| m.max(s.abs()));
    let onset = sound.iter().position(|s| s.abs() > 0.01 * loudest);
    let mut plan = RealFftPlanner::<f64>::new();
    let transform = plan.plan_fft_forward(SIZE);
    let mut spectrum = transform.make_output_vec();
    let width = (WINDOW * rate) as usize;
    let mut levels = vec![vec![0.0f64; COLUMNS]; ROWS];
    for column in 0..COLUMNS {
        let middle = onset.unwrap_or(0) as f64 + 0.001 * column as f64 * rate;
        let from = middle as i64 - width as i64 / 2;
        let mut input = transform.make_input_vec();
        for (i, into) in input[..width].iter_mut().enumerate() {
            let turn = std::f64::consts::TAU * (i as f64 + 0.5) / width as f64;
            let at = usize::try_from(from + i as i64).ok();
            let sample = at.and_then(|at| sound.get(at)).copied().unwrap_or(0.0);
            *into = f64::from(sample) * (0.5 - 0.5 * turn.cos());
        }
        transform
            .process(&mut input, &mut spectrum)
            .expect("the buffers are the plan's own");
        for (row, levels) in levels.iter_mut().enumerate() {
            let hz = |row: f64| LOWEST * (HIGHEST / LOWEST).powf(1.0 - row / ROWS as f64);
            let bin = |hz: f64| ((hz * SIZE as f64 / rate) as usize).min(spectrum.len() - 1);
            let (low, high) = (bin(hz(row as f64 + 1.0)), bin(hz(row as f64)));
            let powers = spectrum[low..=high].iter().map(|c| c.norm_sqr());
            levels[column] = powers.fold(0.0, f64::max);
        }
    }
    let most = levels.iter().flatten().copied().fold(1e-30, f64::max);
    let shade = |power: f64| {
        let below = -10.0 * (power / most + 1e-30).log10();
        (255.0 * (below / RANGE).min(1.0)) as u8
    };
    let row = |row: Vec<f64>| row.into_iter().map(shade).collect();
    levels.into_iter().map(row).collect()
}

/// Pictures in a row.
fn side_by_side(pictures: &[Picture]) -> Picture {
    let row = |y: usize| {
        let mut row = Vec::new();
        for picture in pictures {
            row.extend(picture[y / SCALE].iter().flat_map(|s| [*s; SCALE]));
            row.extend([128; GAP]);
        }
        row
    };
    (0..ROWS * SCALE).map(row).collect()
}

/// A picture in grey as a PNG file whose data are stored as they are (PNG specification, 3rd edition, W3C 2025; RFC 1950 and
/// 1951 for the stream).
fn png(picture: &Picture) -> Vec<u8> {
    // Every row begins with its filter: none.
    let rows: Vec<u8> = (picture.iter())
        .flat_map(|row| std::iter::once(0).chain(row.iter().copied()))
        .collect();
    let mut stream = vec![0x78, 0x01];
    let blocks = rows.chunks(0xffff).len();
    for (i, block) in rows.chunks(0xffff).enumerate() {
        let length = block.len() as u16;
        stream.push(u8::from(i + 1 == blocks));
        stream.extend(length.to_le_bytes());
        stream.extend((!length).to_le_bytes());
        stream.extend(block);
    }
    let (a, b) = rows.iter().fold((1u32, 0u32), |(a, b), byte| {
        let a = (a + u32::from(*byte)) % 65_521;
        (a, (b + a) % 65_521)
    });
    stream.extend(((b << 16) | a).to_be_bytes());
    let mut header = Vec::new();
    header.extend((picture[0].len() as u32).to_be_bytes());
    header.extend((picture.len() as u32).to_be_bytes());
    // Eight bits, grey, and the only ways to pack, filter and order.
    header.extend([8, 0, 0, 0, 0]);
    let mut file = b"\x89PNG\r\n\x1a\n".to_vec();
    for (name, data) in [
        (b"IHDR", &header),
        (b"IDAT", &stream),
        (b"IEND", &Vec::new()),
    ] {
        let named = [&name[..], data].concat();
        file.extend((data.len() as u32).to_be_bytes());
        file.extend(&named);
        file.extend(crc32fast::hash(&named).to_be_bytes());
    }
    file
}

/// Writes one picture for each voice into `out`: a touch of ours on each drum, then the recordings in `folder`.
pub fn write(folder: &Path, out: &Path) -> Result<(), Box<dyn std::error::Error>> {
    fs::create_dir_all(out)?;
    println!(
        "{COLUMNS} ms from the onset, {LOWEST} to {HIGHEST} Hz upwards, black to white over {RANGE} dB; dark is loud."
    );
    let known = read(folder)?;
    for voice in voices() {
        let mut pictures = vec![];
        let mut names = vec![];
        for sound in voice
            .sounds
            .iter()
            .step_by(crate::recordings::TOUCHES as usize)
        {
            pictures.push(picture(sound, f64::from(RATE)));
            names.push("ours");
        }
        for recording in known.iter().filter(|r| r.kind == voice.kind) {
            pictures.push(picture(&recording.sound, recording.rate));
            names.push(&recording.name);
        }
        let path = out.join(format!("{}.png", voice.name.replace([' ', ','], "")));
        fs::write(&path, png(&side_by_side(&pictures)))?;
        println!("{}: {}", path.display(), names.join(", "));
    }
    Ok(())
}
