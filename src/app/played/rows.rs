//! What was played under what was due, as rows of marks.

use super::rounds;
use crate::taps::{Played, TapTask};

/// Most rounds that are drawn.
const DRAWN: usize = 12;

/// One mark a pulse of a round.
fn marks(task: &TapTask, played: &Played, cycle: usize) -> Vec<char> {
    let mut row = vec!['.'; task.part().pulses()];
    for added in played.added.iter().filter(|a| a.place.cycle == cycle) {
        row[added.place.pulse] = '+';
    }
    for missed in played.missed.iter().filter(|p| p.cycle == cycle) {
        row[missed.pulse] = '-';
    }
    for pair in played.matched.iter().filter(|p| p.place.cycle == cycle) {
        row[pair.place.pulse] = match played.lean(pair, task.pulse_seconds()) {
            -1 => '<',
            1 => '>',
            _ => 'x',
        };
    }
    row
}

/// Two bars a line: the count, the part, and each round as it was played.
pub(super) fn drawn(task: &TapTask, played: &Played) -> String {
    let part = task.part();
    let grid = part.grid();
    let per = grid.pulses_per_bar();
    let letter = |p: usize| match (part.at(p), task.is_on_drums()) {
        (None, _) => '.',
        (Some(stroke), true) => stroke.tone.letter(),
        (Some(_), false) => 'x',
    };
    let mut rows: Vec<(String, Vec<char>)> = vec![
        (
            "count".to_string(),
            (0..part.pulses()).map(|p| grid.count(p)).collect(),
        ),
        ("part".to_string(), (0..part.pulses()).map(letter).collect()),
    ];
    if part.hands().iter().any(Option::is_some) {
        let hand = |p: usize| part.at(p).and_then(|s| s.hand).map_or('.', |h| h.letter());
        rows.push(("hand".to_string(), (0..part.pulses()).map(hand).collect()));
    }
    let (first, last) = rounds(played).unwrap_or((0, 0));
    for cycle in first..=last.min(first + DRAWN - 1) {
        rows.push((format!("round {}", cycle + 1), marks(task, played, cycle)));
    }
    let mut text = String::new();
    for start in (0..part.bars()).step_by(2) {
        for (name, row) in &rows {
            let bars = row.chunks(per).skip(start).take(2);
            let bars = bars.map(|b| b.iter().map(char::to_string).collect::<Vec<_>>().join(" "));
            let bars: Vec<String> = bars.collect();
            text += &format!("{name:>9}  {}\n", bars.join(" | "));
        }
        text += "\n";
    }
    if last >= first + DRAWN {
        text += &format!("           and {} more rounds\n", last + 1 - first - DRAWN);
    }
    text += "           x in its place, < early, > late, - missed, + added\n";
    text
}
