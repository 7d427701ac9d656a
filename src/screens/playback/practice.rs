//! What you practise with: a metronome on chosen beats, a clave that goes away, a tempo that goes up.

use crate::clave::Clave;
use crate::rhythm::{Grid, Hit, Instrument, Line, Tempo};
use crate::sound::Take;
use std::fmt;
use std::str::FromStr;

/// Where the metronome clicks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Metronome {
    /// On these beats of the bar: bit 0 is beat 1.
    Beats(u8),
    /// Half-way between the beats.
    OffBeats,
    /// On the strokes of the clave.
    Clave,
}

impl Metronome {
    /// On every beat.
    pub const EVERY_BEAT: Metronome = Metronome::Beats(0b1111);
    /// What can be chosen one after the other.
    const ALL: [Metronome; 8] = [
        Metronome::EVERY_BEAT,
        Metronome::Beats(0b1010),
        Metronome::Beats(0b0001),
        Metronome::Beats(0b0010),
        Metronome::Beats(0b0100),
        Metronome::Beats(0b1000),
        Metronome::OffBeats,
        Metronome::Clave,
    ];

    /// What it plays; `None` where the grid has no such beats, or there is no clave.
    pub fn line(self, grid: Grid, clave: Option<Clave>) -> Option<Line> {
        let beat = grid.pulses_per_beat();
        let bar = 0..grid.pulses_per_bar();
        let clicks: Vec<bool> = match self {
            Metronome::Beats(_) if self == Metronome::EVERY_BEAT => {
                bar.map(|p| p % beat == 0).collect()
            }
            Metronome::Beats(beats) => {
                let last = 8 - beats.leading_zeros() as usize;
                if last == 0 || last > grid.beats_per_bar() {
                    return None;
                }
                bar.map(|p| p % beat == 0 && beats >> (p / beat) & 1 == 1)
                    .collect()
            }
            Metronome::OffBeats => {
                let half = beat.is_multiple_of(2).then_some(beat / 2)?;
                bar.map(|p| p % beat == half).collect()
            }
            Metronome::Clave => clave?.onsets(grid),
        };
        let cells = clicks.iter().map(|c| c.then(Hit::default)).collect();
        Line::new(Instrument::Click, grid, cells).ok()
    }

    /// The next one that exists on this grid.
    pub fn next(self, grid: Grid, clave: Option<Clave>) -> Metronome {
        let all = Metronome::ALL;
        let now = all.iter().position(|m| *m == self).unwrap_or(0);
        let mut others = all.iter().cycle().skip(now + 1).take(all.len());
        let next = others.find(|m| m.line(grid, clave).is_some());
        next.copied().unwrap_or(Metronome::EVERY_BEAT)
    }
}

/// As it is read: `beats`, `2,4`, `off`, `clave`.
impl fmt::Display for Metronome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Metronome::OffBeats => f.write_str("off"),
            Metronome::Clave => f.write_str("clave"),
            _ if *self == Metronome::EVERY_BEAT => f.write_str("beats"),
            Metronome::Beats(beats) => {
                let on = (0..8).filter(|b| beats >> b & 1 == 1);
                let on: Vec<String> = on.map(|b| (b + 1).to_string()).collect();
                f.write_str(&on.join(","))
            }
        }
    }
}

/// What is said of a word that is no metronome.
pub(super) const NO_METRONOME: &str = "a metronome clicks on `beats`, on some of them such as `1` or `2,4`, `off` the beat \
    or on the `clave`";

impl FromStr for Metronome {
    type Err = &'static str;

    fn from_str(text: &str) -> Result<Metronome, &'static str> {
        match text.trim() {
            "beats" => return Ok(Metronome::EVERY_BEAT),
            "off" => return Ok(Metronome::OffBeats),
            "clave" => return Ok(Metronome::Clave),
            _ => {}
        }
        let mut beats = 0;
        for word in text.split(',') {
            match word.trim().parse() {
                Ok(beat @ 1..=4u8) => beats |= 1 << (beat - 1),
                _ => return Err(NO_METRONOME),
            }
        }
        Ok(Metronome::Beats(beats))
    }
}

/// The clave plays for some cycles and is silent for as many.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClaveGap {
    /// How many; at least one.
    pub cycles: usize,
    /// The cycle with which it began.
    pub since: usize,
}

impl ClaveGap {
    /// The most cycles.
    pub const MOST: usize = 16;

    /// Is the clave silent in a cycle?
    pub fn is_silent(self, cycle: usize) -> bool {
        (cycle.saturating_sub(self.since) / self.cycles.max(1)) % 2 == 1
    }

    /// One cycle more after none, then two, four, none.
    pub fn next(now: Option<ClaveGap>, cycle: usize) -> Option<ClaveGap> {
        let cycles = match now.map(|g| g.cycles) {
            None => 1,
            Some(1) => 2,
            Some(2) => 4,
            Some(_) => return None,
        };
        Some(ClaveGap {
            cycles,
            since: cycle,
        })
    }
}

/// The tempo goes from one to another, a step with each cycle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpeedTrainer {
    /// Beats a minute of the first cycle.
    pub from: Tempo,
    /// Beats a minute after all steps.
    pub to: Tempo,
    /// Number of steps; at least one.
    pub over: usize,
    /// The cycle with which it began.
    pub since: usize,
}

impl SpeedTrainer {
    /// The most steps.
    pub const MOST: usize = 200;

    /// Beats a minute in a cycle.
    pub fn tempo(self, cycle: usize) -> Tempo {
        let steps = cycle.saturating_sub(self.since).min(self.over);
        let share = steps as f64 / self.over.max(1) as f64;
        self.from
            .toward(self.to, share)
            .clamp(Take::SLOWEST, Take::FASTEST)
    }

    /// Has it reached its end in a cycle?
    pub fn is_over(self, cycle: usize) -> bool {
        cycle >= self.since + self.over
    }
}
