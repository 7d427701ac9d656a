//! `whichside hands` as a player types it.

use assert_cmd::Command;
use serde_json::Value;

fn hands(args: &[&str], input: &str, code: i32) -> (String, String) {
    let run = Command::new(env!("CARGO_BIN_EXE_whichside"))
        .arg("hands")
        .args(args)
        .write_stdin(input)
        .assert()
        .code(code);
    let utf8 = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    let output = run.get_output();
    (utf8(&output.stdout), utf8(&output.stderr))
}

/// What a player reads.
fn text(args: &[&str]) -> String {
    hands(args, "", 0).0
}

/// What `--json` says.
fn data(args: &[&str]) -> Value {
    serde_json::from_str(&text(&[args, &["--json"]].concat())).unwrap()
}

/// Wikipedia, *Tumbao* and *Conga*.
#[test]
fn the_grid_has_count_drums_and_hands_with_reasons_and_the_caution() {
    let (text, _) = hands(&["H T S tO H T O O", "--bpm", "100"], "", 0);
    assert!(
        text.starts_with(
            "count | 1 & 2 & 3 & 4 & |\n\
             conga | H T S . H T O O |\n\
             tumba | . . . O . . . . |\n\
             hand  | L L R R L L R R |\n"
        ),
        "{text}"
    );
    assert!(text.contains("100 quarter notes a minute, practised, right-handed"));
    assert!(text.contains("rocks between heel and tip on 1, 1&, 3 and 3&."));
    assert!(!text.contains("each stroke by itself"), "{text}");
    assert!(text.contains("stop at pain"));
}

/// A teacher's list (common practice, no source): what a teacher types, and what must be said.
#[test]
fn two_hands_are_offered_where_one_is_too_fast() {
    let rocker = ["H H T T H H T T", "--bpm", "200"];
    assert_eq!(data(&rocker)["hands"], "LRLRLRLR");
    assert_eq!(data(&rocker)["too_fast"], false);
    let six = data(&["O T T O T T", "--grid", "six-eight", "--bpm", "130"]);
    let hands = six["hands"].as_str().unwrap();
    assert!(["RLRLRL", "LRLRLR"].contains(&hands), "{hands}");
    assert!(six["ceiling"].as_f64().unwrap() > 200.0);
    // The tumbao above its ceiling keeps its hands, and hand to hand is offered.
    let text = text(&["H T S T H T O O", "--bpm", "210"]);
    assert!(text.contains("hand  | L L R L L L R R |"), "{text}");
    assert!(
        text.contains("hand to hand works, with the right first"),
        "{text}"
    );
    assert!(text.contains("hand  | R L R L R L R L |"), "{text}");
}

#[test]
fn rolls_and_rudiments_are_given_and_not_found() {
    let words = "is its definition";
    for open in ["O O O O O O O O", "S O O O S O O O", ">O O O O >O O O O"] {
        assert!(text(&[open]).contains(words), "{open}");
    }
    assert!(!text(&["H T S T H T O O"]).contains(words));
    for (sticking, name) in [
        ("RLRLRLRL", "single stroke roll"),
        ("RRLLRRLL", "double stroke roll"),
        ("LRLLRLRR", "single paradiddle"),
    ] {
        let given = ["O O O O O O O O", "--sticking", sticking, "--bpm", "90"];
        let text = text(&given);
        assert!(text.contains(&format!("Given as a {name}.")), "{text}");
        assert!(!text.contains(words) && !text.contains("Not what players do"));
        assert_eq!(data(&given)["rudiment"], name);
    }
}

#[test]
fn a_given_sticking_that_nobody_uses_is_refused_by_a_stroke() {
    let given = [
        "T T S S O O . .",
        "--sticking",
        "L R R R R R",
        "--bpm",
        "80",
    ];
    let text = text(&given);
    assert!(
        text.contains(
            "Not what players do: The right has the slap on 2 and the slap on 2&, 375 ms apart"
        ),
        "{text}"
    );
    assert!(text.contains("This works instead:"), "{text}");
    let found = data(&given);
    assert!(found["refused"].as_str().unwrap().contains("change hands"));
    assert!(found["instead"].is_string());
}

#[test]
fn a_heel_for_a_tip_is_told_where_it_lifts_the_ceiling() {
    let given = ["O T T O T T O T", "--sticking", "RLLRLLRL", "--bpm", "100"];
    let text = text(&given);
    assert!(
        text.contains("A heel for the tip on 1& and 3 would let the left rock: that works up to about 333 quarter notes"),
        "{text}"
    );
}

