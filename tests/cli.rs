//! The commands as a player types them.

use assert_cmd::Command;
use whichside::rhythm::Tempo;
use whichside::time::Seconds;

fn whichside(args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_whichside"));
    command.args(args);
    command
}

fn output(args: &[&str]) -> String {
    let output = whichside(args)
        .assert()
        .success()
        .get_output()
        .stdout
        .clone();
    String::from_utf8(output).expect("output is text")
}

#[test]
fn help_and_version_are_there() {
    assert!(output(&["--help"]).contains("Usage: whichside"));
    assert_eq!(
        output(&["--version"]),
        format!("whichside {}\n", env!("CARGO_PKG_VERSION"))
    );
}

#[test]
fn every_command_has_help_of_its_own() {
    let help = output(&["--help"]);
    let (_, commands) = help.split_once("Commands:").expect("a list of commands");
    let names: Vec<_> = commands
        .lines()
        .skip(1)
        .take_while(|line| line.starts_with("  "))
        .filter(|line| !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert!(names.len() >= 3, "{names:?}");
    for name in names {
        assert!(output(&["help", name]).contains("Usage:"), "{name}");
    }
}

#[test]
fn a_wrong_command_line_ends_with_2_and_says_why() {
    let run = whichside(&["man", "--minuets"]).assert().code(2);
    let said = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
    assert!(said.contains("--minuets"), "{said}");
}

#[test]
fn completions_come_for_the_usual_shells() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        assert!(
            output(&["completions", shell]).contains("whichside"),
            "{shell}"
        );
    }
}

#[test]
fn the_manual_page_is_a_page() {
    let page = output(&["man"]);
    assert!(page.contains(".TH whichside 1"), "{page}");
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("pages");
    output(&["man", "--out", out.to_str().unwrap()]);
    assert!(out.join("whichside-man.1").exists());
}

#[test]
fn the_shipped_decks_are_without_mistakes() {
    for (name, text) in whichside::deck::SHIPPED {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("deck.toml");
        std::fs::write(&file, text).unwrap();
        let run = whichside(&["check", file.to_str().unwrap()]).assert();
        let said = String::from_utf8_lossy(&run.get_output().stdout).into_owned();
        assert_eq!(run.get_output().status.code(), Some(0), "{name}: {said}");
    }
}

#[test]
fn a_deck_with_a_mistake_ends_with_1_and_one_that_is_not_there_with_2() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("deck.toml");
    std::fs::write(&file, "title = \"Mine\"\n[[card]]\nid = \"x\"\n").unwrap();
    let run = whichside(&["check", file.to_str().unwrap()])
        .assert()
        .code(1);
    let said = String::from_utf8_lossy(&run.get_output().stdout).into_owned();
    assert!(said.contains("deck.toml, line 2: card deck/x"), "{said}");
    let json = whichside(&["check", "--json", file.to_str().unwrap()])
        .assert()
        .code(1);
    let found: serde_json::Value = serde_json::from_slice(&json.get_output().stdout).unwrap();
    assert!(found[0]["message"].is_string(), "{found}");
    let missing = folder.path().join("none.toml");
    let run = whichside(&["check", missing.to_str().unwrap()])
        .assert()
        .code(2);
    let said = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
    assert!(said.contains("none.toml cannot be read"), "{said}");
}

const DECK: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/decks/block-party.toml");

#[test]
fn a_card_goes_into_a_sound_file() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("lift.wav");
    let wav = file.to_str().unwrap();
    let play = ["play", DECK, "lift", "--bpm", "160", "--cycles", "2"];
    output(&[&play[..], &["--with", "clave,bass", "--out", wav]].concat());
    let wav = hound::WavReader::open(&file).unwrap();
    assert_eq!((wav.spec().channels, wav.spec().sample_rate), (2, 48_000));
    // A count-in of one clave cycle and two rounds of two bars: three times 8 quarter notes at 160 a minute.
    let seconds = f64::from(wav.duration()) / 48_000.0;
    assert!((9.0..12.0).contains(&seconds), "{seconds}");
}

#[test]
fn play_says_what_is_not_there() {
    let refused = |args: &[&str]| {
        let run = whichside(&[&["play"], args].concat()).assert().code(2);
        String::from_utf8_lossy(&run.get_output().stderr).into_owned()
    };
    assert!(refused(&[DECK, "lfit"]).contains("tumbao, lift, answer, walk"));
    assert!(refused(&["no-such-deck", "lift"]).contains("the decks are: "));
    assert!(refused(&[DECK, "lift", "--with", "flute"]).contains("shaker"));
    assert!(refused(&[DECK, "lift", "--bpm", "fast"]).contains("a number from"));
    let nowhere = "/no/such/folder/lift.wav";
    assert!(refused(&[DECK, "lift", "--out", nowhere]).contains(nowhere));
}

#[test]
fn the_plan_says_what_comes_today_and_later() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().to_str().unwrap();
    let when = ["--now", "2026-11-25T12:00:00Z", "--data", data];
    let plan = |extra: &[&str]| output(&[&["plan"], &when[..], extra].concat());
    assert!(plan(&[]).contains("Not asked before."));
    let read: serde_json::Value = serde_json::from_str(&plan(&["--days", "3", "--json"])).unwrap();
    let questions = read["questions"].as_array().unwrap();
    assert!(!questions.is_empty() && questions.iter().all(|q| q["title"].is_string()));
    let days = read["days"].as_array().unwrap();
    assert_eq!(days.len(), 3);
    assert!(
        days.iter().all(|d| d["seconds"].as_f64().unwrap() <= 300.0),
        "{days:?}"
    );
    whichside(&["plan", "--days", "0"]).assert().code(2);
}

