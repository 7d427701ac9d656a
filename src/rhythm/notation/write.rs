//! Scores written as a block of rows.

use super::row::RowRole;
use crate::rhythm::{Drum, Grid, Hit, Instrument, Line, Pattern, Score, Stroke, Weight};

/// Writes a score as a block that [`super::read_block`] reads back the same. Degrees outside 1 to 8, and degrees of
/// instruments without pitch, are written as plain hits.
pub fn write_block(score: &Score) -> String {
    let rows = rows(score);
    let pulses = rows.iter().map(|(_, cells)| cells.len()).max().unwrap_or(0);
    let cells = rows.iter().flat_map(|(_, cells)| cells);
    let width = cells.map(|c| c.chars().count()).max().unwrap_or(1);
    let label = rows.iter().map(|(role, _)| role.name().len()).max();
    let label = label.unwrap_or(0);
    let per = score.grid.pulses_per_bar();
    // Only rows of one length can be cut into systems; others go round and stay on one line.
    let equal = rows.iter().all(|(_, cells)| cells.len() == pulses);
    let system = if equal {
        bars_a_line(score.grid, label, width) * per
    } else {
        pulses.max(1)
    };
    let mut text = String::new();
    for start in (0..pulses).step_by(system) {
        if start > 0 {
            text.push('\n');
        }
        for (role, cells) in &rows {
            let end = cells.len().min(start + system);
            text += &format!("{:label$} |", role.name());
            for bar in cells[start.min(end)..end].chunks(per) {
                for cell in bar {
                    text += &format!(" {cell:width$}");
                }
                text += " |";
            }
            text.push('\n');
        }
    }
    text
}

/// Columns of the terminal that a line is to fit.
const COLUMNS: usize = 80;

/// Bars that fit on a line: four, two or one, with names of `label` columns and cells of `width`.
fn bars_a_line(grid: Grid, label: usize, width: usize) -> usize {
    let bar = grid.pulses_per_bar() * (width + 1) + 2;
    let fit = |bars: &usize| label + 2 + bars * bar <= COLUMNS;
    [4, 2].into_iter().find(fit).unwrap_or(1)
}

fn rows(score: &Score) -> Vec<(RowRole, Vec<String>)> {
    let count = |n: usize| (0..n).map(|p| score.grid.count(p).to_string()).collect();
    let mut rows = vec![(RowRole::Count, count(score.pulses()))];
    if let Some(pattern) = &score.drums {
        rows.extend(player_rows(pattern));
    }
    let lines = score.lines.iter();
    rows.extend(lines.map(|l| (RowRole::Band(l.instrument()), line_cells(l))));
    rows
}

fn player_rows(pattern: &Pattern) -> Vec<(RowRole, Vec<String>)> {
    let mut drums = pattern.drums();
    if drums.is_empty() {
        drums.push(Drum::Conga);
    }
    let row = |of: &dyn Fn(&Stroke) -> char| -> Vec<String> {
        let cells = pattern.cells().iter();
        cells
            .map(|c| c.as_ref().map_or('.', of).to_string())
            .collect()
    };
    let letter = |s: &Stroke, drum| if s.drum == drum { s.tone.letter() } else { '.' };
    let of = |drum| (RowRole::Drum(drum), row(&|s| letter(s, drum)));
    let mut rows: Vec<_> = drums.into_iter().map(of).collect();
    if pattern.strokes().any(|(_, s)| s.hand.is_some()) {
        rows.push((RowRole::Hand, row(&|s| s.hand.map_or('?', |h| h.letter()))));
    }
    if pattern.strokes().any(|(_, s)| s.weight != Weight::Plain) {
        rows.push((RowRole::Mark, row(&|s| s.weight.mark())));
    }
    rows
}

fn line_cells(line: &Line) -> Vec<String> {
    let pitched = matches!(line.instrument(), Instrument::Bass | Instrument::Piano);
    line.cells()
        .iter()
        .map(|c| c.map_or(".".into(), |h| hit(h, pitched)))
        .collect()
}

fn hit(hit: Hit, pitched: bool) -> String {
    let degree = hit.degree.filter(|d| pitched && (1..=8).contains(d));
    let letter = degree.map_or("x".into(), |d| d.to_string());
    hit.weight.written(&letter)
}
