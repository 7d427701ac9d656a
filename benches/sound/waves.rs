//! Writes WAV files for checks by other programs, and plays a known take.

use crate::scores;
use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;
use whichside::rhythm::{
    Drum, Grid, Hit, Instrument, Line, Pattern, Score, Stroke, Tempo, Tone, Weight,
};
use whichside::sound::{AudioPlayer, CountIn, Take, Wave, render};

fn every_sound() -> Vec<(String, Score)> {
    let grid = Grid::Eighths;
    let mut all = Vec::new();
    // Every beat of two bars, so that sounds are apart even at 300 to the minute.
    let on = |p: usize| p.is_multiple_of(2);
    let cells = 0..grid.pulses_per_cycle();
    for drum in Drum::ALL {
        for tone in Tone::ALL {
            let stroke = Stroke::new(drum, tone);
            let mut score = Score::empty(grid);
            let cells = cells.clone().map(|p| on(p).then_some(stroke));
            score.drums = Some(Pattern::new(grid, cells.collect()).expect("whole bars"));
            let name = tone.name().replace(' ', "-");
            all.push((format!("{}-{name}", drum.name()), score));
        }
    }
    for instrument in Instrument::ALL {
        for weight in [Weight::Plain, Weight::Accent] {
            let hit = Hit {
                weight,
                degree: None,
            };
            let mut score = Score::empty(grid);
            let cells = cells.clone().map(|p| on(p).then_some(hit));
            score.set_line(Line::new(instrument, grid, cells.collect()).expect("whole bars"));
            let kind = if weight == Weight::Plain {
                "plain"
            } else {
                "accent"
            };
            all.push((format!("{}-{kind}", instrument.name()), score));
        }
    }
    all
}

/// Writes every voice at three tempos, and the times of its onsets in `onsets.csv`; loops in `loops/`.
pub fn write(folder: &Path) -> Result<(), Box<dyn std::error::Error>> {
    fs::create_dir_all(folder.join("loops"))?;
    let mut table = String::from("file,onset_seconds\n");
    for (name, score) in every_sound() {
        for bpm in [60.0, 180.0, 300.0] {
            let mut take = Take::new(score.clone(), Tempo::new(bpm), 3);
            take.count_in = CountIn::None;
            let mut wave = render(&take);
            // A little silence first, or a detector misses the first onset.
            let lead = usize::try_from(wave.rate() / 2)?;
            let file = format!("{name}-{bpm}.wav");
            wave = wave.after_silence(lead);
            wave.write_wav(&folder.join(&file))?;
            for frame in wave.pulse_frames().iter().step_by(2) {
                let seconds = *frame as f64 / f64::from(wave.rate());
                table.push_str(&format!("{file},{seconds:.6}\n"));
            }
        }
    }
    fs::write(folder.join("onsets.csv"), table)?;
    for bpm in [60.0, 120.0, 180.0, 300.0] {
        let mut take = Take::new(scores::with_drums(), Tempo::new(bpm), 3);
        take.cycles = 4;
        render(&take).write_wav(&folder.join(format!("loops/band-{bpm}.wav")))?;
    }
    println!("written to {}", folder.display());
    Ok(())
}

/// The take that [`play`] plays.
fn known() -> Wave {
    let mut take = Take::new(scores::with_drums(), Tempo::new(180.0), 7);
    take.count_in = CountIn::Cycle;
    take.cycles = 2;
    render(&take)
}

/// Plays a known take at full volume and writes what should have come out: the take once, and then the loop.
pub fn play(expected: &Path) -> Result<(), Box<dyn std::error::Error>> {
    let wave = Arc::new(known());
    wave.write_wav(expected)?;
    let mut player = AudioPlayer::open()?;
    player.set_volume(1.0);
    std::thread::sleep(Duration::from_millis(700));
    player.play(wave.clone(), false);
    std::thread::sleep(Duration::from_secs_f64(wave.length().seconds() + 1.0));
    println!("{:?}", player.info());
    Ok(())
}

/// Opens the device again and again and says how often that failed.
pub fn open(times: usize) {
    let mut failed = 0;
    let mut longest = Duration::ZERO;
    for _ in 0..times {
        let start = std::time::Instant::now();
        match AudioPlayer::open() {
            Ok(_) => longest = longest.max(start.elapsed()),
            Err(error) => {
                failed += 1;
                println!("{error}");
            }
        }
    }
    println!(
        "opened {times} times, {failed} failed, the slowest took {:.0} ms",
        longest.as_secs_f64() * 1e3
    );
}

/// Keeps playing and says what happens to the device, for `seconds`.
pub fn watch(seconds: u64) -> Result<(), Box<dyn std::error::Error>> {
    let wave = Arc::new(known());
    let mut player = AudioPlayer::open()?;
    player.play(wave.clone(), true);
    for second in 0..seconds {
        std::thread::sleep(Duration::from_secs(1));
        if let Some(change) = player.tend() {
            println!("after {} s: {change:?}", second + 1);
            if change == whichside::sound::DeviceChange::Back {
                player.play(wave.clone(), true);
            }
        }
        let at = player
            .heard()
            .map(|h| h.since_start / f64::from(wave.rate()));
        println!("after {} s: heard {at:.2?} s", second + 1);
    }
    println!("{:?}", player.info());
    Ok(())
}
