//! The command `weak`: the report as a view, as text, as data, as a page.

mod gather;
mod view;

use super::Exit;
use super::cli::DataArgs;
use super::events::Events;
use super::output::ForceArg;
use crate::report::{page, text};
use crate::screens::screen;
use std::io::Write;
use std::path::{Path, PathBuf};

/// See which concepts are weak and what to work on
///
/// Reads your answers and shows which concepts are weak and what practising them would gain, what you mix up, at which
/// tempo it breaks down, what you keep and what fades, and how much you practised. In a terminal it opens a view from
/// which a drill can be started; elsewhere, or with --plain, it prints text.
#[derive(Clone, Debug, clap::Args)]
pub struct WeakArgs {
    /// Print text instead of opening the view
    #[arg(long)]
    plain: bool,
    /// Print the report as JSON
    #[arg(long, conflicts_with = "plain")]
    json: bool,
    /// Write a page that can be sent to a teacher or printed
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
    #[command(flatten)]
    force: ForceArg,
    /// The player's name on that page; without it there is a line to fill it in
    #[arg(long, value_name = "NAME", requires = "html")]
    player: Option<String>,
    #[command(flatten)]
    data: DataArgs,
}

/// Makes the report and shows it.
///
/// # Errors
/// Where the log or a deck cannot be read, or the page cannot be written.
pub fn run(args: &WeakArgs, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let (report, settings) = gather::report(&args.data)?;
    if let Some(file) = &args.html {
        let page = page::page(&report, args.player.as_deref());
        let write = |to: &Path| Ok(std::fs::write(to, &page)?);
        args.force.write(file, &args.data.folder()?, None, write)?;
        if !args.json {
            writeln!(out, "{} written", file.display())?;
        }
    }
    if args.json {
        serde_json::to_writer_pretty(&mut *out, &report)?;
        writeln!(out)?;
    } else if args.html.is_none() {
        if !args.plain && screen::is_there(crate::app::variable) {
            let events = Events::listen(args.data.clock())?;
            return view::run(report, &settings, &args.data, &events, out);
        }
        write!(out, "{}", text::text(&report))?;
    }
    Ok(Exit::Clean)
}

/// Opens the view for a page that listens to the keys already.
///
/// # Errors
/// As [`run`].
pub fn in_view(data: &DataArgs, events: &Events, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let (report, settings) = gather::report(data)?;
    view::run(report, &settings, data, events, out)
}
