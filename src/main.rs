//! The `whichside` program. Everything it does is in the library.

use std::process::ExitCode;

fn main() -> ExitCode {
    whichside::run()
}
