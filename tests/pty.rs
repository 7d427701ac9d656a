//! The real program on the full screen of a terminal. No test needs a sound card; those that must not have one say so.

mod terminal;

use std::path::Path;
use std::time::{Duration, Instant};
use terminal::Terminal;

const DECK: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/decks/block-party.toml");

const EVENING: &[&str] = &["--now", "2026-11-25T18:00:00Z"];
const NEXT_EVENING: &[&str] = &["--now", "2026-11-26T18:00:00Z"];

/// A silent drill on the four cards of the test deck.
fn drill(data: &Path, when: &[&str]) -> Terminal {
    let mut args = vec!["drill", "--silent", "--seed", "7", "--deck", DECK];
    args.extend(when);
    Terminal::start(&args, data)
}

/// A drill that is past its first page, on the first new card.
fn drill_at_a_card(data: &Path) -> Terminal {
    let mut drill = drill(data, EVENING);
    drill.wait_for("Minutes a day");
    drill.send("\r");
    drill.wait_for("ask me");
    drill
}

/// Answers what is asked, whatever it is, until the last page: each key is an answer to some questions and nothing
/// to the others.
fn answer_all(drill: &mut Terminal) {
    // An evening is filled, however fast the answers come: some items five times, rows of eight keys among them.
    for _ in 0..2000 {
        let screen = drill.settled();
        if screen.contains("done for today") {
            return;
        }
        let key = match () {
            () if screen.contains("ask me") || screen.contains("[Enter] next") => "\r",
            () if screen.contains("[2]") => "2",
            () if screen.contains("[o]") => "o",
            () if screen.contains("[r]") => "r",
            () if screen.contains("[1]") => "1",
            () => panic!("nothing to press:\n{screen}"),
        };
        drill.send(key);
        drill.wait("the next page", |now| now != screen);
    }
    panic!("the drill does not end:\n{}", drill.text());
}

fn reviews(data: &Path) -> usize {
    let mut command = assert_cmd::Command::new(env!("CARGO_BIN_EXE_whichside"));
    let run = command.args(["log", "export", "--data"]).arg(data);
    let run = run.assert().success();
    String::from_utf8_lossy(&run.get_output().stdout)
        .lines()
        .count()
}

#[test]
fn the_first_run_asks_what_you_play_and_a_whole_session_follows() {
    let folder = tempfile::tempdir().unwrap();
    let mut drill = drill(folder.path(), EVENING);
    drill.wait_for("Minutes a day");
    drill.send("l>");
    drill.wait("the choices", |t| {
        t.contains("hand    left") && t.contains("day    6")
    });
    drill.send("\r");
    drill.wait_for("ask me");
    answer_all(&mut drill);
    let screen = drill.text();
    assert!(screen.contains("Tomorrow:"), "{screen}");
    // A deck of four cards is through long before the minutes are over.
    assert!(screen.contains("That is all"), "{screen}");
    drill.send("\r");
    assert!(drill.end().success());
    assert!(reviews(folder.path()) >= 3);
}

#[test]
fn stopping_keeps_the_answers_and_the_next_day_goes_on_from_them() {
    let folder = tempfile::tempdir().unwrap();
    let mut first = drill_at_a_card(folder.path());
    first.send("\r");
    first.wait_for("Not asked before");
    first.send("2oooooooor1rrrrrrrr");
    first.wait_for("[Enter] next");
    first.send("\x1b");
    first.wait_for("Press Esc again");
    first.send("\x1b");
    first.wait_for("1 question in");
    first.send("\x1b");
    assert!(first.end().success());
    assert_eq!(reviews(folder.path()), 1);

    let mut second = drill(folder.path(), NEXT_EVENING);
    second.wait("a question", |t| t.contains("minutes left"));
    assert!(!second.text().contains("Minutes a day"));
    answer_all(&mut second);
    second.send("\x1b");
    assert!(second.end().success());
    assert!(reviews(folder.path()) > 1);
}

