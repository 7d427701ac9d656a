//! The drill line by line, for screen readers, pipes and scripts.

use super::farewell::Farewell;
use super::session_host::SessionHost;
use crate::app::events;
use crate::app::listening::MicrophoneNews;
use crate::question::{Choice, Form, Sense};
use crate::rhythm::counted;
use crate::screens::keys::OWN;
use crate::screens::lines;
use crate::screens::stages::{self, welcome};
use crate::session::{Event, Session, Stage};
use crate::taps::read_taps;
use crate::time::{Moment, Seconds};
use anyhow::Context;
use chrono::TimeDelta;
use std::io::{BufRead, Write};
use std::sync::atomic::Ordering;
use std::sync::mpsc::Receiver;

/// What a line takes on a clock that is moved by hand: an answer in time.
const A_LINE: TimeDelta = TimeDelta::seconds(2);
/// Longest time that a script can let pass at once: a day.
const LONGEST: Seconds = Seconds::DAY;

const HELP: &str = "Type an answer and press Enter; Enter alone goes on. Taps are typed as seconds from the first pulse after the \
clicks, such as `0 0.75 1.5`. Words that work everywhere: \
`again` shows or plays the question once more, `slower` plays it slower, `words` gives the bar grid in words, `x` says \
that you do not know, `u` takes back an answer that was a slip, `y` plays the row you wrote, `pause` stops the clock \
until you go on, `stop` ends the \
drill, `help` says this.";

/// The drill line by line: a page, then a line from the player, and so on. The end of the input ends the drill.
///
/// # Errors
/// Where the input cannot be read or the output cannot be written.
pub fn run(
    session: Session,
    host: SessionHost,
    news: &Receiver<MicrophoneNews>,
    input: &mut dyn BufRead,
    out: &mut dyn Write,
) -> anyhow::Result<Farewell> {
    host.record.store().sound()?;
    let resumed = events::resumed().context("cannot listen for signals")?;
    let mut app = PlainApp { session, host, out };
    for remark in app.host.library.remarks.clone() {
        writeln!(app.out, "Note: {remark}")?;
    }
    writeln!(app.out, "{}", lines::wrapped(HELP))?;
    if let Some(sound) = &mut app.host.sound {
        sound.wait();
    }
    app.host.listen(&mut app.session);
    app.host.start(&mut app.session);
    app.show()?;
    let mut line = String::new();
    let mut takes = A_LINE;
    while !app.session.finished() {
        app.out.flush()?;
        line.clear();
        let shown = app.host.now();
        let read = input.read_line(&mut line)?;
        if app.host.clock_jumped(app.host.now() - shown) {
            app.leave()?;
            continue;
        }
        if resumed.swap(false, Ordering::Relaxed) && read > 0 && app.back_again(shown)? {
            continue;
        }
        if let Some(seconds) = line.trim().strip_prefix("wait ") {
            if app.wait(seconds)? {
                takes = TimeDelta::zero();
            }
            continue;
        }
        app.host.clock.step(takes);
        takes = A_LINE;
        let by_ear =
            matches!(app.session.stage(), Stage::Asking(a) if a.question.item.sense == Sense::Hear);
        app.host.listen(&mut app.session);
        if app.hear(news)? {
            // The strokes were the answer.
            app.show()?;
            continue;
        }
        match read {
            0 => app.leave()?,
            // The line was for a question that went with the sound.
            _ if by_ear && !app.session.sound() => app.show()?,
            _ => app.take(line.trim())?,
        }
    }
    app.out.flush()?;
    Ok(app.host.farewell(&app.session))
}

struct PlainApp<'a> {
    session: Session,
    host: SessionHost,
    out: &'a mut dyn Write,
}

