//! The drill: its start, what a session asks for, and how it runs on the full screen and line by line.

mod farewell;
mod full;
mod plain;
mod session_host;

use super::agenda::{Agenda, Scope};
use super::cli::DataArgs;
use super::deck_library::DeckLibrary;
use super::events::Events;
use super::ideas;
use super::named::one_of;
use super::record::Record;
use super::sounding::Sounding;
use super::{Clock, Exit, clock, input};
use crate::question::{KINDS, Sense};
use crate::report::Focus;
use crate::screens::screen;
use crate::session::{Event, Profile, Session, Start};
use anyhow::bail;
use clap::builder::{PossibleValue, PossibleValuesParser};
use session_host::SessionHost;
use std::io::{self, IsTerminal, Write};
use std::panic::resume_unwind;
use std::path::PathBuf;
use std::sync::mpsc;
use std::thread;

/// Start today's drill at once (whichside alone opens the start page)
///
/// Answer with the keys on the screen. Esc stops; everything you answered is kept.
///
/// Keep the sound at a level at which you could still talk over it, and stop when a hand or a wrist hurts.
#[derive(Clone, Debug, Default, clap::Args)]
#[command(after_long_help = crate::sound::HEARING)]
pub struct Args {
    /// How long, in minutes (otherwise your own setting, which whichside settings shows and changes)
    #[arg(long, value_name = "N", value_parser = minutes)]
    minutes: Option<f64>,
    /// Drill only this deck: a file, or the name of a deck
    #[arg(long, value_name = "PATH")]
    deck: Option<PathBuf>,
    /// Ask only this kind of question
    #[arg(long, value_name = "KIND", value_parser = kinds())]
    kind: Option<String>,
    /// Ask only by eye, or only by ear
    #[arg(long, value_name = "SENSE", value_parser = one_of(&Sense::ALL, sense))]
    sense: Option<Sense>,
    /// Ask only what exercises this concept (whichside weak names them); repeat it for several
    #[arg(long, value_name = "NAME")]
    concept: Vec<String>,
    /// Line by line instead of the full screen: for screen readers, and for other programs to drive
    #[arg(long)]
    plain: bool,
    /// No sound: questions by eye only
    #[arg(long)]
    pub silent: bool,
    /// Listen to the microphone: clap or play a drum instead of tapping keys. Keep the band in headphones, and do a
    /// sound check first (whichside sound --listen). Nothing it hears is recorded or kept
    #[arg(long, conflicts_with = "silent")]
    pub listen: bool,
    /// Nothing moves on the screen
    #[arg(long)]
    pub still: bool,
    /// The same number, data and answers give the same questions (with --plain from a script the clock moves two
    /// seconds a line, or as many seconds as a line such as `wait 3.5` before it says)
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
    #[command(flatten)]
    pub data: DataArgs,
}

fn sense(sense: &Sense) -> PossibleValue {
    PossibleValue::new(sense.name()).help(match sense {
        Sense::Read => "By eye: the bar grid is on the screen",
        Sense::Hear => "By ear: the band plays, the bar grid stays hidden",
    })
}

/// Minutes of a session from the command line.
pub fn minutes(text: &str) -> Result<f64, String> {
    let (least, most) = Profile::MINUTES;
    match text.parse::<f64>() {
        Ok(minutes) if (least..=most).contains(&minutes) => Ok(minutes),
        _ => Err(format!("a number from {least} to {most} is needed")),
    }
}

fn kinds() -> PossibleValuesParser {
    let kinds = KINDS.iter();
    PossibleValuesParser::new(kinds.map(|k| PossibleValue::new(k.name).help(k.about)))
}

impl Args {
    /// Is it today's drill as it is, with nothing chosen?
    pub fn is_usual(&self) -> bool {
        let chosen = self.minutes.is_some()
            || self.deck.is_some()
            || self.kind.is_some()
            || self.sense.is_some();
        !(chosen || !self.concept.is_empty() || self.plain || self.seed.is_some())
    }
}

/// Runs the drill.
///
/// # Errors
/// Where the log or a deck cannot be read, or the terminal cannot be drawn on.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    start(args, None, out)
}

/// Runs a drill on what was chosen in a view that listens to the keys already.
///
/// # Errors
/// As [`run`].
pub fn on_focus(
    focus: &Focus,
    data: &DataArgs,
    events: &Events,
    out: &mut dyn Write,
) -> anyhow::Result<Exit> {
    // A kind that is gone cannot be asked for.
    let known = |kind: &String| KINDS.iter().any(|k| k.name == kind);
    let args = Args {
        concept: focus.concepts.clone(),
        kind: focus.kind.clone().filter(known),
        sense: focus.sense,
        data: data.clone(),
        ..Args::default()
    };
    start(&args, Some(events), out)
}

