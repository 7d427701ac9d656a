use super::Sheet;
use std::fmt::Write;

impl Sheet {
    /// The rows as lines of text: a name, then letters parted by blanks, bars parted by `|`. Made to be read aloud
    /// as well: a rest is a dot, an empty cell of the rows beneath is a dot too, and nothing is drawn.
    pub fn to_text(&self) -> String {
        let per = self.grid.pulses_per_bar();
        let mut text = String::new();
        for row in &self.rows {
            let bars = row.cells.chunks(per).map(|bar| {
                let cells = bar.iter().map(|cell| {
                    let letter = match cell.letter {
                        ' ' | '·' => '.',
                        letter => letter,
                    };
                    let marked: String = [cell.before, letter, cell.after].iter().collect();
                    marked.trim().to_string()
                });
                cells.collect::<Vec<_>>().join(" ")
            });
            let bars = bars.collect::<Vec<_>>().join(" | ");
            let _ = writeln!(text, "{:<5} | {bars} |", row.name);
        }
        if let Some(marked) = &self.marked {
            let bar = marked.start / per + 1;
            let _ = match marked.len() {
                1 => writeln!(
                    text,
                    "Marked: {} of bar {bar}.",
                    self.grid.spoken(marked.start)
                ),
                _ => writeln!(text, "Marked: bar {bar}."),
            };
        }
        text
    }
}
