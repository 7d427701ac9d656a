//! `whichside played` as a player or a script types it.

use assert_cmd::Command;
use serde_json::Value;

fn played(args: &[&str], taps: &str, code: i32) -> (String, String) {
    let run = Command::new(env!("CARGO_BIN_EXE_whichside"))
        .arg("played")
        .args(args)
        .arg("-")
        .write_stdin(taps)
        .assert()
        .code(code);
    let utf8 = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    let output = run.get_output();
    (utf8(&output.stdout), utf8(&output.stderr))
}

fn data(args: &[&str], taps: &str) -> Value {
    serde_json::from_str(&played(&[args, &["--json"]].concat(), taps, 0).0).unwrap()
}

/// At 120 a pulse lasts a quarter of a second: the strokes of son 3-2 by hand.
const SON_3_2: &str = "0\n0.75\n1.5\n2.5\n3\n";
/// Son 2-3: the same, the bars exchanged.
const SON_2_3: &str = "0.5\n1\n2\n2.75\n3.5\n";

#[test]
fn the_clave_is_graded_as_data() {
    let args = ["x..x..x...x.x...", "--bpm", "120"];
    let right = data(&args, SON_3_2);
    assert_eq!(
        (right["matched"].as_u64(), right["missed"].as_u64()),
        (Some(5), Some(0))
    );
    assert_eq!(
        (&right["verdict"], &right["in_time"]),
        (&"right".into(), &true.into())
    );
    assert_eq!(
        (&right["direction"], &right["tapped"]),
        (&"as-written".into(), &"3-2".into())
    );
    let other = data(&args, SON_2_3);
    assert_eq!(
        (&other["direction"], &other["tapped"]),
        (&"other".into(), &"2-3".into())
    );
    assert_eq!(
        (&other["verdict"], other["correct"].as_f64()),
        (&"missed".into(), Some(0.0))
    );
    // The clave under it is 2-3: now the other one is right.
    let args = [&args[..], &["--clave", "son 2-3"]].concat();
    assert_eq!(data(&args, SON_2_3)["verdict"], "right");
    assert_eq!(data(&args, SON_3_2)["verdict"], "missed");
}

#[test]
fn a_player_sees_what_was_missed_under_what_was_due() {
    let (text, _) = played(
        &["x..x..x...x.x...", "--bpm", "120"],
        "0\n0.75 R # off\n\n2.5\n3\n",
        0,
    );
    assert!(
        text.starts_with("Partly right: son 3-2\n") && text.contains("4 of 5 strokes, 1 left out;"),
        "{text}"
    );
    assert!(
        text.contains("  round 1  x . . x . . - . | . . x . x . . .\n"),
        "{text}"
    );
    assert!(text.contains("stop at pain"));
}

#[test]
fn hands_are_judged() {
    // Wikipedia, *Tumbao* and *Conga*; eighths at 120.
    let taps: String = "LLRLLLRR"
        .chars()
        .enumerate()
        .map(|(i, hand)| format!("{} {hand}\n", i as f64 * 0.25))
        .collect();
    let args = ["HTSTHTOO", "--bpm", "120", "--sticking", "LLRLLLRR"];
    assert_eq!(data(&args, &taps)["hands"], "as-written");
    let all_right = taps.replace('L', "R");
    let found = data(&args, &all_right);
    assert_eq!(
        (&found["hands"], &found["verdict"]),
        (&"neither".into(), &"partly".into())
    );
}

#[test]
fn bad_input_is_named_with_its_line_and_the_mend() {
    let args = ["x..x..x...x.x...", "--bpm", "120"];
    let (_, error) = played(&args, "0\nhalf\n", 2);
    assert!(
        error.contains("line 2: `half` is not a tap; write seconds"),
        "{error}"
    );
    let (_, error) = played(&["x..x", "--bpm", "120"], "0\n", 2);
    assert!(error.contains("whole bars of 8 are needed"), "{error}");
    let (_, error) = played(&["........", "--bpm", "120"], "0\n", 2);
    assert!(error.contains("nothing is struck"), "{error}");
    assert_eq!(data(&args, "")["verdict"], "missed");
}

#[test]
fn tables_of_other_programs_are_read_and_milliseconds_are_told() {
    let args = ["x..x..x...x.x...", "--bpm", "120"];
    for taps in [
        "time;hand\r\n0,0;R\r\n0,75;l\r\n1,5;R\r\n2,5;left\r\n3,0;R\r\n",
        "\n# five strokes\nseconds\n3\n0.75\n\n1.5\n2.5\n0\n",
    ] {
        let right = data(&args, taps);
        assert_eq!(
            (&right["verdict"], &right["in_time"]),
            (&"right".into(), &true.into())
        );
    }
    let (_, error) = played(&args, "0\n750\n1500\n2500\n3000\n", 2);
    assert!(error.contains("not milliseconds or samples"), "{error}");
}

/// The son clave at 120 in a recording that begins 3.1 s before it, the same with two strokes elsewhere, and from the other bar on.
#[test]
fn taps_of_a_recording_that_begins_earlier_are_seen_as_that() {
    let args = ["x..x..x...x.x...", "--bpm", "120"];
    let said = |taps: &str| played(&args, taps, 0).0;
    let text = said("3.1\n3.85\n4.6\n5.6\n6.1\n");
    assert!(!text.starts_with("Right"), "{text}");
    assert!(
        text.contains("does the first pulse come at 3.100 s?"),
        "{text}"
    );
    for taps in ["3.1\n3.5\n4.6\n5.4\n6.1\n", "2\n2.75\n3.5\n4.5\n5\n"] {
        let text = said(taps);
        assert!(!text.contains("first pulse"), "{text}");
    }
}

/// The fields, so that a script that reads them today reads them tomorrow: one that goes is a broken promise.
#[test]
fn the_fields_of_the_data_stay() {
    let found = data(&["HTSTHTOO", "--bpm", "120"], "0 R\n9.9\n");
    let names: Vec<&str> = found
        .as_object()
        .unwrap()
        .keys()
        .map(String::as_str)
        .collect();
    let promised = "added added_taps bounced bpm correct cycles direction displaced drift early grid guess hands hands_reason \
        hesitations in_time late level matched mean missed missed_strokes pairs pattern score shift spread steadiness strokes \
        swing tapped tapped_clave taps tempo unevenness verdict wrong";
    let mut promised: Vec<&str> = promised.split_whitespace().collect();
    promised.sort_unstable();
    let mut names = names;
    names.sort_unstable();
    assert_eq!(names, promised);
    let help = Command::new(env!("CARGO_BIN_EXE_whichside"))
        .args(["played", "--help"])
        .output()
        .unwrap();
    let help = String::from_utf8(help.stdout).unwrap();
    for name in promised {
        assert!(help.contains(name), "{name} is not explained");
    }
}
