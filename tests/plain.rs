//! Whole sessions line by line through the real program.

use assert_cmd::Command;
use std::path::Path;

/// Runs a drill with `answers` typed in, one a line, and gives back what was written.
fn drill(data: &Path, extra: &[&str], answers: &str) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_whichside"));
    command.args(["drill", "--plain", "--silent"]);
    if !extra.contains(&"--seed") {
        command.args(["--seed", "7"]);
    }
    command.arg("--data").arg(data).args(extra);
    let deck = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/decks/block-party.toml");
    command.args(["--deck", deck]);
    let run = command.write_stdin(answers).assert().success();
    String::from_utf8(run.get_output().stdout.clone()).expect("output is text")
}

fn reviews(data: &Path) -> Vec<serde_json::Value> {
    let mut command = Command::new(env!("CARGO_BIN_EXE_whichside"));
    let run = command
        .args(["log", "export", "--data"])
        .arg(data)
        .assert()
        .success();
    let text = String::from_utf8(run.get_output().stdout.clone()).expect("output is text");
    let lines = text.lines();
    lines
        .map(|line| serde_json::from_str(line).expect("a line of JSON"))
        .collect()
}

/// What was asked: everything of a review that does not depend on how fast the machine is.
fn asked(data: &Path) -> Vec<String> {
    let reviews = reviews(data);
    let asked = reviews.iter().map(|r| {
        let fields = [
            "card", "kind", "sense", "seed", "bpm", "score", "prompt", "answer",
        ];
        fields.map(|f| r[f].to_string()).join(" ")
    });
    asked.collect()
}

const EVENING: &[&str] = &["--now", "2026-11-25T18:00:00Z"];
const NEXT_EVENING: &[&str] = &["--now", "2026-11-26T18:00:00Z"];

/// An answer to everything: a letter that is one of the answers of a question counts, all others are turned away.
fn answers(n: usize) -> String {
    let rows = (2..=8).map(|n| format!("{}\n\n{}\n\n", "o".repeat(n), "l".repeat(n)));
    let round = format!("2\n\no\n\nr\n\n{}", rows.collect::<String>());
    format!("\n{}", round.repeat(n))
}

#[test]
fn typed_answers_make_a_session_that_is_in_the_log() {
    let folder = tempfile::tempdir().unwrap();
    let said = drill(folder.path(), EVENING, &answers(6));
    assert!(said.contains("Minutes a day"), "{said}");
    assert!(said.contains("Tomorrow:"), "{said}");
    let reviews = reviews(folder.path());
    assert!(reviews.len() >= 3, "{said}");
    for review in &reviews {
        // Long lines are wrapped.
        let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            flat.contains(review["prompt"].as_str().unwrap()),
            "{review}"
        );
        assert!(review["guess"].as_f64().unwrap() < 1.0, "{review}");
    }
    let mut verify = Command::new(env!("CARGO_BIN_EXE_whichside"));
    verify.args(["log", "verify", "--data"]).arg(folder.path());
    verify.assert().success();
}

#[test]
fn the_same_seed_data_and_answers_give_the_same_questions() {
    let [one, two] = [(), ()].map(|()| {
        let folder = tempfile::tempdir().unwrap();
        drill(folder.path(), EVENING, &answers(16));
        drill(folder.path(), NEXT_EVENING, &answers(16));
        asked(folder.path())
    });
    assert!(one.len() > 6, "{one:?}");
    assert_eq!(one, two);
    // They hang on each of the three: another seed, other answers, other data ask something else.
    let folder = tempfile::tempdir().unwrap();
    drill(
        folder.path(),
        &[EVENING, &["--seed", "8"]].concat(),
        &answers(16),
    );
    drill(
        folder.path(),
        &[NEXT_EVENING, &["--seed", "8"]].concat(),
        &answers(16),
    );
    assert_ne!(one, asked(folder.path()));
    let folder = tempfile::tempdir().unwrap();
    drill(folder.path(), EVENING, &answers(16).replace('2', "3"));
    drill(folder.path(), NEXT_EVENING, &answers(16).replace('2', "3"));
    assert_ne!(one, asked(folder.path()));
    let folder = tempfile::tempdir().unwrap();
    drill(folder.path(), NEXT_EVENING, &answers(16));
    let later = asked(folder.path());
    assert!(!one.ends_with(&later), "{later:?}");
}

/// The same evening twice: once to learn what the first row of three or more strokes is, once to miss one of them.
#[test]
fn a_row_that_is_partly_right_is_told_so_and_kept_as_its_share() {
    let folder = tempfile::tempdir().unwrap();
    let strokes = [EVENING, &["--kind", "strokes"]].concat();
    let round = "o\noo\nooo\noooo\nooooo\noooooo\nooooooo\noooooooo\n\n";
    let typed = format!("\n{}", round.repeat(40));
    drill(folder.path(), &strokes, &typed);
    let row = reviews(folder.path());
    let length = |r: &&serde_json::Value| r["answer"].as_str().is_some_and(|a| a.len() >= 3);
    let row = row.iter().find(length);
    let keys = row.expect("a row is asked")["keys"].clone();
    let mut right: Vec<String> = serde_json::from_value(keys).unwrap();
    let n = right.len();
    right[2] = if right[2] == "o" { "t" } else { "o" }.to_string();

    let folder = tempfile::tempdir().unwrap();
    let said = drill(
        folder.path(),
        &strokes,
        &typed.replace(
            &format!("\n{}\n", "o".repeat(n)),
            &format!("\n{}\n", right.concat()),
        ),
    );
    let partly = format!("\nPartly right, {} of {n}: ", n - 1);
    assert!(said.contains(&partly), "{said}");
    let letters = right.concat().to_uppercase();
    let row = |name: &str| said.lines().find(|l| l.starts_with(name)).unwrap_or("");
    let yours: String = row("you ")
        .chars()
        .filter(char::is_ascii_uppercase)
        .collect();
    assert_eq!(yours, letters, "{said}");
    assert_eq!(row("differ ").matches('^').count(), 1, "{said}");
    assert!(said.contains(" partly right, "), "{said}");
    let reviews = reviews(folder.path());
    let kept = reviews.iter().find(|r| r["answer"] == right.concat());
    let share = (n - 1) as f64 / n as f64;
    assert_eq!(kept.expect("it is kept")["correct"], share);
}