#[test]
fn a_small_window_says_so_and_a_large_one_brings_the_page_back() {
    let folder = tempfile::tempdir().unwrap();
    let mut drill = drill_at_a_card(folder.path());
    drill.resize(20, 5);
    drill.wait_for("This window has 20");
    drill.resize(1, 1);
    drill.resize(120, 40);
    drill.wait_for("The clock stands still.");
    drill.resize(80, 24);
    drill.send("\r");
    drill.wait_for("ask me");
    drill.resize(50, 18);
    drill.wait_for("ask me");
    drill.send("\x1b");
    drill.wait_for("Press Esc again");
    drill.send("\x1b");
    drill.wait_for("Nothing was asked yet.");
    drill.send("\x1b");
    assert!(drill.end().success());
}

#[test]
fn without_a_sound_card_one_notice_says_so_and_questions_come_by_eye() {
    let folder = tempfile::tempdir().unwrap();
    // A configuration without any device, whatever the machine has.
    let none = folder.path().join("no-card.conf");
    std::fs::write(&none, "").unwrap();
    let data = folder.path().join("data");
    let args = ["drill", "--seed", "7", "--deck", DECK];
    let variables = [
        ("ALSA_CONFIG_PATH", none.to_str().unwrap()),
        ("PULSE_SERVER", "none"),
        ("PIPEWIRE_REMOTE", "none"),
    ];
    let mut drill = Terminal::start_with(&args, &data, &variables);
    drill.wait_for("No sound");
    assert!(!drill.text().contains("ALSA"), "{}", drill.text());
    drill.send("\r");
    drill.wait_for("ask me");
    assert!(!drill.text().contains("[Space]"), "{}", drill.text());
    answer_all(&mut drill);
    drill.send("\x1b");
    assert!(drill.end().success());
}

#[test]
fn ctrl_c_and_signals_end_the_drill_and_give_the_terminal_back() {
    for how in ["\x03", "INT", "TERM", "HUP"] {
        let folder = tempfile::tempdir().unwrap();
        let mut drill = drill_at_a_card(folder.path());
        assert!(drill.is_full_screen());
        match how {
            "\x03" => drill.send(how),
            signal => drill.signal(signal),
        }
        assert!(drill.end().success(), "{how:?}");
    }
}

#[test]
fn a_stopped_drill_gives_the_terminal_back_and_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    for how in ["\x1a", "TSTP"] {
        let mut drill = drill(folder.path(), EVENING);
        drill.wait("a page", |t| t.contains("[Esc] stop"));
        match how {
            "\x1a" => drill.send(how),
            signal => drill.signal(signal),
        }
        drill.wait_until("the terminal to be given back", |d| !d.is_full_screen());
        drill.wait_until("the stop", |d| d.is_stopped());
        drill.signal("CONT");
        drill.wait_until("the page again", |d| {
            d.is_full_screen() && d.text().contains("[Esc] stop")
        });
        drill.send("\x03");
        assert!(drill.end().success(), "{how:?}");
    }
}

/// Seconds that the last answer took by the log.
fn last_seconds(data: &Path) -> f64 {
    let mut command = assert_cmd::Command::new(env!("CARGO_BIN_EXE_whichside"));
    let run = command.args(["log", "export", "--data"]).arg(data);
    let run = run.assert().success();
    let rows = String::from_utf8_lossy(&run.get_output().stdout).into_owned();
    let row: serde_json::Value = serde_json::from_str(rows.lines().last().unwrap()).unwrap();
    row["seconds"].as_f64().unwrap()
}

#[test]
fn time_away_is_not_time_to_answer() {
    for how in ["\x1a", "TSTP", "STOP"] {
        let folder = tempfile::tempdir().unwrap();
        let mut drill = drill_at_a_card(folder.path());
        drill.send("\r");
        drill.wait_for("Not asked before");
        match how {
            "\x1a" => drill.send(how),
            signal => drill.signal(signal),
        }
        drill.wait_until("the stop", |d| d.is_stopped());
        std::thread::sleep(Duration::from_millis(1500));
        let back = Instant::now();
        drill.signal("CONT");
        drill.wait_for("You were away");
        drill.send("2oooooooorlllllll1");
        drill.wait_for("[Enter] next");
        let seconds = last_seconds(folder.path());
        let most = back.elapsed().as_secs_f64();
        assert!(seconds <= most, "{how:?}: {seconds} of at most {most}");
        assert_eq!(reviews(folder.path()), 1);
        drill.send("\x03");
        assert!(drill.end().success(), "{how:?}");
    }
}

