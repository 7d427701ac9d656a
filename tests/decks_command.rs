//! The way of someone who writes a first deck, with the real program: from `deck new` to a drill, and what it says when
//! something is wrong.

use assert_cmd::Command;
use serde_json::Value;
use std::fs;
use std::path::Path;

/// What the program says on standard output, what on standard error, and its exit code, in `folder`.
fn run(folder: &Path, args: &[&str], input: &str) -> (String, String, i32) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_whichside"));
    command.current_dir(folder).args(args);
    let run = command.write_stdin(input.to_string()).assert();
    let output = run.get_output();
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    let code = output.status.code().unwrap();
    (text(&output.stdout), text(&output.stderr), code)
}

fn json(folder: &Path, args: &[&str]) -> Value {
    let (out, _, _) = run(folder, args, "");
    serde_json::from_str(&out).unwrap_or_else(|e| panic!("{args:?}: {e}\n{out}"))
}

#[test]
fn what_deck_new_says_leads_to_a_drill_on_the_cards_written() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let (said, _, code) = run(folder, &["deck", "new", "corner.toml"], "");
    assert_eq!(code, 0);
    // Each command that it names is run as it stands there, the drill without sound and line by line.
    let commands = said
        .lines()
        .filter_map(|l| l.trim().strip_prefix("whichside "));
    let commands: Vec<Vec<&str>> = commands
        .map(|l| l.split("   ").next().unwrap().split_whitespace().collect())
        .collect();
    assert_eq!(commands.len(), 4, "{said}");
    for mut args in commands {
        let more: &[&str] = match args[..] {
            ["deck", "watch", ..] => &["--silent", "--seconds", "0.1"],
            ["drill", ..] => &["--silent", "--plain", "--data", "data", "--seed", "3"],
            _ => &[],
        };
        args.extend(more);
        let (said, error, code) = run(folder, &args, "\n\nstop\n");
        assert_eq!((code, error.as_str()), (0, ""), "{args:?}: {said}");
    }
    // A second `new` leaves the file alone.
    let (_, error, code) = run(folder, &["deck", "new", "corner.toml"], "");
    assert_eq!(code, 2);
    assert!(error.contains("is there already"), "{error}");
}

#[test]
fn decks_and_schools_are_written_as_data() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let deck = json(folder, &["deck", "show", "variations", "--json"]);
    let card = &deck["cards"][0];
    assert_eq!(card["id"], "variations/corner-open");
    assert_eq!(card["place"], "bar 7 of 8 in 2-3");
    assert_eq!(card["sticking"], "L L R L R L R R");
    assert_eq!(card["often"]["salsa"], 16);
    assert!(
        card["asked"]
            .as_array()
            .unwrap()
            .contains(&"place:hear".into())
    );
    assert_eq!(deck["found"], Value::Array(Vec::new()));
    let words = json(
        folder,
        &["deck", "show", "styles", "--card", "loud", "--json"],
    );
    assert_eq!(words["cards"][0]["words"]["right"], "One hour");

    let cover = json(folder, &["deck", "cover", "--json"]);
    assert_eq!(cover["remarks"], Value::Array(Vec::new()));
    let bombo = &cover["concepts"]["bombo"];
    assert!(bombo["cards"].as_u64().unwrap() > 20 && bombo["asked"]["side:hear"].is_u64());

    let school = [
        "deck",
        "school",
        "low drum: two side",
        "--json",
        "--data",
        "data",
    ];
    let schools = json(folder, &school);
    let drilled = |way: &str| {
        let all = schools.as_array().unwrap();
        let one = all.iter().find(|s| s["way"] == way).unwrap();
        one["drilled"].as_bool().unwrap()
    };
    assert!(drilled("two side") && !drilled("three side"));
}

