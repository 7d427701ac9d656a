//! A month with the program: 30 days, five minutes an evening, 15 % of the days skipped and a whole week missed, by
//! a simulated player who forgets by a published law, through the real program line by line.
//!
//! `cargo bench --bench month` prints a line an evening and the rules, and ends with 1 where one was broken.
//! `-- --keep FOLDER` leaves the player's folder behind for `plan`, `weak` and `log`; `-- --seed N` takes another
//! player, `-- --level X` a weaker one (below .1) or a stronger one, `-- --days N` a shorter life.

#[path = "../tests/month/life.rs"]
mod life;
#[path = "../tests/month/player.rs"]
mod player;
#[path = "../tests/month/program.rs"]
mod program;
#[path = "../tests/month/rules.rs"]
mod rules;

use life::{Plan, live};
use std::path::PathBuf;
use std::process::ExitCode;

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().collect();
    let value = |name: &str| {
        let at = args.iter().position(|a| a == name);
        at.and_then(|at| args.get(at + 1))
    };
    let folder = tempfile::tempdir().expect("a folder");
    let data = value("--keep").map_or_else(|| folder.path().to_path_buf(), PathBuf::from);
    let plan = Plan {
        days: value("--days").and_then(|d| d.parse().ok()).unwrap_or(30),
        minutes: 5.0,
        skipped: 0.15,
        away: 15..22,
        seed: value("--seed").and_then(|s| s.parse().ok()).unwrap_or(1),
        level: value("--level").and_then(|s| s.parse().ok()).unwrap_or(0.1),
        first_page: "",
        extra: Vec::new(),
    };
    let life = live(&plan, &data);
    print!("{}", rules::table(&life));
    println!("{} cards met, {} items", life.cards.len(), life.items.len());
    let mut all = true;
    for (kept, rule) in rules::rules(&life, &plan) {
        all &= kept;
        println!("{} {rule}", if kept { "kept  " } else { "BROKEN" });
    }
    println!(
        "{}",
        program::run(&["log", "verify"], &life::folder(&data)).trim_end()
    );
    match all {
        true => ExitCode::SUCCESS,
        false => ExitCode::FAILURE,
    }
}
