//! How fast takes are rendered.

use crate::scores;
use std::time::Instant;
use whichside::rhythm::{Grid, Tempo};
use whichside::sound::{CountIn, Take, render};

/// Median of several runs, seconds.
fn median(runs: usize, mut work: impl FnMut(usize)) -> f64 {
    let mut times: Vec<f64> = (0..runs)
        .map(|i| {
            let start = Instant::now();
            work(i);
            start.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    times[runs / 2]
}

pub fn report() {
    println!("Rendering, one thread");
    let mut take = Take::new(scores::with_drums(), Tempo::new(180.0), 1);
    take.count_in = CountIn::Cycle;
    let start = Instant::now();
    let wave = render(&take);
    println!(
        "  the first take of all, every hit made for the first time: {:.1} ms for {:.1} s of full band",
        start.elapsed().as_secs_f64() * 1e3,
        wave.length()
    );
    let again = median(15, |i| {
        take.seed = i as u64;
        std::hint::black_box(render(&take));
    });
    println!(
        "  a hear question (count-in and one cycle), later: {:.2} ms",
        again * 1e3
    );

    for tempo in [60.0, 120.0, 180.0, 300.0].map(Tempo::new) {
        let mut take = Take::new(scores::with_drums(), tempo, 1);
        take.cycles = (60.0 / tempo.cycle(Grid::Eighths).seconds()).ceil() as u32;
        let length = render(&take).length().seconds();
        let took = median(7, |i| {
            take.seed = i as u64;
            std::hint::black_box(render(&take));
        });
        println!(
            "  full band at {tempo:>3}: {length:>5.1} s rendered in {:>6.1} ms, {:>5.0} times real time",
            took * 1e3,
            length / took
        );
    }
}
