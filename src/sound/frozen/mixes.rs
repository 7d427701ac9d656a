//! Frozen: when, how loud and where each sound of a take is, and what the whole comes to.

use super::{short, sides};
use crate::rhythm::{
    Drum, Grid, Hit, Instrument, Line, Pattern, Score, Stroke, Tempo, Tone, Weight,
};
use crate::sound::events::{NoteEvent, Ringing, clicks, events, places};
use crate::sound::render::chokes;
use crate::sound::{CountIn, Feel, Take, Vamp, render};
use std::fmt::Write;

/// The whole band with strokes of each tone on each drum, two bars.
fn band(grid: Grid) -> Score {
    let pulses = grid.pulses_per_cycle();
    let mut score = Score::empty(grid);
    let drums = [Drum::Conga, Drum::Conga, Drum::Tumbadora, Drum::Quinto];
    let cells = (0..pulses).map(|p| {
        (p % 5 != 3).then(|| Stroke {
            weight: [Weight::Plain, Weight::Ghost, Weight::Accent][p % 3],
            ..Stroke::new(drums[p % 4], Tone::ALL[p % Tone::ALL.len()])
        })
    });
    score.drums = Some(Pattern::new(grid, cells.collect()).unwrap());
    for (n, instrument) in Instrument::ALL.into_iter().enumerate() {
        let every = 2 + n % 4;
        let cells = (0..pulses).map(|p| {
            (p % every == n % 2).then(|| Hit {
                weight: [Weight::Plain, Weight::Accent, Weight::Ghost][p % 3],
                degree: [None, Some(5), Some(3)][(p / every) % 3],
            })
        });
        score.set_line(Line::new(instrument, grid, cells.collect()).unwrap());
    }
    score
}

fn take(grid: Grid, bpm: f64, feel: Feel, vamp: &str) -> Take {
    Take {
        cycles: 1,
        count_in: CountIn::PickUp,
        feel,
        vamp: vamp.parse::<Vamp>().unwrap(),
        ..Take::new(band(grid), Tempo::new(bpm), 11)
    }
}

fn line(event: &NoteEvent) -> String {
    let ringing = match event.ringing {
        Ringing::Head(drum) => format!("{drum:?}"),
        Ringing::Strings(instrument) => format!("{instrument:?}"),
        Ringing::Free => "free".into(),
    };
    let hit = &event.hit;
    format!(
        "{} {ringing} gain {} bright {} side {} leaves {}; {} samples, {} LUFS",
        event.at,
        short(event.gain),
        short(f64::from(event.bright)),
        short(event.side),
        event.leaves,
        hit.samples.len(),
        short(hit.level)
    )
}

#[test]
fn events_are_where_they_were() {
    let mut text = String::new();
    for (grid, bpm, feel, vamp) in [
        (Grid::Eighths, 96.0, Feel::Swing(1.5), "Bb"),
        (Grid::ALL[1], 131.0, Feel::Straight, "F#m"),
    ] {
        let take = take(grid, bpm, feel, vamp);
        let places = places(&take);
        let events = events(&take, &places);
        writeln!(text, "{grid:?} {bpm} {feel} {vamp}: {places:?}").unwrap();
        for (i, event) in events.iter().enumerate() {
            let once = chokes(&events, i, None);
            let round = chokes(&events, i, Some(places[places.len() - 1] + 9000));
            writeln!(text, "{} | {once:?} {round:?}", line(event)).unwrap();
        }
        let pulse = Tempo::new(bpm).pulse(grid) * 48_000.0;
        for click in clicks(&take, pulse.seconds()) {
            writeln!(text, "click {}", line(&click)).unwrap();
        }
    }
    insta::assert_snapshot!(text);
}

#[test]
fn takes_sound_as_they_did() {
    let mut text = String::new();
    let cycle = |mut take: Take| {
        take.count_in = CountIn::Cycle;
        take
    };
    let takes = [
        take(Grid::Eighths, 150.0, Feel::Push(0.1), "Am"),
        cycle(take(Grid::Sixteenths, 60.0, Feel::Swing(2.0), "Eb")),
        take(Grid::ALL[1], 240.0, Feel::Straight, "C"),
        Take {
            score: {
                let mut score = band(Grid::Eighths);
                score.lines.clear();
                score
            },
            ..take(Grid::Eighths, 40.0, Feel::Straight, "C")
        },
    ];
    for take in takes {
        let wave = render(&take);
        let bent = wave.frames().as_flattened();
        let most = bent.iter().fold(0.0f32, |m, s| m.max(s.abs()));
        writeln!(
            text,
            "{:?} {}: {} frames, {} of count-in, ring {}, peak {most:.4}, {:.6} s",
            take.score.grid,
            take.tempo.bpm(),
            wave.frames().len(),
            wave.lead_in(),
            wave.ring().len(),
            wave.length()
        )
        .unwrap();
        writeln!(text, "once {}", sides(wave.frames(), 40)).unwrap();
        writeln!(text, "round {}", sides(wave.ring(), 40)).unwrap();
        let tells: String = (0..take.score.pulses())
            .map(|p| if take.tells(&[p]) { 'y' } else { '.' })
            .collect();
        writeln!(text, "stands out {tells}").unwrap();
        let end = wave.body_end();
        let pulses = [0, wave.lead_in(), end / 2, end - 1, end].map(|f| wave.pulse_at(f));
        writeln!(text, "pulses {pulses:?}").unwrap();
    }
    insta::assert_snapshot!(text);
}
