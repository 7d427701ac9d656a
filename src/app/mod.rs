//! The rim: command line, clock, seed, files and the loop.

use std::process::ExitCode;

/// Runs the program with the arguments of the process.
pub fn run() -> ExitCode {
    ExitCode::SUCCESS
}
