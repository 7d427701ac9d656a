//! An evening on a wrong clock, written again at the right time.

use crate::app::Exit;
use crate::app::cli::DataArgs;
use crate::app::clock;
use crate::rhythm::counted;
use crate::store::Store;
use anyhow::anyhow;
use chrono::{DateTime, Utc};
use std::io::Write;

/// Lists the evenings.
pub fn list(store: &Store, out: &mut dyn Write) -> anyhow::Result<Exit> {
    for evening in store.evenings()? {
        writeln!(
            out,
            "{}  {} to {}  {}",
            evening.session,
            clock::shown(evening.first),
            clock::shown(evening.last),
            counted(evening.answers as usize, "answer")
        )?;
    }
    Ok(Exit::Clean)
}

/// Writes the answers of a session again, the first one at `start`.
pub fn mend(
    data: &DataArgs,
    session: &str,
    start: DateTime<Utc>,
    out: &mut dyn Write,
) -> anyhow::Result<Exit> {
    let mut store = super::write(data)?;
    let evenings = store.evenings()?;
    let evening = evenings.iter().find(|e| e.session == session);
    let evening = evening.ok_or_else(|| {
        anyhow!(
            "there is no session `{session}` with answers that count; `whichside log retime` lists those there are"
        )
    })?;
    let later = start.timestamp_millis() - evening.first;
    let now = data.clock().now().timestamp_millis();
    let count = store.retime(session, later, now)?;
    writeln!(
        out,
        "{} written again from {} on; those at the wrong time no longer count",
        counted(count, "answer"),
        clock::shown(start.timestamp_millis())
    )?;
    Ok(Exit::Clean)
}
