//! Playing a card: on the full screen, through once, or into a file.

mod full;

use super::cli::DataArgs;
use super::deck_library::DeckLibrary;
use super::record::Record;
use super::sounding::Sounding;
use super::events::Events;
use super::{Exit, Folder};
use crate::deck::Card;
use crate::rhythm::Instrument;
use crate::screens::lines;
use crate::screens::playback::Playback;
use crate::screens::screen;
use crate::screens::screen_settings::ScreenSettings;
use crate::screens::stages::AudioStatus;
use crate::sound::{self, Feel, Take, Vamp};
use anyhow::{Context, bail};
use std::io::Write;
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// Rounds that are played, or written to a file, where the player does not say how many.
const CYCLES: u32 = 4;

/// Play a card with the band, or write it to a sound file
///
/// Turn instruments on and off, change the tempo, and hear the card at its place in a phrase. With --out the very same
/// sound goes into a WAV file that can be taken to the practice room.
#[derive(Debug, clap::Args)]
#[command(after_long_help = sound::HEARING)]
pub struct Args {
    /// A deck file, or the name of a deck
    deck: PathBuf,
    /// The card's id (whichside deck show DECK lists them)
    card: String,
    /// Tempo in quarter notes a minute, in 6/8 dotted quarter notes (otherwise the middle of the card's own tempo)
    #[arg(long, value_name = "N", value_parser = bpm)]
    bpm: Option<f64>,
    /// How often it goes round
    #[arg(long, value_name = "N", default_value_t = CYCLES, value_parser = clap::value_parser!(u32).range(1..=1000))]
    cycles: u32,
    /// Who plays along, parted by commas: clave, bell, shell, bass, piano, shaker, click, or none
    #[arg(long, value_name = "LIST", value_delimiter = ',', value_parser = instrument)]
    with: Option<Vec<Option<Instrument>>>,
    /// How the eighths lie: straight, swing=RATIO (long to short) or push=SHARE (of a pulse)
    #[arg(long, default_value_t = Feel::Straight)]
    feel: Feel,
    /// Key of bass and piano, such as C, Bb or F#m
    #[arg(long, default_value_t = Vamp::default())]
    key: Vamp,
    /// Write a WAV file instead of playing
    #[arg(long, value_name = "FILE.wav")]
    out: Option<PathBuf>,
    /// Play it through and end, without the full screen
    #[arg(long)]
    plain: bool,
    /// Nothing moves on the screen
    #[arg(long)]
    still: bool,
    #[command(flatten)]
    data: DataArgs,
}

fn bpm(text: &str) -> Result<f64, String> {
    let range = Take::SLOWEST..=Take::FASTEST;
    match text.parse::<f64>() {
        Ok(bpm) if range.contains(&bpm) => Ok(bpm),
        _ => Err(format!(
            "a number from {} to {} is needed",
            range.start(),
            range.end()
        )),
    }
}

/// `None` for the word `none`.
fn instrument(text: &str) -> Result<Option<Instrument>, String> {
    match (text.trim(), Instrument::from_name(text.trim())) {
        ("none", _) => Ok(None),
        (_, Some(instrument)) => Ok(Some(instrument)),
        _ => {
            let names: Vec<_> = Instrument::ALL.iter().map(|i| i.name()).collect();
            Err(format!("the instruments are {}, or none", names.join(", ")))
        }
    }
}

