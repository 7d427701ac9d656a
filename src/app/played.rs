//! The command `played`: how well taps fit a part.

mod data;
mod rows;

use super::hands::{self, PlayerArgs};
use super::{Exit, input, side};
use crate::clave::{Clave, Direction, Family};
use crate::hands::HANDS;
use crate::rhythm::{Grid, Tempo};
use crate::taps::{self, COMMON, MOST_CYCLES, PerformanceLevel, Played, Tap, TapTask, TapVerdict};
use crate::time::Seconds;
use anyhow::{Context, bail};
use std::io::Write;
use std::path::Path;

/// Say how well taps fit a part: strokes missed and added, how tight, which direction, which hands
///
/// PATTERN is `x` a stroke and `.` none, or strokes as the command `hands` reads them. TAPS is a file, or `-` for standard
/// input: one tap a line, in seconds from the first pulse, then L or R if you like; empty lines, a heading such as
/// `time, hand` and anything after a # are ignored. A decimal comma is read unless a line could be read in two ways.
/// The part goes round as often as it was tapped; a first or last round with less than half of its strokes counts only
/// as far as it was tapped. Taps may come in any order; one before the first pulse counts as added, and one within 40
/// ms of another by the same hand is left out. A delay of up to 150 ms that all taps share is not held against you.
///
/// A stroke is matched by a tap within half a pulse; a steady drift is followed, and strokes that it takes further from
/// their place are displaced.
///
/// With --json, times are in milliseconds, seconds in seconds; a cycle is once round PATTERN; cycles, pulses and taps
/// are numbered from 0. pattern, grid, bpm: what was to be tapped; cycles, strokes: how often round and how many
/// strokes that is; taps: how many count; bounced: how many were left out; matched, missed, added, displaced: how many
/// strokes; wrong: all that are wrong, one exchanged for another counted once; early, late: matched ones that are 50 ms
/// (or a quarter of a pulse) off the rest; shift: by how much all taps are off where that is more than 150 ms; mean:
/// mean asynchrony, negative is ahead; spread: standard deviation about the trend, swing taken off; unevenness: that of
/// the steps from stroke to stroke, over root 2; swing: by how much the second of two pulses comes later than even, or
/// null; drift: by how much each cycle comes later than the one before; hesitations: how often it stopped and went on
/// elsewhere; tempo: beats a minute at which the taps fit far better than at --bpm, or null; direction: as-written,
/// other, unclear, or null where the part is the same in both; tapped: 2-3, 3-2 or null; tapped_clave: such as son 2-3,
/// of a PATTERN that is a clave; hands: as-written, another (that works), neither or null, with hands_reason; correct,
/// guess: from 0 to 1; score: correct, less for scatter; verdict: right, partly or missed; in_time; level: as juries of
/// music schools grade, perfect, minor, major or off; steadiness: musician, untrained or loose; pairs, missed_strokes,
/// added_taps: one by one.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example: whichside played \"x..x..x...x.x...\" --bpm 90 --clave \"son 3-2\" taps.txt"
)]
pub struct Args {
    /// What was to be tapped
    #[arg(value_name = "PATTERN", allow_hyphen_values = true)]
    pattern: String,
    /// The taps, a file or `-`
    #[arg(value_name = "TAPS")]
    taps: String,
    /// Tempo in beats a minute: quarter notes, in 6/8 dotted quarter notes
    #[arg(long = "bpm", value_name = "N", value_parser = hands::parse_tempo)]
    tempo: Tempo,
    /// The clave under the first bar, such as "son 2-3"; a PATTERN that is a clave is turned to it
    #[arg(long, value_name = "CLAVE", value_parser = clave)]
    clave: Option<Clave>,
    /// How a bar is divided
    #[arg(long, value_name = "GRID", default_value = Grid::Eighths.name(), value_parser = hands::grid())]
    grid: Grid,
    /// The written sticking, a letter L, R or `?` for each stroke
    #[arg(long, value_name = "HANDS")]
    sticking: Option<String>,
    #[command(flatten)]
    player: PlayerArgs,
    /// Exactly this many times round from the first pulse
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=MOST_CYCLES as i64))]
    cycles: Option<u32>,
    /// Milliseconds by which your taps are known to come late, negative if they come early; taken off each tap
    #[arg(long, value_name = "MS", default_value = "0", allow_negative_numbers = true, value_parser = lead)]
    lead: f64,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// Most bytes of taps that are read.
const MOST_BYTES: u64 = 4 << 20;

fn clave(text: &str) -> Result<Clave, String> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let family = |w: &str| Family::ALL.into_iter().find(|f| f.name() == w);
    let direction = |w: &str| Direction::ALL.into_iter().find(|d| d.name() == w);
    let found = match words[..] {
        [f, d] => family(f).zip(direction(d)),
        [d] => Some(Family::Son).zip(direction(d)),
        _ => None,
    };
    let found = found.map(|(family, direction)| Clave { family, direction });
    found.ok_or("a clave is `son 2-3`, `son 3-2`, `rumba 2-3` or `rumba 3-2`".to_string())
}