#[test]
fn left_handed_players_get_the_mirror_image() {
    let right = data(&["H T S T H T O O"]);
    let left = data(&["H T S T H T O O", "--left-handed"]);
    assert_eq!(right["hands"], "LLRLLLRR");
    assert_eq!(left["hands"], "RRLRRRLL");
    assert_eq!(right["ceiling"], left["ceiling"]);
}

/// The times of the levels are 1.25, 1 and 0.8 of the practised player's.
#[test]
fn the_level_moves_the_ceiling() {
    let ceiling = |level: &str| {
        let found = data(&["H T S T H T O O", "--level", level]);
        found["ceiling"].as_f64().unwrap()
    };
    assert!((ceiling("learner") - 160.0).abs() < 1e-9);
    assert!((ceiling("practised") - 200.0).abs() < 1e-9);
    assert!((ceiling("expert") - 250.0).abs() < 1e-9);
}

#[test]
fn a_sticking_of_ones_own_is_kept_and_may_be_too_fast() {
    let own = ["O O O O O O O O", "--sticking", "RRRR RRRR", "--bpm", "240"];
    let (text, _) = hands(&own, "", 0);
    assert!(text.contains("hand  | R R R R R R R R |"), "{text}");
    assert!(text.contains("Too fast for this sticking at 240"), "{text}");
    assert!(text.contains("This works instead:"), "{text}");
    assert!(text.contains("hand  | R L R L R L R L |"), "{text}");
}

#[test]
fn many_patterns_come_one_a_line_and_a_bad_one_costs_only_itself() {
    let (text, _) = hands(
        &["-", "--json"],
        "H T S T H T O O\n\nH T X\nS . . S . . S .\n",
        1,
    );
    let lines: Vec<Value> = text
        .lines()
        .map(|l| serde_json::from_str(l).unwrap())
        .collect();
    assert_eq!(lines.len(), 3);
    assert_eq!(lines[0]["hands"], "LLRLLLRR");
    assert_eq!(lines[1]["line"], 3);
    assert!(lines[1]["error"].as_str().unwrap().starts_with("column 5"));
    assert_eq!(lines[2]["hands"], "R..R..R.");
}

#[test]
fn rows_of_a_deck_are_read_with_their_grid_and_hands() {
    let rows = "count | 1 2 3 4 5 6 |\nconga | H T S T O O |\nhand  | R ? ? ? ? ? |";
    let found = data(&[rows, "--bpm", "60"]);
    assert_eq!(found["grid"], "six-eight");
    assert!(found["hands"].as_str().unwrap().starts_with('R'));
}

#[test]
fn silence_has_no_hands() {
    let found = data(&["........"]);
    assert_eq!(found["hands"], "........");
    assert!(found["ceiling"].is_null());
    assert!(hands(&["........"], "", 0).0.contains("Nothing is struck"));
}

#[test]
fn mistakes_name_the_place_and_the_mend() {
    for (args, said) in [
        (&["H T X"][..], "column 5: `X` is not a stroke"),
        (&["H T S"], "3 pulses do not make whole bars of 8"),
        (
            &["H.......", "--bpm", "3"],
            "a tempo is a number from 20 to 400",
        ),
        (
            &["H.......", "--bpm", "NaN"],
            "a tempo is a number from 20 to 400",
        ),
        (
            &["H.......", "--level", "demon"],
            "learner, practised, expert",
        ),
        (
            &["H.......", "--sticking", "LR"],
            "the sticking has 2 hands, the pattern 1 strokes",
        ),
        (
            &["H.......", "--sticking", "X"],
            "`X` in the sticking is not a hand",
        ),
        (&["count | 1 & |\nconga | H |"], "row "),
    ] {
        let (_, error) = hands(args, "", 2);
        assert!(error.contains(said), "{args:?}: {error}");
    }
}

/// A rudiment has four strokes at least: the double stroke roll (*International Drum Rudiments*, Percussive Arts Society;
/// from memory).
#[test]
fn three_even_strokes_are_taken_for_no_rudiment() {
    let of = |pattern| text(&[pattern, "--bpm", "100", "--grid", "six-eight"]);
    assert!(!of("O . O . O .").contains("rudiment"));
    assert!(of("O O O O O O").contains("rudiment"));
}
