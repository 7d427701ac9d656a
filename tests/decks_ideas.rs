//! A card of one's own whose strokes were changed: the real program asks in the terminal whether it is still the same
//! idea, before the drill begins.

#[allow(dead_code)]
mod terminal;

use std::fs;
use std::path::{Path, PathBuf};
use terminal::Terminal;

const DECK: &str = include_str!("decks/block-party.toml");
const EVENING: &str = "2026-11-25T18:00:00Z";
const NEXT_EVENING: &str = "2026-11-26T18:00:00Z";

struct Player {
    folder: tempfile::TempDir,
}

impl Player {
    /// A player who has answered one card of a deck of their own, whose last stroke but one was changed afterwards.
    fn with_a_changed_card() -> Player {
        let player = Player {
            folder: tempfile::tempdir().unwrap(),
        };
        // One card alone, so that the first question is about it.
        let end = DECK.find("[[card]]\nid = \"lift\"").unwrap();
        fs::write(player.deck(), &DECK[..end]).unwrap();
        let mut command = assert_cmd::Command::new(env!("CARGO_BIN_EXE_whichside"));
        command.args([
            "drill", "--plain", "--silent", "--seed", "7", "--kind", "side",
        ]);
        command
            .args(["--now", EVENING, "--deck"])
            .arg(player.deck());
        command.arg("--data").arg(player.data());
        command.write_stdin("\n\n2\n\nstop\n").assert().success();
        assert_eq!(player.reviews(), 1);
        let text = fs::read_to_string(player.deck()).unwrap();
        let changed = text.replace("| H T S T H T O O |", "| H T S T H T S O |");
        assert_ne!(text, changed);
        fs::write(player.deck(), changed).unwrap();
        player
    }

    fn data(&self) -> PathBuf {
        self.folder.path().join("data")
    }

    fn deck(&self) -> PathBuf {
        self.folder.path().join("party.toml")
    }

    fn drill(&self) -> Terminal {
        let deck = self.deck();
        let args = [
            "drill", "--silent", "--seed", "7", "--kind", "side", "--now",
        ];
        let mut args = args.to_vec();
        args.extend([NEXT_EVENING, "--deck", path(&deck)]);
        Terminal::start(&args, &self.data())
    }

    /// Answers in the log, by its export.
    fn reviews(&self) -> usize {
        let mut command = assert_cmd::Command::new(env!("CARGO_BIN_EXE_whichside"));
        let run = command.args(["log", "export", "--data"]).arg(self.data());
        let run = run.assert().success();
        let text = String::from_utf8_lossy(&run.get_output().stdout).into_owned();
        text.lines().count()
    }
}

fn path(path: &Path) -> &str {
    path.to_str().unwrap()
}

#[test]
fn a_yes_keeps_what_is_remembered_and_is_not_asked_again() {
    let player = Player::with_a_changed_card();
    let mut drill = player.drill();
    drill.wait_for("same idea?");
    let screen = drill.settled();
    assert!(screen.contains("| H T S T H T O O |") && screen.contains("| H T S T H T S O |"));
    assert!(screen.contains("answered it once"), "{screen}");
    // An arrow key and a word that is not an answer, then the answer.
    drill.send("\u{1b}[Aperhaps\r");
    drill.wait_for("Answer y or n.");
    drill.send("y\r");
    // The card is known: it is asked at once.
    drill.wait_for("[2] ");
    drill.send("\u{1b}");
    drill.wait_for("Press Esc again");
    drill.send("\u{1b}");
    drill.wait_for("You stopped");
    drill.send("\r");
    assert!(drill.end().success());
    let again = player.drill();
    again.wait_for("[2] ");
    assert!(!again.text().contains("same idea?"));
}

#[test]
fn a_no_starts_the_card_over_and_loses_no_answer() {
    let player = Player::with_a_changed_card();
    let mut drill = player.drill();
    drill.wait_for("same idea?");
    drill.send("No\r");
    // It is met anew before it is asked.
    drill.wait_for("ask me");
    assert!(drill.text().contains("something new"), "{}", drill.text());
    drill.send("\u{1b}");
    drill.wait_for("Press Esc again");
    drill.send("\u{1b}");
    drill.wait_for("You stopped");
    drill.send("\r");
    assert!(drill.end().success());
    assert_eq!(player.reviews(), 1);
}

#[test]
fn leaving_the_question_leaves_everything_as_it_was() {
    let player = Player::with_a_changed_card();
    // Ctrl-C.
    let mut drill = player.drill();
    drill.wait_for("same idea?");
    drill.send("\u{3}");
    assert!(!drill.end().success());
    assert_eq!(player.reviews(), 1);
    // The end of the input, Ctrl-D: the drill goes on, the question waits.
    let mut drill = player.drill();
    drill.wait_for("same idea?");
    drill.send("\u{4}");
    drill.wait_for("[2] ");
    drill.send("\u{1b}");
    drill.wait_for("Press Esc again");
    drill.send("\u{1b}");
    drill.wait_for("You stopped");
    drill.send("\r");
    assert!(drill.end().success());
    player.drill().wait_for("same idea?");
}
