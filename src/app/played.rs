//! The command `played`: how well taps go with a part.

use super::{Exit, hands, input, side};
use crate::clave::{Clave, Direction, Family};
use crate::hands::{HANDS, Handed, Level, Player};
use crate::rhythm::Grid;
use crate::rhythm::notation::write_line;
use crate::taps::{
    self, MOST_CYCLES, PerformanceLevel, Played, Steadiness, StrokePlace, TapTask, TapVerdict,
    TappedDirection, TappedHands,
};
use anyhow::{Context, bail};
use serde::Serialize;
use std::fs::File;
use std::io::{self, Write};

/// Say how well taps go with a part: strokes missed and added, how tight, which direction, which hands
///
/// PATTERN is `x` a stroke and `.` none, or strokes as the command `hands` reads them. TAPS is a file, or `-` for standard
/// input: a line a tap, seconds from the first pulse, then L or R if you like; empty lines and what follows a # mean
/// nothing. The part goes round as often as it was tapped; a first or last round with less than half of its strokes
/// counts only as far as it was tapped. A delay of up to 150 ms that all taps have in common is not blamed.
///
/// A stroke is matched by a tap within half a pulse; a steady drift is followed, and strokes that it takes further from
/// their place are displaced.
///
/// With --json, times are in milliseconds; cycles, pulses and taps count from 0; a cycle is once round PATTERN. matched,
/// missed, added, displaced: how many strokes; wrong: all that are wrong, one exchanged for another counted once; early,
/// late: matched ones that are 50 ms (or a quarter of a pulse) off the rest; shift: what the taps are off in common where
/// that is more than 150 ms; mean: mean asynchrony, negative is ahead; spread: standard deviation about the trend;
/// unevenness: that of the steps from stroke to stroke, over root 2; drift: by how much each cycle comes later than the
/// one before; hesitations: how often it stopped and went on elsewhere; direction: as-written, other, unclear, or null
/// where the part is the same in both; tapped: 2-3, 3-2 or null; tapped_clave: such as son 2-3, of a PATTERN that is a
/// clave; hands: as-written, another (that works), neither or null; correct, guess: from 0 to 1; score: correct, less for
/// scatter; verdict: right, partly or missed; in_time; level: as juries of music schools grade, perfect, minor, major or
/// off; steadiness: musician, untrained or loose; pairs, missed_strokes, added_taps: one by one.
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
    #[arg(long, value_name = "N", value_parser = hands::tempo)]
    bpm: f64,
    /// The clave under the first bar, such as "son 2-3"; a PATTERN that is a clave is turned to it
    #[arg(long, value_name = "CLAVE", value_parser = clave)]
    clave: Option<Clave>,
    /// How a bar is cut
    #[arg(long, value_name = "GRID", default_value = Grid::Eighths.name(), value_parser = hands::grid())]
    grid: Grid,
    /// The sticking that is written, a letter L, R or `?` for each stroke
    #[arg(long, value_name = "HANDS")]
    sticking: Option<String>,
    /// How trained your hands are
    #[arg(long, value_name = "LEVEL", default_value = Level::Practised.name(), value_parser = hands::level())]
    level: Level,
    /// The left hand is the stronger one, the drums stand in mirror image
    #[arg(long)]
    left_handed: bool,
    /// So many times round from the first pulse, no more and no fewer
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=MOST_CYCLES as i64))]
    cycles: Option<u32>,
    /// Milliseconds by which your taps are known to come late, negative where ahead; taken off each
    #[arg(long, value_name = "MS", default_value = "0", allow_negative_numbers = true, value_parser = lead)]
    lead: f64,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// Most bytes of taps that are read.
