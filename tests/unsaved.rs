//! A drill whose last answers find no room says so when it ends, and ends with an exit code of its own.
#![cfg(unix)]

#[allow(dead_code)]
mod terminal;

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use terminal::Terminal;

const PROGRAM: &str = env!("CARGO_BIN_EXE_whichside");
/// By `whichside --help`.
const UNSAVED: u32 = 3;
/// Room for the first files of an open log and for an answer or two, in blocks of 512 bytes (POSIX `ulimit -f`).
const BLOCKS: u32 = 140;

const DRILL: &str = "drill --silent --still --seed 7 --now 2026-11-25T18:00:00Z";

/// The program with `arguments` from a shell that lets no file grow beyond [`BLOCKS`], as on a full disk. The signal
/// that comes with it is ignored, so that writing fails instead.
fn cramped(arguments: &str) -> String {
    format!("trap '' XFSZ; ulimit -f {BLOCKS}; exec \"$0\" {arguments} \"$@\"")
}

/// A folder whose player has been through the first page.
fn begun() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let run = plain(
        &format!("exec \"$0\" {DRILL} --plain \"$@\""),
        folder.path(),
        "\n",
    );
    assert_eq!(run.status.code(), Some(0));
    assert!(run.stderr.is_empty());
    folder
}

fn plain(script: &str, folder: &Path, typed: &str) -> Output {
    let mut child = Command::new("sh")
        .args(["-c", script, PROGRAM, "--data"])
        .arg(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A program that ends early takes no more of it.
    let _ = child.stdin.take().unwrap().write_all(typed.as_bytes());
    child.wait_with_output().unwrap()
}

fn in_log(folder: &Path) -> usize {
    let run = Command::new(PROGRAM)
        .args(["log", "export", "--data"])
        .arg(folder)
        .output()
        .unwrap();
    assert!(run.status.success());
    run.stdout.iter().filter(|b| **b == b'\n').count()
}

#[test]
fn line_by_line() {
    let folder = begun();
    let before = in_log(folder.path());
    let typed = "x\n\n".repeat(80);
    let run = plain(&cramped(&format!("{DRILL} --plain")), folder.path(), &typed);
    let (out, said) = (
        String::from_utf8_lossy(&run.stdout),
        String::from_utf8_lossy(&run.stderr),
    );
    assert_eq!(run.status.code(), Some(UNSAVED as i32), "{out}\n{said}");
    let verdicts = ["Right, ", "Partly right, ", "Missed: "];
    let answered = out
        .lines()
        .filter(|l| verdicts.iter().any(|v| l.starts_with(v)));
    let answered = answered.count();
    let lost = answered - (in_log(folder.path()) - before);
    let told = match lost {
        1 => "whichside: the last answer could not be saved".to_string(),
        n => format!("whichside: the last {n} answers could not be saved"),
    };
    assert!(lost > 0 && said.contains(&told), "{lost} lost: {said}");
    // What was kept elsewhere comes back.
    let kept = fs::read_dir(folder.path()).unwrap().flatten();
    let mut kept = kept.map(|entry| entry.path());
    let kept = kept.find(|path| path.extension().is_some_and(|e| e == "jsonl"));
    let import = Command::new(PROGRAM)
        .args(["log", "import"])
        .arg(kept.unwrap())
        .arg("--data")
        .arg(folder.path())
        .output()
        .unwrap();
    assert!(import.status.success(), "{import:?}");
    assert_eq!(in_log(folder.path()), before + answered);
}

#[test]
fn on_the_full_screen() {
    let folder = begun();
    let mut drill = Terminal::script(&cramped(DRILL), folder.path());
    for _ in 0..200 {
        let screen = drill.settled();
        if screen.contains("not saved yet") || screen.contains("done for today") {
            break;
        }
        let key = match () {
            () if screen.contains("ask me") || screen.contains("[Enter] next") => "\r",
            () => "x",
        };
        drill.send(key);
        drill.wait("the next page", |now| now != screen);
    }
    drill.send("\x03");
    // Said after the terminal is the player's again.
    drill.wait_until("the terminal", |drill| !drill.is_full_screen());
    drill.wait_for("could not be saved");
    assert_eq!(drill.end().exit_code(), UNSAVED);
}