#[test]
fn time_away_is_not_time_to_answer_line_by_line() {
    let folder = tempfile::tempdir().unwrap();
    let args = ["drill", "--plain", "--silent", "--deck", DECK];
    let mut drill = Terminal::start(&args, folder.path());
    drill.wait_for("Minutes a day");
    drill.send("\n");
    drill.wait("a new card", |t| t.matches("count |").count() == 1);
    drill.send("\n");
    drill.wait_for("Not asked before");
    drill.signal("STOP");
    drill.wait_until("the stop", |d| d.is_stopped());
    std::thread::sleep(Duration::from_millis(1500));
    let back = Instant::now();
    drill.signal("CONT");
    // Meant for the question of before, and not taken as an answer to the next.
    drill.send("2\n");
    drill.wait_for("You were away");
    assert_eq!(reviews(folder.path()), 0);
    drill.send("2\no\nr\n");
    for n in 2..=8 {
        drill.send(&format!("{}\n{}\n", "l".repeat(n), "o".repeat(n)));
    }
    drill.wait("the answer", |t| {
        // Lines that come after the answer are told to wait; by then the verdict may have left the screen.
        let verdicts = [
            "Right, ",
            "Partly right, ",
            "Missed:",
            "Press Enter to go on",
        ];
        verdicts.iter().any(|v| t.contains(v))
    });
    drill.send("stop\n");
    let most = back.elapsed().as_secs_f64();
    assert!(drill.end().success());
    assert!(last_seconds(folder.path()) <= most);
}

#[test]
fn a_deck_with_mistakes_is_told_about_and_its_good_cards_stay() {
    let folder = tempfile::tempdir().unwrap();
    let decks = folder.path().join("decks");
    std::fs::create_dir(&decks).unwrap();
    let good = std::fs::read_to_string(DECK).unwrap();
    std::fs::write(
        decks.join("street.toml"),
        format!("{good}\n[[card]]\nid = 7\n"),
    )
    .unwrap();
    let mut drill = Terminal::start(&["drill", "--silent"], folder.path());
    drill.wait_for("in street.toml");
    drill.send("\r");
    drill.wait("the remark to go", |t| {
        t.contains("ask me") && !t.contains("street.toml")
    });
    drill.send("\x03");
    drill.wait_until("the terminal to be given back", |d| !d.is_full_screen());
    drill.wait_for("shows where.");
    assert!(drill.end().success());
}

#[test]
fn stray_keys_do_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut drill = drill_at_a_card(folder.path());
    drill.send("\r");
    drill.wait_for("Not asked before");
    let screen = drill.settled();
    drill.send("\t\x1b[5~\x1b[H\x7f\x01\x1bx -");
    drill.send("\x1b[A\x1b[B");
    std::thread::sleep(std::time::Duration::from_millis(200));
    assert_eq!(drill.settled(), screen);
    // A letter or a sign that is none of the answers is named, and nothing else happens.
    for key in ["q", "%", "/", "\u{e9}", "\u{4e16}"] {
        drill.send(key);
        drill.wait_for(&format!("`{key}` is not one of the answers"));
    }
    drill.send("\x03");
    assert!(drill.end().success());
    assert_eq!(reviews(folder.path()), 0);
}

/// A sound configuration whose only device swallows everything, whatever the machine has.
fn swallowing_device(folder: &Path) -> std::path::PathBuf {
    let file = folder.join("swallow.conf");
    std::fs::write(
        &file,
        "pcm.!default { type null }\nctl.!default { type null }\n",
    )
    .unwrap();
    file
}

#[test]
fn a_card_is_played_on_the_screen_and_its_tempo_and_band_are_changed() {
    let folder = tempfile::tempdir().unwrap();
    let device = swallowing_device(folder.path());
    let data = folder.path().join("data");
    let variables = [("ALSA_CONFIG_PATH", device.to_str().unwrap())];
    let args = ["play", DECK, "tumbao", "--bpm", "170"];
    let mut play = Terminal::start_with(&args, &data, &variables);
    play.wait_for("170 quarter notes a minute");
    play.wait_for("[Space] stop");
    play.send("+");
    play.wait_for("175 quarter notes a minute");
    play.send("3");
    play.wait_for("shell on");
    play.send("pp");
    play.wait_for("of 4");
    play.send("\x1b[B");
    play.wait_for("[↑↓] 45 %");
    play.send(" ");
    play.wait_for("[Space] start");
    play.resize(30, 8);
    play.wait_for("This window has 30");
    play.resize(80, 24);
    play.wait_for("[Space] start");
    play.send("\x1b");
    assert!(play.end().success());

    // The volume is remembered.
    let again = Terminal::start_with(&args, &data, &variables);
    again.wait_for("[↑↓] 45 %");
    again.signal("TERM");
    assert!(again.end().success());
}

