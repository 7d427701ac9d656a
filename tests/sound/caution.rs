//! The caution about hearing is the same everywhere.

use assert_cmd::Command;
use whichside::sound::HEARING;

fn words(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_readme_and_the_help_hold_the_caution_about_hearing() {
    let readme = concat!(env!("CARGO_MANIFEST_DIR"), "/README.md");
    let readme = std::fs::read_to_string(readme).unwrap();
    assert!(words(&readme).contains(&words(HEARING)));
    for command in ["drill", "play", "sound"] {
        let run = Command::cargo_bin("whichside")
            .unwrap()
            .args([command, "--help"])
            .assert()
            .success();
        let help = String::from_utf8_lossy(&run.get_output().stdout).into_owned();
        assert!(words(&help).contains(&words(HEARING)), "{command}");
    }
}