#[test]
fn settings_are_shown_kept_and_followed_by_the_plan() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().to_str().unwrap();
    let settings = |extra: &[&str]| output(&[&["settings", "--data", data], extra].concat());
    let read = || serde_json::from_str::<serde_json::Value>(&settings(&["--json"])).unwrap();
    let said = settings(&[]);
    assert!(
        said.contains("still talk over it"),
        "the caution of the first page: {said}"
    );
    assert!(said.contains("Nothing has been chosen yet"), "{said}");
    assert_eq!(read()["minutes"], 5.0);
    settings(&["--minutes", "12", "--hand", "left", "--drums", "two"]);
    let said = settings(&["--level", "expert"]);
    assert!(!said.contains("Nothing has been chosen yet"), "{said}");
    let kept = serde_json::json!({
        "drums": 2, "hand": "left", "stands": "new", "level": "expert", "minutes": 12.0
    });
    assert_eq!(read(), kept);
    let when = ["--now", "2026-11-25T12:00:00Z", "--data", data];
    let said = output(&[&["plan"], &when[..]].concat());
    assert!(
        said.contains("of your 12 minutes (change them with"),
        "{said}"
    );
    let plan = output(&[&["plan", "--json"], &when[..]].concat());
    let plan: serde_json::Value = serde_json::from_str(&plan).unwrap();
    assert_eq!(plan["minutes"], 12.0);
}

#[test]
fn settings_turn_away_what_cannot_be_set() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().to_str().unwrap();
    for (wrong, said) in [
        (["--minutes", "0"], "a number from 0.5 to 120"),
        (["--minutes", "NaN"], "a number from 0.5 to 120"),
        (["--drums", "three"], "one, two"),
        (["--hand", "lift"], "left"),
    ] {
        let args = [&["settings", "--data", data][..], &wrong].concat();
        let run = whichside(&args).assert().code(2);
        let told = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
        assert!(told.contains(said), "{wrong:?}: {told}");
    }
    assert!(!folder.path().join("log.db").exists());
}

/// Answers of a kind that was taken out stay in the log, and whatever reads the log reads them.
#[test]
fn a_log_with_answers_of_a_kind_that_is_gone_is_read_as_before() {
    use whichside::question::kind;
    use whichside::rhythm::Grid;
    use whichside::store::{ReviewRow, Store};
    const GONE: &str = "often";
    assert!(kind(GONE).is_none());
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::open(folder.path()).unwrap();
    let row = |n: i64, kind: &str| ReviewRow {
        at: 1_795_000_000_000 + n * 60_000,
        utc_offset: 60,
        session: "a".into(),
        card: "variations/corner-open".into(),
        kind: kind.into(),
        sense: whichside::store::Sense::Read,
        concepts: vec!["how often".into(), "variation".into()],
        seed: n as u64,
        tempo: Tempo::new(140.0),
        grid: Grid::Eighths,
        score: "count | 1 & 2 & 3 & 4 & |\nconga | H T S T O T O O |\n".into(),
        prompt: "In salsa: about how often does this come, at most?".into(),
        choices: [('a', "once in 8 bars"), ('b', "once in 16 bars")]
            .map(|(key, label)| (key, label.to_string()))
            .into(),
        answer: "a".into(),
        keys: vec!["b".into()],
        guess: 0.25,
        seconds: Seconds::new(3.0),
        limit: Seconds::new(6.0),
        program: "0.1.0".into(),
        ..ReviewRow::default()
    };
    for n in 0..12 {
        store
            .append(&row(n, if n % 2 == 0 { GONE } else { "side" }))
            .unwrap();
    }
    drop(store);
    let data = folder.path().to_str().unwrap();
    let exported = output(&["log", "export", "--data", data]);
    assert_eq!(
        exported.lines().filter(|l| l.contains("\"often\"")).count(),
        6
    );
    output(&["log", "verify", "--data", data]);
    output(&["log", "calibration", "--data", data]);
    let now = ["--now", "2026-12-01T18:00:00Z", "--data", data];
    let with_now = |args: &[&str]| output(&[args, &now[..]].concat());
    assert!(with_now(&["weak", "--json"]).contains("how often"));
    assert!(!with_now(&["plan"]).contains(GONE));
    let mut drill = whichside(&["drill", "--plain", "--silent", "--seed", "3"]);
    drill.args(now).write_stdin("stop\n").assert().success();
}

/// Nothing in the deck of strokes is a phrase to be answered.
#[test]
fn a_drill_in_which_nothing_can_be_asked_is_refused() {
    let data = tempfile::tempdir().unwrap();
    let run = whichside(&["drill", "--plain", "--silent", "--kind", "call"])
        .args(["--deck", "strokes", "--data"])
        .arg(data.path())
        .assert()
        .code(2);
    let said = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
    assert!(said.contains("try without --kind"), "{said}");
}
