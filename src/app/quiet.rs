//! Standard error sent to a file while the full screen is drawn.

use std::fs::{File, OpenOptions};
use std::io;
use std::os::fd::{AsFd, OwnedFd};
use std::path::Path;

/// Bytes after which the file begins anew: the report of a fault outlives many starts.
const LONG: u64 = 65_536;

/// Standard error led into a file for as long as this value lives: sound libraries write there, right into the
/// picture of a full-screen program.
pub struct Quiet {
    before: OwnedFd,
}

impl Quiet {
    /// Leads standard error to the end of `file`, which begins anew when it has grown long.
    ///
    /// # Errors
    /// Where the file cannot be opened for writing.
    pub fn into(file: &Path) -> io::Result<Quiet> {
        let file = OpenOptions::new().create(true).append(true).open(file)?;
        if file.metadata()?.len() > LONG {
            file.set_len(0)?;
        }
        Quiet::onto(&file)
    }

    fn onto(file: &File) -> io::Result<Quiet> {
        let before = io::stderr().as_fd().try_clone_to_owned()?;
        rustix::stdio::dup2_stderr(file)?;
        Ok(Quiet { before })
    }
}

impl Drop for Quiet {
    fn drop(&mut self) {
        // If this fails there is no standard error to complain on.
        let _ = rustix::stdio::dup2_stderr(&self.before);
    }
}
