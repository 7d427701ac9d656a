//! A fault inside the program while it has the full screen. This test is a program of its own: called with a folder,
//! it opens the log and the screen as the drill does, and then fails for real; called without, it does that in a
//! terminal and looks at what is left.

#[allow(dead_code)]
mod terminal;

use assert_cmd::Command;
use std::path::Path;
use std::process::ExitCode;
use terminal::Terminal;
use whichside::app;
use whichside::screens::screen::{self, Screen};
use whichside::store::Store;

/// The word on the command line before the folder.
const FAIL: &str = "--fail-in";
const FAULT: &str = "the bell fell off its stand";

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().collect();
    if args.get(1).is_some_and(|a| a == FAIL) {
        return fail(Path::new(&args[3]));
    }
    the_terminal_is_given_back_and_the_log_is_whole();
    println!("a fault gives the terminal back, says what to do, and leaves the log whole: ok");
    ExitCode::SUCCESS
}

fn fail(data: &Path) -> ExitCode {
    screen::restore_on_panic();
    app::guarded(|| {
        let _store = Store::open(data)?;
        let mut screen = Screen::open(true, false)?;
        screen.draw(|_| {})?;
        panic!("{FAULT}");
    })
}

fn the_terminal_is_given_back_and_the_log_is_whole() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    let mut drill = Command::new(env!("CARGO_BIN_EXE_whichside"));
    drill.args(["drill", "--plain", "--silent", "--seed", "7", "--data"]);
    drill
        .arg(data)
        .write_stdin("\n\n2\n3\nn\n")
        .assert()
        .success();

    // A shell around it, so that what a fault does to the terminal can be asked of the terminal itself.
    let program = std::env::current_exe().unwrap();
    let script = format!(
        "stty -a > \"$2/before\"; RUST_BACKTRACE=0 '{}' {FAIL} \"$@\"; echo \"exit $?\"; stty -a > \"$2/after\"",
        program.display()
    );
    let terminal = Terminal::script(&script, data);
    terminal.wait_for("exit 2");
    let said = terminal.text();
    for part in [
        FAULT,
        "Every answer that you gave is kept",
        "start it again",
    ] {
        let said = said.replace('\n', "");
        assert!(said.contains(part), "`{part}` is missing:\n{said}");
    }
    assert!(terminal.end().success());
    let [before, after] =
        ["before", "after"].map(|f| std::fs::read_to_string(data.join(f)).unwrap());
    assert_eq!(before, after, "raw mode is over");

    let mut verify = Command::new(env!("CARGO_BIN_EXE_whichside"));
    let run = verify
        .args(["log", "verify", "--data"])
        .arg(data)
        .assert()
        .success();
    let said = String::from_utf8_lossy(&run.get_output().stdout).into_owned();
    assert!(
        said.contains("1 answer,") && said.contains("all is well"),
        "{said}"
    );
}