/// The tumbao of the test deck with two strokes left out, six of eight; the row of the log has its rests.
#[test]
fn a_bar_is_written_as_one_line() {
    let folder = tempfile::tempdir().unwrap();
    let written = [EVENING, &["--kind", "write"]].concat();
    let said = drill(folder.path(), &written, "\n\nh.s\nhts. h.oo |\nstop\n");
    assert!(said.contains("Write “"), "{said}");
    assert!(
        said.contains("8 letters and dots, one for each pulse"),
        "{said}"
    );
    let reviews = reviews(folder.path());
    assert_eq!(reviews[0]["answer"], "hts.h.oo", "{said}");
    assert_eq!(reviews[0]["correct"], 0.75);
    assert!(said.contains("As you said it: "), "{said}");
}

#[test]
fn the_end_of_the_input_keeps_what_was_answered() {
    let folder = tempfile::tempdir().unwrap();
    let said = drill(folder.path(), EVENING, "\n\nllll\n");
    assert_eq!(reviews(folder.path()).len(), 1, "{said}");
    assert!(said.contains("1 question in"), "{said}");
}

#[test]
fn any_wrong_answer_can_be_taken_back() {
    let folder = tempfile::tempdir().unwrap();
    let said = drill(folder.path(), EVENING, "\n\nllll\nu\nstop\n");
    let reviews = reviews(folder.path());
    assert_eq!(reviews.len(), 1, "{said}");
    assert!(!reviews[0]["withdrawn"].is_null(), "{said}");
}

#[test]
fn what_is_no_answer_is_turned_away_and_not_counted() {
    let folder = tempfile::tempdir().unwrap();
    let said = drill(folder.path(), EVENING, "\n\nz\n22\nhelp\nstop\n");
    assert!(said.contains("`z` is not one of the answers"), "{said}");
    assert_eq!(reviews(folder.path()).len(), 0, "{said}");

    // Nor is the first page read out again for it.
    let folder = tempfile::tempdir().unwrap();
    let said = drill(folder.path(), EVENING, "2x\nstop\n");
    assert!(
        said.contains("`x` is not one of the answers; they are n, t, b, 1,"),
        "{said}"
    );
    assert_eq!(said.matches("Stronger hand").count(), 1, "{said}");
}

#[test]
fn the_first_page_is_asked_once_only() {
    let folder = tempfile::tempdir().unwrap();
    drill(folder.path(), EVENING, "2l>\n\nstop\n");
    let said = drill(folder.path(), NEXT_EVENING, "stop\n");
    assert!(!said.contains("Minutes a day"), "{said}");
}

#[test]
fn the_bar_grid_is_said_in_words_where_that_is_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let said = drill(folder.path(), EVENING, "\nwords\nstop\n");
    assert!(
        said.contains("conga, bar 1: 1 heel, 1& tip, 2 slap"),
        "{said}"
    );
    assert!(
        said.contains("hand, bar 1: 1 left, 1& left, 2 right"),
        "{said}"
    );
}

#[test]
fn a_script_with_a_seed_says_how_long_its_player_takes() {
    let folder = tempfile::tempdir().unwrap();
    let script = "wait 9\n\nwait 20\n\nwait 3.25\nllll\nwait 30\n\nwait soon\nwait -1\nstop\n";
    let said = drill(folder.path(), EVENING, script);
    assert!(said.contains("such as `wait 3.5`"), "{said}");
    // The first card is looked at for 20 seconds, the answer for 30: with the last line's two, a minute is near.
    assert!(said.contains("1 question in 1 minute."), "{said}");
    assert_eq!(reviews(folder.path())[0]["seconds"], 3.25);
}

#[test]
fn a_clock_that_was_set_back_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    drill(folder.path(), NEXT_EVENING, &answers(6));
    let before = reviews(folder.path()).len();
    drill(folder.path(), EVENING, &answers(6));
    assert!(reviews(folder.path()).len() > before);
    let mut verify = Command::new(env!("CARGO_BIN_EXE_whichside"));
    let run = verify.args(["log", "verify", "--json", "--data"]);
    let run = run.arg(folder.path()).assert().success();
    let said: serde_json::Value = serde_json::from_slice(&run.get_output().stdout).unwrap();
    assert_eq!(said["faults"], serde_json::json!([]));
    assert_eq!(said["answers"], reviews(folder.path()).len());
}

#[test]
fn a_file_in_place_of_the_folder_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("answers");
    std::fs::write(&file, "").unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_whichside"));
    let run = command.args(["drill", "--plain", "--silent", "--data"]);
    let run = run.arg(&file).assert().code(2);
    let said = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
    assert!(said.contains("answers is a file"), "{said}");
}
