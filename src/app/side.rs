//! The command `side`: on which side of the clave a pattern lies.

use super::named::one_of;
use super::{Exit, hands, input};
use crate::clave::{
    self, Alignment, Clave, Family, LowDrum, Reading, SalientOnsets, SideClassifier, SideVerdict,
};
use crate::rhythm::{Grid, Pattern, notation, spaced};
use anyhow::{Context, bail};
use clap::builder::PossibleValue;
use serde::Serialize;
use std::io::{self, BufRead, Write};

/// Say which side of the clave a part states, and why
///
/// PATTERN is two bars of eighths as 16 characters, `x` a stroke and `.` none, or any number of bars in strokes
/// (`HTSTHTOO | HTSTHTOT`: O open, S slap, C closed slap, M muffled, B bass, H heel, T tip, `>` before an accent,
/// brackets round a ghost, `t` before a stroke of the low drum). With `-` it reads one 16-character pattern from each
/// line and writes one JSON object for each.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The pattern, or `-` for many, one a line
    #[arg(value_name = "PATTERN")]
    pattern: String,
    /// How its bars are divided
    #[arg(long, default_value = Grid::Eighths.name(), value_parser = hands::grid())]
    grid: Grid,
    /// Side on which your school brings in the low drum
    #[arg(long, value_name = "SIDE", value_parser = one_of(&[LowDrum::OnThreeSide, LowDrum::OnTwoSide], low_drum))]
    low_drum: Option<LowDrum>,
    /// Write JSON
    #[arg(long)]
    json: bool,
}

fn low_drum(side: &LowDrum) -> PossibleValue {
    match side {
        LowDrum::OnThreeSide => "three".into(),
        LowDrum::OnTwoSide => "two".into(),
    }
}

/// A reading with the pattern that it is about.
#[derive(Serialize)]
struct SideReport<'a> {
    pulses: &'a str,
    #[serde(flatten)]
    reading: &'a Reading,
}

/// Reads the pattern, or all patterns of standard input.
///
/// # Errors
/// Where the pattern cannot be read.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    if args.pattern == "-" {
        return lines(io::stdin().lock(), out);
    }
    let (reading, strong) = read(args)?;
    if args.json {
        let pulses = args.pattern.as_str();
        let told = serde_json::to_string(&SideReport {
            pulses,
            reading: &reading,
        })?;
        writeln!(out, "{told}")?;
    } else {
        write!(out, "{}", show(&reading, &strong))?;
    }
    Ok(Exit::Clean)
}

/// One pattern a line in, one JSON object a line out. A line that cannot be read stops nothing: its object holds the
/// mistake, and the exit code tells of it.
fn lines(from: impl BufRead, out: &mut dyn Write) -> anyhow::Result<Exit> {
    #[derive(Serialize)]
    struct Refused<'a> {
        pulses: &'a str,
        error: String,
    }
    let mut exit = Exit::Clean;
    for line in input::lines(from) {
        let (number, line) = line.context("standard input")?;
        let pulses = line.trim();
        let told = match clave::read_onsets(pulses) {
            Ok(reading) => serde_json::to_string(&SideReport {
                pulses,
                reading: &reading,
            })?,
            Err(error) => {
                exit = Exit::Mistakes;
                let error = format!("line {number}, {error}");
                serde_json::to_string(&Refused { pulses, error })?
            }
        };
        writeln!(out, "{told}")?;
    }
    Ok(exit)
}

/// The onsets of a pattern in `x` and `.`; `None` where it is written in anything else.
///
/// # Errors
/// Where they are not whole bars.
pub(super) fn onsets(text: &str, grid: Grid) -> anyhow::Result<Option<Vec<bool>>> {
    let marks = |c: char| matches!(c, 'x' | 'X' | '.' | '|' | '/') || c.is_whitespace();
    if !text.chars().all(marks) {
        return Ok(None);
    }
    let onsets: Vec<bool> = text
        .chars()
        .filter(|c| matches!(c, 'x' | 'X' | '.'))
        .map(|c| c != '.')
        .collect();
    let per = grid.pulses_per_bar();
    if onsets.is_empty() || !onsets.len().is_multiple_of(per) {
        bail!(
            "`{text}` has {} pulses; whole bars of {per} are needed, `x` a stroke and `.` none",
            onsets.len()
        );
    }
    Ok(Some(onsets))
}

fn read(args: &Args) -> anyhow::Result<(Reading, Vec<bool>)> {
    let (grid, low_drum) = (args.grid, args.low_drum);
    let classifier = SideClassifier {
        low_drum,
        ..SideClassifier::default()
    };
    let text = args.pattern.trim();
    if let Some(onsets) = onsets(text, grid)? {
        return Ok((classifier.onsets(grid, &onsets), onsets));
    }
    let pattern: Pattern = notation::read_line(text, grid)
        .with_context(|| format!("`{text}` cannot be read as strokes"))?;
    let strong = SalientOnsets::of_pattern(&pattern).onsets();
    Ok((classifier.pattern(&pattern), strong))
}

/// The reading for a player: the bars on the grid, the clave beneath, and the reasons.
fn show(reading: &Reading, onsets: &[bool]) -> String {
    let mut text = format!("{}\n\n", headline(reading));
    let grid = reading.grid;
    let per = grid.pulses_per_bar();
    let row = |name: &str, cell: &dyn Fn(usize) -> char| {
        let bars = (0..onsets.len() / per).map(|bar| {
            let cells = (bar * per..(bar + 1) * per).map(cell);
            spaced(cells)
        });
        format!("{name:>11}  {}\n", bars.collect::<Vec<_>>().join(" | "))
    };
    let mark = |on: bool| if on { 'x' } else { '.' };
    text += &row("count", &|p| grid.count(p));
    text += &row("part", &|p| mark(onsets[p]));
    if let Some(direction) = reading.verdict.direction() {
        for family in Family::ALL {
            let clave = Clave { family, direction };
            let cycle = clave.onsets(grid);
            text += &row(&format!("{} clave", family.name()), &|p| {
                mark(cycle[p % cycle.len()])
            });
            let met = clave::locks(onsets, clave, grid);
            text += &row("meets", &|p| match met[p] {
                Alignment::Locks => '=',
                _ => ' ',
            });
        }
        text += "             = together with the clave\n";
    }
    if let [bar] = reading.bars[..]
        && let Some(side) = bar.side
    {
        let probability = bar.three.max(1.0 - bar.three);
        text += &format!(
            "\nBy itself this bar leans to the {} ({:.0} %).\n",
            side.name(),
            100.0 * probability
        );
    }
    text += "\n";
    for (reason, _) in reading.reasons() {
        text += &format!("- {reason}\n");
    }
    text
}

fn headline(reading: &Reading) -> String {
    let c = &reading.classes;
    let percent = |p: f64| format!("{:.0} %", 100.0 * p);
    let [three_two, two_three] = [c.three_two, c.two_three].map(percent);
    let [both, crossed] = [c.neutral, c.crossed].map(percent);
    let call = match reading.verdict {
        SideVerdict::Neutral => "fits both sides",
        SideVerdict::Crossed => "crossed: it pulls both ways",
        SideVerdict::Unsure => "cannot tell",
        stated => stated.name(),
    };
    format!("{call} (3-2 {three_two}, 2-3 {two_three}, fits both {both}, crossed {crossed})")
}