#[test]
fn a_deck_with_mistakes_says_so_in_every_command() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let bad = "title = \"T\"\nsource = \"s\"\n[[card]]\nid = \"a\"\ntitle = \"A\"\nstates = \"two\"\nconcepts = [\"c\"]\n\
               tempo = 100\ngrid = \"\"\"\ncount | 1 & 2 & 3 & 4 & |\nconga | H T S T H T O |\n\"\"\"\n";
    fs::write(folder.join("bad.toml"), bad).unwrap();
    let (said, _, code) = run(folder, &["check", "bad.toml"], "");
    assert_eq!(code, 1);
    assert!(said.contains("[bar-length]") && said.contains("did you mean `two side`?"));
    // Where to read more is told once, however many files and findings there are.
    fs::write(folder.join("worse.toml"), bad).unwrap();
    let (both, _, _) = run(folder, &["check", "bad.toml", "worse.toml"], "");
    assert!(both.matches("Mistake: ").count() >= 4, "{both}");
    assert_eq!(both.matches("check --about RULE").count(), 1, "{both}");
    let found = json(folder, &["check", "bad.toml", "--json"]);
    let of = |rule: &str| {
        let all = found.as_array().unwrap().iter();
        all.clone().find(|d| d["rule"] == rule).unwrap()
    };
    let short = of("bar-length");
    assert_eq!((&short["title"], &short["bar"]), (&"A".into(), &1.into()));
    assert_eq!(
        (&short["card"], &short["pulse"]),
        (&"bad/a".into(), &Value::Null)
    );
    assert_eq!(
        (&of("value")["field"], &of("value")["bar"]),
        (&"states".into(), &Value::Null)
    );
    let rules: Vec<&str> = found
        .as_array()
        .unwrap()
        .iter()
        .map(|d| d["rule"].as_str().unwrap())
        .collect();
    assert!(
        rules.contains(&"bar-length") && rules.contains(&"value"),
        "{rules:?}"
    );
    let shown = json(folder, &["deck", "show", "bad.toml", "--json"]);
    assert_eq!(shown["cards"].as_array().unwrap().len(), 0);
    assert_eq!(shown["found"].as_array().unwrap().len(), rules.len());
    let drill = [
        "drill", "--deck", "bad.toml", "--plain", "--silent", "--data", "d",
    ];
    let (_, error, code) = run(folder, &drill, "");
    assert_eq!(code, 2);
    assert!(error.contains("`whichside check bad.toml`"), "{error}");

    // What is not there is named, with what there is.
    let missing: [(&[&str], &str); 5] = [
        (&["check", "nowhere.toml"], "nowhere.toml cannot be read"),
        (
            &["check", "--about", "hand-rows"],
            "did you mean `hand-row`?",
        ),
        (&["deck", "show", "claves"], "clave, strokes, parts"),
        (
            &["deck", "cover", "nowhere.toml"],
            "nowhere.toml cannot be read",
        ),
        (
            &["deck", "watch", "nowhere.toml"],
            "nowhere.toml cannot be read",
        ),
    ];
    for (args, words) in missing {
        let (_, error, code) = run(folder, args, "");
        assert_eq!(code, 2, "{args:?}");
        assert!(error.contains(words), "{args:?}: {error}");
    }
}

#[test]
fn every_rule_has_a_page_that_the_program_prints() {
    let folder = tempfile::tempdir().unwrap();
    let (rules, _, _) = run(folder.path(), &["check", "--about"], "");
    assert!(rules.lines().count() > 20);
    for rule in rules.lines().filter_map(|l| l.split_whitespace().next()) {
        let (page, _, code) = run(folder.path(), &["check", "--about", rule], "");
        assert_eq!(code, 0);
        assert!(page.starts_with(rule) && page.len() > 100, "{page}");
    }
}

#[test]
fn standard_input_is_checked_and_shown_like_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    run(folder, &["deck", "new", "corner.toml"], "");
    let text = fs::read_to_string(folder.join("corner.toml")).unwrap();
    let (said, _, code) = run(folder, &["check", "-"], &text);
    assert_eq!((code, said.trim()), (0, "-: all is well"));
    let (shown, _, code) = run(folder, &["deck", "show", "-"], &text);
    assert_eq!((code, shown.contains("corner/plain")), (0, true));
    let (said, _, code) = run(folder, &["check", "--json", "-"], &text.replace("O", "Q"));
    assert_eq!(code, 1);
    let found: Value = serde_json::from_str(&said).unwrap();
    assert_eq!(found[0]["rule"], "stroke-letter");
    let (_, error, code) = run(folder, &["deck", "watch", "-"], &text);
    assert_eq!((code, error.contains("name a file")), (2, true));
}

#[test]
fn what_is_no_deck_file_is_named_for_what_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    fs::create_dir(folder.join("band")).unwrap();
    fs::write(folder.join("noise.toml"), b"title = \"\xff\"").unwrap();
    fs::write(folder.join("empty.toml"), "").unwrap();
    for command in [
        &["check"][..],
        &["deck", "show"],
        &["deck", "cover"],
        &["deck", "watch"],
    ] {
        let of = |file: &'static str| run(folder, &[command, &[file]].concat(), "");
        let (_, error, code) = of("band");
        assert_eq!(
            (code, error.contains("band is a folder")),
            (2, true),
            "{error}"
        );
        let (_, error, code) = of("noise.toml");
        assert_eq!(
            (code, error.contains("byte 10 is not UTF-8")),
            (2, true),
            "{error}"
        );
    }
    let (said, _, code) = run(folder, &["check", "empty.toml"], "");
    assert_eq!(
        (code, said.contains("`title` is missing")),
        (1, true),
        "{said}"
    );
    // A whole file of rows outside of a grid: the first mistakes are shown, the rest counted.
    let cells = "X X X X X X X X | ".repeat(100);
    let grid = format!("count | 1 & 2 & 3 & 4 & |\nconga | {cells}\n");
    let bad = format!(
        "title = \"T\"\nsource = \"s\"\n[[card]]\nid = \"a\"\ntitle = \"A\"\nstates = \"neither\"\n\
         concepts = [\"tumbao\"]\ntempo = [90, 100]\ngrid = \"\"\"\n{grid}\"\"\"\n"
    );
    fs::write(folder.join("many.toml"), bad).unwrap();
    let (said, _, _) = run(folder, &["check", "many.toml"], "");
    assert_eq!(said.matches("Mistake:").count(), 40);
    assert!(
        said.contains("\nAnd 760 more in this file. Mend these first.\n"),
        "{said}"
    );
}
