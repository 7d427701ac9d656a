//! What loses or spoils a player's data elsewhere, done to the real program: every fault has to be named, and no answer
//! that was confirmed may be lost. In short form by itself; in full, with what was tried, survived and lost:
//!
//!     FAULTS=full cargo test --test faults -- --nocapture
#![cfg(unix)]

use std::collections::BTreeSet;
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::os::unix::fs::PermissionsExt;
use std::path::PathBuf;
use std::process::{Child, Command, Output, Stdio};
use std::thread;
use std::time::Duration;

const PROGRAM: &str = env!("CARGO_BIN_EXE_whichside");
/// An evening line by line; `x` is an answer to every question, Enter goes on.
const DRILL: &[&str] = &["drill", "--plain", "--silent", "--seed", "7"];
const EVENING: &str = "2026-11-25T18:00:00Z";

/// How often a case is tried: few times, or `full`.
fn times(few: usize, full: usize) -> usize {
    match std::env::var("FAULTS") {
        Ok(how) if how == "full" => full,
        _ => few,
    }
}

/// A player's home, with the data folder `data` in it.
struct Home(tempfile::TempDir);

impl Home {
    /// A home whose player has answered `answers` questions.
    fn after(answers: usize) -> Home {
        let home = Home::new();
        home.evening(EVENING, answers);
        assert_eq!(home.answers(), answers);
        home
    }

    fn new() -> Home {
        Home(tempfile::tempdir().unwrap())
    }

    fn data(&self) -> PathBuf {
        self.0.path().join("data")
    }

    fn log(&self) -> PathBuf {
        self.data().join("log.db")
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(PROGRAM);
        command.args(arguments).arg("--data").arg(self.data());
        command.env("HOME", self.0.path());
        command.stdin(Stdio::null());
        command
    }

    fn run(&self, arguments: &[&str]) -> Output {
        self.command(arguments).output().unwrap()
    }

    fn typed(&self, arguments: &[&str], text: &str) -> Output {
        let mut command = self.command(arguments);
        command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        // A program that ends early takes no more of it.
        let _ = child.stdin.take().unwrap().write_all(text.as_bytes());
        child.wait_with_output().unwrap()
    }

    /// So many answers, and the end of the drill.
    fn evening(&self, now: &str, answers: usize) {
        let mut drill = Drill::start(self, now);
        drill.answer(answers);
        let (code, said) = drill.quit();
        assert_eq!(code, Some(0), "{said}");
    }

    /// A drill that is not to begin.
    fn refused(&self, now: &str, typed: &str) -> String {
        let run = self.typed(&[DRILL, &["--now", now]].concat(), typed);
        assert_eq!(run.status.code(), Some(2), "{run:?}");
        said(&run)
    }

    /// The answers in the log as lines of JSON; none where it cannot be read.
    fn export(&self) -> Vec<String> {
        let run = self.run(&["log", "export"]);
        match run.status.success() {
            true => String::from_utf8(run.stdout)
                .unwrap()
                .lines()
                .map(String::from)
                .collect(),
            false => Vec::new(),
        }
    }

    fn answers(&self) -> usize {
        self.export().len()
    }

    /// The answers without their place in the log and the cards met before them.
    fn given(&self) -> BTreeSet<String> {
        let rows = self.export();
        let rows = rows.iter().map(|row| row.split_once(',').unwrap().1);
        rows.map(|row| {
            row.split(",\"meetings\"")
                .next()
                .unwrap()
                .trim_end_matches('}')
                .to_string()
        })
        .collect()
    }

    fn verify(&self) -> (Option<i32>, String) {
        let run = self.run(&["log", "verify"]);
        (
            run.status.code(),
            String::from_utf8_lossy(&run.stdout).into_owned() + &said(&run),
        )
    }
}

fn said(run: &Output) -> String {
    String::from_utf8_lossy(&run.stderr).into_owned()
}

/// A drill in which answers were given one by one, and their verdicts read.
struct Drill {
    child: Child,
    verdicts: BufReader<std::process::ChildStdout>,
}

