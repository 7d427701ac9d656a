//! The real program, driven through its lines, and read as a player reads it.

use serde_json::Value;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

const PROGRAM: &str = env!("CARGO_BIN_EXE_whichside");
/// How the words end that answer `help`: with them a page is known to be whole.
const END_OF_HELP: &str = "says this.";

/// What is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    Welcome,
    Meeting,
    Asking,
    Told { right: bool },
    Done,
}

/// One page of the drill.
#[derive(Clone, Debug)]
pub struct Page {
    pub text: String,
}

impl Page {
    pub fn stage(&self) -> Stage {
        let starts = |word: &str| self.text.lines().any(|l| l.starts_with(word));
        match () {
            () if starts("Minutes a day") => Stage::Welcome,
            () if starts("Tomorrow:") || starts("Nothing was asked") => Stage::Done,
            () if starts("Right, ") => Stage::Told { right: true },
            () if starts("Missed: ") || starts("Partly right, ") => Stage::Told { right: false },
            () if starts("Answers:") => Stage::Asking,
            () if self.text.contains("is not one of the answers") => panic!("{}", self.text),
            () => Stage::Meeting,
        }
    }

    /// The keys that can be pressed.
    pub fn keys(&self) -> Vec<char> {
        let mut lines = self.text.lines().skip_while(|l| !l.starts_with("Answers:"));
        let first = lines.next().and_then(|l| l.strip_prefix("Answers:"));
        let first = first.unwrap_or_default().trim_end_matches('.');
        let choices = first.split(',').chain(lines);
        choices.filter_map(|c| c.trim().chars().next()).collect()
    }
}

/// When and where a session takes place.
#[derive(Clone, Copy)]
pub struct Sitting<'a> {
    pub data: &'a Path,
    pub now: &'a str,
    pub seed: u64,
    /// Arguments besides.
    pub extra: &'a [String],
}

/// A drill that waits for its player.
pub struct Drill {
    child: Child,
    input: ChildStdin,
    output: BufReader<ChildStdout>,
}

impl Drill {
    /// Starts a drill and reads its first page.
    pub fn start(sitting: Sitting) -> (Drill, Page) {
        let mut child = Command::new(PROGRAM)
            .args(["drill", "--plain", "--silent", "--now", sitting.now])
            .args(["--seed", &sitting.seed.to_string()])
            .arg("--data")
            .arg(sitting.data)
            .args(sitting.extra)
            .env("TZ", "UTC")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let input = child.stdin.take().expect("its input");
        let output = BufReader::new(child.stdout.take().expect("its output"));
        let mut drill = Drill {
            child,
            input,
            output,
        };
        drill.whole_page();
        let page = drill.exchange("");
        (drill, page)
    }

    /// Lets `seconds` pass, then types `line`.
    pub fn say(&mut self, seconds: f64, line: &str) -> Page {
        self.exchange(&format!("wait {seconds}\n{line}\n"))
    }

    fn exchange(&mut self, lines: &str) -> Page {
        // No time passes with the help that marks the end of the page.
        let lines = format!("{lines}wait 0\nhelp\n");
        self.input.write_all(lines.as_bytes()).expect("it listens");
        self.whole_page()
    }

    fn whole_page(&mut self) -> Page {
        let mut text = String::new();
        while !text.trim_end().ends_with(END_OF_HELP) {
            let read = self
                .output
                .read_line(&mut text)
                .expect("its output is text");
            assert!(read > 0, "the program ended unasked:\n{text}");
        }
        let end = text.rfind("Type an answer").expect("the help");
        text.truncate(end);
        Page { text }
    }

    /// Closes the last page.
    pub fn close(mut self) {
        let _ = self.input.write_all(b"\n");
        drop(self.input);
        let status = self.child.wait().expect("it ends");
        assert!(status.success(), "{status}");
    }

    /// Ends it from wherever it is.
    pub fn kill(mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Runs a command and gives what it writes.
pub fn run(words: &[&str], data: &Path) -> String {
    let run = Command::new(PROGRAM)
        .args(words)
        .arg("--data")
        .arg(data)
        .output()
        .expect("the program runs");
    let said = String::from_utf8(run.stdout).expect("its output is text");
    assert!(
        run.status.success(),
        "{words:?}: {said}{}",
        String::from_utf8_lossy(&run.stderr)
    );
    said
}

/// Every answer in the log.
pub fn log(data: &Path) -> Vec<Value> {
    let text = run(&["log", "export"], data);
    let rows = text.lines().map(serde_json::from_str);
    rows.map(|row| row.expect("a line of JSON")).collect()
}
