//! Keys and signals as one stream of events, gathered by two threads.

use super::Clock;
use super::listening::MicrophoneNews;
use anyhow::Context;
use chrono::{DateTime, Utc};
use crossterm::event::{self, Event as Terminal, KeyCode, KeyEvent, KeyEventKind};
use crossterm::event::{MouseButton, MouseEventKind};
use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGTSTP};
use signal_hook::iterator::Signals;
use signal_hook::low_level::emulate_default_handler;
use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, Sender};
use std::thread;
use std::time::{Duration, Instant};

/// Something that happened outside.
#[derive(Clone, Debug, PartialEq)]
pub enum OuterEvent {
    /// A key was pressed.
    Key {
        /// Which.
        key: KeyEvent,
        /// When it was read.
        at: DateTime<Utc>,
    },
    /// The left mouse button was pressed.
    Click {
        /// On this column and line.
        at: (u16, u16),
        /// When.
        when: DateTime<Utc>,
    },
    /// The window has another size.
    Resized,
    /// The microphone has something to say.
    Microphone(MicrophoneNews),
    /// Somebody wants the program to end: a signal, or the terminal is gone.
    End,
    /// The program is to be stopped for a while.
    Suspend,
    /// The program goes on after a stop.
    Resume,
}

/// Keys and signals, gathered by two threads that do nothing else. A key is stamped right after it was read: what
/// the drawing takes does not count as the player's time.
pub struct Events {
    receiver: Receiver<OuterEvent>,
    sender: Sender<OuterEvent>,
    /// Somebody wants the program to end.
    ended: Arc<AtomicBool>,
}

impl Events {
    /// Starts listening.
    ///
    /// # Errors
    /// Where cannot listen for signals.
    pub fn listen(clock: Clock) -> anyhow::Result<Events> {
        let (sender, receiver) = mpsc::channel();
        let signals = Signals::new([SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGTSTP, SIGCONT])
            .context("cannot listen for signals")?;
        let to = sender.clone();
        let keys = sender.clone();
        let ended = Arc::new(AtomicBool::new(false));
        let end = Arc::clone(&ended);
        thread::Builder::new()
            .name("signals".into())
            .spawn(move || forward_signals(signals, &to, &end))?;
        thread::Builder::new()
            .name("keys".into())
            .spawn(move || forward_keys(clock, &keys))?;
        Ok(Events {
            receiver,
            sender,
            ended,
        })
    }

    /// Takes the news of a microphone in with the events.
    pub fn for_microphone(&self) -> impl FnMut(MicrophoneNews) + Send + 'static {
        let to = self.sender.clone();
        move |news| {
            // Where nobody takes events any more the program ends.
            let _ = to.send(OuterEvent::Microphone(news));
        }
    }

    /// Did a signal ask the program to end? Every page leaves then, and so does the one that opened it.
    pub fn ended(&self) -> bool {
        self.ended.load(Ordering::Relaxed)
    }

    /// Waits for the next event, `None` when `patience` is over first. Without `patience` it waits for good.
    pub fn next(&self, patience: Option<Duration>) -> Option<OuterEvent> {
        // Before the keys that wait.
        if self.ended() {
            return Some(OuterEvent::End);
        }
        match patience {
            None => Some(self.receiver.recv().unwrap_or(OuterEvent::End)),
            Some(patience) => match self.receiver.recv_timeout(patience) {
                Ok(event) => Some(event),
                Err(RecvTimeoutError::Timeout) => None,
                Err(RecvTimeoutError::Disconnected) => Some(OuterEvent::End),
            },
        }
    }
}

/// A signal to end that comes so long after the first one ends the program at once.
const INSISTS: Duration = Duration::from_secs(2);

fn forward_signals(mut signals: Signals, to: &Sender<OuterEvent>, end: &AtomicBool) {
    let mut asked: Option<Instant> = None;
    for signal in signals.forever() {
        let event = match signal {
            SIGTSTP => OuterEvent::Suspend,
            SIGCONT => OuterEvent::Resume,
            _ => {
                // The program hangs, perhaps on a terminal that reads nothing. Every answer is on the disk already.
                if asked.get_or_insert_with(Instant::now).elapsed() > INSISTS {
                    let _ = emulate_default_handler(signal);
                }
                end.store(true, Ordering::Relaxed);
                OuterEvent::End
            }
        };
        if to.send(event).is_err() {
            return;
        }
    }
}

fn forward_keys(clock: Clock, to: &Sender<OuterEvent>) {
    loop {
        let read = event::read();
        let at = clock.now();
        let event = match read {
            // Terminals that tell press and release apart send both; an answer is the press.
            Ok(Terminal::Key(key)) if key.kind != KeyEventKind::Release => {
                OuterEvent::Key { key, at }
            }
            Ok(Terminal::Mouse(mouse)) => match mouse.kind {
                MouseEventKind::Down(MouseButton::Left) => OuterEvent::Click {
                    at: (mouse.column, mouse.row),
                    when: at,
                },
                // The wheel is another way to press Up and Down.
                MouseEventKind::ScrollUp => pressed(KeyCode::Up, at),
                MouseEventKind::ScrollDown => pressed(KeyCode::Down, at),
                _ => continue,
            },
            Ok(Terminal::Resize(..)) => OuterEvent::Resized,
            Ok(_) => continue,
            Err(_) => OuterEvent::End,
        };
        let last = event == OuterEvent::End;
        if to.send(event).is_err() || last {
            return;
        }
    }
}

fn pressed(key: KeyCode, at: DateTime<Utc>) -> OuterEvent {
    OuterEvent::Key {
        key: key.into(),
        at,
    }
}

/// A flag that is raised whenever the process goes on after a stop.
///
/// # Errors
/// Where cannot listen for signals.
pub fn resumed() -> io::Result<Arc<AtomicBool>> {
    let flag = Arc::new(AtomicBool::new(false));
    signal_hook::flag::register(SIGCONT, Arc::clone(&flag))?;
    Ok(flag)
}

/// Stops the process as the terminal's stop key does; returns when it goes on.
pub fn stop_process() {
    // Where the stop is refused the program simply goes on.
    let _ = signal_hook::low_level::emulate_default_handler(SIGTSTP);
}