const MOST_BYTES: u64 = 4 << 20;
/// Most rounds that are drawn.
const DRAWN: usize = 12;

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
    let text = match args.taps.as_str() {
        "-" => input::read_text(io::stdin().lock(), MOST_BYTES)
            .context("standard input cannot be read as taps"),
        path => File::open(path)
            .map_err(Into::into)
            .and_then(|file| input::read_text(file, MOST_BYTES))
            .with_context(|| format!("{path} cannot be read as taps")),
    }?;
    let name = match args.taps.as_str() {
        "-" => "standard input",
        path => path,
    };
    let taps = taps::read_taps(&text).with_context(|| name.to_string())?;
    let verdict = taps::grade(&task, &taps);
    if args.json {
        writeln!(
            out,
            "{}",
            serde_json::to_string(&data(args, &task, &verdict))?
        )?;
    } else {
        write!(out, "{}\n{HANDS}\n", show(&task, &verdict))?;
    }
    Ok(Exit::Clean)
}

fn task(args: &Args) -> anyhow::Result<TapTask> {
    let player = Player {
        level: args.level,
        handed: match args.left_handed {
            true => Handed::Left,
            false => Handed::Right,
        },
    };
    let text = args.pattern.trim();
    let mut task = match side::onsets(text, args.grid)? {
        Some(onsets) => {
            let task = TapTask::of_onsets(args.grid, &onsets, args.bpm);
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
            TapTask::new(part, args.bpm)
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
    Ok(task.by(player).with_lead(args.lead / 1000.0))
}

/// What `--json` writes. Times in milliseconds.
#[derive(Serialize)]
struct PlayedData {
    pattern: String,
    grid: Grid,
    bpm: f64,
    cycles: usize,
    strokes: usize,
    taps: usize,
    matched: usize,
    missed: usize,
    added: usize,
    displaced: usize,
    wrong: usize,
    early: usize,
    late: usize,
    shift: Option<f64>,
    mean: Option<f64>,
    spread: Option<f64>,
    unevenness: Option<f64>,
    drift: Option<f64>,
    hesitations: usize,
    direction: Option<TappedDirection>,
    tapped: Option<Direction>,
    tapped_clave: Option<String>,
    hands: Option<&'static str>,
    hands_reason: Option<String>,
    correct: f64,
    guess: f64,
    score: f64,
    verdict: &'static str,
    in_time: bool,
    level: PerformanceLevel,
    steadiness: Option<Steadiness>,
    pairs: Vec<PairData>,
    missed_strokes: Vec<StrokePlace>,
    added_taps: Vec<AddedData>,
}

#[derive(Serialize)]
struct PairData {
    #[serde(flatten)]
    place: StrokePlace,
    tap: usize,
    late: f64,
}

#[derive(Serialize)]
struct AddedData {
    #[serde(flatten)]
    place: StrokePlace,
    tap: usize,
    seconds: f64,
}

/// Milliseconds to a thousandth.
fn ms(seconds: f64) -> f64 {
    (seconds * 1e6).round() / 1e3
}

/// The rounds in which something was to be tapped, the last one counted.
fn cycles(played: &Played) -> Option<(usize, usize)> {
    let matched = played.matched.iter().map(|p| p.place.cycle);
    let all = || matched.clone().chain(played.missed.iter().map(|p| p.cycle));
    Some((all().min()?, all().max()?))
}

fn data(args: &Args, task: &TapTask, verdict: &TapVerdict) -> PlayedData {
    let played = &verdict.played;
    PlayedData {
        pattern: write_line(task.part()),
        grid: task.part().grid(),
        bpm: args.bpm,
        cycles: cycles(played).map_or(0, |(first, last)| last - first + 1),
        strokes: played.matched.len() + played.missed.len(),
        taps: played.taps.len(),
        matched: played.matched.len(),
        missed: played.missed.len(),
        added: played.added.len(),
        displaced: played.displaced,
        wrong: played.wrong,
        early: played.early,
        late: played.late,
        shift: played.shift.map(ms),
        mean: played.mean.map(ms),
        spread: played.spread.map(ms),
        unevenness: played.unevenness.map(ms),
        drift: played.drift.map(ms),
        hesitations: played.hesitations,
        direction: played.direction,
        tapped: played.tapped,
        tapped_clave: tapped_clave(played).map(|c| c.to_string()),
        hands: played.hands.as_ref().map(|h| match h {
            TappedHands::AsWritten => "as-written",
            TappedHands::Another => "another",
            TappedHands::Neither { .. } => "neither",
        }),
        hands_reason: match &played.hands {
            Some(TappedHands::Neither { reason, .. }) => Some(reason.clone()),
            _ => None,
        },
        correct: verdict.correct,
        guess: verdict.guess,
        score: verdict.score,
        verdict: word(verdict),
        in_time: verdict.in_time,
        level: verdict.level,
        steadiness: verdict.steadiness,
        pairs: played
            .matched
            .iter()
            .map(|p| PairData {
                place: p.place,
                tap: p.tap,
                late: ms(p.late),
            })
            .collect(),
        missed_strokes: played.missed.clone(),
        added_taps: played
            .added
            .iter()
            .map(|a| AddedData {
                place: a.place,
                tap: a.tap,
                seconds: played.taps[a.tap].seconds,
            })
            .collect(),
    }
}

fn tapped_clave(played: &Played) -> Option<Clave> {
    let (family, direction) = played.family.zip(played.tapped)?;
    Some(Clave { family, direction })
}

fn word(verdict: &TapVerdict) -> &'static str {
    match (verdict.right, verdict.partly) {
        (true, _) => "right",
        (_, true) => "partly",
        _ => "missed",
    }
}

/// The grading for a player: the word, the grid with what was played under what was due, and the figures.
fn show(task: &TapTask, verdict: &TapVerdict) -> String {
    let played = &verdict.played;
    let head = match (word(verdict), verdict.in_time) {
        ("right", true) => "Right, in time",
        ("right", false) => "Right, but not steady",
        ("partly", _) => "Partly right",
        _ => "Missed",
    };
    let strokes = played.matched.len() + played.missed.len();
    let mut text = format!(
        "{head}: {} of {strokes} strokes in their places, {} missed, {} added\n\n",
        played.matched.len(),
        played.missed.len(),
        played.added.len()
    );
    text += &drawn(task, played);
    text += "\n";
    for line in told(task, verdict) {
        text += &format!("- {line}\n");
    }
    text
}

fn onsets(task: &TapTask) -> Vec<bool> {
    task.part().cells().iter().map(Option::is_some).collect()
}

/// One mark a pulse of a round.
fn marks(task: &TapTask, played: &Played, cycle: usize) -> Vec<char> {
    let mut row = vec!['.'; task.part().pulses()];
    for added in played.added.iter().filter(|a| a.place.cycle == cycle) {
        row[added.place.pulse] = '+';
    }
    for missed in played.missed.iter().filter(|p| p.cycle == cycle) {
        row[missed.pulse] = '-';
    }
    for pair in played.matched.iter().filter(|p| p.place.cycle == cycle) {
        row[pair.place.pulse] = match played.lean(pair, task.pulse_seconds()) {
            -1 => '<',
            1 => '>',
            _ => 'x',
        };
    }
    row
}

/// Two bars a line: the count, the part, and each round as it was played.
fn drawn(task: &TapTask, played: &Played) -> String {
    let part = task.part();
    let grid = part.grid();
    let per = grid.pulses_per_bar();
    let letter = |p: usize| part.at(p).map_or('.', |s| s.tone.letter());
    let mut rows: Vec<(String, Vec<char>)> = vec![
        (
            "count".to_string(),
            (0..part.pulses()).map(|p| grid.count(p)).collect(),
        ),
        ("part".to_string(), (0..part.pulses()).map(letter).collect()),
    ];
    if part.hands().iter().any(Option::is_some) {
        let hand = |p: usize| part.at(p).and_then(|s| s.hand).map_or('.', |h| h.letter());
        rows.push(("hand".to_string(), (0..part.pulses()).map(hand).collect()));
    }
    let (first, last) = cycles(played).unwrap_or((0, 0));
    for cycle in first..=last.min(first + DRAWN - 1) {
        rows.push((format!("round {}", cycle + 1), marks(task, played, cycle)));
    }
    let mut text = String::new();
    for start in (0..part.bars()).step_by(2) {
        for (name, row) in &rows {
            let bars = row.chunks(per).skip(start).take(2);
            let bars = bars.map(|b| b.iter().map(char::to_string).collect::<Vec<_>>().join(" "));
            let bars: Vec<String> = bars.collect();
            text += &format!("{name:>9}  {}\n", bars.join(" | "));
        }
        text += "\n";
    }
    if last >= first + DRAWN {
        text += &format!("           and {} rounds more\n", last + 1 - first - DRAWN);
    }
    text += "           x in its place, < early, > late, - missed, + added\n";
    text
}

fn told(task: &TapTask, verdict: &TapVerdict) -> Vec<String> {
    let played = &verdict.played;
    let mut lines = Vec::new();
    match (played.direction, played.tapped) {
        (Some(TappedDirection::AsWritten), Some(d)) => {
            lines.push(format!("It was tapped in {}, as written.", d.name()));
            if let Some(clave) = tapped_clave(played).filter(|c| c.onsets(task.part().grid()) != onsets(task)) {
                lines.push(format!("It was the {} clave.", clave.family.name()));
            }
        }
        (Some(TappedDirection::Other), Some(d)) => lines.push(format!(
            "It was tapped in {}, the other direction; the strokes are counted as they were tapped.",
            d.name()
        )),
        (Some(TappedDirection::Other), None) => lines.push(
            "It was tapped the other way round, its bars exchanged; the strokes are counted as they were tapped."
                .to_string(),
        ),
        (Some(TappedDirection::Unclear), _) => {
            lines.push("The direction cannot be told from these taps.".to_string());
        }
        _ => {}
    }
    if let Some(mean) = played.mean {
        let way = if mean < 0.0 { "ahead" } else { "behind" };
        lines.push(format!(
            "On average {:.0} ms {way}: the machine's delay or your own lead, not counted against you.",
            1000.0 * mean.abs()
        ));
    }
    if let Some(shift) = played.shift {
        let way = if shift < 0.0 { "ahead" } else { "behind" };
        lines.push(format!(
            "All of it came {:.0} ms {way}, {:.1} pulses: more than a machine's delay, so it is off its place.",
            1000.0 * shift.abs(),
            shift.abs() / task.pulse_seconds()
        ));
    }
    if played.displaced > 0 {
        lines.push(format!(
            "{} strokes have drifted more than half a pulse from their places.",
            played.displaced
        ));
    }
    if let (Some(spread), Some(steadiness)) = (played.spread, verdict.steadiness) {
        let like = match steadiness {
            Steadiness::Musician => "as musicians tap (up to 4 %)",
            Steadiness::Untrained => "as people without training tap (4 to 8 %)",
            Steadiness::Loose => "looser than people without training tap (4 to 8 %)",
        };
        lines.push(format!(
            "Spread {:.0} ms, {:.1} % of the mean time between strokes: {like}.",
            1000.0 * spread,
            100.0 * spread / task.mean_interval()
        ));
    }
    if let Some(drift) = played.drift {
        let way = if drift < 0.0 { "earlier" } else { "later" };
        lines.push(format!(
            "Each round comes {:.0} ms {way} than the one before.",
            1000.0 * drift.abs()
        ));
    }
    match played.hesitations {
        0 => {}
        1 => lines.push("Once it stopped and went on elsewhere.".to_string()),
        n => lines.push(format!("{n} times it stopped and went on elsewhere.")),
    }
    match &played.hands {
        Some(TappedHands::AsWritten) => lines.push("The hands are as written.".to_string()),
        Some(TappedHands::Another) => {
            lines.push("The hands are another sticking that works at this tempo.".to_string());
        }
        Some(TappedHands::Neither { reason, .. }) => {
            lines.push(format!("The hands are not what players do: {reason}"));
        }
        None => {}
    }
    let jury = match verdict.level {
        PerformanceLevel::Perfect => "perfect",
        PerformanceLevel::Minor => "minor mistakes",
        PerformanceLevel::Major => "major mistakes",
        PerformanceLevel::Off => "completely off",
    };
    lines.push(format!("A jury of a music school would call it: {jury}."));
    lines
}
