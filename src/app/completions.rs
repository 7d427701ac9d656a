//! The command `completions`: a script with which a shell completes the program's arguments.

use super::cli::DataArgs;
use super::deck_library::DeckLibrary;
use super::{Cli, Exit};
use clap::builder::PossibleValuesParser;
use clap::{Arg, CommandFactory};
use clap_complete::Shell;
use std::io::Write;

/// Print a completion script for a shell
///
/// It knows the decks and cards that exist when it is written: write it again after you add a deck of your own. For
/// bash: whichside completions bash > ~/.local/share/bash-completion/completions/whichside
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Which shell you use
    shell: Shell,
    #[command(flatten)]
    data: DataArgs,
}

/// Writes the completion script.
///
/// # Errors
/// Where a deck of the player's own cannot be read, or the script cannot be written.
pub fn run(args: &Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let library = DeckLibrary::load(&args.data.folder()?, None)?;
    let decks: Vec<String> = library.decks.iter().map(|d| d.id.clone()).collect();
    let cards: Vec<String> = library.cards().map(|c| c.id.clone()).collect();
    let both = [&decks[..], &cards].concat();
    // Only for the script: the program itself takes files and titles, too.
    let one_of = |names: &[String]| {
        let names = PossibleValuesParser::new(names.to_vec());
        move |arg: Arg| arg.value_parser(names.clone())
    };
    let mut command = Cli::command()
        .mut_arg("deck", one_of(&decks))
        .mut_subcommand("drill", |c| c.mut_arg("deck", one_of(&decks)))
        .mut_subcommand("play", |c| {
            c.mut_arg("deck", one_of(&decks))
                .mut_arg("card", one_of(&cards))
        })
        .mut_subcommand("lesson", |c| c.mut_arg("names", one_of(&both)));
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut command, "whichside", &mut script);
    out.write_all(&script)?;
    if args.shell == Shell::Fish {
        // For this shell, the library writes the values of options alone.
        for (command, ids) in [("play", &cards), ("lesson", &both)] {
            let ids = ids.join(" ");
            writeln!(
                out,
                "complete -c whichside -n '__fish_seen_subcommand_from {command}' -f -a '{ids}'"
            )?;
        }
    }
    Ok(Exit::Clean)
}
