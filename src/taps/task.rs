//! What is to be tapped.

use crate::clave::{Clave, Direction, SideClassifier};
use crate::hands::Player;
use crate::rhythm::{Drum, Grid, Pattern, Stroke, Tempo, Tone};
use crate::time::Seconds;
use std::ops::Range;

/// Most rounds of a part that are judged: longer ones are cut.
pub const MOST_CYCLES: usize = 20_000;

/// How often a part goes round.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum TapRounds {
    /// As often as it was tapped.
    Open,
    /// So often, from the first pulse on.
    Times(usize),
    /// The player's turns alone, in order: what is tapped in the others counts for nothing.
    Turns(Vec<usize>),
}

/// A part that is to be tapped, round and round, and what is known of the player.
#[derive(Clone, Debug, PartialEq)]
pub struct TapTask {
    pub(super) part: Pattern,
    pub(super) tempo: Tempo,
    pub(super) rounds: TapRounds,
    /// The rounds in which a clave that is to be held is not heard; empty where none is.
    pub(super) away: Range<usize>,
    pub(super) clave: Option<Clave>,
    pub(super) lead: Seconds,
    pub(super) player: Player,
    /// The strokes are those of a drum, so that a sticking can be judged.
    pub(super) on_drums: bool,
}

impl TapTask {
    /// The strokes of `part` at `tempo`, with its hands where they are written, as this player is to play
    /// them (a left-hander in mirror image).  It goes round as often
    /// as it was tapped.
    pub fn new(part: Pattern, tempo: Tempo) -> TapTask {
        TapTask {
            part,
            tempo,
            rounds: TapRounds::Open,
            away: 0..0,
            clave: None,
            lead: Seconds::ZERO,
            player: Player::default(),
            on_drums: true,
        }
    }

    /// Onsets alone, such as those of a clave or a bell: no sticking is judged but one that is written. `None` where they
    /// are not whole bars.
    pub fn of_onsets(grid: Grid, onsets: &[bool], tempo: Tempo) -> Option<TapTask> {
        let stroke = Stroke::new(Drum::Conga, Tone::Open);
        let cells = onsets.iter().map(|on| on.then_some(stroke)).collect();
        let part = Pattern::new(grid, cells).ok()?;
        Some(TapTask {
            on_drums: false,
            ..TapTask::new(part, tempo)
        })
    }

    /// The clave itself.
    pub fn of_clave(clave: Clave, grid: Grid, tempo: Tempo) -> TapTask {
        let task = TapTask::of_onsets(grid, &clave.onsets(grid), tempo);
        task.expect("two bars are whole bars").over(clave)
    }

    /// This many rounds of the part from the first pulse on, no more and no fewer; at least one.
    pub fn times(self, cycles: usize) -> TapTask {
        TapTask {
            rounds: TapRounds::Times(cycles.clamp(1, MOST_CYCLES)),
            ..self
        }
    }

    /// These rounds alone, from 0 and in order: in the others somebody else plays, or the player listens.
    pub fn in_turns(self, turns: impl IntoIterator<Item = usize>) -> TapTask {
        TapTask {
            rounds: TapRounds::Turns(turns.into_iter().take(MOST_CYCLES).collect()),
            ..self
        }
    }

    /// With a clave that is not heard in these rounds, and is to be held: see [`super::HeldClave`].
    pub fn without_clave(self, away: Range<usize>) -> TapTask {
        TapTask { away, ..self }
    }

    /// See [`TapTask::without_clave`].
    pub fn away(&self) -> &Range<usize> {
        &self.away
    }

    /// The rounds in which it is the player's turn; `None` where these are not set.
    pub fn turns(&self) -> Option<&[usize]> {
        match &self.rounds {
            TapRounds::Turns(turns) => Some(turns),
            TapRounds::Open | TapRounds::Times(_) => None,
        }
    }

    /// How many rounds it takes to the end of the last turn; `cycles` where the turns are not set.
    pub fn rounds(&self, cycles: usize) -> usize {
        let last = self.turns().and_then(|turns| turns.last());
        last.map_or(cycles, |last| last + 1)
    }

    /// With this clave under its first bar. A part that is itself a clave is turned to that direction.
    pub fn over(mut self, clave: Clave) -> TapTask {
        if self
            .own_clave()
            .is_some_and(|own| own.direction != clave.direction)
        {
            self.part = self.part.rotated(self.part.grid().pulses_per_bar());
        }
        self.clave = Some(clave);
        self
    }

    /// The player whose hands they are.
    pub fn by(self, player: Player) -> TapTask {
        TapTask { player, ..self }
    }

    /// Takes this off every tap: by how much the player is known to tap late, negative where ahead, see
    /// [`super::TapLead`].
    pub fn with_lead(self, seconds: Seconds) -> TapTask {
        let lead = match seconds.is_finite() {
            true => seconds,
            false => Seconds::ZERO,
        };
        TapTask { lead, ..self }
    }

    /// See [`TapTask::with_lead`].
    pub fn lead(&self) -> Seconds {
        self.lead
    }

    /// The same with another part in its place, such as one with hands.
    pub fn with_part(self, part: Pattern) -> TapTask {
        TapTask { part, ..self }
    }

    /// The part, once round.
    pub fn part(&self) -> &Pattern {
        &self.part
    }

    /// The tempo that is asked for.
    pub fn tempo(&self) -> Tempo {
        self.tempo
    }

    /// Length of one pulse.
    pub fn pulse_seconds(&self) -> Seconds {
        self.tempo.pulse(self.part.grid())
    }

    /// Length of one round of the part.
    pub fn cycle_seconds(&self) -> Seconds {
        self.pulse_seconds() * self.part.pulses() as f64
    }

    /// Mean time from stroke to stroke; the whole round where nothing is struck.
    pub fn mean_interval(&self) -> Seconds {
        self.cycle_seconds() / self.part.strokes().count().max(1) as f64
    }

    /// The direction that the part as written states: a clave's own, else that of the clave under it, else what is read
    /// out of the part. `None` where none of these is known.
    pub fn direction(&self) -> Option<Direction> {
        let read = || {
            SideClassifier::default()
                .pattern(&self.part)
                .verdict
                .direction()
        };
        let clave = self.clave.map(|c| c.direction);
        let own = self.own_clave().map(|c| c.direction);
        own.or(clave).or_else(read)
    }

    /// Is the part a clave?
    pub fn is_clave(&self) -> bool {
        self.own_clave().is_some()
    }

    /// Are the strokes those of a drum, and not onsets alone?
    pub fn is_on_drums(&self) -> bool {
        self.on_drums
    }

    /// The clave that the part is.
    pub(super) fn own_clave(&self) -> Option<Clave> {
        let onsets: Vec<bool> = self.part.cells().iter().map(Option::is_some).collect();
        Clave::all().find(|c| c.onsets(self.part.grid()) == onsets)
    }
}
