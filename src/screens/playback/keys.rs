//! The keys of the playback: what is offered, and what each changes.

use super::{Ask, ClaveGap, PHRASES, Playback, STEP, STEPS, plays_clave};
use crate::clave::{Clave, Family};
use crate::question::{Choice, LEFT, RIGHT};
use crate::rhythm::{Hand, Instrument, Tempo};
use crate::sound::{Feel, Take};
use crossterm::event::{KeyCode, KeyEvent};

impl Playback {
    pub(super) fn choices(&self) -> Vec<Choice> {
        let choice = |key: char, label: String| Choice { key, label };
        if self.practice {
            return self.practice_choices();
        }
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
            choices.push(choice('e', format!("feel {}", self.feel)));
        }
        if self.has_chords() {
            choices.push(choice('k', format!("key {}", self.vamp)));
        }
        choices
    }

    fn practice_choices(&self) -> Vec<Choice> {
        let choice = |key: char, label: String| Choice { key, label };
        let bar = match (self.loop_bar, self.next_bar()) {
            (None, _) => "one bar alone",
            (_, Some(_)) => "next bar alone",
            _ => "all bars",
        };
        let mut choices = vec![
            choice('l', bar.into()),
            choice('m', format!("click on {}", self.metronome)),
        ];
        if let Some(clave) = self.clave {
            if !plays_clave(&self.part) {
                choices.push(choice('c', format!("clave {clave}")));
            }
            choices.push(match self.gap {
                None => choice('g', "clave stays".into()),
                Some(gap) => choice('g', format!("clave {0} on, {0} off", gap.cycles)),
            });
        }
        choices.push(match self.trainer {
            None => choice('t', format!("steps up to {:.0}", self.next_goal())),
            Some(trainer) => choice('t', format!("on the way to {:.0}", trainer.to)),
        });
        choices.push(choice(RIGHT, format!("tap (left: {LEFT})")));
        choices
    }

    /// Takes a key.
    pub fn key(&mut self, key: KeyEvent) -> Ask {
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
            KeyCode::Char('e') => self.next_feel(),
            KeyCode::Char(LEFT) => Ask::Tap(Hand::Left),
            KeyCode::Char(RIGHT) => Ask::Tap(Hand::Right),
            KeyCode::Char('k') => self.next_key(),
            KeyCode::Char('l') => self.next_loop(),
            KeyCode::Char('m') => self.next_metronome(),
            KeyCode::Char('c') => self.next_clave(),
            KeyCode::Char('g') => self.next_gap(),
            KeyCode::Char('t') => self.train(),
            KeyCode::Char('?') => {
                self.practice = !self.practice;
                Ask::Nothing
            }
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

    /// A change that waits for the next bar.
    fn changed_bar(&self) -> Ask {
        Ask::Changed(self.part.grid.pulses_per_bar())
    }

    fn next_feel(&mut self) -> Ask {
        if !Feel::moves(self.part.grid) {
            return Ask::Nothing;
        }
        self.feel = self.feel.next();
        Ask::Changed(1)
    }

    fn next_key(&mut self) -> Ask {
        if !self.has_chords() {
            return Ask::Nothing;
        }
        self.vamp = self.vamp.up_a_fourth();
        self.changed_bar()
    }

    /// Sets the tempo by hand, so no longer by steps.
    fn faster(&mut self, by: f64) -> Ask {
        self.trainer = None;
        self.set_tempo(Tempo::new(self.tempo.round().bpm() + by));
        Ask::Changed(1)
    }

    /// One bar of the part goes round after the other, then all of it again.
    fn next_loop(&mut self) -> Ask {
        self.loop_bar = self.next_bar();
        self.changed_bar()
    }

    fn next_bar(&self) -> Option<usize> {
        let first = if self.phrase > 0 { self.at } else { 0 };
        let next = self.loop_bar.map_or(first, |bar| bar + 1);
        (first..first + self.part.bars())
            .contains(&next)
            .then_some(next)
    }

    fn next_metronome(&mut self) -> Ask {
        let on = |(i, on): &(Instrument, bool)| *i == Instrument::Click && *on;
        if self.band.iter().any(on) {
            self.metronome = self.metronome.next(self.part.grid, self.clave);
        }
        self.turn_click_on();
        Ask::Changed(0)
    }

    /// Son, rumba, and both with the other side first.
    fn next_clave(&mut self) -> Ask {
        let Some(clave) = self.clave.as_mut().filter(|_| !plays_clave(&self.part)) else {
            return Ask::Nothing;
        };
        *clave = match clave.family {
            Family::Son => Clave {
                family: Family::Rumba,
                ..*clave
            },
            Family::Rumba => Clave {
                family: Family::Son,
                ..clave.begun_later(1)
            },
        };
        self.changed_bar()
    }

    fn next_gap(&mut self) -> Ask {
        if self.clave.is_none() {
            return Ask::Nothing;
        }
        self.gap = ClaveGap::next(self.gap, self.cycle);
        Ask::Changed(0)
    }

    /// The tempo goes up, or stays where it is.
    fn train(&mut self) -> Ask {
        if self.trainer.take().is_none() {
            self.set_trainer(self.next_goal(), STEPS);
        }
        Ask::Nothing
    }

    /// The top of the card's range, or what was asked for; once that is reached, a tenth more.
    fn next_goal(&self) -> Tempo {
        match self.goal > self.tempo {
            true => self.goal,
            false => (self.tempo * 1.1).round().min(Take::FASTEST),
        }
    }

    /// The next longer phrase; after the longest the part alone. The part comes at its end, as a variation does.
    fn longer_phrase(&mut self) -> Ask {
        if !self.has_phrase() {
            return Ask::Nothing;
        }
        let (now, bars) = (self.phrase, self.part.bars());
        let longer = PHRASES.into_iter().find(|p| *p > now && *p > bars);
        self.phrase = longer.unwrap_or(0);
        self.loop_bar = None;
        // The same bars of the clave as before, so that the part stays on its side.
        let last = self.phrase.saturating_sub(bars);
        self.at = last.saturating_sub((last + self.at) % 2);
        self.changed_bar()
    }

    /// Two bars later in the phrase, where the clave is the same; after the end at the start again.
    fn later_bar(&mut self) -> Ask {
        if self.phrase == 0 {
            return Ask::Nothing;
        }
        self.loop_bar = None;
        let later = self.at + 2;
        self.at = match later + self.part.bars() <= self.phrase {
            true => later,
            false => self.at % 2,
        };
        self.changed_bar()
    }

    /// Turns an instrument on or off.
    fn turn(&mut self, digit: char) -> Ask {
        let nth = digit.to_digit(10).and_then(|d| (d as usize).checked_sub(1));
        match nth.and_then(|n| self.band.get_mut(n)) {
            Some((_, on)) => {
                *on = !*on;
                Ask::Changed(0)
            }
            None => Ask::Nothing,
        }
    }
}
