//! The delay that was really there, out of a recording that the program knows nothing of: where each click of the first two
//! channels comes again in the last two, by cross-correlation.

use std::process::ExitCode;
use whichside::sound::RATE;

const CHANNELS: usize = 4;
/// A click is louder than this after so many frames that are not.
const LOUD: f32 = 0.02;
const STILL: usize = RATE as usize / 10;
/// Frames of a click, and within how many it comes again.
const CLICK: usize = RATE as usize / 20;
const WITHIN: usize = RATE as usize * 3 / 10;
/// The program leaves out the first clicks, and so does this.
const WARM_UP: usize = 4;
/// What may lie between what was found and what was there, ms.
const MOST: f64 = 2.0;

/// Delays of all clicks, ms.
fn delays(frames: &[[f32; 2]]) -> Vec<f64> {
    let mut found = Vec::new();
    let mut still = STILL;
    for n in 0..frames.len().saturating_sub(CLICK + WITHIN) {
        still += 1;
        if frames[n][0].abs() <= LOUD {
            continue;
        }
        if std::mem::replace(&mut still, 0) <= STILL {
            continue;
        }
        let together = |late: usize| -> f64 {
            let pairs = (0..CLICK).map(|i| f64::from(frames[n + i][0] * frames[n + late + i][1]));
            pairs.sum()
        };
        let best = (0..WITHIN).map(|late| (late, together(late)));
        let best = best.max_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |b| b.0);
        found.push(1000.0 * best as f64 / f64::from(RATE));
    }
    found
}

/// `RECORDING FIRST LAST STRAIGHT FOUND`: the raw recording (32-bit floats, four channels), its first and last byte that count,
/// and the milliseconds that the program found without the delay and with it.
pub fn compare(args: &[String]) -> ExitCode {
    let [file, numbers @ ..] = args else {
        eprintln!("RECORDING FIRST LAST STRAIGHT FOUND are needed");
        return ExitCode::FAILURE;
    };
    let numbers: Vec<f64> = numbers.iter().filter_map(|n| n.parse().ok()).collect();
    let [first, last, straight, with] = numbers[..] else {
        eprintln!("four numbers are needed after the recording");
        return ExitCode::FAILURE;
    };
    let bytes = std::fs::read(file).expect("a recording");
    let frame = 4 * CHANNELS;
    let (first, last) = (
        first as usize / frame,
        (last as usize / frame).min(bytes.len() / frame),
    );
    let frames: Vec<[f32; 2]> = bytes[first * frame..last * frame]
        .chunks_exact(frame)
        .map(|frame| {
            let at =
                |c: usize| f32::from_le_bytes(frame[4 * c..4 * c + 4].try_into().expect("four"));
            [at(0) + at(1), at(2) + at(3)]
        })
        .collect();
    let mut there = delays(&frames)
        .into_iter()
        .skip(WARM_UP)
        .collect::<Vec<_>>();
    there.sort_by(f64::total_cmp);
    let Some(middle) = there.get(there.len() / 2) else {
        println!("no clicks were recorded");
        return ExitCode::FAILURE;
    };
    let (least, most) = (there[0], there[there.len() - 1]);
    let off = with - straight - middle;
    println!(
        "  really put in {middle:.1} ms ({least:.1} to {most:.1}), found {:.1} ms: {off:+.1} ms",
        with - straight
    );
    match off.abs() <= MOST {
        true => ExitCode::SUCCESS,
        false => ExitCode::FAILURE,
    }
}