#[test]
fn a_bar_is_written_with_a_cursor_and_changed_before_enter() {
    let folder = tempfile::tempdir().unwrap();
    let mut args = vec!["drill", "--silent", "--seed", "7", "--deck", DECK];
    args.extend(["--kind", "write"]);
    args.extend(EVENING);
    let mut drill = Terminal::start(&args, folder.path());
    drill.wait_for("Minutes a day");
    drill.send("\r");
    drill.wait_for("ask me");
    drill.send("\r");
    drill.wait_for("Write “");
    let asked = drill.settled();
    assert!(!asked.contains("clave │"), "{asked}");
    drill.send("\r");
    drill.wait_for("Nothing is written yet");
    // Eight letters fill the row; back by three to put a rest on 3&.
    drill.send("htsthtoo\x1b[D\x1b[D\x1b[D.");
    drill.wait_for("│ H      T      S      T      H      ·      O      O ");
    drill.send("\r");
    drill.wait_for("[Enter] next");
    drill.send("\x03");
    assert!(drill.end().success());
    assert_eq!(reviews(folder.path()), 1);
}

/// Taps until so many are counted: those before the sound has begun are not.
fn tap(drill: &mut Terminal, keys: &str, least: usize) {
    let counted = |text: &str| {
        let words: Vec<&str> = text.split_whitespace().collect();
        let counts = words.windows(2).filter(|w| w[1] == "of");
        counts
            .filter_map(|w| w[0].parse::<usize>().ok())
            .max()
            .unwrap_or(0)
    };
    for key in keys.chars().cycle().take(20 * least) {
        if counted(&drill.text()) >= least {
            return;
        }
        drill.send(&key.to_string());
        std::thread::sleep(Duration::from_millis(20));
    }
    drill.wait("so many taps", |text| counted(text) >= least);
}

/// A device that swallows everything keeps no time: what the taps are worth is not asked here, only that they are taken.
#[test]
fn the_clave_is_clapped_with_one_key() {
    let folder = tempfile::tempdir().unwrap();
    let device = swallowing_device(folder.path());
    let data = folder.path().join("data");
    let variables = [("ALSA_CONFIG_PATH", device.to_str().unwrap())];
    let args = ["drill", "--kind", "clap", "--seed", "7", "--deck", DECK];
    let mut drill = Terminal::start_with(&args, &data, &variables);
    drill.wait_for("Minutes a day");
    drill.send("\r");
    drill.wait_for("ask me");
    drill.send("\r");
    drill.wait_for("plays without its clave");
    drill.wait_for("0 of 20");
    drill.send("jjj");
    drill.send("\r");
    drill.wait_for("Too few: at least 10 strokes");
    tap(&mut drill, "j", 1);
    // Each tap is counted, and stands on the grid.
    drill.wait("a tap on the grid", |text| {
        let mut rows = text
            .lines()
            .filter(|line| line.trim_start().starts_with("you │"));
        rows.any(|row| row.contains('x'))
    });
    tap(&mut drill, "j", 12);
    drill.send("\r");
    drill.wait_for("[Enter] next");
    drill.send("\x03");
    assert!(drill.end().success());
    assert_eq!(reviews(&data), 1);
}

