//! The command `hands`: which sticking fits a pattern at a tempo.

use super::named::one_of;
use super::{Exit, input};
use crate::hands::{self, Handed, Level, Player, Refusal, Rudiment, Sticking};
use crate::rhythm::notation::{read_block, read_line, write_block, write_line};
use crate::rhythm::{Grid, Hand, Pattern, Reason, Score, Tempo};
use anyhow::{Context, anyhow, bail};
use clap::builder::TypedValueParser;
use serde::Serialize;
use std::io::{self, Write};

/// Find the hands for a pattern at a tempo, and say why
///
/// Strokes are O open tone, S slap, C closed slap, M muffled tone, B bass, H heel, T tip, and `.` for a rest; `t`
/// before a letter is the low drum, `q` the quinto; `>O` is an accent, `(T)` a ghost; `|` or `/` separates bars. Rows
/// of a deck, with a count row, work too. Tempos are estimates: the model was never tried on players.
///
/// With --json pulses count from 0 and `hands` has one letter for each pulse.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example: whichside hands \"H T S tO tO T O O / H T S T H T O O\" --bpm 160"
)]
pub struct Args {
    /// The pattern, or `-` to read one from each line of standard input
    #[arg(value_name = "PATTERN", allow_hyphen_values = true)]
    pattern: String,
    /// Tempo in beats a minute: quarter notes, in 6/8 dotted quarter notes
    #[arg(long = "bpm", value_name = "N", default_value = "120", value_parser = parse_tempo)]
    tempo: Tempo,
    #[command(flatten)]
    player: PlayerArgs,
    /// How a bar is divided; rows of a deck say so themselves
    #[arg(long, value_name = "GRID", default_value = Grid::Eighths.name(), value_parser = grid())]
    grid: Grid,
    /// Your own sticking, a letter L, R or `?` for each stroke: is it fast enough?
    #[arg(long, value_name = "HANDS")]
    sticking: Option<String>,
    /// Write one JSON object for each pattern
    #[arg(long)]
    json: bool,
}

/// Whose hands play.
#[derive(Clone, Copy, Debug, clap::Args)]
pub(super) struct PlayerArgs {
    /// How trained your hands are
    #[arg(long, value_name = "LEVEL", default_value = Level::Practised.name(), value_parser = one_of(&Level::ALL, |l| l.name().into()))]
    level: Level,
    /// The left hand is the stronger one, and the drums are set up in mirror image
    #[arg(long)]
    left_handed: bool,
}

impl PlayerArgs {
    pub(super) fn player(self) -> Player {
        let handed = match self.left_handed {
            true => Handed::Left,
            false => Handed::Right,
        };
        let level = self.level;
        Player { level, handed }
    }
}

pub(super) fn parse_tempo(text: &str) -> Result<Tempo, String> {
    match text.parse() {
        Ok(bpm) if (20.0..=400.0).contains(&bpm) => Ok(Tempo::new(bpm)),
        _ => Err("a tempo is a number from 20 to 400".to_string()),
    }
}

pub(super) fn grid() -> impl TypedValueParser<Value = Grid> {
    one_of(&Grid::ALL, |g| g.name().into())
}

/// Answers for the pattern, or for each line of standard input.
///
/// # Errors
/// Where the one pattern cannot be read, or standard input cannot. With `-` a line that cannot be read is reported
/// in its place and the rest is answered; the exit code is then 1.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let mut exit = Exit::Clean;
    if args.pattern == "-" {
        for line in input::lines(io::stdin().lock()) {
            let (number, line) = line.context("standard input")?;
            if let Err(error) = answer(args, &line, out)? {
                exit = Exit::Mistakes;
                refuse(args, number, &line, &error, out)?;
            }
        }
    } else {
        answer(args, &args.pattern, out)??;
    }
    if !args.json {
        writeln!(out, "{}", hands::HANDS)?;
    }
    Ok(exit)
}

