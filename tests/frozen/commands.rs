//! Frozen: what the commands print, right arguments and wrong ones, and whole evenings line by line.

use crate::chance;
use crate::program::{Drill, Page, Sitting, Stage};
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

/// Numbers to two decimals: the clock runs on from --now, so that chances differ by what a run takes.
fn cut(text: &str) -> String {
    let mut parts = text.split('.');
    let mut out = parts.next().unwrap_or_default().to_string();
    for part in parts {
        let digits = part.len() - part.trim_start_matches(|c: char| c.is_ascii_digit()).len();
        out.push('.');
        out += &part[..digits.min(2)];
        out += &part[digits..];
    }
    out
}

fn own_deck(data: &Path) {
    fs::create_dir_all(data.join("decks")).unwrap();
    let deck = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/decks/block-party.toml");
    fs::copy(deck, data.join("decks/block-party.toml")).unwrap();
}

/// A whole evening line by line with a player who answers by chance, looks at what else can be typed, and stops where the
/// evening ends.
fn evening(data: &Path, now: &str, seed: u64, extra: &[&str]) -> String {
    let extra: Vec<String> = extra.iter().map(|word| word.to_string()).collect();
    let sitting = Sitting {
        data,
        now,
        seed,
        extra: &extra,
    };
    let mut state = 0x5eed_0000 + seed;
    let (mut drill, mut page) = Drill::start(sitting);
    let mut told = format!("{now}, seed {seed}, {extra:?}\n");
    let mut asked = 0;
    // More pages than an evening has.
    for _ in 0..400 {
        told += &page.text;
        let seconds = 1.0 + chance(&mut state, 6) as f64 / 2.0;
        let line = match page.stage() {
            Stage::Done => break,
            Stage::Asking => {
                asked += 1;
                typed(&page, asked, &mut state)
            }
            Stage::Told { .. } if asked % 9 == 4 => "u".into(),
            Stage::Told { .. } if asked % 7 == 3 => "again".into(),
            Stage::Welcome | Stage::Meeting | Stage::Told { .. } => String::new(),
        };
        asked += usize::from(!line.is_empty());
        writeln!(told, "> {line}").unwrap();
        let keys = page.keys();
        page = drill.say(seconds, &line);
        if let Some((_, rest)) = page.text.split_once("The answer has ") {
            let count: usize = rest.split(' ').next().unwrap().parse().unwrap();
            let row: String = (0..count)
                .map(|_| keys[chance(&mut state, keys.len() as u64) as usize])
                .collect();
            told += &page.text;
            writeln!(told, "> {row}").unwrap();
            page = drill.say(seconds, &row);
        }
    }
    drill.close();
    told + "\n"
}

/// A key of the answers, or a word that can be typed in their place.
fn typed(page: &Page, nth: usize, state: &mut u64) -> String {
    match nth % 12 {
        3 => return "words".into(),
        5 => return "pause".into(),
        8 => return "x".into(),
        _ => {}
    }
    let keys = page.keys();
    match keys.is_empty() {
        true => "0.02 0.77 1.49 2.26 3.01 3.74".into(),
        false => keys[chance(state, keys.len() as u64) as usize].to_string(),
    }
}

/// A row of the log without the number of the process, which stands in the name of its session.
fn without_process(row: &str) -> String {
    let mut parts = row.split("Z-");
    let mut out = parts.next().unwrap_or_default().to_string();
    for part in parts {
        out += "Z-";
        out += part.trim_start_matches(|c: char| c.is_ascii_digit());
    }
    out
}