/// How the taps of the question are given on a line, where taps are asked for.
fn how_to_tap(session: &Session, listens: bool) -> Option<String> {
    let Stage::Asking(asking) = session.stage() else {
        return None;
    };
    let form = &asking.question.form;
    matches!(form, Form::Taps { .. }).then(|| {
        let taps = match form.choices().len() {
            0 | 1 => "such as `0 0.75 1.5`",
            _ => "each with its hand, such as `0R 0.75L 1.5R`",
        };
        let instead = match listens {
            true => "Clap, then press Enter; or type",
            false => "Type",
        };
        format!(
            "{instead} the taps, {} in all: seconds from the first pulse after the clicks, {taps}.",
            form.length()
        )
    })
}

impl PlainApp<'_> {
    fn tell(&mut self, event: Event) -> std::io::Result<()> {
        self.host.tell(&mut self.session, event);
        if let Some(trouble) = self.host.trouble.take() {
            writeln!(self.out, "Note: {trouble}")?;
        }
        Ok(())
    }

    /// Takes what the microphone heard since the last line. True where strokes ended an answer by that.
    fn hear(&mut self, news: &Receiver<MicrophoneNews>) -> std::io::Result<bool> {
        let asking = matches!(self.session.stage(), Stage::Asking(_));
        self.host.keyed = self.host.now();
        for news in news.try_iter() {
            if let Some(said) = self.host.microphone(&mut self.session, news) {
                writeln!(self.out, "Note: {said}")?;
            }
        }
        Ok(asking && matches!(self.session.stage(), Stage::Feedback(_)))
    }

    /// Writes the page that is on now, after an empty line.
    fn show(&mut self) -> std::io::Result<()> {
        let audio = self.host.audio(&self.session);
        let mut page = stages::page(&self.session, audio, self.host.now());
        let taps = how_to_tap(&self.session, audio.listens);
        if taps.is_some() {
            // No key can be struck in time on a line.
            page.choices.clear();
        }
        write!(self.out, "\n{}", lines::page(&page))?;
        if let Some(taps) = taps {
            writeln!(self.out, "{}", lines::wrapped(&taps))?;
        }
        if matches!(self.session.stage(), Stage::Introduction(_)) {
            writeln!(self.out, "Press Enter to be asked.")?;
        }
        if let Some(sound) = &mut self.host.sound {
            self.out.flush()?;
            sound.settle();
        }
        Ok(())
    }

    /// The program was stopped and goes on. When it was stopped is not known, so that all the time since the page was
    /// `shown` counts as away. True where there is another question now, which the line was not meant for.
    fn back_again(&mut self, shown: Moment) -> std::io::Result<bool> {
        let asking = matches!(self.session.stage(), Stage::Asking(_));
        let away = self.host.now() - shown;
        self.tell(Event::Away(away))?;
        if asking {
            self.show()?;
        }
        Ok(asking)
    }

    /// Lets time pass on a clock that is moved by hand. False where that cannot be done; the reason is said.
    fn wait(&mut self, seconds: &str) -> std::io::Result<bool> {
        let clock = self.host.clock;
        let length = seconds.trim().parse().ok().map(Seconds::new);
        let length = length.filter(|length| (Seconds::ZERO..=LONGEST).contains(length));
        match length {
            _ if !clock.is_by_hand() => {
                writeln!(
                    self.out,
                    "The clock runs by itself; `wait` is for scripts with --seed."
                )?;
                Ok(false)
            }
            None => {
                writeln!(
                    self.out,
                    "`wait` needs seconds from 0 to {LONGEST}, such as `wait 3.5`."
                )?;
                Ok(false)
            }
            Some(length) => {
                clock.step(TimeDelta::microseconds(
                    (length.seconds() * 1e6).round() as i64
                ));
                Ok(true)
            }
        }
    }

    fn take(&mut self, line: &str) -> std::io::Result<()> {
        let (stage, keys) = (self.session.stage(), self.host.keys);
        let is = |key: char| line.eq_ignore_ascii_case(&key.to_string());
        let own = matches!(stage, Stage::Feedback(f) if f.review.question.own_take(&f.review.answer).is_some());
        let meets = matches!(stage, Stage::Introduction(_));
        let told = matches!(stage, Stage::Feedback(_));
        match line {
            "again" => self.tell(Event::HearAgain)?,
            "slower" => self.tell(Event::Slower)?,
            "pause" => self.tell(Event::Pause)?,
            _ if meets && is(keys.ask_me) => self.tell(Event::AskMe)?,
            _ if told && is(keys.take_back) => self.tell(Event::TakeBack)?,
            _ if own && is(OWN) => self.tell(Event::HearOwn)?,
            "words" => {
                let audio = self.host.audio(&self.session);
                let page = stages::page(&self.session, audio, self.host.now());
                return write!(self.out, "{}", lines::chart_in_words(&page));
            }
            "stop" => return self.leave(),
            "help" | "?" => return writeln!(self.out, "{}", lines::wrapped(HELP)),
            "" => self.tell(match self.session.stage() {
                Stage::Welcome(_) => Event::Begin,
                _ => Event::Next,
            })?,
            keys => return self.keys(keys),
        }
        match self.session.finished() {
            true => Ok(()),
            false => self.show(),
        }
    }

    /// Letters: an answer, or choices of the first page.
    fn keys(&mut self, keys: &str) -> std::io::Result<()> {
        match self.session.stage() {
            Stage::Welcome(profile) => {
                let mut profile = *profile;
                for key in keys.chars() {
                    match welcome::chosen(profile, key) {
                        Some(changed) => profile = changed,
                        None => {
                            return none_of(key, &welcome::page(&profile).choices, self.out);
                        }
                    }
                }
                self.tell(Event::Choose(profile))?;
            }
            Stage::Asking(_)
                if keys
                    .trim()
                    .eq_ignore_ascii_case(&self.host.keys.unknown.to_string()) =>
            {
                self.tell(Event::Unknown)?;
            }
            Stage::Asking(asking) if matches!(asking.question.form, Form::Taps { .. }) => {
                match read_taps(keys) {
                    Ok(taps) => self.tell(Event::Taps(taps))?,
                    Err(error) => {
                        let listens = self.host.audio(&self.session).listens;
                        let how = how_to_tap(&self.session, listens).unwrap_or_default();
                        let said = match error.word() {
                            Some(word) => format!("`{word}` is not a tap. {how}"),
                            None => error.to_string(),
                        };
                        return writeln!(self.out, "{}", lines::wrapped(&said));
                    }
                }
            }
            Stage::Asking(asking) => {
                let form = &asking.question.form;
                let written = matches!(form, Form::Written { .. });
                let (choices, length) = (form.choices(), form.length());
                let keys: Vec<char> = keys
                    .to_lowercase()
                    .chars()
                    .filter(|k| !k.is_whitespace() && *k != '|')
                    .collect();
                if let Some(wrong) = keys.iter().find(|k| choices.iter().all(|c| c.key != **k)) {
                    return none_of(*wrong, choices, self.out);
                }
                if keys.len() != length {
                    let letters = match length {
                        _ if written => format!("{length} letters and dots, one for each pulse"),
                        n => counted(n, "letter"),
                    };
                    return writeln!(self.out, "The answer has {letters}; try again.");
                }
                for key in keys {
                    self.tell(Event::Key(key))?;
                }
                if written {
                    self.tell(Event::Next)?;
                }
            }
            _ => return writeln!(self.out, "Press Enter to go on."),
        }
        self.show()
    }

    /// Ends the session from wherever it is, with the page that sums it up.
    fn leave(&mut self) -> std::io::Result<()> {
        let mut summed_up = matches!(self.session.stage(), Stage::Done(_));
        while !self.session.finished() {
            self.tell(Event::Quit)?;
            if matches!(self.session.stage(), Stage::Done(_)) && !summed_up {
                summed_up = true;
                self.show()?;
            }
        }
        Ok(())
    }
}

/// Says that a key is none of the choices, and what they are. The page is not read out again.
fn none_of(key: char, choices: &[Choice], out: &mut dyn Write) -> std::io::Result<()> {
    let all: Vec<_> = choices.iter().map(|c| c.key.to_string()).collect();
    let all = all.join(", ");
    writeln!(out, "`{key}` is not one of the answers; they are {all}.")
}
