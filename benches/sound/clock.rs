//! Jitter of the reported playback position on the device of this machine.

use crate::scores;
use std::sync::Arc;
use std::time::{Duration, Instant};
use whichside::rhythm::Tempo;
use whichside::sound::{AudioPlayer, Take, render};

const SECONDS: f64 = 8.0;

pub fn report() {
    let start = Instant::now();
    let opened = AudioPlayer::open();
    println!(
        "The sound device took {:.1} ms to open or to fail",
        start.elapsed().as_secs_f64() * 1e3
    );
    let mut player = match opened {
        Ok(player) => player,
        Err(error) => {
            println!("Playback position: not measured, {error}");
            return;
        }
    };
    let wave = Arc::new(render(&Take::new(
        scores::with_drums(),
        Tempo::new(180.0),
        1,
    )));
    let rate = f64::from(wave.rate());
    player.set_volume(0.0);
    player.play(wave, true);
    std::thread::sleep(Duration::from_millis(1500));

    let start = Instant::now();
    let mut points = Vec::new();
    while start.elapsed().as_secs_f64() < SECONDS {
        let now = Instant::now();
        if let Some(heard) = player.heard_at(now) {
            points.push(((now - start).as_secs_f64(), heard.since_start / rate));
        }
        std::thread::sleep(Duration::from_micros(1700));
    }
    let Some(info) = player.info() else {
        println!("Playback position: the device was lost");
        return;
    };
    println!(
        "Playback position on {} ({}), {} Hz, buffer {:?}, reported latency {:.1} ms",
        info.device,
        info.host,
        info.rate,
        info.buffer,
        info.latency * 1e3
    );
    if points.len() < 100 {
        println!(
            "  only {} positions in {SECONDS} s: this device does not play in real time",
            points.len()
        );
        return;
    }
    // The straight line through all points, by least squares; what is left over is the jitter.
    let n = points.len() as f64;
    let (mx, my) = (
        points.iter().map(|p| p.0).sum::<f64>() / n,
        points.iter().map(|p| p.1).sum::<f64>() / n,
    );
    let sxy: f64 = points.iter().map(|p| (p.0 - mx) * (p.1 - my)).sum();
    let sxx: f64 = points.iter().map(|p| (p.0 - mx).powi(2)).sum();
    let slope = sxy / sxx;
    let mut off: Vec<f64> = points
        .iter()
        .map(|p| (p.1 - my - slope * (p.0 - mx)).abs())
        .collect();
    off.sort_by(f64::total_cmp);
    let at = |share: f64| off[((off.len() - 1) as f64 * share) as usize] * 1e3;
    println!(
        "  {} positions in {SECONDS} s: median off {:.3} ms, 99 % within {:.3} ms, worst {:.3} ms, speed {:.6}, underruns {}",
        points.len(),
        at(0.5),
        at(0.99),
        at(1.0),
        slope,
        info.underruns
    );
}
