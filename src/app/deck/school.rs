//! `whichside deck school`: which school is drilled.

use crate::app::Exit;
use crate::app::cli::DataArgs;
use crate::app::deck_library::DeckLibrary;
use crate::app::record::Record;
use crate::deck::School;
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
        let Some(school) = School::parse(wanted).filter(|s| schools.contains(s)) else {
            let all: Vec<_> = schools.iter().map(|s| format!("\"{s}\"")).collect();
            let all = all.join(", ");
            bail!("there is no school \"{wanted}\"; there are {all}");
        };
        chosen.insert(school.subject, school.way);
        record.keep_schools(&chosen)?;
    }
    library.choose_schools(&chosen);
    let schools = schools.into_iter().map(|school| {
        let mut cards = library
            .cards()
            .filter(|c| c.school.as_ref() == Some(&school));
        let drilled = cards.any(|c| !library.left_out.contains(&c.id));
        SchoolData { school, drilled }
    });
    let schools: Vec<SchoolData> = schools.collect();
    if args.json {
        writeln!(out, "{}", serde_json::to_string_pretty(&schools)?)?;
        return Ok(Exit::Clean);
    }
    for SchoolData { school, drilled } in schools {
        let mark = if drilled { "drilled" } else { "left out" };
        writeln!(out, "{school}  ({mark})")?;
    }
    Ok(Exit::Clean)
}

/// A school as data.
#[derive(serde::Serialize)]
struct SchoolData {
    #[serde(flatten)]
    school: School,
    /// Do its cards come up?
    drilled: bool,
}
