//! The playback of a card: what sounds, and what the keys change.

use self::along::TappedAlong;
use super::chart::Chart;
use super::page::{Keys, Page, Paragraph};
use super::stages::{AudioStatus, tempo_in_words};
use super::theme::Role;
use crate::clave::{self, Clave};
use crate::deck::Card;
use crate::question::{Mark, plain_tumbao};
use crate::rhythm::{Hand, Instrument, Line, Pattern, Score, Tempo};
use crate::sound::{CountIn, Feel, JoinPoint, Take, Vamp};
use crate::time::Seconds;
pub use practice::{ClaveGap, Metronome, SpeedTrainer};

mod along;
mod keys;
mod practice;

/// Beats a minute of one step of slower or faster.
const STEP: f64 = 5.0;
/// Cycles in which the tempo goes up, where the player does not say how many.
const STEPS: usize = 8;
/// How long before a cycle begins what changes with it is made.
const AHEAD: Seconds = Seconds::new(1.0);
/// Lengths of the phrase that can be chosen, in bars.
const PHRASES: [usize; 4] = [2, 4, 8, 16];

/// What is said where the keys for practising are shown.
const HELP: &str = "Tempo and feel change with the next pulse, bars and clave with the next bar. Take breaks; stop \
    when a hand or a wrist hurts.";

/// What is said where a microphone listens, until something was heard.
const LISTENS: &str = "Play along: the microphone listens, and you see how each round went. Keep headphones on, not too loud.";

/// A card that is played over and over: what plays with it, how fast, and where in a phrase it comes.
#[derive(Clone, Debug)]
pub struct Playback {
    title: String,
    about: String,
    part: Score,
    /// The clave under the first bar of the part.
    clave: Option<Clave>,
    /// The band that can play along, and who does.
    band: Vec<(Instrument, bool)>,
    tempo: Tempo,
    /// How the pulses lie between the beats.
    pub feel: Feel,
    /// The chords under bass and piano.
    pub vamp: Vamp,
    /// Length of the phrase in bars; 0 plays the part alone.
    phrase: usize,
    /// The bar of the phrase, from 0, at which the part begins.
    at: usize,
    /// The bar of the phrase, from 0, that goes round by itself.
    loop_bar: Option<usize>,
    metronome: Metronome,
    gap: Option<ClaveGap>,
    trainer: Option<SpeedTrainer>,
    /// Beats a minute that the trainer goes up to.
    goal: Tempo,
    /// The cycle of the clave that sounds, or will sound as it is planned, counted from the start.
    cycle: usize,
    /// Are the keys for practising shown?
    practice: bool,
    along: TappedAlong,
    /// Does it play?
    pub playing: bool,
    /// Does a microphone hear the player?
    pub listens: bool,
}

/// What a key asks of the playback.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ask {
    /// What is to be heard has changed: if anything plays, the new sound takes over when the next group of this many
    /// pulses begins, or at once with 0.
    Changed(usize),
    /// Play from the start.
    Start,
    /// Stop the sound.
    Stop,
    /// A hand strikes along.
    Tap(Hand),
    /// Louder (positive) or softer, in steps.
    Volume(i8),
    /// Leave.
    Close,
    /// A key that does nothing here.
    Nothing,
}

impl Playback {
    /// A card at the middle of its tempo range, at its place in the phrase, with the clave.
    pub fn new(card: &Card) -> Playback {
        let clave = card.clave_under();
        let mut playback = Playback {
            title: card.title.clone(),
            about: card.about.clone(),
            part: card.score.clone(),
            clave,
            band: Vec::new(),
            tempo: card.tempo.0.toward(card.tempo.1, 0.5).round(),
            feel: Feel::default(),
            vamp: Vamp::default(),
            phrase: 0,
            at: 0,
            loop_bar: None,
            metronome: Metronome::EVERY_BEAT,
            gap: None,
            trainer: None,
            goal: card.tempo.1,
            cycle: 0,
            practice: false,
            along: TappedAlong::default(),
            playing: false,
            listens: false,
        };
        let all = Instrument::ALL.into_iter();
        playback.band = all
            .filter(|i| playback.part.line(*i).is_none() && playback.line(*i, clave).is_some())
            .map(|i| (i, i == Instrument::Clave))
            .collect();
        if let (Some(place), true) = (card.place, playback.has_phrase()) {
            playback.phrase = place.of as usize;
            playback.at = (place.bar as usize).saturating_sub(1);
        }
        playback
    }

    /// Beats a minute.
    pub fn tempo(&self) -> Tempo {
        self.tempo
    }

