//! `whichside deck school`: which school is drilled.

use crate::app::Exit;
use crate::app::cli::DataArgs;
use crate::app::deck_library::DeckLibrary;
use crate::app::record::Record;
use anyhow::bail;
use std::io::Write;

/// Choose which school you drill where players differ; no deck calls the other one wrong
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The school, such as "low drum: two side"; without one, the schools are listed
    #[arg(value_name = "SCHOOL")]
    school: Option<String>,
    /// Write the schools as JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    data: DataArgs,
}

pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let folder = args.data.folder()?;
    let mut record = Record::for_command(&folder, args.data.clock(), args.school.is_some())?;
    let mut library = DeckLibrary::load(&folder, None)?;
    let mut chosen = record.schools()?;
    let schools = library.schools();
    if let Some(wanted) = &args.school {
        let parts = wanted.split_once(':').map(|(s, w)| (s.trim(), w.trim()));
        let known = parts.filter(|(s, w)| schools.iter().any(|k| k.subject == *s && k.way == *w));
        let Some((subject, way)) = known else {
            let all: Vec<_> = schools
                .iter()
                .map(|s| format!("\"{}: {}\"", s.subject, s.way))
                .collect();
            bail!(
                "there is no school \"{wanted}\"; there are {}",
                all.join(", ")
            );
        };
        chosen.insert(subject.to_string(), way.to_string());
        record.keep_schools(&chosen)?;
    }
    library.choose_schools(&chosen);
    let schools = schools.into_iter().map(|school| {
        let cards = library.decks.iter().flat_map(|d| &d.cards);
        let mut cards = cards.filter(|c| c.school.as_ref() == Some(&school));
        let drilled = cards.any(|c| !library.left_out.contains(&c.id));
        Listed {
            subject: school.subject,
            way: school.way,
            drilled,
        }
    });
    let schools: Vec<Listed> = schools.collect();
    if args.json {
        writeln!(out, "{}", serde_json::to_string_pretty(&schools)?)?;
        return Ok(Exit::Clean);
    }
    for Listed {
        subject,
        way,
        drilled,
    } in schools
    {
        let mark = if drilled { "drilled" } else { "left out" };
        writeln!(out, "{subject}: {way}  ({mark})")?;
    }
    Ok(Exit::Clean)
}

/// A school as data.
#[derive(serde::Serialize)]
struct Listed {
    subject: String,
    way: String,
    /// Do its cards come up?
    drilled: bool,
}
