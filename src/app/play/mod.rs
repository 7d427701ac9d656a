//! Playing a card: on the full screen, through once, or into a file.

mod full;

use super::cli::DataArgs;
use super::deck_library::DeckLibrary;
use super::events::Events;
use super::output::ForceArg;
use super::record::Record;
use super::sounding::Sounding;
use super::{Exit, Folder};
use crate::clave::{Clave, Direction, Family};
use crate::deck::Card;
use crate::rhythm::{Instrument, Tempo};
use crate::screens::lines;
use crate::screens::playback::{ClaveGap, Metronome, Playback, SpeedTrainer};
use crate::screens::screen;
use crate::screens::stages::AudioStatus;
use crate::screens::stages::welcome::CAUTION;
use crate::sound::{self, Feel, Take, Vamp, Wave};
use crate::time::Seconds;
use anyhow::{Context, anyhow, bail};
use clap::builder::RangedU64ValueParser;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Rounds that are played, or written to a file, where the player does not say how many.
const CYCLES: u32 = 4;

/// Play a card with the band, or write it to a sound file
///
/// Turn instruments on and off, change the tempo, and hear the card in its place in a phrase. With --out the same sound
/// goes into a WAV file that you can take to the practice room.
#[derive(Debug, clap::Args)]
#[command(after_long_help = format!("{}\n\n{}", sound::HEARING, CAUTION))]
pub struct Args {
    /// A deck file, or the name of a deck
    deck: PathBuf,
    /// The card's id (whichside deck show DECK lists them)
    card: String,
    /// Tempo in quarter notes a minute, in 6/8 dotted quarter notes (otherwise the middle of the card's own tempo)
    #[arg(long = "bpm", value_name = "N", value_parser = parse_tempo)]
    tempo: Option<Tempo>,
    /// How many times it goes round
    #[arg(long, value_name = "N", default_value_t = CYCLES, value_parser = clap::value_parser!(u32).range(1..=1000))]
    cycles: u32,
    /// Who plays along, separated by commas: clave, bell, shell, bass, piano, shaker, click, or none
    #[arg(long, value_name = "LIST", value_delimiter = ',', value_parser = instrument)]
    with: Option<Vec<Option<Instrument>>>,
    /// The clave, such as "rumba 2-3" (otherwise the card's own)
    #[arg(long, value_name = "CLAVE", value_parser = clave)]
    clave: Option<Clave>,
    /// Let the clave play for K cycles of two bars and be silent for as many
    #[arg(long, value_name = "K", value_parser = RangedU64ValueParser::<usize>::new().range(1..=ClaveGap::MOST as u64))]
    clave_gap: Option<usize>,
    /// Let the metronome click on beats, on some of them such as 2,4, off the beat, or on the clave
    #[arg(long, value_name = "WHERE")]
    metronome: Option<Metronome>,
    /// Loop this bar alone, counted from 1 in what is played
    #[arg(long, value_name = "BAR")]
    loop_bar: Option<usize>,
    /// Go from --bpm to this tempo, a step with each cycle of two bars
    #[arg(long, value_name = "N", value_parser = parse_tempo)]
    to: Option<Tempo>,
    /// How many cycles of two bars the tempo takes to get there
    #[arg(long, value_name = "N", requires = "to", default_value_t = 8, value_parser = RangedU64ValueParser::<usize>::new().range(1..=SpeedTrainer::MOST as u64))]
    over: usize,
    /// How the eighths lie: straight, swing=RATIO (long to short) or push=SHARE (of a pulse)
    #[arg(long, default_value_t = Feel::Straight)]
    feel: Feel,
    /// Key of bass and piano, such as C, Bb or F#m
    #[arg(long, default_value_t = Vamp::default())]
    key: Vamp,
    /// Write a WAV file instead of playing
    #[arg(long, value_name = "FILE.wav")]
    out: Option<PathBuf>,
    #[command(flatten)]
    force: ForceArg,
    /// Play it through once and stop, without the full screen
    #[arg(long)]
    plain: bool,
    /// Listen to the microphone: play along and see how each round went. Keep the band in headphones, and do a sound
    /// check first (whichside sound --listen). Nothing it hears is recorded or kept
    #[arg(long, conflicts_with_all = ["plain", "out"])]
    listen: bool,
    /// Nothing moves on the screen
    #[arg(long)]
    still: bool,
    #[command(flatten)]
    data: DataArgs,
}

fn parse_tempo(text: &str) -> Result<Tempo, String> {
    let range = Take::SLOWEST..=Take::FASTEST;
    match text.parse().map(Tempo::new) {
        Ok(tempo) if range.contains(&tempo) => Ok(tempo),
        _ => Err(format!(
            "a number from {} to {} is needed",
            range.start(),
            range.end()
        )),
    }
}