    /// Plays at a tempo, within what can be played.
    pub fn set_tempo(&mut self, tempo: Tempo) {
        self.tempo = tempo.clamp(Take::SLOWEST, Take::FASTEST);
    }

    /// Lets these instruments, and no others, play along; returns those that cannot.
    pub fn set_band(&mut self, wanted: &[Instrument]) -> Vec<Instrument> {
        for (instrument, on) in &mut self.band {
            *on = wanted.contains(instrument);
        }
        let there =
            |i: &Instrument| self.band.iter().any(|(b, _)| b == i) || self.part.line(*i).is_some();
        wanted.iter().copied().filter(|i| !there(i)).collect()
    }

    /// Plays over this clave.
    ///
    /// # Errors
    /// Says that the card has none, or is one.
    pub fn set_clave(&mut self, clave: Clave) -> Result<(), &'static str> {
        if plays_clave(&self.part) {
            return Err("this card is a clave itself");
        }
        let now = self.clave.as_mut().ok_or("this card has no clave")?;
        *now = clave;
        Ok(())
    }

    /// Lets the metronome click.
    ///
    /// # Errors
    /// Says that there is no such beat.
    pub fn set_metronome(&mut self, metronome: Metronome) -> Result<(), &'static str> {
        if metronome.line(self.part.grid, self.clave).is_none() {
            return Err("this card has no such beat to click on");
        }
        self.metronome = metronome;
        self.turn_click_on();
        Ok(())
    }

    /// Lets the clave play for this many cycles and be silent for as many.
    pub fn set_clave_gap(&mut self, cycles: usize) {
        self.gap = Some(ClaveGap { cycles, since: 0 });
    }

    /// Lets one bar go round, counted from 1.
    ///
    /// # Errors
    /// Says that there is no such bar.
    pub fn set_loop_bar(&mut self, bar: usize) -> Result<(), String> {
        let bars = self.whole().bars();
        if !(1..=bars).contains(&bar) {
            return Err(format!("the bars are 1 to {bars}"));
        }
        self.loop_bar = Some(bar - 1);
        Ok(())
    }

    /// Lets the tempo go to `to`, a step with each of `over` cycles.
    pub fn set_trainer(&mut self, to: Tempo, over: usize) {
        self.goal = to;
        self.trainer = Some(SpeedTrainer {
            from: self.tempo,
            to,
            over,
            since: self.cycle,
        });
    }

    /// Does anything change by itself from cycle to cycle?
    pub fn has_plan(&self) -> bool {
        self.gap.is_some() || self.trainer.is_some()
    }

    /// Starts again with the first cycle.
    pub fn begin(&mut self) {
        self.cycle = 0;
        if let Some(gap) = &mut self.gap {
            gap.since = 0;
        }
        if let Some(trainer) = &mut self.trainer {
            trainer.from = self.tempo;
            trainer.since = 0;
        }
    }

    /// Goes on to a cycle; true if it sounds different from the one before.
    pub fn go_on(&mut self, cycle: usize) -> bool {
        let now = (self.tempo, self.is_clave_silent());
        self.cycle = cycle;
        if let Some(trainer) = self.trainer {
            self.tempo = trainer.tempo(cycle);
            self.trainer = Some(trainer).filter(|t| !t.is_over(cycle));
        }
        now != (self.tempo, self.is_clave_silent())
    }

    /// Goes on to the next cycle where it begins soon, with pulse `pulse` being heard now; true where it sounds different.
    pub fn look_ahead(&mut self, pulse: usize) -> bool {
        let per = self.part.grid.pulses_per_cycle();
        let next = pulse / per + 1;
        let left = (next * per - pulse) as f64 * self.tempo.pulse(self.part.grid);
        next > self.cycle && left < AHEAD && self.go_on(next)
    }

    /// Where what is to be heard now takes over, for a change that waits for a group of this many pulses.
    pub fn entry(&self, line: usize) -> JoinPoint {
        let later = if self.phrase > 0 { self.at % 2 } else { 0 };
        JoinPoint {
            line,
            pulse: None,
            phase: later * self.part.grid.pulses_per_bar(),
        }
    }

    /// Where the next cycle takes over.
    pub fn next_cycle(&self) -> JoinPoint {
        self.entry(self.part.grid.pulses_per_cycle())
    }

    fn is_clave_silent(&self) -> bool {
        self.gap.is_some_and(|gap| gap.is_silent(self.cycle))
    }

    fn turn_click_on(&mut self) {
        for (instrument, on) in &mut self.band {
            *on |= *instrument == Instrument::Click;
        }
    }

    /// Can it be put into a phrase of plain tumbao?
    fn has_phrase(&self) -> bool {
        self.part.drums.is_some() && plain_tumbao(self.part.grid).is_some()
    }

    /// What `instrument` plays over `clave`.
    fn line(&self, instrument: Instrument, clave: Option<Clave>) -> Option<Line> {
        let grid = self.part.grid;
        if instrument == Instrument::Click {
            return self.metronome.line(grid, clave);
        }
        clave::band(grid, clave?, &[instrument]).pop()
    }

    /// The drums in the phrase, and the clave under its first bar.
    fn placed(&self) -> (Option<Pattern>, Option<Clave>) {
        let part = self.part.drums.as_ref();
        let plain = plain_tumbao(self.part.grid).filter(|_| self.phrase > 0);
        let (Some(part), Some(plain)) = (part, plain) else {
            return (part.cloned(), self.clave);
        };
        let bars = self.phrase.max(self.at + part.bars());
        let drums = plain.tiled(bars).with_bars(self.at, part);
        (drums, self.clave.map(|clave| clave.begun_later(self.at)))
    }

    /// Everything that plays.
    pub fn score(&self) -> Score {
        match self.loop_bar {
            Some(bar) => self.whole().only_bar(bar),
            None => self.whole(),
        }
    }

    /// Everything that plays, all bars of it.
    fn whole(&self) -> Score {
        let (drums, clave) = self.placed();
        let mut score = Score {
            drums,
            ..self.part.clone()
        };
        for (instrument, _) in self.band.iter().filter(|(_, on)| *on) {
            if let Some(line) = self.line(*instrument, clave) {
                score.set_line(line);
            }
        }
        let bars = score.bars();
        if !clave::goes_round(clave, bars) {
            score.drums = score.drums.map(|drums| drums.tiled(2 * bars));
        }
        score
    }

    /// Rounds in one loop: at least eight bars go by before every hit comes again exactly as it was.
    pub fn rounds(&self) -> u32 {
        8u32.div_ceil(self.score().bars() as u32)
    }

    /// What is to be heard, this many times round.
    pub fn take(&self, cycles: u32) -> Take {
        let mut score = self.score();
        if self.is_clave_silent() {
            score.remove(Instrument::Clave);
        }
        Take {
            cycles,
            count_in: CountIn::Cycle,
            feel: self.feel,
            vamp: self.vamp,
            ..Take::new(score, self.tempo, 0)
        }
    }

    /// The part on the screen. `score` is [`Playback::score`].
    pub fn page<'a>(&self, score: &'a Score, audio: AudioStatus) -> Page<'a> {
        let bars = self.part.bars();
        let mark = match (self.phrase, bars, self.loop_bar) {
            (1.., 1, None) => Mark::Bar(self.at),
            _ => Mark::Whole,
        };
        let head = Paragraph::led(format!("{}  ", self.title), Role::Strong, self.place());
        let playhead = audio.playhead.map(|p| p % score.pulses());
        Page {
            place: "play".into(),
            left: tempo_in_words(score.grid, self.tempo),
            head: vec![head],
            chart: Some(Chart {
                mark,
                playhead,
                tapped: self.tapped(score),
                ..Chart::new(score).with_written_hands()
            }),
            body: vec![match (self.practice, &self.along.said) {
                (true, _) => Paragraph::plain(HELP),
                (false, Some(said)) => Paragraph::plain(said.clone()),
                (false, None) if self.listens => Paragraph::plain(LISTENS),
                (false, None) => Paragraph::plain(self.about.clone()),
            }],
            choices: self.choices(),
            keys: Keys {
                enter: Some("restart"),
                space: Some(if self.playing { "stop" } else { "start" }),
                minus: Some("slower"),
                pause: Some(if self.practice { "band" } else { "more" }),
                arrows: audio.volume.map(|percent| format!("{percent} %")),
                escape: Some("close"),
                ..Keys::default()
            },
            ..Page::default()
        }
    }

    fn place(&self) -> String {
        let bars = self.part.bars();
        if let Some(bar) = self.loop_bar {
            return format!("bar {} alone, round and round", bar + 1);
        }
        match (self.phrase, bars) {
            (0, _) => "alone, round and round".into(),
            (of, 1) => format!("bar {} of {of}", self.at + 1),
            (of, _) => format!("bars {} to {} of {of}", self.at + 1, self.at + bars),
        }
    }
}

/// Is the clave among what the card itself plays?
fn plays_clave(part: &Score) -> bool {
    part.line(Instrument::Clave).is_some()
}

#[cfg(test)]
mod tests;