impl Drill {
    fn start(home: &Home, now: &str) -> Drill {
        // A file that may not grow is to be an error, as on a full disk, and not the end of the program.
        let mut command = Command::new("sh");
        command.args(["-c", "trap '' XFSZ; exec \"$0\" \"$@\"", PROGRAM]);
        command
            .args(DRILL)
            .args(["--now", now, "--data"])
            .arg(home.data());
        command.env("HOME", home.0.path());
        command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let verdicts = BufReader::new(child.stdout.take().unwrap());
        Drill { child, verdicts }
    }

    /// Gives answers until so many verdicts have been read.
    fn answer(&mut self, count: usize) {
        for _ in 0..count {
            let mut keys = self.child.stdin.as_ref().unwrap();
            keys.write_all(b"\nx\n").unwrap();
            loop {
                let mut line = String::new();
                assert!(self.verdicts.read_line(&mut line).unwrap() > 0, "it ended");
                if line.starts_with("Missed") {
                    break;
                }
                if line.starts_with("Press Enter to go on") {
                    keys.write_all(b"\nx\n").unwrap();
                }
            }
        }
    }

    fn quit(mut self) -> (Option<i32>, String) {
        let _ = self.child.stdin.take().unwrap().write_all(b"stop\n\n");
        let run = self.child.wait_with_output().unwrap();
        (run.status.code(), said(&run))
    }

    fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

#[test]
fn a_copy_of_the_file_alone_is_whole_after_a_kill() {
    let (mut tried, mut lost) = (0, 0);
    for n in 0..times(3, 100) {
        let home = Home::new();
        let mut drill = Drill::start(&home, EVENING);
        let count = n % 9 + 2;
        drill.answer(count);
        drill.kill();
        let copy = Home::new();
        fs::create_dir(copy.data()).unwrap();
        fs::copy(home.log(), copy.log()).unwrap();
        tried += count;
        lost += count.saturating_sub(copy.answers());
        assert_eq!(copy.verify().0, Some(0));
        assert!(home.given() == copy.given());
    }
    println!(
        "copy after a kill: {tried} answers tried, {} survived, {lost} lost",
        tried - lost
    );
    assert_eq!(lost, 0);
}

#[test]
fn a_log_that_goes_away_in_mid_drill_is_told_and_kept() {
    let acts: [fn(&Home); 4] = [
        |home| fs::remove_dir_all(home.data()).unwrap(),
        |home| {
            fs::remove_dir_all(home.data()).unwrap();
            fs::create_dir(home.data()).unwrap();
        },
        |home| fs::remove_file(home.log()).unwrap(),
        |home| fs::rename(home.data(), home.0.path().join("moved")).unwrap(),
    ];
    for (n, act) in acts.iter().enumerate() {
        for after in [0, 2] {
            let home = Home::new();
            let mut drill = Drill::start(&home, EVENING);
            drill.answer(5);
            act(&home);
            drill.answer(after);
            let (code, said) = drill.quit();
            assert_eq!(code, Some(3), "act {n}: {said}");
            assert!(said.contains("is gone"), "act {n}: {said}");
            let kept = kept(&said).unwrap_or_else(|| panic!("act {n}: {said}"));
            let new = Home::new();
            assert!(new.run(&["log", "import", kept]).status.success());
            assert_eq!(new.answers(), 5 + after, "act {n}");
            assert_eq!(new.verify().0, Some(0));
        }
    }
    println!(
        "log gone in mid-drill: {} tried, all told, 0 lost",
        acts.len() * 2
    );
}

/// The file that a drill named in which it kept what is not in the log.
fn kept(said: &str) -> Option<&str> {
    let file = said.split_whitespace().find(|word| word.contains(".jsonl"));
    file.map(|file| file.trim_end_matches(';'))
}

/// No file of the drill may grow beyond `bytes`: a disk that is full, for anybody to try. `None` lifts it.
fn limit(drill: &Drill, bytes: Option<u64>) {
    use rustix::process::{Pid, Resource, Rlimit, prlimit};
    let limit = Rlimit {
        current: bytes,
        maximum: None,
    };
    let process = Pid::from_child(&drill.child);
    prlimit(Some(process), Resource::Fsize, limit).unwrap();
}

#[test]
#[cfg(target_os = "linux")]
fn a_disk_that_is_full_at_any_write_of_an_evening_loses_nothing() {
    let (mut tried, mut told, mut lost) = (0, 0, 0);
    let before = Home::after(3);
    let start = fs::metadata(before.log()).unwrap().len();
    // What an evening writes: how much the log grows, and the write-ahead file on top of it.
    let tries = times(8, 120);
    for n in 0..tries {
        let home = Home::new();
        fs::create_dir(home.data()).unwrap();
        fs::copy(before.log(), home.log()).unwrap();
        // From a file that takes nothing to one that takes all of it, and never at the end of a page.
        let room = start / 4 + n as u64 * start / tries as u64 + n as u64 * 37 % 4096;
        let freed = n % 2 == 1;
        let mut drill = Drill::start(&home, "2026-11-26T18:00:00Z");
        drill.answer(2);
        limit(&drill, Some(room));
        drill.answer(6);
        if freed {
            limit(&drill, None);
            drill.answer(1);
        }
        let (code, said) = drill.quit();
        let confirmed = 3 + 8 + usize::from(freed);
        tried += confirmed;
        let full = code == Some(3);
        told += usize::from(full);
        assert!(!(freed && full), "{n}: room again, and not saved: {said}");
        if full {
            assert!(said.contains("could not be saved"), "{n}: {said}");
            let file = kept(&said).unwrap_or_else(|| panic!("{n}: {said}"));
            assert!(
                home.run(&["log", "import", file]).status.success(),
                "{n}: {said}"
            );
        } else {
            assert_eq!(code, Some(0), "{n}: {said}");
        }
        assert_eq!(home.verify().0, Some(0), "{n}");
        lost += confirmed.saturating_sub(home.answers());
    }
    println!(
        "disk full: {tried} answers in {tries} evenings, {told} of them ended without room, {lost} lost"
    );
    assert_eq!(lost, 0);
    assert!(told > 0, "the disk was never full");
}

#[test]
fn no_command_writes_over_the_log_or_a_deck() {
    let home = Home::after(4);
    let deck = home.0.path().join("own.toml");
    assert!(
        Command::new(PROGRAM)
            .args(["deck", "new"])
            .arg(&deck)
            .output()
            .unwrap()
            .status
            .success()
    );
    let (log, before) = (home.log(), fs::read(home.log()).unwrap());
    let text = fs::read(&deck).unwrap();
    let (log, own) = (log.to_str().unwrap(), deck.to_str().unwrap());
    let card = String::from_utf8(text.clone()).unwrap();
    let card = card.lines().find_map(|l| {
        l.trim()
            .strip_prefix("id = \"")?
            .strip_suffix('"')
            .map(String::from)
    });
    let card = card.expect("a card of the starter deck");
    for run in [
        home.run(&["weak", "--html", log]),
        home.run(&["weak", "--html", log, "--force"]),
        home.run(&["play", own, &card, "--out", log, "--force"]),
        home.run(&["play", own, &card, "--out", own]),
        home.run(&["play", own, &card, "--out", own, "--force"]),
        home.run(&["log", "backup", log]),
        home.run(&["log", "repair", "--out", log]),
    ] {
        assert_eq!(run.status.code(), Some(2), "{run:?}");
    }
    assert!(fs::read(home.log()).unwrap() == before && fs::read(&deck).unwrap() == text);
}

#[test]
fn a_damaged_log_is_named_left_as_it_is_and_put_back() {
    let home = Home::after(12);
    let sound = fs::read(home.log()).unwrap();
    let given = home.given();
    let pages = sound.len() / 4096;
    let flips = times(25, 200);
    let (mut named, mut harmless) = (0, 0);
    for n in 0..flips + pages {
        let mut bytes = sound.clone();
        match n.checked_sub(flips) {
            Some(page) => bytes[page * 4096..(page + 1) * 4096].fill(0),
            None => {
                let bit = n * (bytes.len() * 8 - 1) / flips + 5;
                bytes[bit / 8] ^= 1 << (bit % 8);
            }
        }
        fs::write(home.log(), &bytes).unwrap();
        let (code, found) = home.verify();
        if code == Some(0) {
            // A place where nothing is written.
            assert_eq!(home.given(), given, "fault {n}: {found}");
            harmless += 1;
            continue;
        }
        named += 1;
        home.refused("2026-11-25T20:00:00Z", "");
        assert!(
            fs::read(home.log()).unwrap() == bytes,
            "fault {n}: it was written to"
        );
    }
    println!(
        "damage of log.db: {} tried, {named} named, {harmless} harmless, 0 silent",
        flips + pages
    );
    let restored = home.run(&["log", "restore"]);
    assert!(restored.status.success(), "{restored:?}");
    assert_eq!(home.given(), given);
    assert_eq!(home.verify().0, Some(0));
}

#[test]
fn what_can_be_read_of_a_damaged_log_is_repaired() {
    let home = Home::after(12);
    let sound = fs::read(home.log()).unwrap();
    let given = home.given();
    let (mut tried, mut read) = (0, 0);
    for page in (1..sound.len() / 4096).step_by(times(3, 1)) {
        let mut bytes = sound.clone();
        bytes[page * 4096..(page + 1) * 4096].fill(0);
        fs::write(home.log(), &bytes).unwrap();
        let new = home.0.path().join(format!("new-{page}.db"));
        let run = home.run(&["log", "repair", "--out", new.to_str().unwrap()]);
        tried += 1;
        if run.status.code() == Some(2) {
            // The list of tables cannot be read.
            assert!(
                !new.exists() && said(&run).contains("list of tables"),
                "{}",
                said(&run)
            );
            continue;
        }
        read += 1;
        assert!(
            home.run(&["log", "restore", new.to_str().unwrap()])
                .status
                .success()
        );
        assert_eq!(home.verify().0, Some(0));
        let listed = String::from_utf8_lossy(&run.stdout).contains("could not be read");
        assert!(
            home.given() == given || listed,
            "page {page}: not all of it, and nothing listed"
        );
    }
    println!("zeroed pages: {tried} tried, {read} repaired, the others refused");
    assert!(read * 2 > tried);
}

#[test]
fn a_mistyped_folder_makes_nothing_and_a_missing_log_is_not_begun_anew() {
    let home = Home::new();
    for command in [
        &["log", "verify"][..],
        &["log", "export"],
        &["log", "retime"],
    ] {
        let run = home.run(command);
        assert_eq!(run.status.code(), Some(2), "{command:?}");
        assert!(
            said(&run).contains("there is no log in"),
            "{command:?}: {}",
            said(&run)
        );
    }
    for command in [
        &["plan"][..],
        &["weak", "--plain"],
        &["lesson"],
        &["settings"],
    ] {
        assert!(home.run(command).status.success(), "{command:?}");
    }
    for mistyped in ["--deck", "--concept"] {
        let said = home.run(&[DRILL, &[mistyped, "no-such-name"]].concat());
        assert_eq!(said.status.code(), Some(2), "{mistyped}");
    }
    assert!(!home.data().exists());
    let home = Home::after(3);
    for empty in [false, true] {
        fs::remove_file(home.log()).unwrap();
        if empty {
            fs::write(home.log(), "").unwrap();
        }
        let said = home.refused(EVENING, "");
        assert!(said.contains("copies of your answers"), "{said}");
        assert!(home.run(&["log", "restore"]).status.success());
        assert_eq!(home.answers(), 3);
    }
}

#[test]
fn two_machines_become_one_log() {
    let [a, b] = [Home::after(5), Home::new()];
    fs::create_dir(b.data()).unwrap();
    fs::copy(a.log(), b.log()).unwrap();
    // States of an earlier version, which belong to no log any more.
    fs::write(a.data().join("states.db"), "stale").unwrap();
    a.evening("2026-11-26T18:00:00Z", 4);
    b.evening("2026-11-26T18:30:00Z", 6);
    for (from, to) in [(&a, &b), (&b, &a)] {
        assert!(
            to.run(&["log", "import", from.log().to_str().unwrap()])
                .status
                .success()
        );
    }
    assert_eq!(a.answers(), 15);
    assert!(a.given() == b.given());
    let weak = |home: &Home| {
        home.run(&["weak", "--json", "--now", "2026-11-27T18:00:00Z"])
            .stdout
    };
    assert!(!weak(&a).is_empty() && weak(&a) == weak(&b));
    assert_eq!(
        fs::read_to_string(a.data().join("states.db")).unwrap(),
        "stale"
    );
}

#[test]
fn an_evening_on_a_wrong_clock_is_asked_about_and_mended() {
    let home = Home::after(6);
    let ahead = "2036-11-25T18:00:00Z";
    let before = fs::read(home.log()).unwrap();
    for answer in ["", "n\n"] {
        home.refused(ahead, answer);
        assert!(fs::read(home.log()).unwrap() == before);
    }
    let next = "2026-11-26T20:00:00Z";
    let weak = || home.run(&["weak", "--json", "--now", next]).stdout;
    let right = weak();
    let mut drill = Drill::start(&home, ahead);
    drill
        .child
        .stdin
        .as_ref()
        .unwrap()
        .write_all(b"y\n")
        .unwrap();
    drill.answer(4);
    assert_eq!(drill.quit().0, Some(0));
    assert_eq!(home.answers(), 10);
    assert_eq!(weak(), right, "rows in the future count");
    let list = String::from_utf8(home.run(&["log", "retime"]).stdout).unwrap();
    let session = list.lines().find(|l| l.contains("2036-")).unwrap();
    let session = session.split_whitespace().next().unwrap();
    let start = ["--start", "2026-11-26T18:00:00Z"];
    assert!(
        home.run(&[&["log", "retime", session][..], &start].concat())
            .status
            .success()
    );
    assert_ne!(weak(), right, "rows at the right time do not count");
    assert_eq!(home.verify().0, Some(0));
    // The clock is right again, and nothing is asked.
    home.evening(next, 2);
}

#[test]
fn a_folder_is_a_folder_whatever_its_name() {
    let home = Home::new();
    for name in ["file:x?vfs=none", "file:y?mode=memory", "a b'c"] {
        let run = |arguments: &[&str]| {
            let mut command = Command::new(PROGRAM);
            command
                .args(arguments)
                .args(["--data", name])
                .current_dir(home.0.path());
            command.env("HOME", home.0.path()).output().unwrap()
        };
        assert!(
            run(&["settings", "--minutes", "7"]).status.success(),
            "{name}"
        );
        assert!(home.0.path().join(name).join("log.db").is_file(), "{name}");
        assert!(
            run(&["log", "backup", &format!("{name}.copy")])
                .status
                .success(),
            "{name}"
        );
        assert!(
            home.0.path().join(format!("{name}.copy")).is_file(),
            "{name}"
        );
        assert!(run(&["log", "verify"]).status.success(), "{name}");
    }
}

#[test]
fn devices_without_an_end_are_told_and_not_read() {
    let home = Home::new();
    for arguments in [
        &["check", "/dev/zero"][..],
        &["forecast", "/dev/zero"],
        &["forecast", "/dev/full"],
        &["drill", "--plain", "--silent", "--deck", "/dev/zero"],
        &["played", "x..x..x...x.x...", "--bpm", "90", "/dev/zero"],
        &["log", "import", "/dev/zero"],
    ] {
        // Little memory: 256 MiB of addresses for all of the program.
        let mut command = Command::new("sh");
        command
            .args(["-c", "ulimit -v 262144; exec \"$0\" \"$@\"", PROGRAM])
            .args(arguments);
        let data = home.data();
        if ["drill", "log"].contains(&arguments[0]) {
            command.arg("--data").arg(&data);
        }
        let run = command
            .env("HOME", home.0.path())
            .stdin(Stdio::null())
            .output()
            .unwrap();
        assert_eq!(run.status.code(), Some(2), "{arguments:?}: {run:?}");
        assert!(
            said(&run).contains("whichside: ") && !said(&run).contains("memory"),
            "{run:?}"
        );
    }
}

#[test]
fn readers_that_have_had_enough_are_no_error() {
    let home = Home::after(3);
    for command in ["weak --json", "weak --plain", "log export", "plan --json"] {
        let line =
            format!("\"$0\" {command} --data \"$1\" | head -1 >/dev/null; exit ${{PIPESTATUS:-0}}");
        let mut shell = Command::new("bash");
        shell.args(["-c", &line, PROGRAM]).arg(home.data());
        let Ok(run) = shell.output() else {
            println!("not tried: there is no bash");
            return;
        };
        assert_eq!(run.status.code(), Some(0), "{command}: {run:?}");
        assert!(run.stderr.is_empty(), "{command}: {run:?}");
    }
}

#[test]
fn a_read_only_folder_can_be_read_and_files_are_the_players_alone() {
    let home = Home::after(4);
    let mode = |path: PathBuf| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!((mode(home.data()), mode(home.log())), (0o700, 0o600));
    assert_eq!(mode(home.data().join("backups")), 0o700);
    let given = home.given();
    fs::set_permissions(home.log(), fs::Permissions::from_mode(0o400)).unwrap();
    fs::set_permissions(home.data(), fs::Permissions::from_mode(0o500)).unwrap();
    let read = home.given();
    let verified = home.verify();
    fs::set_permissions(home.data(), fs::Permissions::from_mode(0o700)).unwrap();
    assert_eq!(read, given);
    assert_eq!(verified.0, Some(0), "{}", verified.1);
}

#[test]
fn kills_between_backup_restore_repair_and_merge_lose_nothing() {
    let from = Home::after(8);
    let other = from.log();
    let (mut tried, mut lost) = (0, 0);
    let home = Home::new();
    home.evening("2026-11-25T19:00:00Z", 6);
    let kept = home.given();
    let copy = home.0.path().join("copy.db");
    let copied = home.run(&["log", "backup", copy.to_str().unwrap()]);
    assert!(copied.status.success());
    for n in 0..times(15, 1_000) {
        let file = home.0.path().join(format!("copy-{n}.db"));
        let mut command = match n % 5 {
            0 => home.command(&["log", "backup", file.to_str().unwrap()]),
            1 => home.command(&["log", "import", other.to_str().unwrap()]),
            2 => home.command(&["log", "restore", copy.to_str().unwrap()]),
            3 => home.command(&["log", "repair", "--out", file.to_str().unwrap()]),
            _ => home.command(&["log", "withdraw", &(n % 6 + 1).to_string(), "--why", "test"]),
        };
        let mut child = command
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        thread::sleep(Duration::from_micros(n as u64 * 1_733 % 40_000));
        child.kill().unwrap();
        child.wait().unwrap();
        tried += 1;
        let (code, found) = home.verify();
        assert_eq!(code, Some(0), "kill {n}: {found}");
        if let Ok(bytes) = fs::read(&file) {
            let copy = Home::new();
            fs::create_dir(copy.data()).unwrap();
            fs::write(copy.log(), bytes).unwrap();
            assert_eq!(copy.verify().0, Some(0), "kill {n}: half a copy");
        }
        let _ = fs::remove_file(&file);
    }
    let now: Vec<String> = home.export();
    for row in kept {
        let (at, _) = row.split_once(",\"session\"").unwrap();
        lost += usize::from(!now.iter().any(|line| line.contains(at)));
    }
    println!(
        "kills of backup, restore, repair, merge and withdrawal: {tried} tried, {} survived, {lost} lost",
        tried - lost
    );
    assert_eq!(lost, 0);
}

#[test]
fn what_is_no_file_is_named_and_left_as_it_is() {
    let home = Home::new();
    fs::create_dir(home.data()).unwrap();
    let pipe = |path: PathBuf| {
        let made = Command::new("mkfifo").arg(path).status().unwrap();
        assert!(made.success());
    };
    let acts: [&dyn Fn(PathBuf); 3] = [&|path| fs::create_dir(path).unwrap(), &pipe, &|path| {
        std::os::unix::fs::symlink("/dev/null", path).unwrap()
    }];
    let mode = || fs::metadata("/dev/null").unwrap().permissions().mode();
    let before = mode();
    for act in acts {
        act(home.log());
        for command in [
            DRILL,
            &["plan"],
            &["settings", "--minutes", "6"],
            &["log", "verify"],
            &["log", "export"],
            &["log", "repair", "--out", "/nowhere/new.db"],
        ] {
            let run = home.run(command);
            assert_eq!(run.status.code(), Some(2), "{command:?}");
            assert!(said(&run).contains("not a file"), "{run:?}");
        }
        assert_eq!(fs::read_dir(home.data()).unwrap().count(), 1);
        fs::rename(home.log(), home.0.path().join("other")).unwrap();
        let other = home.0.path().join("other");
        let run = home.run(&["log", "restore", other.to_str().unwrap()]);
        assert!(said(&run).contains("not a file"), "{run:?}");
        let _ = fs::remove_file(&other).or_else(|_| fs::remove_dir(&other));
    }
    assert_eq!(mode(), before);
}

#[test]
fn only_a_sound_log_is_put_back_or_taken_in() {
    let home = Home::after(3);
    let before = fs::read(home.log()).unwrap();
    let path = home.0.path().join("copy.db");
    let name = path.to_str().unwrap();
    let mut newer = before.clone();
    // SQLite, Database File Format, 1.3: the user version.
    newer[60..64].copy_from_slice(&99u32.to_be_bytes());
    let mut damaged = before.clone();
    let half = damaged.len() / 8192 * 4096;
    damaged[half..half + 4096].fill(0);
    for (bytes, named) in [
        (&b"Dear diary"[..], "not a whichside log"),
        (b"", "it is empty, or not there"),
        (&newer, "written by a newer whichside (log version 99"),
        (&damaged, "it is damaged: "),
        (&before[..4096], "not a whichside log"),
    ] {
        fs::write(&path, bytes).unwrap();
        let run = home.run(&["log", "restore", name]);
        assert_eq!(run.status.code(), Some(2), "{named}");
        let text = said(&run);
        assert!(
            text.contains(named) && text.contains("copy.db") && text.contains("mend: "),
            "{text}"
        );
        if bytes.starts_with(b"SQLite") {
            assert_eq!(home.run(&["log", "import", name]).status.code(), Some(2));
        }
        assert!(fs::read(home.log()).unwrap() == before, "{named}");
    }
    fs::remove_file(&path).unwrap();
    let nowhere = Home::new();
    assert_eq!(
        nowhere.run(&["log", "restore", name]).status.code(),
        Some(2)
    );
    assert!(!nowhere.data().exists());
    // The log from itself, and a copy beside it.
    assert!(
        home.run(&["log", "restore", home.log().to_str().unwrap()])
            .status
            .success()
    );
    assert_eq!((home.answers(), home.verify().0), (3, Some(0)));
}

#[test]
fn lines_that_are_no_answers_are_named_and_nothing_is_taken_in() {
    let home = Home::after(3);
    let before = fs::read(home.log()).unwrap();
    let rows = home.export();
    let with = |field: &str, value: &str| {
        let (head, rest) = rows[0].split_once(&format!("\"{field}\":")).unwrap();
        let end = rest.find([',', '}']).unwrap();
        format!("{head}\"{field}\":{value}{}", &rest[end..])
    };
    let meeting = r#"[{"card":"clave/x","at":0,"utc_offset":0,"session":"s","seconds":-1}]"#;
    let open = rows[1].trim_end_matches('}');
    for line in [
        with("seconds", "NaN"),
        with("seconds", "1e999"),
        with("seconds", "1e300"),
        with("bpm", "0"),
        with("correct", "1.5"),
        with("at", "9223372036854775807"),
        with("at", "-9223372036854775808"),
        with("at", "1000000000000000000000"),
        with("at", "\"noon\""),
        with("seed", "-1"),
        with("utc_offset", "100000"),
        with("grid", "\"fifths\""),
        format!("{open},\"at\":5}}"),
        format!("{open},\"meetings\":{meeting}}}"),
        format!(
            "{open},\"more\":{}{}}}",
            "[".repeat(100_000),
            "]".repeat(100_000)
        ),
        format!("{open},\"more\":\"{}\"}}", "x".repeat(10_000_000)),
        rows[1][..200].to_string(),
        "[]".into(),
        "null".into(),
    ] {
        let text = format!("{}\n{line}\n", rows[0]);
        let run = home.typed(&["log", "import", "-"], &text);
        let text = said(&run);
        let line = &line[..line.len().min(300)];
        assert_eq!(run.status.code(), Some(2), "{line}");
        assert!(text.contains("nothing was taken in"), "{line}: {text}");
        assert!(
            text.contains('2') && text.contains("mend: "),
            "{line}: {text}"
        );
        assert!(fs::read(home.log()).unwrap() == before, "{line}");
    }
    // The same lines twice, after the mark that some editors write, and with what a later version may add.
    let later = format!("{open},\"session\":1}}").replace("\"session\":1", "\"later\":[1]");
    let twice = [&rows[..], &rows[..], &[later]].concat().join("\r\n");
    let new = Home::new();
    let run = new.typed(&["log", "import", "-"], &format!("\u{feff}{twice}"));
    assert!(run.status.success(), "{run:?}");
    assert!(new.given() == home.given() && new.answers() == 3);
}

/// The name of the file system of its own that the test of a full disk has, in its second process.
const DISK: &str = "FAULTS_DISK";

#[test]
#[cfg(target_os = "linux")]
fn a_file_system_without_room_loses_nothing() {
    let Ok(disk) = std::env::var(DISK) else {
        let mount = tempfile::tempdir().unwrap();
        let line = "mount -t tmpfs -o size=1m none \"$FAULTS_DISK\" && exec \"$0\" --exact \
                    a_file_system_without_room_loses_nothing --nocapture";
        let mut own = Command::new("unshare");
        own.args(["-rm", "sh", "-c", line])
            .arg(std::env::current_exe().unwrap());
        let run = own.env(DISK, mount.path()).status();
        match may_mount() {
            true => assert!(run.unwrap().success()),
            false => println!("not tried: no file system of its own can be mounted here"),
        }
        return;
    };
    let before = Home::after(3);
    let disk = PathBuf::from(disk);
    let (mut tried, mut told, mut lost) = (0, 0, 0);
    let tries = times(6, 60);
    for n in 0..tries {
        let home = Home::new();
        let data = disk.join("data");
        fs::create_dir(&data).unwrap();
        std::os::unix::fs::symlink(&data, home.data()).unwrap();
        fs::copy(before.log(), home.log()).unwrap();
        let mut drill = Drill::start(&home, "2026-11-26T18:00:00Z");
        drill.answer(2);
        // From a disk that takes nothing to one that takes all of it, page by page.
        fill(&disk, n as u64 * 30 / tries as u64);
        drill.answer(6);
        let freed = n % 2 == 1;
        if freed {
            fs::remove_file(disk.join("fill")).unwrap();
            drill.answer(1);
        }
        let (code, said) = drill.quit();
        let _ = fs::remove_file(disk.join("fill"));
        let confirmed = 3 + 8 + usize::from(freed);
        tried += confirmed;
        if code == Some(3) {
            told += 1;
            assert!(!freed, "{n}: room again, and not saved: {said}");
            assert!(said.contains("could not be saved"), "{n}: {said}");
            let file = kept(&said).unwrap_or_else(|| panic!("{n}: {said}"));
            let run = home.run(&["log", "import", file]);
            assert!(run.status.success(), "{n}: {run:?}");
        } else {
            assert_eq!(code, Some(0), "{n}: {said}");
        }
        assert_eq!(home.verify().0, Some(0), "{n}");
        lost += confirmed.saturating_sub(home.answers());
        // Nothing half-written is left of a copy for which there is no room.
        fill(&disk, n as u64 % 20);
        let copy = data.join("copy.db");
        for command in [&["log", "backup"][..], &["log", "repair", "--out"]] {
            let run = home.run(&[command, &[copy.to_str().unwrap()]].concat());
            if !run.status.success() {
                let left = fs::read_dir(&data).unwrap().flatten();
                let left = left.filter(|e| e.file_name().to_string_lossy().contains("copy"));
                assert_eq!(left.count(), 0, "{n}: {run:?}");
                assert!(self::said(&run).contains("mend: "), "{n}: {run:?}");
            }
            let _ = fs::remove_file(&copy);
        }
        fs::remove_dir_all(&data).unwrap();
        fs::remove_file(disk.join("fill")).unwrap();
    }
    println!(
        "no room in a file system: {tried} answers in {tries} evenings, {told} of them ended without room, {lost} lost"
    );
    assert_eq!(lost, 0);
    assert!(told > 0, "the disk was never full");
}

/// Leaves so many pages of 4 KiB of a file system that has no other.
#[cfg(target_os = "linux")]
fn fill(disk: &std::path::Path, pages: u64) {
    let mut file = fs::File::create(disk.join("fill")).unwrap();
    let mut size: u64 = 0;
    while let Ok(n @ 1..) = file.write(&[0; 4096]) {
        size += n as u64;
    }
    file.set_len(size.saturating_sub(pages * 4096)).unwrap();
}

/// Can a file system of its own be had at all?
#[cfg(target_os = "linux")]
fn may_mount() -> bool {
    let dir = tempfile::tempdir().unwrap();
    let mut own = Command::new("unshare");
    own.args(["-rm", "mount", "-t", "tmpfs", "none"])
        .arg(dir.path());
    own.output().is_ok_and(|run| run.status.success())
}
