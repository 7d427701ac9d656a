//! The command `settings`: what the player said about themselves.

use super::Exit;
use super::cli::DataArgs;
use super::named::one_of;
use super::record::Record;
use crate::hands::Level;
use crate::question::Stands;
use crate::screens::stages::welcome::CAUTION;
use crate::session::Profile;
use clap::builder::PossibleValue;
use serde::Serialize;
use std::io::Write;

/// Width of text, in columns.
const WIDTH: usize = 79;

/// See what you told the drill about yourself, and change it
///
/// Without options it lists your settings. A change applies from the next drill on, and none of your answers are lost.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// What you play: one drum or two
    #[arg(long = "drums", value_name = "DRUMS", value_parser = one_of(&[false, true], drums))]
    two_drums: Option<bool>,
    /// Your stronger hand
    #[arg(long = "hand", value_name = "HAND", value_parser = one_of(&[false, true], hand))]
    left_handed: Option<bool>,
    /// Where you stand: new to clave, play a tumbao, play in bands. You are asked before you are taught, from the next
    /// drill on, unless you are new
    #[arg(long, value_name = "WHERE", value_parser = one_of(&Stands::ALL, stands))]
    stands: Option<Stands>,
    /// How trained your hands are, which decides what is comfortable at a tempo
    #[arg(long, value_name = "LEVEL", value_parser = one_of(&Level::ALL, |l| l.name().into()))]
    level: Option<Level>,
    /// Minutes of practice a day
    #[arg(long, value_name = "N", value_parser = super::drill::minutes)]
    minutes: Option<f64>,
    /// Write the settings as JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    data: DataArgs,
}

/// One drum or two, and which hand is the stronger one: the second of each is true.
fn drums(two: &bool) -> PossibleValue {
    let (name, digit) = [("one", "1"), ("two", "2")][usize::from(*two)];
    PossibleValue::new(name).alias(digit)
}

fn stands(stands: &Stands) -> PossibleValue {
    PossibleValue::new(stands.name()).help(stands.spoken())
}

fn hand(left: &bool) -> PossibleValue {
    ["right", "left"][usize::from(*left)].into()
}

/// Keeps what is to be changed and writes what is set.
///
/// # Errors
/// Where the log cannot be read or written.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let folder = args.data.folder()?;
    let changes = args.two_drums.is_some()
        || args.left_handed.is_some()
        || args.stands.is_some()
        || args.level.is_some()
        || args.minutes.is_some();
    let mut record = Record::for_command(&folder, args.data.clock(), changes)?;
    let kept = record.profile()?;
    let before = kept.unwrap_or_default().sane();
    let profile = changed(args, before);
    if profile != before {
        record.keep_profile(&profile)?;
    }
    if args.stands.is_some_and(|s| s != Stands::New) {
        record.sound_out()?;
    }
    match args.json {
        true => writeln!(
            out,
            "{}",
            serde_json::to_string_pretty(&SettingsData::of(profile))?
        )?,
        false => {
            write_text(profile, kept.is_none() && profile == before, out)?;
            // Who sets something before the first drill does not see its first page.
            if kept.is_none() {
                writeln!(out, "\n{}", textwrap::fill(CAUTION, WIDTH))?;
            }
        }
    }
    Ok(Exit::Clean)
}

fn changed(args: &Args, profile: Profile) -> Profile {
    Profile {
        two_drums: args.two_drums.unwrap_or(profile.two_drums),
        left_handed: args.left_handed.unwrap_or(profile.left_handed),
        stands: args.stands.unwrap_or(profile.stands),
        level: args.level.unwrap_or(profile.level),
        minutes: args.minutes.unwrap_or(profile.minutes),
    }
}

/// The settings as data.
#[derive(Serialize)]
struct SettingsData {
    drums: u8,
    hand: &'static str,
    stands: Stands,
    level: Level,
    minutes: f64,
}

impl SettingsData {
    fn of(profile: Profile) -> SettingsData {
        SettingsData {
            drums: if profile.two_drums { 2 } else { 1 },
            hand: profile.hand(),
            stands: profile.stands,
            level: profile.level,
            minutes: profile.minutes,
        }
    }
}

fn write_text(profile: Profile, usual: bool, out: &mut dyn Write) -> std::io::Result<()> {
    let set = SettingsData::of(profile);
    if usual {
        writeln!(
            out,
            "Nothing has been chosen yet; these are the usual settings.\n"
        )?;
    }
    let rows = [
        ("You play", "--drums", profile.drums().into()),
        ("Stronger hand", "--hand", set.hand.into()),
        ("You", "--stands", profile.stands.spoken().into()),
        ("Hands", "--level", set.level.name().into()),
        ("Minutes a day", "--minutes", set.minutes.to_string()),
    ];
    for (name, option, value) in rows {
        writeln!(out, "{name:<15}{option:<11}{value}")?;
    }
    writeln!(
        out,
        "\nwhichside deck school chooses the school that you drill, where there are several."
    )
}