#[test]
fn evenings_line_by_line_are_what_they_were() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    own_deck(data);
    let at = data.to_str().unwrap();
    let mut told = evening(data, "2026-11-25T18:00:00Z", 7, &[]);
    told += &evening(data, "2026-11-26T18:30:00Z", 8, &[]);
    told += &evening(data, "2026-12-09T17:00:00Z", 9, &["--minutes", "3"]);
    insta::assert_snapshot!("evenings", told);
    let narrow: [&[&str]; 5] = [
        &["--kind", "hand", "--minutes", "1"],
        &["--deck", "tumbao", "--minutes", "1.5"],
        &["--concept", "bombo", "--minutes", "1"],
        &["--kind", "write", "--minutes", "2"],
        &["--sense", "hear", "--minutes", "1"],
    ];
    let mut told = String::new();
    for (n, extra) in narrow.into_iter().enumerate() {
        let now = format!("2026-12-10T{}:00:00Z", 17 + n);
        told += &evening(data, &now, 11 + n as u64, extra);
    }
    told += &run(
        data,
        &[
            "drill",
            "--plain",
            "--silent",
            "--concept",
            "bambo",
            "--data",
            at,
        ],
        "",
    );
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
    let told = cut(&runs(data, &lines));
    insta::assert_snapshot!("after_the_evenings", told);
    let lines = [
        "weak --json",
        "weak --html page.html --player Ana",
        "weak --html page.html",
        "weak --html /dev/null",
        "log withdraw 7 --why tired",
        "log withdraw 7 --why again",
        "log backup all.db",
        "log import all.db",
        "log import nothing.db",
        "log restore all.db",
        "log retime nowhere 2026-12-01T10:00:00Z",
        "log verify",
        "log repair --out whole.db",
        "lesson --json",
        "cards --json bombo lesson",
    ];
    let lines = lines.map(|line| format!("{line} {at}\n")).concat();
    let told = cut(&runs(data, &lines));
    insta::assert_snapshot!("the_log_and_the_report", told);
    let page = fs::read_to_string(data.join("page.html")).unwrap();
    insta::assert_snapshot!("page_for_a_teacher", cut(&page));
    let export = run(
        data,
        &["log", "export", "--data", data.to_str().unwrap()],
        "",
    );
    let rows: Vec<&str> = export.lines().skip(1).collect();
    let some = rows.iter().step_by(20).map(|row| without_process(row));
    let some: Vec<String> = some.collect();
    insta::assert_snapshot!(
        "rows_of_the_log",
        format!("{}\n{}", rows.len(), some.join("\n"))
    );
}

/// A clock that is far from the last answer is asked about, and nothing is begun where it is wrong.
#[test]
fn a_clock_that_is_doubted_is_asked_about_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    let at = data.to_str().unwrap();
    own_deck(data);
    let mut told = String::new();
    for (now, input) in [
        ("2026-11-25T18:00:00Z", "\n\n\n2\n\n"),
        ("2029-02-03T18:00:00Z", "perhaps\nn\n"),
        ("2029-02-03T18:00:00Z", "y\n\n2\n\n"),
        ("2025-02-03T18:00:00Z", ""),
        ("2029-02-04T18:00:00Z", "stop\nstop\n"),
    ] {
        let drill = [
            "drill", "--plain", "--silent", "--seed", "3", "--now", now, "--data", at,
        ];
        told += &run(data, &drill, input);
    }
    // Bare, with its lines from a pipe.
    told += &run(
        data,
        &[
            "--plain",
            "--minutes",
            "2",
            "--seed",
            "4",
            "--now",
            "2029-02-05T18:00:00Z",
            "--data",
            at,
        ],
        "stop\nstop\n",
    );
    insta::assert_snapshot!("doubted_clock", told);
}

#[test]
fn help_is_what_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let lines = "--help\n-h\n--version\nhelp drill\nhelp log\nlog help import\nlog help retime\n\
                 deck help new\ndeck help show\ndeck help school\nman";
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
    // Son clave at 120, an eighth a quarter of a second: the third stroke late and the fourth early, twice round.
    let round = [0.0, 0.75, 1.58, 2.42, 3.0];
    let taps = [0.0, 4.0].map(|from| round.map(|at| format!("{:.2}\n", from + at)).concat());
    fs::write(data.join("late.txt"), taps.concat()).unwrap();
    // The same even, as a recorder has it that began 1.3 s before.
    let even = [0.0, 0.75, 1.5, 2.5, 3.0, 4.0, 4.75, 5.5, 6.5, 7.0];
    let taps = even.map(|at| format!("{:.2}\n", at + 1.3)).concat();
    fs::write(data.join("far.txt"), taps).unwrap();
    // Three bars later they are another answer, not another start: nothing is said of when the first pulse comes.
    let taps = even.map(|at| format!("{:.2}\n", at + 6.0)).concat();
    fs::write(data.join("later.txt"), taps).unwrap();
    // In 2-3 it begins with a rest of two eighths.
    let even = [0.5, 1.0, 2.0, 2.75, 3.5, 4.5, 5.0, 6.0, 6.75, 7.5];
    let taps = even.map(|at| format!("{:.2}\n", at + 1.3)).concat();
    fs::write(data.join("rest.txt"), taps).unwrap();
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
        played;x..x..x...x.x...;late.txt;--bpm;120
        played;x..x..x...x.x...;far.txt;--bpm;120
        played;..x.x...x..x..x.;rest.txt;--bpm;120
        played;x..x..x...x.x...;later.txt;--bpm;120
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
        deck cover decks/block-party.toml
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
        log repair --out whole.db
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