/// Says in its place that a line cannot be read.
fn refuse(
    args: &Args,
    number: usize,
    line: &str,
    error: &anyhow::Error,
    out: &mut dyn Write,
) -> io::Result<()> {
    if args.json {
        let object = serde_json::json!({
            "line": number,
            "pattern": line,
            "error": format!("{error:#}"),
        });
        return writeln!(out, "{object}");
    }
    writeln!(out, "line {number}: {error:#}\n")
}

/// Writes the answer for one pattern. The inner result is the pattern's fault, the outer one the output's.
fn answer(args: &Args, text: &str, out: &mut dyn Write) -> io::Result<anyhow::Result<()>> {
    let pattern = match read(text, args.grid, args.sticking.as_deref()) {
        Ok(pattern) => pattern,
        Err(error) => return Ok(Err(error)),
    };
    let found = Found::new(pattern, args.tempo, args.player.player());
    if args.json {
        writeln!(out, "{}", serde_json::to_string(&found.as_data())?)?;
    } else {
        writeln!(out, "{}", found.as_text())?;
    }
    Ok(Ok(()))
}

/// A pattern of the command line in strokes, on one line or in the rows of a deck, with the sticking given there.
///
/// # Errors
/// Where one of them cannot be read.
pub(super) fn read(text: &str, grid: Grid, sticking: Option<&str>) -> anyhow::Result<Pattern> {
    let pattern = if text.contains('\n') {
        let (score, problems) = read_block(text);
        if let Some(problem) = problems.first() {
            let line = text[..problem.span.start].lines().count().max(1);
            bail!("row {line}: {}; {}", problem.message, problem.mend);
        }
        let drums = score.and_then(|s| s.drums);
        drums.context("there is no drum row; a row is `conga | H T S T H T O O |`")?
    } else {
        read_line(text, grid)?
    };
    match sticking {
        None => Ok(pattern),
        Some(sticking) => with_sticking(&pattern, sticking),
    }
}

pub(super) fn with_sticking(pattern: &Pattern, sticking: &str) -> anyhow::Result<Pattern> {
    let mut given = Vec::new();
    for letter in sticking.chars() {
        match letter.to_ascii_uppercase() {
            '?' => given.push(None),
            '|' | '/' | '.' => {}
            c if c.is_whitespace() => {}
            c => given.push(Some(Hand::from_letter(c).ok_or_else(|| {
                anyhow!("`{letter}` in the sticking is not a hand; write L, R or `?`")
            })?)),
        }
    }
    let strokes = pattern.strokes().count();
    if given.len() != strokes {
        bail!(
            "the sticking has {} hands, the pattern {strokes} strokes; write one letter for each stroke",
            given.len()
        );
    }
    Ok(pattern.with_hands(&given))
}

/// A pattern with what was found.
struct Found {
    pattern: Pattern,
    tempo: Tempo,
    player: Player,
    sticking: Sticking,
    /// Pulses whose other hand is as right, all else as it is, see [`hands::either`].
    either: Vec<usize>,
    /// Why players would not use the sticking that was given.
    refused: Option<Refusal>,
    /// The roll or rudiment that the sticking given is.
    rudiment: Option<&'static Rudiment>,
}

/// What `--json` writes.
#[derive(Serialize)]
struct Data<'a> {
    pattern: String,
    grid: Grid,
    #[serde(rename = "bpm")]
    tempo: Tempo,
    level: Level,
    handed: Handed,
    /// One letter a pulse, `.` where nothing is struck.
    hands: String,
    /// Peak load at this tempo; above 1 is too fast.
    load: f64,
    /// Fastest tempo of this sticking, an estimate; null where nothing is struck.
    ceiling: Tempo,
    too_fast: bool,
    /// A sticking that works where this one is too fast or not what players do.
    instead: Option<String>,
    /// The roll or rudiment that the given sticking is.
    rudiment: Option<&'static str>,
    /// Why players would not use the given sticking at this tempo.
    refused: Option<&'a str>,
    /// Pulses whose stroke the other hand would play as well, one at a time.
    either: &'a [usize],
    leave_out: Option<LeftOut>,
    reasons: &'a [Reason],
}

#[derive(Serialize)]
struct LeftOut {
    pulse: usize,
    hands: String,
    load: f64,
    ceiling: Tempo,
}

