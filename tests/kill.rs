//! The drill killed at random moments: every answer that it said it had taken is in the log, the log holds
//! together, and what was in it stays as it was.
#![cfg(unix)]

use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use std::io::{BufRead, BufReader, Write};
use std::os::unix::process::ExitStatusExt;
use std::path::Path;
use std::process::{ChildStdout, Command, Stdio};
use std::sync::mpsc::{self, Receiver};
use std::thread;
use std::time::Duration;

const KILLS: usize = 100;
/// Silence after which a round is ended by the kill as well.
const QUIET: Duration = Duration::from_secs(2);
const PROGRAM: &str = env!("CARGO_BIN_EXE_whichside");
/// SIGKILL, by POSIX.1-2017 `kill`.
const SIGKILL: i32 = 9;

#[test]
fn killed_a_hundred_times_it_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut rng = ChaCha8Rng::seed_from_u64(22);
    let mut before: Vec<String> = Vec::new();
    let (mut kills, mut beyond) = (0, 0);
    for round in 0..KILLS {
        // From the first lines of the start to some fifteen answers.
        let most = rng.random_range(2..500);
        let lines = rng.random_range(0..most);
        let pause = Duration::from_micros(rng.random_range(0..6_000));
        let drill = Drill {
            folder: folder.path(),
            seed: round,
        };
        let (told, killed) = drill.kill_after(lines, pause);
        kills += usize::from(killed);

        verify(folder.path());
        let after = export(folder.path());
        assert!(
            after.len() >= before.len() + told,
            "round {round}: {} reviews before, {told} answers told, {} reviews after",
            before.len(),
            after.len()
        );
        assert_eq!(after[..before.len()], before, "round {round}");
        beyond += after.len() - before.len() - told;
        before = after;
    }
    println!(
        "{kills} kills, {} reviews, {beyond} of them not told yet",
        before.len()
    );
    assert!(kills > KILLS * 9 / 10, "most rounds end by the kill");
    assert!(before.len() > KILLS, "the rounds get as far as answers");
}

struct Drill<'a> {
    folder: &'a Path,
    seed: usize,
}

impl Drill<'_> {
    /// Drills until so many lines were read, waits, kills. Gives the number of answers that the program said it had
    /// taken, and whether it was the kill that ended it.
    fn kill_after(&self, lines: usize, pause: Duration) -> (usize, bool) {
        let seed = self.seed.to_string();
        // An evening a round: on one day there would soon be nothing more to ask.
        let now = format!(
            "2027-{:02}-{:02}T18:00:00Z",
            1 + self.seed / 28,
            1 + self.seed % 28
        );
        let mut child = Command::new(PROGRAM)
            .args([
                "drill",
                "--plain",
                "--silent",
                "--minutes",
                "5",
                "--seed",
                &seed,
                "--now",
                &now,
            ])
            .arg("--data")
            .arg(self.folder)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut input = child.stdin.take().unwrap();
        let output = Lines::of(child.stdout.take().unwrap());
        let mut told = 0;
        let mut player = Player {
            key: '2',
            choices_come: false,
        };
        let mut read = 0;
        // The first Enter leaves the first page, the rest is answered as it comes.
        let _ = input.write_all(b"\n\n");
        // A program that waits for something else than it was told has nothing to say: that ends the round, too.
        while let Ok(line) = output.0.recv_timeout(QUIET) {
            read += 1;
            told += usize::from(verdict(&line));
            if read > lines {
                break;
            }
            // A program that is gone takes no more answers; its output ends soon.
            let _ = input.write_all(player.answer(&line).as_bytes());
        }
        thread::sleep(pause);
        let _ = child.kill();
        told += output.0.iter().filter(|line| verdict(line)).count();
        let status = child.wait().unwrap();
        (told, status.signal() == Some(SIGKILL))
    }
}

/// The whole lines of an output as they come; a line that the kill has cut says nothing.
struct Lines(Receiver<String>);

impl Lines {
    fn of(output: ChildStdout) -> Lines {
        let (sender, receiver) = mpsc::channel();
        thread::spawn(move || {
            let mut output = BufReader::new(output);
            let mut line = Vec::new();
            while output.read_until(b'\n', &mut line).is_ok() && line.ends_with(b"\n") {
                let _ = sender.send(String::from_utf8_lossy(&line).trim_end().to_string());
                line.clear();
            }
        });
        Lines(receiver)
    }
}

fn verdict(line: &str) -> bool {
    ["Right, ", "Partly right, ", "Missed: "]
        .iter()
        .any(|v| line.starts_with(v))
}

/// Answers with the first key of the choices, and Enter on every other page.
struct Player {
    key: char,
    /// The choices come next, a line each.
    choices_come: bool,
}

impl Player {
    fn answer(&mut self, line: &str) -> String {
        let listed = std::mem::replace(&mut self.choices_come, line == "Answers:");
        let choices = line.strip_prefix("Answers: ");
        if let Some(choices) = choices.or(listed.then_some(line)) {
            self.key = choices.chars().next().unwrap_or('2');
            return format!("{}\n", self.key);
        }
        if let Some(rest) = line.strip_prefix("The answer has ") {
            let length = rest.split(' ').next().and_then(|n| n.parse().ok());
            return format!("{}\n", self.key.to_string().repeat(length.unwrap_or(1)));
        }
        match verdict(line) || line.starts_with("Press Enter") {
            true => "\n".into(),
            false => String::new(),
        }
    }
}

fn verify(folder: &Path) {
    let run = Command::new(PROGRAM)
        .args(["log", "verify", "--data"])
        .arg(folder)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&run.stdout);
    assert!(
        run.status.success() && said.contains("all is well"),
        "{said}"
    );
}

fn export(folder: &Path) -> Vec<String> {
    let run = Command::new(PROGRAM)
        .args(["log", "export", "--data"])
        .arg(folder)
        .output()
        .unwrap();
    assert!(run.status.success());
    let text = String::from_utf8(run.stdout).unwrap();
    text.lines().map(str::to_string).collect()
}
