//! Some evenings of a simulated player with the real program. `cargo bench --bench month` is the whole month.

mod life;
mod player;
mod program;
mod rules;

use life::{Plan, live};

#[test]
fn a_player_lives_with_the_drill_for_some_days() {
    let folder = tempfile::tempdir().unwrap();
    let plan = Plan {
        days: 10,
        minutes: 2.0,
        skipped: 0.15,
        away: 0..0,
        seed: 3,
        level: 0.1,
        first_page: "<<<",
        extra: Vec::new(),
    };
    let life = live(&plan, folder.path());
    let table = rules::table(&life);
    for (kept, rule) in rules::rules(&life, &plan) {
        assert!(kept, "{rule}\n{table}");
    }
    assert!(life.evenings.len() > 4, "{table}");
    assert!(life.cards.len() > 4, "{table}");
    let asked: usize = life.evenings.iter().map(|e| e.asked).sum();
    assert_eq!(program::log(&life::folder(folder.path())).len(), asked);
    let said = program::run(&["log", "verify"], &life::folder(folder.path()));
    assert!(said.contains("all is well"), "{said}");
}