fn letters(hands: &[Option<Hand>]) -> String {
    let letter = |h: &Option<Hand>| h.map_or('.', Hand::letter);
    hands.iter().map(letter).collect()
}

impl Found {
    fn new(pattern: Pattern, tempo: Tempo, player: Player) -> Found {
        let mut sticking = hands::stick(&pattern, tempo, &player);
        let with = |hands: &[Option<Hand>]| pattern.with_each_hand(|p, _| hands[p]);
        let given = pattern.has_full_sticking();
        let refused = hands::judge(&with(&sticking.hands), tempo, &player)
            .err()
            .filter(|_| given && !sticking.too_fast);
        if refused.is_some() {
            let open = pattern.with_hands(&[]);
            let found = hands::stick(&open, tempo, &player);
            if !found.too_fast && hands::judge(&with(&found.hands), tempo, &player).is_ok() {
                sticking.instead = Some(found.hands);
            }
        }
        let either = match sticking.too_fast {
            true => Vec::new(),
            false => hands::either(&with(&sticking.hands), tempo, &player),
        };
        Found {
            rudiment: hands::rudiment(&pattern),
            pattern,
            tempo,
            player,
            sticking,
            either,
            refused,
        }
    }

    /// Whether the strokes may be those of a roll or rudiment whose sticking was not given.
    fn may_be_a_rudiment(&self) -> bool {
        let open = self.pattern.hands().iter().all(Option::is_none);
        open && self.pattern.strokes().count() > 3 && hands::is_even(&self.pattern)
    }

    fn as_data(&self) -> Data<'_> {
        let s = &self.sticking;
        Data {
            pattern: write_line(&self.pattern),
            grid: self.pattern.grid(),
            tempo: self.tempo,
            level: self.player.level,
            handed: self.player.handed,
            hands: letters(&s.hands),
            load: s.load,
            ceiling: s.works_to,
            too_fast: s.too_fast,
            instead: s.instead.as_deref().map(letters),
            rudiment: self.rudiment.map(|r| r.name),
            refused: self.refused.as_ref().map(|r| r.text.as_str()),
            either: &self.either,
            leave_out: s.leave_out.as_ref().map(|l| LeftOut {
                pulse: l.pulse,
                hands: letters(&l.hands),
                load: l.load,
                ceiling: l.works_to,
            }),
            reasons: &s.reasons,
        }
    }

    fn as_text(&self) -> String {
        let s = &self.sticking;
        let unit = self.pattern.grid().beat_unit();
        let handed = match self.player.handed {
            Handed::Right => "right-handed",
            Handed::Left => "left-handed",
        };
        let mut text = self.grid_with(&s.hands);
        text += &format!(
            "\n{} {unit} notes a minute, {}, {handed}\n",
            self.tempo,
            self.player.level.name()
        );
        for reason in &s.reasons {
            text += &format!("- {}\n", reason.text);
        }
        let strokes = self.pattern.strokes().count();
        if strokes == 0 {
            text += "- Nothing is struck here.\n";
        } else if !self.either.is_empty() {
            let pulses = hands::said_all(&self.pattern, &self.either);
            text += &format!(
                "- The other hand would do just as well on {pulses}, one stroke at a time.\n"
            );
        }
        if let Some(rudiment) = self.rudiment {
            text += &format!("- Given as a {}.\n", rudiment.name);
        }
        if self.may_be_a_rudiment() {
            text += "- These are the hands for single strokes. The sticking of a roll or rudiment (double strokes, \
                     paradiddle, six stroke roll) is its definition: give it with --sticking.\n";
        }
        if let Some(refused) = &self.refused {
            text += &format!("- Not what players do: {}\n", refused.text);
        }
        if let Some(instead) = &s.instead {
            text += &format!("\nThis works instead:\n{}", self.grid_with(instead));
        }
        text
    }

    /// The pattern as rows: count, drums, hands.
    fn grid_with(&self, hands: &[Option<Hand>]) -> String {
        write_block(&Score::of(self.pattern.with_each_hand(|p, _| hands[p])))
    }
}
