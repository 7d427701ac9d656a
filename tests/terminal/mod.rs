//! The real program in a pseudo-terminal, with a terminal emulator that reads what it draws.

use portable_pty::{Child, CommandBuilder, ExitStatus, MasterPty, PtySize, native_pty_system};
use std::io::{Read, Write};
use std::num::NonZero;
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

/// How long a test waits for something that should come at once.
const PATIENCE: Duration = Duration::from_secs(20);

pub struct Terminal {
    master: Box<dyn MasterPty + Send>,
    keyboard: Box<dyn Write + Send>,
    child: Box<dyn Child + Send + Sync>,
    parser: Arc<Mutex<vt100::Parser>>,
}

impl Terminal {
    /// Starts `whichside` with `args` in a terminal of 80 columns and 24 lines. `--data` names the folder of the test.
    pub fn start(args: &[&str], data: &Path) -> Terminal {
        Terminal::start_with(args, data, &[])
    }

    /// As [`Terminal::start`], with environment variables.
    pub fn start_with(args: &[&str], data: &Path, variables: &[(&str, &str)]) -> Terminal {
        // The path is absolute: a relative one would be looked for in the home folder.
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_whichside"));
        command.args(args);
        for (name, value) in variables {
            command.env(name, value);
        }
        Terminal::run(command, data)
    }

    /// Runs a line of shell, for which `$0` is the program and `$@` names the folder of the test.
    #[allow(dead_code, reason = "not every test that has a terminal needs a shell")]
    pub fn script(line: &str, data: &Path) -> Terminal {
        let mut command = CommandBuilder::new("sh");
        command.args(["-c", line, env!("CARGO_BIN_EXE_whichside")]);
        Terminal::run(command, data)
    }

    fn run(mut command: CommandBuilder, data: &Path) -> Terminal {
        let size = size(80, 24);
        let pair = native_pty_system().openpty(size).expect("a terminal");
        command.arg("--data");
        command.arg(data);
        // What ALSA has is what counts, also where a sound server runs.
        command.env("PULSE_SERVER", "unix:/none");
        command.env("TERM", "xterm-256color");
        command.env("LC_ALL", "C.UTF-8");
        command.env_remove("NO_COLOR");
        let child = pair.slave.spawn_command(command).expect("the program");
        drop(pair.slave);
        let parser = Arc::new(Mutex::new(vt100::Parser::new(whole(24), whole(80), 0)));
        let mut output = pair.master.try_clone_reader().expect("its output");
        let seen = Arc::clone(&parser);
        thread::spawn(move || {
            let mut bytes = [0; 4096];
            let mut waiting = Vec::new();
            while let Ok(n) = output.read(&mut bytes) {
                if n == 0 {
                    break;
                }
                waiting.extend_from_slice(&bytes[..n]);
                let whole = waiting.drain(..whole_updates(&waiting)).collect::<Vec<_>>();
                seen.lock().unwrap().process(&whole);
            }
            seen.lock().unwrap().process(&waiting);
        });
        Terminal {
            keyboard: pair.master.take_writer().expect("its keyboard"),
            master: pair.master,
            child,
            parser,
        }
    }

    /// Types `keys`.
    pub fn send(&mut self, keys: &str) {
        self.keyboard.write_all(keys.as_bytes()).expect("typing");
        self.keyboard.flush().expect("typing");
    }

    /// Types without end, or as far as the program reads, while the test goes on; nothing else can be typed then.
    #[allow(dead_code, reason = "few tests type that much")]
    pub fn flood(&mut self, keys: String) {
        let mut keyboard = std::mem::replace(&mut self.keyboard, Box::new(std::io::sink()));
        // It ends with the program, which then reads no more.
        thread::spawn(move || keyboard.write_all(keys.as_bytes()));
    }

    /// Spoils the picture, as a message of another program does.
    #[allow(dead_code, reason = "few tests spoil it")]
    pub fn tear(&self) {
        self.parser
            .lock()
            .unwrap()
            .process(b"\x1b[3;1Hanother program\x1b[2K\x1b[5;5Hsays something");
    }

    /// What can be read on the screen now.
    pub fn text(&self) -> String {
        self.parser.lock().unwrap().screen().contents()
    }

