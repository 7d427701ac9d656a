//! The terminal as a full screen, given back on every way out.

use super::encoding::Encoded;
use crossterm::cursor::{Hide, Show};
use crossterm::event::{DisableMouseCapture, EnableMouseCapture};
use crossterm::terminal::{
    BeginSynchronizedUpdate, Clear, ClearType, EndSynchronizedUpdate, EnterAlternateScreen,
    LeaveAlternateScreen, disable_raw_mode, enable_raw_mode,
};
use crossterm::{execute, queue};
pub use ratatui::Frame;
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;
use std::io::{self, IsTerminal, Stdout, Write};
use std::sync::atomic::{AtomicBool, Ordering};

type Output = Terminal<CrosstermBackend<Encoded<Stdout>>>;

fn drawn_on(ascii: bool) -> io::Result<Output> {
    Terminal::new(CrosstermBackend::new(Encoded::new(io::stdout(), ascii)))
}

/// The full screen, from opening it to giving the terminal back.
pub struct Screen {
    /// `None` while the terminal is given back.
    terminal: Option<Output>,
    /// Does it listen to the mouse?
    mouse: bool,
    /// Does it take ASCII only?
    ascii: bool,
}

impl Screen {
    /// Takes the terminal over: raw keys, the second screen, no cursor; clicks and the wheel where `mouse` is set, and then
    /// the terminal's own selection of text needs the shift key; letters in ASCII alone where `ascii` is set.
    ///
    /// # Errors
    /// Where standard output is not a terminal that can do this.
    pub fn open(mouse: bool, ascii: bool) -> io::Result<Screen> {
        let mut screen = Screen {
            terminal: None,
            mouse,
            ascii,
        };
        screen.reopen()?;
        Ok(screen)
    }

    /// Takes the terminal over again after [`Screen::close`], or sets it right after a stop that came unasked. The
    /// next drawing draws everything.
    ///
    /// # Errors
    /// As for [`Screen::open`].
    pub fn reopen(&mut self) -> io::Result<()> {
        TAKEN.store(true, Ordering::Relaxed);
        enable_raw_mode()?;
        let taken = execute!(
            io::stdout(),
            EnterAlternateScreen,
            Hide,
            Clear(ClearType::All)
        );
        if taken.is_err() {
            restore();
        }
        taken?;
        self.listen_to_mouse(self.mouse)?;
        self.terminal = Some(drawn_on(self.ascii)?);
        Ok(())
    }

    /// Listens to clicks and the wheel, or leaves them to the terminal.
    ///
    /// # Errors
    /// Where the terminal cannot be written to.
    pub fn listen_to_mouse(&mut self, mouse: bool) -> io::Result<()> {
        self.mouse = mouse;
        match mouse {
            true => execute!(io::stdout(), EnableMouseCapture),
            false => execute!(io::stdout(), DisableMouseCapture),
        }
    }

    /// Gives the terminal back as it was.
    pub fn close(&mut self) {
        if self.terminal.take().is_some() {
            restore();
        }
    }

    /// Forgets what is on the screen, so that the next drawing draws everything: something else may have written on it.
    ///
    /// # Errors
    /// Where the terminal cannot be written to.
    pub fn repaint(&mut self) -> io::Result<()> {
        if let Some(terminal) = &mut self.terminal {
            // The terminal's own way asks where the cursor is, and another thread would read the answer.
            execute!(io::stdout(), Clear(ClearType::All))?;
            *terminal = drawn_on(self.ascii)?;
        }
        Ok(())
    }

    /// Draws one picture, which a terminal that knows synchronized updates (private mode 2026) shows as a whole. Does
    /// nothing while the terminal is given back.
    ///
    /// # Errors
    /// Where the terminal cannot be written to.
    pub fn draw(&mut self, picture: impl FnOnce(&mut Frame)) -> io::Result<()> {
        if let Some(terminal) = &mut self.terminal {
            queue!(io::stdout(), BeginSynchronizedUpdate)?;
            let drawn = terminal.draw(picture).map(|_| ());
            execute!(io::stdout(), EndSynchronizedUpdate)?;
            drawn?;
        }
        Ok(())
    }
}

/// Can a picture be drawn and keys be read? Not if the program is part of a pipe, and not on a terminal that has no
/// name, or one of [`TEXT_ONLY`]: there the text commands are the way. `variable` looks up a variable of the
/// environment.
pub fn is_there(variable: impl Fn(&str) -> Option<String>) -> bool {
    let terminal = io::stdout().is_terminal() && io::stdin().is_terminal();
    terminal && variable("TERM").is_some_and(|term| !TEXT_ONLY.contains(&term.as_str()))
}

/// Terminals without a second screen or the codes that draw on it (ECMA-48), and the name for an unknown one.
const TEXT_ONLY: [&str; 4] = ["", "dumb", "unknown", "vt52"];

impl Drop for Screen {
    fn drop(&mut self) {
        self.close();
    }
}

/// Is the terminal taken over? Giving it back twice would put the cursor back to where the first screen was left, and
/// what was written since would be written over.
static TAKEN: AtomicBool = AtomicBool::new(false);

/// Sets the terminal right where it is taken over; for the panic hook. Errors are left alone: there is no better
/// place to go from here.
pub fn restore() {
    if !TAKEN.swap(false, Ordering::Relaxed) {
        return;
    }
    let _ = disable_raw_mode();
    let mut out = io::stdout();
    let _ = queue!(
        out,
        EndSynchronizedUpdate,
        DisableMouseCapture,
        LeaveAlternateScreen,
        Show
    );
    let _ = out.flush();
}

/// Sets the terminal right before a fault of the main thread is reported, so that the report can be read. Faults of
/// other threads are reported alone: the screen lives on.
pub fn restore_on_panic() {
    let report = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |info| {
        if std::thread::current().name() == Some("main") {
            restore();
        }
        report(info);
    }));
}
