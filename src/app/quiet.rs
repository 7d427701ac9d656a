use std::fs::{File, OpenOptions};
use std::io;
use std::os::fd::{AsFd, OwnedFd};
use std::path::Path;

/// Standard error led into a file for as long as this value lives: sound libraries write there, right into the
/// picture of a full-screen program.
pub struct Quiet {
    before: OwnedFd,
}

impl Quiet {
    /// Leads standard error into `file`, which begins anew.
    ///
    /// # Errors
    /// Where the file cannot be opened for writing.
    pub fn into(file: &Path) -> io::Result<Quiet> {
        let file = OpenOptions::new()
            .create(true)
            .write(true)
            .truncate(true)
            .open(file)?;
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
