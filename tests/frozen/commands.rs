//! Frozen: what the commands print, right arguments and wrong ones, and whole evenings line by line.

use assert_cmd::Command;
use std::fmt::Write;
use std::fs;
use std::path::Path;

/// One run: exit code, what was printed, what was said on the side. The folder of the test stands as `DATA`.
fn run(data: &Path, args: &[&str], input: &str) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_whichside"));
    let silent = data.join("none.conf");
    fs::write(&silent, "pcm.!default { type hw card 77 }\n").unwrap();
    command
        .args(args)
        .current_dir(data)
        .env("TZ", "UTC")
        .env("LC_ALL", "C.UTF-8")
        .env("PULSE_SERVER", "unix:/none")
        .env("ALSA_CONFIG_PATH", silent)
        .env("XDG_DATA_HOME", data.join("home"))
        .env_remove("NO_COLOR")
        .env_remove("COLUMNS")
        .write_stdin(input);
    let done = command.output().expect("it runs");
    let folder = data.to_string_lossy().into_owned();
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).replace(&folder, "DATA");
    let mut told = format!("$ whichside {}\n", args.join(" ").replace(&folder, "DATA"));
    told += &text(&done.stdout);
    if !done.stderr.is_empty() {
        writeln!(told, "on the side: {}", text(&done.stderr)).unwrap();
    }
    match done.status.code() {
        Some(0) => {}
        code => writeln!(told, "ended with {code:?}").unwrap(),
    }
    told + "\n"
}

/// Many runs, one after the other, as one text. Words of a line are parted by spaces, or by `;` where there is one.
fn runs(data: &Path, lines: &str) -> String {
    let mut told = String::new();
    for line in lines.lines().map(str::trim).filter(|l| !l.is_empty()) {
        let args: Vec<&str> = match line.contains(';') {
            true => line.split(';').collect(),
            false => line.split(' ').collect(),
        };
        told += &run(data, &args, "");
    }
    told
}

fn own_deck(data: &Path) {
    fs::create_dir_all(data.join("decks")).unwrap();
    let deck = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/decks/block-party.toml");
    fs::copy(deck, data.join("decks/block-party.toml")).unwrap();
}

/// Answers that suit some question each; what suits none is turned away, and so the next comes.
fn answers(rounds: usize) -> String {
    let rows = (2..=8).map(|n| format!("{}\n\n{}\n\n", "o".repeat(n), "l".repeat(n)));
    let round = format!(
        "2\n\no\n\nr\n\n3\n\ny\n\nwait 3.5\n1\n\n{}{}\n\n",
        rows.collect::<String>(),
        "0.1 0.6 1.1 1.7 2.4 3.0"
    );
    format!("\n{}", round.repeat(rounds))
}

#[test]
fn evenings_line_by_line_are_what_they_were() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    own_deck(data);
    let at = data.to_str().unwrap();
    let evening = |day: &str, seed: &str, more: &[&str], rounds: usize| {
        let mut args = vec!["drill", "--plain", "--silent", "--seed", seed, "--now", day];
        args.extend(["--data", at]);
        args.extend(more);
        run(data, &args, &answers(rounds))
    };
    let mut told = evening("2026-11-25T18:00:00Z", "7", &[], 7);
    told += &evening("2026-11-26T18:30:00Z", "8", &[], 5);
    told += &evening("2026-12-09T17:00:00Z", "9", &["--minutes", "3"], 6);
    insta::assert_snapshot!("evenings", told);
    let told = evening(
        "2026-12-10T17:00:00Z",
        "11",
        &["--kind", "hand", "--minutes", "1"],
        3,
    ) + &evening("2026-12-10T18:00:00Z", "12", &["--deck", "tumbao"], 2)
        + &evening("2026-12-10T19:00:00Z", "13", &["--concept", "bombo"], 2)
        + &evening("2026-12-10T19:30:00Z", "13", &["--concept", "bambo"], 1)
        + &evening("2026-12-10T19:40:00Z", "13", &["--sense", "hear"], 1);
    insta::assert_snapshot!("evenings_on_one_thing", told);

    // What the log of these evenings says.
    let at = format!("--now 2026-12-11T12:00:00Z --data {at}");
    let lines = [
        "plan",
        "plan --silent --days 3",
        "plan --json",
        "lesson",
        "lesson --json",
        "lesson add variations/bombo-open",
        "lesson remove block-party",
        "lesson",
        "weak",
        "weak --plain",
        "log verify",
        "log calibration",
        "settings",
        "settings --json",
        "cards bombo",
    ];
    let lines = lines.map(|line| format!("{line} {at}\n")).concat();
    // The clock runs on from --now, so that times in the data differ by what a run takes.
    let told = runs(data, &lines);
    insta::assert_snapshot!("after_the_evenings", told);
    let export = run(
        data,
        &["log", "export", "--data", data.to_str().unwrap()],
        "",
    );
    let rows: Vec<&str> = export.lines().collect();
    let some: Vec<&str> = rows.iter().step_by(9).copied().collect();
    insta::assert_snapshot!(
        "rows_of_the_log",
        format!("{}\n{}", rows.len(), some.join("\n"))
    );
}

