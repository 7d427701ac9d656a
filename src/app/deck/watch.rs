//! `whichside deck watch`: a deck checked and played at each save.

use crate::app::sounding::{News, Sounding};
use crate::app::{Exit, check, deck_library, input};
use crate::deck::{self, Card, Deck};
use crate::rhythm::{Line, Score, counted};
use crate::sound::Take;
use std::io::Write;
use std::path::PathBuf;
use std::thread;
use std::time::{Duration, Instant};

/// How often the file is looked at.
const LOOK: Duration = Duration::from_millis(250);

/// Looks in vain after which it is said that the file cannot be read.
const PATIENCE: u32 = 4;

/// Check a deck at each save and play the card that you changed; Ctrl-C stops it
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The deck file
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Check only, without sound
    #[arg(long)]
    silent: bool,
    /// Stop after this many seconds
    #[arg(long, value_name = "N")]
    seconds: Option<f64>,
}

pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let name = args.file.display().to_string();
    if name == input::STDIN {
        anyhow::bail!("standard input cannot be watched; name a file");
    }
    let began = Instant::now();
    let mut sounding = match args.silent {
        true => None,
        false => match Sounding::open(None, None) {
            Ok(sounding) => Some(sounding),
            Err(error) => {
                writeln!(out, "Without sound: {error}")?;
                None
            }
        },
    };
    let mut text = deck_library::read_text(&args.file)?;
    let mut deck = report(&name, &text, None, sounding.as_mut(), out)?;
    let mut in_vain = 0;
    while args
        .seconds
        .is_none_or(|s| began.elapsed().as_secs_f64() < s)
    {
        thread::sleep(LOOK);
        if let Some(sounding) = &mut sounding {
            sounding.settle();
            match sounding.poll() {
                Some(News::Lost(why)) => writeln!(out, "No sound: {why}")?,
                Some(News::Back) => writeln!(out, "The sound is back; the next change is played.")?,
                Some(News::Heard(_)) | None => {}
            }
        }
        // An editor may write the file anew: for a moment it is not there, or not whole.
        let now = match deck_library::read_text(&args.file) {
            Ok(now) => now,
            Err(error) => {
                in_vain += 1;
                if in_vain == PATIENCE {
                    writeln!(out, "---\n{error:#}; what was read before still counts")?;
                    out.flush()?;
                }
                continue;
            }
        };
        in_vain = 0;
        if now != text {
            text = now;
            deck = report(&name, &text, Some(deck), sounding.as_mut(), out)?;
        }
    }
    Ok(Exit::Clean)
}

/// Says what is wrong, plays what changed, and gives the deck back.
fn report(
    name: &str,
    text: &str,
    before: Option<Deck>,
    sounding: Option<&mut Sounding>,
    out: &mut dyn Write,
) -> anyhow::Result<Deck> {
    let files = [(name.to_string(), text.to_string())];
    let found = deck::check(&files, &check::setting()).remove(0);
    let (deck, _) = deck::read(name, text);
    writeln!(out, "---")?;
    match found.is_empty() {
        true => writeln!(
            out,
            "{name}: {}, all is well",
            counted(deck.cards.len(), "card")
        )?,
        false => write!(out, "{}", check::drawn(&found, text))?,
    }
    if let Some(card) = deck::changed_card(before.as_ref(), &deck) {
        write!(out, "\n{}", deck::show(card, &super::asked(card)))?;
        if let Some(sounding) = sounding.filter(|_| card.choice.is_none()) {
            sounding.play(&take(card), true);
        }
    }
    out.flush()?;
    Ok(deck)
}

/// The card as it sounds with its clave, in the middle of its tempo range.
fn take(card: &Card) -> Take {
    let mut score: Score = card.score.clone();
    if let Some(clave) = card.clave {
        let line: Line = clave.line(card.grid);
        score.set_line(line);
    }
    Take::new(score, card.tempo.0.toward(card.tempo.1, 0.5), 0)
}