fn lead(text: &str) -> Result<f64, String> {
    match text.parse() {
        Ok(ms) if (-1000.0..=1000.0).contains(&ms) => Ok(ms),
        _ => Err("a lead is a number of milliseconds from -1000 to 1000".to_string()),
    }
}

/// Grades the taps.
///
/// # Errors
/// Where the pattern or the taps cannot be read.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let task = task(args)?;
    let name = match args.taps.as_str() {
        input::STDIN => "standard input",
        path => path,
    };
    let text = input::open(Path::new(&args.taps))
        .map_err(Into::into)
        .and_then(|from| input::read_text(from, MOST_BYTES))
        .with_context(|| format!("{name} cannot be read as taps"))?;
    let taps = taps::read_taps(&text).with_context(|| name.to_string())?;
    let verdict = taps::grade(&task, &taps);
    if args.json {
        writeln!(
            out,
            "{}",
            serde_json::to_string(&data::data(args.tempo, &task, &verdict))?
        )?;
    } else {
        write!(out, "{}", show(&task, &verdict))?;
        if let Some(first) = first_pulse(&task, &taps, &verdict) {
            writeln!(
                out,
                "Counted from the first tap it would be right: does the first pulse come at {first:.3} s? Take that off each time."
            )?;
        }
        write!(out, "\n{HANDS}\n")?;
    }
    Ok(Exit::Clean)
}

fn task(args: &Args) -> anyhow::Result<TapTask> {
    let text = args.pattern.trim();
    let mut task = match side::onsets(text, args.grid)? {
        Some(onsets) => {
            let task = TapTask::of_onsets(args.grid, &onsets, args.tempo);
            let task = task.context("the pattern is not whole bars")?;
            match &args.sticking {
                Some(sticking) => {
                    let part = hands::with_sticking(task.part(), sticking)?;
                    task.with_part(part)
                }
                None => task,
            }
        }
        None => {
            let part = hands::read(text, args.grid, args.sticking.as_deref())
                .with_context(|| format!("`{text}` cannot be read as strokes"))?;
            TapTask::new(part, args.tempo)
        }
    };
    if task.part().strokes().next().is_none() {
        bail!("nothing is struck in `{text}`; write `x` or a stroke letter where it is");
    }
    if let Some(clave) = args.clave {
        task = task.over(clave);
    }
    if let Some(cycles) = args.cycles {
        task = task.times(cycles as usize);
    }
    Ok(task
        .by(args.player.player())
        .with_lead(Seconds::new(args.lead / 1000.0)))
}

/// When the first pulse comes in taps that are counted from somewhere else, such as the start of a recording: they are right where
/// the first one is the first stroke, and not as they stand. Whole bars later they are another answer, not another start.
fn first_pulse(task: &TapTask, taps: &[Tap], verdict: &TapVerdict) -> Option<Seconds> {
    let (stroke, _) = task.part().strokes().next()?;
    let start = taps.iter().map(|tap| tap.seconds).reduce(Seconds::min)?;
    let first = start - stroke as f64 * task.pulse_seconds();
    let bar = task.pulse_seconds() * task.part().grid().pulses_per_bar() as f64;
    let from_bar_line = first - bar * (first / bar).round();
    if verdict.right || from_bar_line.abs() <= COMMON {
        return None;
    }
    let moved = |tap: &Tap| Tap {
        seconds: tap.seconds - first,
        ..*tap
    };
    let moved: Vec<Tap> = taps.iter().map(moved).collect();
    taps::grade(task, &moved).right.then_some(first)
}

/// The rounds in which something was to be tapped, the last one counted.
fn rounds(played: &Played) -> Option<(usize, usize)> {
    let matched = played.matched.iter().map(|p| p.place.cycle);
    let all = || matched.clone().chain(played.missed.iter().map(|p| p.cycle));
    Some((all().min()?, all().max()?))
}

fn word(verdict: &TapVerdict) -> &'static str {
    match (verdict.right, verdict.partly) {
        (true, _) => "right",
        (_, true) => "partly",
        _ => "missed",
    }
}

/// The grading for a player: the word, the grid with what was played under what was due, and the rest in words.
fn show(task: &TapTask, verdict: &TapVerdict) -> String {
    let head = match (word(verdict), verdict.in_time) {
        ("right", true) => "Right, in time",
        ("right", false) if verdict.played.swing.is_some() => "Right, but not even",
        ("right", false) => "Right, but not steady",
        ("partly", _) => "Partly right",
        _ => "Missed",
    };
    let jury = match verdict.level {
        PerformanceLevel::Perfect => "perfect",
        PerformanceLevel::Minor => "minor mistakes",
        PerformanceLevel::Major => "major mistakes",
        PerformanceLevel::Off => "completely off",
    };
    format!(
        "{head}: {}\n\n{}\n{}.\nA music school jury would call it: {jury}.\n",
        verdict.named(task),
        rows::drawn(task, &verdict.played),
        verdict.told(task, None).join(";\n")
    )
}
