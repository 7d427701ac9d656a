//! The playback of a card: what sounds, and what the keys change.

use super::chart::Chart;
use super::page::{Keys, Page, Paragraph};
use super::stages::{AudioStatus, tempo};
use super::theme::Role;
use crate::clave::{self, Clave};
use crate::deck::Card;
use crate::question::{Choice, Mark, plain_tumbao};
use crate::rhythm::{Hit, Instrument, Line, Pattern, Score};
use crate::sound::{CountIn, Feel, Take, Vamp};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

/// Beats a minute of one step of slower or faster.
const STEP: f64 = 5.0;
/// Lengths of the phrase that can be chosen, in bars.
const PHRASES: [usize; 4] = [2, 4, 8, 16];

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
    bpm: f64,
    /// How the pulses lie between the beats.
    pub feel: Feel,
    /// The chords under bass and piano.
    pub vamp: Vamp,
    /// Length of the phrase in bars; 0 plays the part alone.
    phrase: usize,
    /// The bar of the phrase, from 0, at which the part begins.
    at: usize,
    /// Does it play?
    pub playing: bool,
}

/// What a key asks of the playback.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ask {
    /// What is to be heard is another thing now: play it, where anything plays.
    Changed,
    /// Play from the start.
    Start,
    /// Stop the sound.
    Stop,
    /// Louder (positive) or softer, in steps.
    Volume(i8),
    /// Stop the program for a while, as the terminal's stop key does.
    Suspend,
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
            bpm: ((card.tempo.0 + card.tempo.1) / 2.0).round(),
            feel: Feel::default(),
            vamp: Vamp::default(),
            phrase: 0,
            at: 0,
            playing: false,
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
    pub fn bpm(&self) -> f64 {
        self.bpm
    }

    /// Plays at so many beats a minute, within what can be played.
    pub fn set_tempo(&mut self, bpm: f64) {
        self.bpm = bpm.clamp(Take::SLOWEST, Take::FASTEST);
    }

    /// Lets exactly these instruments play along; returns those that cannot.
    pub fn set_band(&mut self, wanted: &[Instrument]) -> Vec<Instrument> {
        for (instrument, on) in &mut self.band {
            *on = wanted.contains(instrument);
        }
        let there =
            |i: &Instrument| self.band.iter().any(|(b, _)| b == i) || self.part.line(*i).is_some();
        wanted.iter().copied().filter(|i| !there(i)).collect()
    }

    /// Can it be put into a phrase of plain tumbao?
    fn has_phrase(&self) -> bool {
        self.part.drums.is_some() && plain_tumbao(self.part.grid).is_some()
    }

    /// What `instrument` plays over `clave`.
    fn line(&self, instrument: Instrument, clave: Option<Clave>) -> Option<Line> {
        let grid = self.part.grid;
        if instrument == Instrument::Click {
            let beat = |p: usize| p.is_multiple_of(grid.pulses_per_beat()).then(Hit::default);
            let cells = (0..grid.pulses_per_bar()).map(beat).collect();
            return Line::new(instrument, grid, cells).ok();
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

    /// What is to be heard, so many times round.
    pub fn take(&self, cycles: u32) -> Take {
        Take {
            cycles,
            count_in: CountIn::Cycle,
            feel: self.feel,
            vamp: self.vamp,
            ..Take::new(self.score(), self.bpm, 0)
        }
    }

    /// The part on the screen. `score` is [`Playback::score`].
    pub fn page<'a>(&self, score: &'a Score, audio: AudioStatus) -> Page<'a> {
        let bars = self.part.bars();
        let mark = match (self.phrase, bars) {
            (1.., 1) => Mark::Bar(self.at),
            _ => Mark::Whole,
        };
        let head = Paragraph::led(format!("{}  ", self.title), Role::Strong, self.place());
        let playhead = audio.playhead.map(|p| p % score.pulses());
        Page {
            place: "play".into(),
            left: tempo(score.grid, self.bpm),
            head: vec![head],
            chart: Some(Chart {
                mark,
                playhead,
                ..Chart::new(score).with_written_hands()
            }),
            body: vec![Paragraph::new(Role::Plain, self.about.clone())],
            choices: self.choices(),
            keys: Keys {
                enter: Some("restart"),
                space: Some(if self.playing { "stop" } else { "start" }),
                minus: Some("slower"),
                arrows: audio.volume.map(|percent| format!("volume {percent}")),
                escape: Some("close"),
                ..Keys::default()
            },
            ..Page::default()
        }
    }

    fn place(&self) -> String {
        let bars = self.part.bars();
        match (self.phrase, bars) {
            (0, _) => "alone, round and round".into(),
            (of, 1) => format!("bar {} of {of}", self.at + 1),
            (of, _) => format!("bars {} to {} of {of}", self.at + 1, self.at + bars),
        }
    }

    fn choices(&self) -> Vec<Choice> {
        let choice = |key: char, label: String| Choice { key, label };
        let band = self.band.iter().zip('1'..);
        let mut choices: Vec<Choice> = band
            .map(|((instrument, on), key)| {
                // Short, so that all keys find room: who plays is marked, who rests is not.
                let state = if *on { " on" } else { "" };
                choice(key, format!("{}{state}", instrument.name()))
            })
            .collect();
        choices.push(choice('+', "faster".into()));
        if self.has_phrase() {
            choices.push(choice('p', "phrase".into()));
            choices.push(choice('b', "bar".into()));
        }
        if Feel::moves(self.part.grid) {
            choices.push(choice('f', format!("feel {}", self.feel)));
        }
        if self.has_chords() {
            choices.push(choice('k', format!("key {}", self.vamp)));
        }
        choices
    }

    /// Takes a key.
    pub fn key(&mut self, key: KeyEvent) -> Ask {
        if key.modifiers.contains(KeyModifiers::CONTROL) {
            return match key.code {
                KeyCode::Char('c') => Ask::Close,
                KeyCode::Char('z') => Ask::Suspend,
                _ => Ask::Nothing,
            };
        }
        match key.code {
            KeyCode::Esc => Ask::Close,
            KeyCode::Up => Ask::Volume(1),
            KeyCode::Down => Ask::Volume(-1),
            KeyCode::Enter => Ask::Start,
            KeyCode::Char(' ') if self.playing => Ask::Stop,
            KeyCode::Char(' ') => Ask::Start,
            KeyCode::Char('-') => self.faster(-STEP),
            KeyCode::Char('+' | '=') => self.faster(STEP),
            KeyCode::Char('p') => self.longer_phrase(),
            KeyCode::Char('b') => self.later_bar(),
            KeyCode::Char('f') => self.next_feel(),
            KeyCode::Char('k') => self.next_key(),
            KeyCode::Char(digit) => self.turn(digit),
            _ => Ask::Nothing,
        }
    }

    /// Does bass or piano play?
    fn has_chords(&self) -> bool {
        let chords = |i: Instrument| matches!(i, Instrument::Bass | Instrument::Piano);
        let own = self.part.lines.iter().any(|l| chords(l.instrument()));
        own || self.band.iter().any(|(i, on)| *on && chords(*i))
    }

    fn next_feel(&mut self) -> Ask {
        if !Feel::moves(self.part.grid) {
            return Ask::Nothing;
        }
        self.feel = self.feel.next();
        Ask::Changed
    }

    fn next_key(&mut self) -> Ask {
        if !self.has_chords() {
            return Ask::Nothing;
        }
        self.vamp = self.vamp.up_a_fourth();
        Ask::Changed
    }

    fn faster(&mut self, by: f64) -> Ask {
        self.set_tempo(self.bpm + by);
        Ask::Changed
    }

    /// The next longer phrase; after the longest the part alone. The part comes at its end, as a variation does.
    fn longer_phrase(&mut self) -> Ask {
        if !self.has_phrase() {
            return Ask::Nothing;
        }
        let (now, bars) = (self.phrase, self.part.bars());
        let longer = PHRASES.into_iter().find(|p| *p > now && *p > bars);
        self.phrase = longer.unwrap_or(0);
        // The same bars of the clave as before, so that the part stays on its side.
        let last = self.phrase.saturating_sub(bars);
        self.at = last.saturating_sub((last + self.at) % 2);
        Ask::Changed
    }

    /// Two bars later in the phrase, where the clave is the same; after the end at the start again.
    fn later_bar(&mut self) -> Ask {
        if self.phrase == 0 {
            return Ask::Nothing;
        }
        let later = self.at + 2;
        self.at = match later + self.part.bars() <= self.phrase {
            true => later,
            false => self.at % 2,
        };
        Ask::Changed
    }

    /// Turns an instrument on or off.
    fn turn(&mut self, digit: char) -> Ask {
        let nth = digit.to_digit(10).and_then(|d| (d as usize).checked_sub(1));
        match nth.and_then(|n| self.band.get_mut(n)) {
            Some((_, on)) => {
                *on = !*on;
                Ask::Changed
            }
            None => Ask::Nothing,
        }
    }
}

#[cfg(test)]
mod tests;