fn clave(text: &str) -> Result<Clave, String> {
    let direction = |family| Direction::ALL.map(|direction| Clave { family, direction });
    let mut all = Family::ALL.into_iter().flat_map(direction);
    all.find(|c| c.to_string() == text.trim())
        .ok_or_else(|| "write son 2-3, son 3-2, rumba 2-3 or rumba 3-2".to_string())
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
    if let Some(tempo) = args.tempo {
        playback.set_tempo(tempo);
    }
    playback.feel = args.feel;
    playback.vamp = args.key;
    if let Some(with) = &args.with {
        let wanted: Vec<_> = with.iter().copied().flatten().collect();
        if let Some(missing) = playback.set_band(&wanted).first() {
            bail!("{} has nothing to play with this card", missing.name());
        }
    }
    if let Some(clave) = args.clave {
        playback
            .set_clave(clave)
            .map_err(|e| anyhow!("--clave: {e}"))?;
    }
    if let Some(metronome) = args.metronome {
        let set = playback.set_metronome(metronome);
        set.map_err(|e| anyhow!("--metronome {metronome}: {e}"))?;
    }
    if let Some(bar) = args.loop_bar {
        let set = playback.set_loop_bar(bar);
        set.map_err(|e| anyhow!("--loop-bar {bar}: {e}"))?;
    }
    if let Some(cycles) = args.clave_gap {
        playback.set_clave_gap(cycles);
    }
    if let Some(to) = args.to {
        playback.set_trainer(to, args.over);
    }
    if let Some(file) = &args.out {
        let wave = once(&mut playback, args.cycles)?;
        let write = |to: &Path| Ok(wave.write_wav(to)?);
        args.force.write(file, &folder, Some(&args.deck), write)?;
        let length = wave.length();
        writeln!(out, "{}: {length:.1} seconds of sound", file.display())?;
        return Ok(Exit::Clean);
    }
    let mut record = Record::for_command(&folder, args.data.clock(), !args.plain)?;
    let mut sound = Sounding::open(record.volume()?, record.tap_offset()?.as_ref())
        .context("it cannot be played (with --out FILE.wav it goes into a file)")?;
    if args.plain || !screen::is_there(crate::app::variable) {
        return through(&mut playback, sound, args.cycles, out);
    }
    let events = Events::listen(args.data.clock())?;
    let settings = record.screen()?.stilled(args.still);
    if args.listen {
        sound.listen(record.microphone()?, events.for_microphone());
    }
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

/// The sound of this many rounds, with what changes from cycle to cycle.
///
/// # Errors
/// Where that is too long.
fn once(playback: &mut Playback, rounds: u32) -> anyhow::Result<Wave> {
    let per = playback.score().grid.pulses_per_cycle();
    let pulses = playback.score().pulses() * rounds as usize;
    // What changes from cycle to cycle goes round in short loops.
    let planned = playback.has_plan();
    let first = playback.take(if planned { playback.rounds() } else { rounds });
    let mut length = Seconds::ZERO;
    // Each with the pulse to which it lasts.
    let mut parts = vec![(first, pulses)];
    for cycle in 0..pulses.div_ceil(per) {
        if cycle > 0 && playback.go_on(cycle) {
            parts.last_mut().expect("there is a first").1 = cycle * per;
            parts.push((playback.take(playback.rounds()), pulses));
        }
        let take = &parts.last().expect("there is a first").0;
        let here = per.min(pulses - cycle * per);
        length += here as f64 * take.playable_tempo().pulse(take.score.grid);
    }
    if length > Take::LONGEST {
        bail!(
            "{rounds} rounds last {:.0} minutes, and a file holds {:.0}: ask for fewer --cycles",
            length.minutes(),
            Take::LONGEST.minutes()
        );
    }
    Ok(match &parts[..] {
        [(whole, _)] if !planned => sound::render(whole),
        parts => sound::joined(parts),
    })
}

/// How much longer than it lasts a card may take to be played through.
const SPARE: Duration = Duration::from_secs(5);

/// Plays it through and waits for the end.
fn through(
    playback: &mut Playback,
    mut sound: Sounding,
    cycles: u32,
    out: &mut dyn Write,
) -> anyhow::Result<Exit> {
    let score = playback.score();
    let page = playback.page(&score, AudioStatus::default());
    write!(out, "{}", lines::content(&page))?;
    out.flush()?;
    let wave = once(playback, cycles)?;
    let length = wave.length();
    sound.play_wave(wave);
    // A device that keeps no time might never say that the end was heard.
    let last = Instant::now() + Duration::from_secs_f64(length.seconds()) + SPARE;
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
    let cards: Vec<_> = library
        .cards()
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