/// A device that plays and has no microphone: the drill says so and takes keys.
#[test]
fn without_a_microphone_the_keys_are_taken() {
    let folder = tempfile::tempdir().unwrap();
    let swallowing = std::fs::read_to_string(swallowing_device(folder.path())).unwrap();
    let device = folder.path().join("deaf.conf");
    let deaf = "pcm.deaf { type hw card 77 }\npcm.!default { type asym playback.pcm out capture.pcm deaf }\n";
    std::fs::write(
        &device,
        swallowing.replace("pcm.!default", "pcm.out") + deaf,
    )
    .unwrap();
    let data = folder.path().join("data");
    let variables = [("ALSA_CONFIG_PATH", device.to_str().unwrap())];
    let args = [
        "drill", "--listen", "--kind", "clap", "--seed", "7", "--deck", DECK,
    ];
    let mut drill = Terminal::start_with(&args, &data, &variables);
    drill.wait_for("Minutes a day");
    drill.wait_for("so tap on the keys");
    drill.send("\r");
    drill.wait_for("ask me");
    drill.send("\r");
    drill.wait_for("0 of 20");
    tap(&mut drill, "j", 12);
    drill.send("\r");
    drill.wait_for("[Enter] next");
    drill.send("\x03");
    assert!(drill.end().success());
    assert_eq!(reviews(&data), 1);
}

/// As above: half of the strokes at the least, the left and the right hand in turn where there are two.
#[test]
fn the_clave_is_held_a_variation_is_played_and_a_call_is_answered() {
    for (kind, asked, keys) in [
        ("hold", "Clap the son clave all through", "j"),
        ("play", "[f] left hand", "fj"),
        ("call", "Call and answer: the conga", "fj"),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let device = swallowing_device(folder.path());
        let data = folder.path().join("data");
        let variables = [("ALSA_CONFIG_PATH", device.to_str().unwrap())];
        let args = ["drill", "--kind", kind, "--seed", "7", "--deck", DECK];
        let mut drill = Terminal::start_with(&args, &data, &variables);
        drill.wait_for("Minutes a day");
        drill.send("\r");
        drill.wait_for("ask me");
        drill.send("\r");
        drill.wait_for(asked);
        drill.wait_for("stop at pain");
        tap(&mut drill, keys, 40);
        drill.send("\r");
        drill.wait_for("[Enter] next");
        drill.send("\x03");
        assert!(drill.end().success());
        assert_eq!(reviews(&data), 1, "{kind}");
    }
}

/// Line by line the taps are a line: here those of the son clave at 60 a minute, far from any tempo of the deck.
#[test]
fn taps_are_typed_as_a_line_of_seconds() {
    let folder = tempfile::tempdir().unwrap();
    let device = swallowing_device(folder.path());
    let data = folder.path().join("data");
    let variables = [("ALSA_CONFIG_PATH", device.to_str().unwrap())];
    let args = ["drill", "--plain", "--kind", "clap", "--deck", DECK];
    let mut drill = Terminal::start_with(&args, &data, &variables);
    drill.wait_for("Minutes a day");
    drill.send("\n");
    drill.wait("a new card", |t| t.matches("count |").count() == 1);
    drill.send("\n");
    drill.wait_for("plays without its clave");
    drill.send("0 x\n");
    drill.wait_for("`x` is not a tap");
    drill.send("1 2 4 5.5 7 9 10 12 13.5 15\n");
    drill.wait("the answer", |t| t.contains(": son"));
    drill.send("stop\n");
    assert!(drill.end().success());
    assert_eq!(reviews(&data), 1);
}

#[test]
fn a_question_by_ear_hides_the_grid_until_it_is_answered() {
    let folder = tempfile::tempdir().unwrap();
    let device = swallowing_device(folder.path());
    let data = folder.path().join("data");
    let variables = [("ALSA_CONFIG_PATH", device.to_str().unwrap())];
    let args = ["drill", "--sense", "hear", "--seed", "7", "--deck", DECK];
    let mut drill = Terminal::start_with(&args, &data, &variables);
    drill.wait_for("Minutes a day");
    // On a busy machine the device opens late, and what cannot be heard yet is not asked by ear.
    std::thread::sleep(Duration::from_secs(1));
    drill.send("\r");
    drill.wait_for("ask me");
    drill.send("\r");
    drill.wait_for("by ear");
    let asked = drill.settled();
    assert!(!asked.contains("conga │"), "{asked}");
    assert!(asked.contains("[Space] hear it"), "{asked}");
    drill.send(" -2oooooooo");
    drill.wait_for("conga │");
    drill.send("\x03");
    assert!(drill.end().success());
    assert_eq!(reviews(&data), 1);
}

