//! What a drill leaves behind at its end: answers that are not in the log, kept elsewhere.

use crate::app::{Exit, Folder, record};
use crate::store::{self, Logged};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// What is to be said of a session that has ended, once the terminal is the player's again.
#[must_use]
pub struct Farewell {
    /// Answers that could not be saved, after all of the log where that is gone.
    pub rows: Vec<Logged>,
    /// How many of them could not be saved.
    pub unsaved: usize,
    /// Why the last one could not be saved, or why the log is gone.
    pub why: Option<String>,
    /// The run of the program, in the log.
    pub run: String,
    /// What else there is to say.
    pub notes: Vec<String>,
}

impl Farewell {
    /// Keeps what is not in the log in a new file, says on standard error what there is to say, and how the program ends.
    pub fn say(&self, folder: &Folder) -> Exit {
        record::say(&self.notes);
        let Some(why) = &self.why else {
            return Exit::Clean;
        };
        let what = match self.unsaved {
            0 => "the log of your answers is no longer in its place".to_string(),
            1 => "the last answer could not be saved".to_string(),
            n => format!("the last {n} answers could not be saved"),
        };
        record::say(&[format!("{what}: {why}")]);
        if self.rows.is_empty() {
            return Exit::Unsaved;
        }
        let mut lines = Vec::new();
        for row in &self.rows {
            // A row holds text and numbers alone.
            let _ = serde_json::to_writer(&mut lines, row);
            lines.push(b'\n');
        }
        let name = format!("whichside-answers-{}.jsonl", self.run);
        let home = etcetera::home_dir().ok();
        let places = [
            Some(folder.path().to_path_buf()),
            home,
            Some(std::env::temp_dir()),
        ];
        match places
            .into_iter()
            .flatten()
            .find_map(|place| kept(&place, &name, &lines))
        {
            Some(file) => record::say(&[format!(
                "{} kept in {1}; once the log can be written to again: whichside log import {1}{2}",
                if self.rows.len() == 1 {
                    "it is"
                } else {
                    "they are"
                },
                file.display(),
                store::data_option(&folder.path().join(store::FILE))
            )]),
            None => {
                record::say(&[
                    "there was nowhere to keep them; save these lines for whichside log import -"
                        .into(),
                ]);
                // Where standard error is closed there is nobody left to tell but by the exit code.
                let _ = io::stderr().write_all(&lines);
            }
        }
        Exit::Unsaved
    }
}

/// Writes a new file in a folder; `None` where that cannot be done.
fn kept(folder: &Path, name: &str, lines: &[u8]) -> Option<PathBuf> {
    let file = folder.join(name);
    store::new_file(&file, lines).ok().map(|()| file)
}