#[test]
fn help_is_what_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let lines = "--help\n-h\n--version\nhelp drill\nhelp log\nlog help import\nlog help retime\n\
                 deck help new\ndeck help show\ndeck help school\nman\ncompletions bash";
    let told = runs(folder.path(), lines);
    insta::assert_snapshot!("help", told);
}

#[test]
fn commands_about_parts_print_what_they_did() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    fs::write(
        data.join("taps.txt"),
        "time, hand\n0.02,L\n0.77,R\n1.49\n2,5\n3.01 # late\n",
    )
    .unwrap();
    fs::write(
        data.join("log.csv"),
        "learner,item,concepts,kind,at,correct,guess,seconds\na,x,son;bombo,side,1800000000,1,.5,2\n\
         a,x,son,side,1800090000,0,.5,\nb,y,,side,1800000100,1,0.25,3\nb,y,,side,oops,1,0.25,3\n",
    )
    .unwrap();
    let told = runs(
        data,
        "hands;H T S tO tO T O O / H T S T H T O O;--bpm;160
        hands;HTSTHTOO;--bpm;300;--level;learner
        hands;O T T O T T;--grid;six-eight;--left-handed
        hands;OOOO;--sticking;RRRR;--bpm;200
        hands;OOOO;--sticking;RLRL;--json
        hands;OXOO
        hands;OOOO;--bpm;700
        side;x..x..x...x.x...
        side;HTSTHTOO | HTSTHTOT;--low-drum;three
        side;..x.x...x..x..x.;--json
        side;x..x
        played;x..x..x...x.x...;taps.txt;--bpm;80
        played;x..x..x...x.x...;taps.txt;--bpm;80;--json;--clave;son 2-3
        played;OOOO;gone.txt;--bpm;80
        forecast;log.csv
        forecast;log.csv;--alone
        check;--about
        check;--about;hand-row
        check;--about;hand-raw
        check;gone.toml",
    );
    insta::assert_snapshot!("parts", told);
}

#[test]
fn commands_about_decks_and_settings_print_what_they_did() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    own_deck(data);
    let lines = "settings
        settings --drums two --hand left --stands bands --level expert --minutes 12.5
        settings
        settings --minutes 0
        deck new street.toml
        deck new street.toml
        deck school
        deck school two
        deck school four
        deck cover block-party
        deck show block-party
        deck show nowhere
        cards clave rumba --plain
        cards zzz
        lesson add nowhere
        lesson add tumbao/one-ber
        lesson add tumbao
        lesson
        plan
        weak
        log verify
        log export
        log withdraw 7 --why because
        log backup copy.db
        log backup copy.db
        log import copy.db
        log restore copy.db
        log repair whole.db
        play tumbao one-bar --out take.wav --bpm 130 --with clave,bell --cycles 2
        play tumbao one-bar --out take.wav
        play tumbao one-bar --out other.wav --bpm 9
        play tumbao one-bar --out other.wav --with kazoo
        play tumbao one-bar --out other.wav --metronome 2,4 --loop-bar 9
        play tumbao one-bar --out faster.wav --bpm 100 --to 140 --over 3 --feel swing=1.5 --key Bb
        play tumbao nothing --out other.wav
        drill --minutes none
        drill --kind sides
        man --minuets
        sound
        sound --json";
    let mut lines: Vec<String> = lines.lines().map(|l| l.trim().to_string()).collect();
    for line in &mut lines {
        let has_data = ![
            "deck new",
            "deck cover",
            "deck show",
            "play",
            "man",
            "drill",
        ]
        .iter()
        .any(|word| line.starts_with(word));
        if has_data {
            let at = data.to_str().unwrap();
            *line += &format!(" --now 2026-11-25T18:00:00Z --data {at}");
        }
    }
    let mut told = runs(data, &lines.join("\n"));
    for file in ["take.wav", "faster.wav"] {
        let length = fs::metadata(data.join(file)).map(|m| m.len());
        writeln!(told, "{file}: {:?} bytes", length.ok()).unwrap();
    }
    insta::assert_snapshot!("decks_and_settings", told);
}