/// A sound configuration whose only device writes into a pipe: it hangs where nobody reads, as a hung sound server does.
#[cfg(target_os = "linux")]
fn hanging_device(folder: &Path) -> (std::path::PathBuf, std::path::PathBuf) {
    let pipe = folder.join("pipe");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status();
    assert!(made.expect("mkfifo can be run").success());
    let file = folder.join("hang.conf");
    let text = format!(
        "pcm.null {{ type null }}\npcm.!default {{ type file slave.pcm null file {} format raw }}\n",
        pipe.display()
    );
    std::fs::write(&file, text).unwrap();
    (file, pipe)
}

#[test]
#[cfg(target_os = "linux")]
fn a_sound_server_that_does_not_answer_stops_neither_the_drill_nor_a_card() {
    let folder = tempfile::tempdir().unwrap();
    let (device, _) = hanging_device(folder.path());
    let variables = [("ALSA_CONFIG_PATH", device.to_str().unwrap())];
    let data = folder.path().join("data");
    let args = ["drill", "--seed", "7", "--deck", DECK];
    let mut drill = Terminal::start_with(&args, &data, &variables);
    drill.wait_for("Minutes a day");
    drill.send("\r");
    drill.wait_for("ask me");
    drill.wait_for("No sound");
    drill.send("\r");
    drill.wait_for("Not asked before");
    assert!(drill.text().contains("conga │"));
    drill.signal("TERM");
    assert!(drill.end().success());
    let mut play = Terminal::start_with(&["play", DECK, "tumbao"], &data, &variables);
    play.wait_for("the sound server does not answer");
    play.send("+");
    play.send("\x1b");
    assert!(play.end().success());
    // Line by line, and where there is nothing but sound to give.
    let plain = Terminal::start_with(&["play", DECK, "tumbao", "--plain"], &data, &variables);
    plain.wait_for("the sound server does not answer");
    assert!(!plain.end().success());
    let mut plain = Terminal::start_with(&["drill", "--plain", "--deck", DECK], &data, &variables);
    plain.wait_for("No sound");
    plain.send("stop\n");
    assert!(plain.end().success());
}

#[test]
#[cfg(target_os = "linux")]
fn a_sound_server_that_hangs_in_the_middle_stops_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let (device, pipe) = hanging_device(folder.path());
    let variables = [("ALSA_CONFIG_PATH", device.to_str().unwrap())];
    let data = folder.path().join("data");
    let (hang, hangs) = std::sync::mpsc::channel::<()>();
    let server = std::thread::spawn(move || {
        use std::io::Read;
        let mut pipe = std::fs::File::open(pipe).unwrap();
        let mut block = [0; 4096];
        while hangs.try_recv().is_err() && pipe.read(&mut block).is_ok_and(|n| n > 0) {}
        // It keeps the pipe open and reads no more.
        hangs.recv().ok();
    });
    let args = ["drill", "--sense", "hear", "--seed", "7", "--deck", DECK];
    let mut drill = Terminal::start_with(&args, &data, &variables);
    drill.wait_for("Minutes a day");
    drill.send("\r");
    drill.wait_for("ask me");
    drill.send("\r");
    drill.wait_for("by ear");
    hang.send(()).unwrap();
    drill.wait_for("No sound");
    drill.wait_for("conga │");
    drill.send("?");
    drill.wait_for("not right; it comes again today");
    drill.send("\x03");
    assert!(drill.end().success());
    drop(hang);
    server.join().unwrap();
}

#[test]
fn on_a_terminal_that_cannot_be_drawn_on_everything_comes_as_text() {
    let folder = tempfile::tempdir().unwrap();
    let device = swallowing_device(folder.path());
    let data = folder.path().join("data");
    let run = |command: &str| {
        let device = device.display();
        let line = format!("ALSA_CONFIG_PATH={device} TERM=dumb exec \"$0\" {command} \"$@\"");
        Terminal::script(&line, &data)
    };
    let mut drill = run("drill --silent");
    drill.wait_for("Minutes a day");
    drill.send("stop\n");
    let weak = run("weak");
    weak.wait_for("What is worth working on");
    let play = run(&format!("play {DECK} tumbao --cycles 1 --bpm 200"));
    play.wait_for("conga |");
    // A device that swallows everything keeps no time: when it would be through is not asked here.
    assert!(!play.is_full_screen() && !play.is_cursor_hidden());
    for terminal in [drill, weak] {
        assert!(!terminal.is_full_screen() && !terminal.is_cursor_hidden());
        assert!(terminal.end().success());
    }
}
