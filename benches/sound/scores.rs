//! The takes that are measured.

use whichside::clave::{Clave, Direction, Family};
use whichside::rhythm::{Grid, Hit, Instrument, Line, Score, Weight, notation};

/// A line from a string: `x` a plain hit, `X` an accent, `.` none.
fn line(instrument: Instrument, text: &str) -> Line {
    let cells = text.chars().map(|c| {
        let weight = match c {
            'x' => Weight::Plain,
            'X' => Weight::Accent,
            _ => return None,
        };
        Some(Hit {
            weight,
            degree: None,
        })
    });
    Line::new(instrument, Grid::Eighths, cells.collect()).expect("whole bars")
}

/// Clave, bell, shell, bass, piano and shaker in 2-3, two bars, no drums. Strings: published charts.
pub fn full_band() -> Score {
    let clave = Clave {
        family: Family::Son,
        direction: Direction::TwoThree,
    };
    let mut score = Score::empty(Grid::Eighths);
    score.set_line(clave.line(Grid::Eighths));
    score.set_line(line(Instrument::Bell, "X.xxX.xxX.xxX.xx"));
    score.set_line(line(Instrument::Shell, "x.x.xx.xx.xx.x.x"));
    score.set_line(line(Instrument::Bass, "...x..x....x..x."));
    score.set_line(line(Instrument::Piano, "x.xx.x.x.x.x.x.x"));
    score.set_line(line(Instrument::Shaker, "XxxxXxxxXxxxXxxx"));
    score
}

/// The full band with a tumbao on the drums.
pub fn with_drums() -> Score {
    let mut score = full_band();
    let tumbao = "H T S T H T O O | H T S T H T O O";
    score.drums = Some(notation::read_line(tumbao, Grid::Eighths).expect("a tumbao"));
    score
}
