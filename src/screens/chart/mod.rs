//! The bar grid: count on top, one row a drum, the band, the hands, the clave beneath.
//!
//! A [`Chart`] says what is to be seen, [`GridLayout`] turns it into rows of cells, and from those, one file draws on
//! the screen and another writes lines of text.

mod answered;
mod draw;
mod fit;
mod grid_layout;
mod text;

pub use answered::Answered;
pub use grid_layout::{ChartCell, ChartRow, GridLayout};

use crate::clave::{Alignment, Clave};
use crate::question::{Mark, Reason};
use crate::rhythm::{Hand, Score};

/// What is to be seen of a score.
#[derive(Clone, Debug)]
pub struct Chart<'a> {
    /// The score.
    pub score: &'a Score,
    /// Show only the count: the music is to be heard, not seen.
    pub curtain: bool,
    /// The bar or stroke that is asked about.
    pub mark: Mark,
    /// Pulses whose strokes are asked for.
    pub hidden: &'a [usize],
    /// Pulses whose hands are asked for.
    pub asked_hands: &'a [usize],
    /// Show nothing but the count and what was written at the pulses that are asked for.
    pub writes: bool,
    /// What the player has typed for these pulses so far, in their order.
    pub typed: &'a str,
    /// The pulses that the player has tapped in this round, with the hand where it is known.
    pub tapped: Vec<(usize, Option<Hand>)>,
    /// One hand a pulse, where hands are shown.
    pub hands: Option<Vec<Option<Hand>>>,
    /// The clave under the first bar, where it is shown.
    pub clave: Option<Clave>,
    /// How the part meets the clave, one entry a pulse; empty where that is not shown.
    pub meets: &'a [Alignment],
    /// Reasons, whose numbers mark their pulses.
    pub reasons: &'a [Reason],
    /// A row that was answered and is not right.
    pub answered: Option<Answered<'a>>,
    /// The pulse that is heard now.
    pub playhead: Option<usize>,
}

impl<'a> Chart<'a> {
    /// The bare score.
    pub fn new(score: &'a Score) -> Chart<'a> {
        Chart {
            score,
            curtain: false,
            mark: Mark::Whole,
            hidden: &[],
            asked_hands: &[],
            typed: "",
            writes: false,
            tapped: Vec::new(),
            hands: None,
            clave: None,
            meets: &[],
            reasons: &[],
            answered: None,
            playhead: None,
        }
    }

    /// Shows the hands that are written in the score.
    pub fn with_written_hands(mut self) -> Chart<'a> {
        let pulses = 0..self.score.pulses();
        self.hands = self
            .score
            .drums
            .as_ref()
            .map(|drums| pulses.map(|p| drums.at(p).and_then(|s| s.hand)).collect());
        self
    }
}

/// The number of each reason on the grid, without gaps; `None` for one that points at no pulse.
pub fn numbers(reasons: &[Reason]) -> impl Iterator<Item = Option<u32>> {
    reasons.iter().scan(0, |last, reason| {
        let points = !reason.pulses.is_empty();
        *last += u32::from(points);
        Some(points.then_some(*last))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clave::{Direction, Family, locks};
    use crate::rhythm::{Grid, notation};
    use crate::screens::canvas::Canvas;
    use crate::screens::theme::{Depth, Theme};
    use ratatui::buffer::Buffer;
    use ratatui::layout::Rect;

    fn score(text: &str, grid: Grid) -> Score {
        Score {
            drums: Some(notation::read_line(text, grid).unwrap()),
            ..Score::empty(grid)
        }
    }

    fn drawn(chart: &Chart, width: u16, height: u16) -> String {
        let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
        let layout = GridLayout::of(chart);
        assert!(layout.height(buffer.area) <= height);
        let area = buffer.area;
        layout.draw(
            &mut Canvas::new(Theme::new(Depth::None), area, &mut buffer),
            area,
        );
        let cells = buffer.content().chunks(usize::from(width).max(1));
        let lines = cells.map(|row| {
            let line: String = row.iter().map(|cell| cell.symbol()).collect();
            line.trim_end().to_string() + "\n"
        });
        lines.collect()
    }

    #[test]
    fn a_question_about_a_bar() {
        let score = score("H T S tO H T >O O | H T (S) T H T O O", Grid::Eighths);
        let mut chart = Chart::new(&score);
        chart.mark = Mark::Bar(1);
        chart.playhead = Some(3);
        insta::assert_snapshot!(drawn(&chart, 80, 7));
    }

    #[test]
    fn an_answer_with_its_reasons() {
        let score = score("H T S T H T O O | H T S T H T . O", Grid::Eighths);
        let reasons = [Reason {
            text: "The open tone waits for the clave.".into(),
            pulses: vec![6, 15],
        }];
        let mut chart = Chart::new(&score);
        chart.mark = Mark::Pulse(15);
        chart.hidden = &[6, 7];
        chart.typed = "o";
        chart.clave = Some(Clave {
            family: Family::Rumba,
            direction: Direction::TwoThree,
        });
        let strong: Vec<bool> = "..x...xx..x....x".chars().map(|c| c == 'x').collect();
        let meets = locks(&strong, chart.clave.unwrap(), Grid::Eighths);
        chart.meets = &meets;
        chart.reasons = &reasons;
        insta::assert_snapshot!(drawn(&chart, 80, 9));
        insta::assert_snapshot!(GridLayout::of(&chart).to_text());
    }

    #[test]
    fn eight_bars_of_sixteenths_turn_pages() {
        let bar = "H T S T H T O O H T S T H T O O";
        let score = score(&[bar; 8].join("|"), Grid::Sixteenths);
        let mut chart = Chart::new(&score);
        chart.mark = Mark::Bar(6);
        insta::assert_snapshot!(drawn(&chart, 80, 11));
    }

    #[test]
    fn several_bars_are_marked_together_and_on_over_the_end_of_a_line() {
        let bars = ["H T S T H T O O"; 8].join("|");
        let score = score(&bars, Grid::Eighths);
        let mut chart = Chart::new(&score);
        chart.mark = Mark::Bars(6, 7);
        insta::assert_snapshot!(drawn(&chart, 80, 11));
        insta::assert_snapshot!(GridLayout::of(&chart).to_text());
        chart.mark = Mark::Bars(3, 4);
        insta::assert_snapshot!(drawn(&chart, 80, 11));
    }

    #[test]
    fn nothing_is_drawn_past_its_area_and_no_size_panics() {
        for grid in Grid::ALL {
            let bar = vec!["(tO)"; grid.pulses_per_bar()].join(" ");
            let score = score(&[bar.as_str(); 5].join("|"), grid);
            for mark in [
                Mark::Whole,
                Mark::Bar(4),
                Mark::Bars(1, 4),
                Mark::Bars(4, 99),
                Mark::Pulse(0),
                Mark::Bar(99),
            ] {
                let chart = Chart {
                    mark,
                    playhead: Some(1000),
                    ..Chart::new(&score).with_written_hands()
                };
                for width in 0..130 {
                    for height in [0, 1, 4, 5, 9, 40] {
                        drawn(&chart, width, height);
                    }
                }
            }
        }
    }
}
