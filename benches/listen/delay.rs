//! The delay that was really there, out of a recording that the program knows nothing of: where each click of the first two
//! channels comes again in the last two, by cross-correlation.

use std::process::ExitCode;
use whichside::sound::RATE;

const CHANNELS: usize = 4;
/// Bytes of a frame of the recording.
pub const FRAME: usize = 4 * CHANNELS;
/// A click is louder than this after so many frames that are not.
const LOUD: f32 = 0.02;
const STILL: usize = RATE as usize / 10;
/// Frames of a click, and within how many it comes again.
const CLICK: usize = RATE as usize / 20;
pub const WITHIN: usize = RATE as usize * 2 / 5;
/// The program leaves out the first clicks, and so does this.
const WARM_UP: usize = 4;
/// What may lie between what was found and what was there, ms.
const MOST: f64 = 2.0;
/// Clicks that come again further apart than this, ms, but for one at each end, went through a loop that slipped.
const SLIP: f64 = 1.0;
/// The exit code where it did: nothing was tested.
const SLIPPED: u8 = 2;

/// The frames of a recording from one byte to another: the sum of its first two channels, and of its last two.
pub fn frames(bytes: &[u8], first: usize, last: usize) -> Vec<[f32; 2]> {
    let last = (last / FRAME).min(bytes.len() / FRAME);
    let first = (first / FRAME).min(last);
    bytes[first * FRAME..last * FRAME]
        .chunks_exact(FRAME)
        .map(|frame| {
            let at =
                |c: usize| f32::from_le_bytes(frame[4 * c..4 * c + 4].try_into().expect("four"));
            [at(0) + at(1), at(2) + at(3)]
        })
        .collect()
}

/// How many frames the first channel of these comes later in the second, with what of it is there: `None` where nothing is.
pub fn late(frames: &[[f32; 2]]) -> Option<usize> {
    let count = frames.len().checked_sub(WITHIN).filter(|n| *n > 0)?;
    let together = |late: usize| -> f64 {
        let pairs = frames[..count].iter().zip(&frames[late..]);
        pairs.map(|(a, b)| f64::from(a[0] * b[1])).sum()
    };
    let best = (0..WITHIN).map(|late| (late, together(late)));
    let best = best.max_by(|a, b| a.1.total_cmp(&b.1))?;
    (best.1 > 0.0).then_some(best.0)
}

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
        let best = late(&frames[n..n + CLICK + WITHIN]).unwrap_or(0);
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
    let frames = frames(&bytes, first as usize, last as usize);
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
        "  really put in {middle:.2} ms ({least:.2} to {most:.2}, {} clicks), found {:.2} ms: {off:+.2} ms",
        there.len(),
        with - straight
    );
    let one = usize::from(there.len() > 2);
    if there[there.len() - 1 - one] - there[one] > SLIP {
        println!("  the loop slipped meanwhile: no test");
        return ExitCode::from(SLIPPED);
    }
    match off.abs() <= MOST {
        true => ExitCode::SUCCESS,
        false => ExitCode::FAILURE,
    }
}
