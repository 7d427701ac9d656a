//! The player's data folder and the files in it.

use anyhow::{Context, bail};
use etcetera::BaseStrategy;
use std::path::{Path, PathBuf};

/// The folder where a player's answers, settings and own decks are kept.
#[derive(Clone, Debug)]
pub struct Folder(PathBuf);

impl Folder {
    /// The folder named on the command line, or the platform's place for it. Nothing is made on disk yet.
    ///
    /// # Errors
    /// Where no folder is named and the platform knows no home folder, and where what is there is not a folder.
    pub fn find(named: Option<&Path>) -> anyhow::Result<Folder> {
        let path = match named {
            Some(path) => path.to_path_buf(),
            None => etcetera::choose_base_strategy()
                .context("your home folder cannot be found; name a folder with --data DIR")?
                .data_dir()
                .join("whichside"),
        };
        if path.exists() && !path.is_dir() {
            bail!(
                "{} is a file, and your answers need a folder; name one with --data DIR",
                path.display()
            );
        }
        Ok(Folder(path))
    }

    /// The folder itself.
    pub fn path(&self) -> &Path {
        &self.0
    }

    /// Where a player's own decks are looked for.
    pub fn decks(&self) -> PathBuf {
        self.0.join("decks")
    }

    /// The file that collects what would tear the screen while the full screen is up.
    pub fn log_file(&self) -> PathBuf {
        self.0.join("screen.log")
    }
}