/// Runs the drill, with the keys of a page that listens to them already where there is one.
///
/// # Errors
/// As [`run`].
pub fn start(args: &Args, events: Option<&Events>, out: &mut dyn Write) -> anyhow::Result<Exit> {
    // A run from a script with a seed is one to be repeated: how long the machine took must not matter.
    let repeated = args.plain && args.seed.is_some() && !io::stdin().is_terminal();
    let clock = match repeated {
        true => Clock::by_hand(args.data.now),
        false => args.data.clock(),
    };
    let folder = args.data.folder()?;
    let load = || {
        let library = DeckLibrary::load(&folder, args.deck.as_deref())?;
        library.items();
        let concepts = args.concept.iter();
        let concepts = concepts.map(|name| super::agenda::concept_named(&library, name));
        let concepts = concepts.collect::<anyhow::Result<_>>()?;
        Ok::<(DeckLibrary, Vec<String>), anyhow::Error>((library, concepts))
    };
    // What was mistyped begins no log.
    let named = args.deck.is_some() || !args.concept.is_empty();
    let loaded = named.then(load).transpose()?;
    // After years either takes its time: one beside the other.
    let (library, record) = thread::scope(|scope| {
        let library = scope.spawn(|| loaded.map_or_else(load, Ok));
        let record = Record::open(&folder, clock);
        (
            library.join().unwrap_or_else(|panic| resume_unwind(panic)),
            record,
        )
    });
    let ((mut library, concepts), mut record) = (library?, record?);
    library.remarks.extend_from_slice(record.store().notes());
    // A view that listens to the keys already cannot be asked line by line.
    let ask = events.is_none() && io::stdout().is_terminal() && io::stdin().is_terminal();
    confirm_clock(&record, &args.data, clock, ask || args.plain, out)?;
    let mut input = ask.then(|| io::stdin().lock());
    let prompt = input.as_mut().map(|input| ideas::IdeaPrompt { input, out });
    library.choose_schools(&record.schools()?);
    let remarks = ideas::settle(&mut record, library.own(), prompt)?;
    library.remarks.extend(remarks);
    drop(input);
    let scope = Scope {
        kind: args.kind.clone(),
        sense: args.sense,
        concepts,
    };
    let profile = record.profile()?;
    let everything = Profile {
        two_drums: true,
        ..Profile::default()
    };
    let lesson = record.lesson()?.cards(&library);
    let player = profile.unwrap_or(everything);
    if Agenda::new(&library, &scope, player, &lesson, true).is_empty() {
        bail!("no card can be asked in this way; try without --kind, --sense, --concept or --deck");
    }
    let seed = args.seed.unwrap_or_else(rand::random);
    let sound = match args.silent {
        true => None,
        false => Some(Sounding::open(
            record.volume()?,
            record.tap_offset()?.as_ref(),
        )),
    };
    let mut session = Session::new(Start {
        decks: library.decks.clone(),
        met: record.met()?.0,
        profile,
        minutes: args.minutes,
        sound: !args.silent,
        seed,
    })
    .with_lead(record.lead(&library.decks, profile.unwrap_or_default().player())?)
    .with_held(record.held()?);
    let settings = record.screen()?.stilled(args.still);
    let mut host = SessionHost::new(record, library, scope, clock, seed, settings.keys);
    match sound {
        None => {}
        Some(Ok(sound)) => host.sound = Some(sound),
        Some(Err(error)) => host.tell(&mut session, Event::Silent(error.to_string())),
    }
    // A terminal that cannot be drawn on is gone through line by line. Where standard output is not a terminal at all, a script has to say --plain.
    if args.plain || (ask && !screen::is_there(crate::app::variable)) {
        let (to, news) = mpsc::channel();
        if args.listen {
            // Where the drill has ended nobody takes them any more.
            host.open_microphone(move |said| drop(to.send(said)))?;
        }
        return Ok(plain::run(session, host, &news, &mut io::stdin().lock(), out)?.say(&folder));
    }
    if !io::stdout().is_terminal() || !io::stdin().is_terminal() {
        bail!("standard output is not a terminal; whichside drill --plain goes line by line");
    }
    let own;
    let events = match events {
        Some(events) => events,
        None => {
            own = Events::listen(clock)?;
            &own
        }
    };
    if args.listen {
        host.open_microphone(events.for_microphone())?;
    }
    let left = full::run(session, host, &folder, clock, settings, events, out)?;
    Ok(left.say(&folder))
}

/// The arguments for pages that listen to the keys, once the player was asked about a clock that is doubted.
///
/// # Errors
/// Where the clock is wrong.
pub fn with_confirmed_clock(
    args: &Args,
    record: &Record,
    out: &mut dyn Write,
) -> anyhow::Result<Args> {
    let mut args = args.clone();
    confirm_clock(record, &args.data, args.data.clock(), true, out)?;
    args.data.clock_is_right = true;
    Ok(args)
}

/// Asks whether the clock is right where it is doubted, before anything is written by it.
///
/// # Errors
/// Where it is not, or nobody can be asked.
fn confirm_clock(
    record: &Record,
    data: &DataArgs,
    clock: Clock,
    ask: bool,
    out: &mut dyn Write,
) -> anyhow::Result<()> {
    // What was said with --now is believed further.
    let leeway = data.now.map_or(clock::DAY, |_| clock::YEAR);
    let doubt = clock::doubt(clock.now().timestamp_millis(), record.answered(), leeway);
    let Some(doubt) = doubt.filter(|_| !data.clock_is_right) else {
        return Ok(());
    };
    let mend = "Nothing was started. Set this computer's clock, or give the time with --now; whichside log retime \
                mends an evening that was answered on a wrong clock";
    if !ask {
        bail!("{doubt} Start the drill by itself to say whether the clock is right. {mend}");
    }
    writeln!(out, "{doubt}")?;
    let question = "Is the clock right? y: the drill begins; n: nothing is written: ";
    match input::yes(question, &mut io::stdin().lock(), out)? {
        Some(true) => Ok(()),
        _ => bail!("{mend}"),
    }
}
