//! What a microphone hears of the program's own clicks.

use whichside::rhythm::{Grid, Hit, Instrument, Line, Score, Tempo};
use whichside::sound::{OnsetDetector, RATE, Take, after_nearest, calibrate, render};
use whichside::time::Seconds;

/// Clicks on the beat at 100 a minute, 0.6 s apart, heard `late` frames later, 30 dB softer, over noise 20 dB below them.
fn found(late: usize) -> f64 {
    let cells = (0..8).map(|p| (p % 2 == 0).then(Hit::default)).collect();
    let mut score = Score::empty(Grid::Eighths);
    score.set_line(Line::new(Instrument::Click, Grid::Eighths, cells).unwrap());
    let mut take = Take::new(score, Tempo::new(100.0), 1);
    take.cycles = 5;
    let wave = render(&take);
    // Xorshift (Marsaglia 2003), evenly from -1 to 1.
    let mut state = 0x9e37_79b9u32;
    let mut hiss = || {
        state ^= state << 13;
        state ^= state >> 17;
        state ^= state << 5;
        state as f32 / u32::MAX as f32 * 2.0 - 1.0
    };
    let clicks = wave.frames().iter().map(|f| 0.03 * (f[0] + f[1]) / 2.0);
    let top = wave.frames().iter().map(|f| f[0].abs()).fold(0.0, f32::max);
    let heard: Vec<f32> = std::iter::repeat_n(0.0, late)
        .chain(clicks)
        .map(|s| s + 0.003 * top * hiss())
        .collect();
    let mut onsets = Vec::new();
    OnsetDetector::new(RATE, None).feed(&heard, &[], &mut onsets);
    let beats: Vec<Seconds> = (0..20).map(|n| Seconds::new(0.6 * f64::from(n))).collect();
    let seconds = onsets
        .iter()
        .map(|o| Seconds::new(o.sample as f64 / f64::from(RATE)));
    let late: Vec<Seconds> = seconds.filter_map(|s| after_nearest(s, &beats)).collect();
    calibrate(&late[..late.len().min(20)])
        .unwrap()
        .offset
        .seconds()
}

#[test]
fn the_delay_of_a_microphone_is_found_to_two_milliseconds() {
    for late in [0, 480, 1771, 4800, 12_000] {
        let due = late as f64 / f64::from(RATE);
        let off = found(late) - due;
        assert!(off.abs() <= 0.002, "{late}: {:.1} ms off", off * 1000.0);
    }
}