    /// What `read` makes of the screen as it is now, colours and all.
    #[allow(dead_code, reason = "most tests read the text alone")]
    pub fn screen<T>(&self, read: impl FnOnce(&vt100::Screen) -> T) -> T {
        read(self.parser.lock().unwrap().screen())
    }

    /// True while the program has the second screen of the terminal.
    pub fn is_full_screen(&self) -> bool {
        self.parser.lock().unwrap().screen().alternate_screen()
    }

    pub fn is_cursor_hidden(&self) -> bool {
        self.parser.lock().unwrap().screen().hide_cursor()
    }

    /// Waits until `seen` holds for the text on the screen.
    pub fn wait(&self, what: &str, seen: impl Fn(&str) -> bool) {
        let end = Instant::now() + PATIENCE;
        while !seen(&self.text()) {
            assert!(
                Instant::now() < end,
                "waited in vain for {what}; the screen shows:\n{}",
                self.text()
            );
            thread::sleep(Duration::from_millis(1));
        }
    }

    /// What can be read on the screen once it stands still.
    pub fn settled(&self) -> String {
        let mut before = self.text();
        loop {
            thread::sleep(Duration::from_millis(30));
            let now = self.text();
            if now == before {
                return now;
            }
            before = now;
        }
    }

    /// Waits until `holds` is true of the terminal.
    pub fn wait_until(&self, what: &str, holds: impl Fn(&Terminal) -> bool) {
        self.wait(what, |_| holds(self));
    }

    /// True while the process is stopped.
    #[allow(dead_code, reason = "not every test stops the program")]
    pub fn is_stopped(&self) -> bool {
        let status = std::fs::read_to_string(format!("/proc/{}/stat", self.process()));
        let status = status.expect("the process is there");
        let after_name = status.rsplit(") ").next();
        after_name.is_some_and(|state| state.starts_with('T'))
    }

    /// Waits until the screen shows `text`.
    pub fn wait_for(&self, text: &str) {
        self.wait(&format!("`{text}`"), |screen| screen.contains(text));
    }

    /// Changes the size of the window: its picture first, or the program might draw for the new one into the old.
    pub fn resize(&self, columns: u16, lines: u16) {
        let mut parser = self.parser.lock().unwrap();
        parser.screen_mut().set_size(whole(lines), whole(columns));
        self.master.resize(size(columns, lines)).expect("resizing");
    }

    /// Number of the process.
    pub fn process(&self) -> u32 {
        self.child.process_id().expect("a running process")
    }

    /// Sends a signal by its name, such as `TERM`.
    pub fn signal(&self, name: &str) {
        // The shell's own kill: a small system has no program of that name.
        let sent = std::process::Command::new("sh")
            .args(["-c", &format!("kill -{name} {}", self.process())])
            .status();
        assert!(sent.expect("a shell can be run").success());
    }

    /// Waits for the end of the program and checks that the terminal was given back as it was.
    pub fn end(mut self) -> ExitStatus {
        let end = Instant::now() + PATIENCE;
        let status = loop {
            if let Some(status) = self
                .child
                .try_wait()
                .expect("the program can be waited for")
            {
                break status;
            }
            assert!(
                Instant::now() < end,
                "the program does not end; the screen shows:\n{}",
                self.text()
            );
            thread::sleep(Duration::from_millis(5));
        };
        while self.is_full_screen() || self.is_cursor_hidden() {
            assert!(Instant::now() < end, "the terminal is not given back");
            thread::sleep(Duration::from_millis(5));
        }
        status
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        let _ = self.child.kill();
    }
}

/// How many of `bytes` can be shown: not a synchronized update (private mode 2026) that has not come to its end, which
/// would be half a picture.
fn whole_updates(bytes: &[u8]) -> usize {
    let last = |mark: &[u8]| bytes.windows(mark.len()).rposition(|at| at == mark);
    match (last(b"\x1b[?2026h"), last(b"\x1b[?2026l")) {
        (Some(begun), ended) if ended.is_none_or(|ended| ended < begun) => begun,
        _ => bytes.len(),
    }
}

fn whole(n: u16) -> NonZero<u16> {
    NonZero::new(n).expect("a window has lines and columns")
}

fn size(columns: u16, lines: u16) -> PtySize {
    PtySize {
        rows: lines,
        cols: columns,
        pixel_width: 0,
        pixel_height: 0,
    }
}