/// Plays the card or writes its sound.
///
/// # Errors
/// Where there is no such card, the file cannot be written, or there is no sound device.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let folder = args.data.folder()?;
    let library = DeckLibrary::load(&folder, Some(&args.deck))?;
    let mut playback = Playback::new(find(&library, &args.card)?);
    if let Some(bpm) = args.bpm {
        playback.set_tempo(bpm);
    }
    playback.feel = args.feel;
    playback.vamp = args.key;
    if let Some(with) = &args.with {
        let wanted: Vec<_> = with.iter().copied().flatten().collect();
        if let Some(missing) = playback.set_band(&wanted).first() {
            bail!("{} has nothing to play with this card", missing.name());
        }
    }
    if let Some(file) = &args.out {
        let take = playback.take(args.cycles);
        if take.seconds() > Take::LONGEST {
            bail!(
                "{} rounds last {:.0} minutes, and a file holds {:.0}: ask for fewer --cycles",
                args.cycles,
                take.seconds() / 60.0,
                Take::LONGEST / 60.0
            );
        }
        let wave = sound::render(&take);
        wave.write_wav(file)?;
        let seconds = wave.seconds();
        writeln!(out, "{}: {seconds:.1} seconds of sound", file.display())?;
        return Ok(Exit::Clean);
    }
    folder.make()?;
    let mut record = Record::open(&folder, args.data.clock())?;
    let sound = Sounding::open(record.volume()?, record.tap_offset()?.as_ref())
        .context("it cannot be played (with --out FILE.wav it goes into a file)")?;
    if args.plain || !screen::is_there(|name| std::env::var(name).ok()) {
        return through(&playback, sound, args.cycles, out);
    }
    let events = Events::listen(args.data.clock()).context("signals cannot be listened to")?;
    let settings = record.screen()?;
    let settings = ScreenSettings {
        motion: settings.motion && !args.still,
        ..settings
    };
    full::run(playback, sound, &mut record, &folder, settings, &events)
}

/// Opens a card for a page that listens to the keys already.
///
/// # Errors
/// Where there is no such card, or no sound device.
pub fn on_card(
    library: &DeckLibrary,
    record: &mut Record,
    card: &str,
    folder: &Folder,
    events: &Events,
) -> anyhow::Result<()> {
    let sound = Sounding::open(record.volume()?, record.tap_offset()?.as_ref())
        .context("it cannot be played")?;
    let settings = record.screen()?;
    let playback = Playback::new(find(library, card)?);
    full::run(playback, sound, record, folder, settings, events).map(|_| ())
}

/// How much longer than it lasts a card may take to be played through.
const SPARE: Duration = Duration::from_secs(5);

/// Plays it through and waits for the end.
fn through(
    playback: &Playback,
    mut sound: Sounding,
    cycles: u32,
    out: &mut dyn Write,
) -> anyhow::Result<Exit> {
    let score = playback.score();
    let page = playback.page(&score, AudioStatus::default());
    write!(out, "{}", lines::content(&page))?;
    out.flush()?;
    let take = playback.take(cycles);
    sound.play(&take, false);
    sound.settle();
    // A device that keeps no time might never say that the end was heard.
    let last = Instant::now() + Duration::from_secs_f64(take.seconds()) + SPARE;
    while sound.is_busy() {
        if Instant::now() > last {
            bail!(
                "the sound device does not say when the sound has ended; try another device, or --out FILE.wav"
            );
        }
        if let Some(super::sounding::News::Lost(why)) = sound.poll() {
            bail!("the sound stopped: {why}");
        }
        std::thread::sleep(sound.patience(true));
    }
    Ok(Exit::Clean)
}

/// The card of an id on the shelf, with or without its deck's name.
fn find<'a>(library: &'a DeckLibrary, id: &str) -> anyhow::Result<&'a Card> {
    let chosen = library.chosen.as_ref();
    let cards = library.decks.iter().flat_map(|d| &d.cards);
    let cards: Vec<_> = cards
        .filter(|c| chosen.is_none_or(|chosen| chosen.contains(&c.id)))
        .collect();
    let name = |card: &Card| card.id.rsplit('/').next().unwrap_or_default().to_string();
    match cards.iter().find(|c| c.id == id || name(c) == id) {
        Some(card) => Ok(card),
        None => {
            let names: Vec<_> = cards.iter().map(|c| name(c)).collect();
            bail!(
                "the deck has no card `{id}`; its cards are: {}",
                names.join(", ")
            )
        }
    }
}
