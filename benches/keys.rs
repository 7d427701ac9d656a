//! From a key to its stamp: how long after a byte was written into a pseudo-terminal the thread that reads the keys has
//! stamped it. Prints median, 95 of 100 and the longest; exits with 1 where the median is .2 ms or more.
//!
//!     cargo bench --bench keys

use portable_pty::{CommandBuilder, PtySize, native_pty_system};
use std::env;
use std::io::{BufRead, BufReader, Write};
use std::process::ExitCode;
use std::thread;
use std::time::{Duration, SystemTime};
use whichside::app::{Clock, Events, OuterEvent};

/// Keys, and the first of them that do not count.
const KEYS: u64 = 500;
const WARM_UP: u64 = 20;
/// The bound, milliseconds.
const MEDIAN: f64 = 0.2;
/// With this argument the program is the one in the terminal.
const INSIDE: &str = "inside";

/// Prints the stamp of each key, nanoseconds since 1970 UTC.
fn inside() {
    crossterm::terminal::enable_raw_mode().expect("a terminal");
    let events = Events::listen(Clock::default()).expect("keys");
    print!("ready\r\n");
    loop {
        std::io::stdout().flush().expect("the terminal is there");
        match events.next(None) {
            Some(OuterEvent::Key { at, .. }) => {
                print!("{}\r\n", at.timestamp_nanos_opt().expect("this century"));
            }
            Some(OuterEvent::End) => return,
            _ => {}
        }
    }
}

fn main() -> ExitCode {
    if env::args().any(|a| a == INSIDE) {
        inside();
        return ExitCode::SUCCESS;
    }
    let pair = native_pty_system()
        .openpty(PtySize::default())
        .expect("a terminal");
    let mut command = CommandBuilder::new(env::current_exe().expect("this program"));
    command.arg(INSIDE);
    command.env("TERM", "xterm-256color");
    let mut child = pair.slave.spawn_command(command).expect("this program");
    let mut lines = BufReader::new(pair.master.try_clone_reader().expect("its output")).lines();
    let mut line = || lines.next().expect("a line").expect("text");
    while !line().contains("ready") {}
    let mut keyboard = pair.master.take_writer().expect("its keyboard");
    let mut took = Vec::new();
    for n in 0..KEYS {
        // As far apart as taps, and not in step with anything.
        thread::sleep(Duration::from_micros(20_000 + n * 7_919 % 30_000));
        let written = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH);
        let written = written.expect("this century").as_nanos() as i64;
        keyboard.write_all(b"j").expect("the terminal is there");
        keyboard.flush().expect("the terminal is there");
        let stamp: i64 = line().trim().parse().expect("a stamp");
        if n >= WARM_UP {
            took.push((stamp - written) as f64 / 1e6);
        }
    }
    // Where it has ended by itself there is nothing to end.
    let _ = child.kill();
    took.sort_by(f64::total_cmp);
    let at = |share: f64| took[((took.len() - 1) as f64 * share) as usize];
    let [median, most, longest] = [0.5, 0.95, 1.0].map(at);
    println!("{} keys, from the byte to its stamp, ms", took.len());
    println!(
        "  median {median:.3} (below {MEDIAN}), 95 of 100 within {most:.3}, longest {longest:.3}"
    );
    match median < MEDIAN {
        true => ExitCode::SUCCESS,
        false => {
            println!("  MISSED");
            ExitCode::FAILURE
        }
    }
}
