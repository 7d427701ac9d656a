//! The plots of the view.

use super::section;
use crate::report::phrases::{counted, percent};
use crate::report::text::About;
use crate::report::{Report, TempoLimit};
use crate::screens::theme::{Role, Theme};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::symbols::Marker;
use ratatui::text::Line;
use ratatui::widgets::{Axis, Chart, Dataset, GraphType, Widget};

/// The limit of the chosen concept: what was measured, the fit, and in words.
pub(super) fn tempo(report: &Report, row: usize, theme: Theme, area: Rect, buffer: &mut Buffer) {
    let Some(limit) = report.tempos.get(row) else {
        return section(report, &[About::Tempo], theme, area, buffer);
    };
    let measured: Vec<(f64, f64)> = limit.measured.iter().map(|m| (m.0, m.1)).collect();
    let datasets = vec![
        dataset(
            &limit.curve,
            Marker::Braille,
            GraphType::Line,
            theme,
            Role::Band,
        ),
        dataset(
            &measured,
            Marker::Dot,
            GraphType::Scatter,
            theme,
            Role::Clave,
        ),
    ];
    let (low, high) = limit.asked;
    let middle = (low + high) / 2.0;
    let x = axis(
        "quarter notes a minute",
        (low, high),
        theme,
        [low, middle, high].map(|v| format!("{v:.0}")),
    );
    let upper = below(&words(limit, row, report.tempos.len()), theme, area, buffer);
    let y = shares("right and in time", theme);
    plot(datasets, x, y, upper, buffer);
}

fn words(limit: &TempoLimit, row: usize, of: usize) -> String {
    format!(
        "{} of {of}. {}. Dots: {}; line: the fit.",
        row + 1,
        limit.sentence(),
        counted(limit.answers, "answer")
    )
}

/// Forecast against measured, with the line on which both are the same.
pub(super) fn forecasts(report: &Report, theme: Theme, area: Rect, buffer: &mut Buffer) {
    if report.calibration.is_empty() {
        return section(report, &[About::Calibration], theme, area, buffer);
    }
    let points: Vec<(f64, f64)> = report
        .calibration
        .iter()
        .map(|c| (c.forecast, c.right.mean))
        .collect();
    let same = [(0.0, 0.0), (1.0, 1.0)];
    let datasets = vec![
        dataset(&same, Marker::Braille, GraphType::Line, theme, Role::Quiet),
        dataset(&points, Marker::Dot, GraphType::Scatter, theme, Role::Clave),
    ];
    let x = shares("forecast", theme);
    let off = report
        .calibration
        .iter()
        .map(|c| c.answers * (c.forecast - c.right.mean).abs());
    let answers: f64 = report.calibration.iter().map(|c| c.answers).sum();
    let text = format!(
        "Dots: share that was right, by the chance that was forecast, for {answers:.0} answers. On the line both are the \
         same; on average they are {} apart.",
        percent(off.sum::<f64>() / answers)
    );
    let upper = below(&text, theme, area, buffer);
    plot(datasets, x, shares("right", theme), upper, buffer);
}

/// Minutes a day over the last weeks.
pub(super) fn days(report: &Report, theme: Theme, area: Rect, buffer: &mut Buffer) {
    let Some(last) = report.days.last() else {
        return section(report, &[About::Days], theme, area, buffer);
    };
    const SHOWN: i64 = 28;
    let points: Vec<(f64, f64)> = report
        .days
        .iter()
        .map(|d| ((d.date - last.date).num_days(), d.minutes))
        .filter(|(ago, _)| *ago > -SHOWN)
        .map(|(ago, minutes)| (ago as f64, minutes))
        .collect();
    let most = points.iter().map(|p| p.1).fold(1.0, f64::max).ceil();
    let datasets = vec![dataset(
        &points,
        Marker::HalfBlock,
        GraphType::Bar,
        theme,
        Role::Band,
    )];
    let first = 1 - SHOWN;
    let x = axis(
        "",
        (first as f64, 0.5),
        theme,
        [first, first / 2, 0].map(|ago| {
            (last.date + chrono::Duration::days(ago))
                .format("%-d %b")
                .to_string()
        }),
    );
    let y = axis(
        "minutes",
        (0.0, most),
        theme,
        [0.0, most / 2.0, most].map(|m| format!("{m}")),
    );
    let week = report.weeks.last();
    let text = format!(
        "{} with practice, {:.0} minutes in all. The last seven days: {:.0} minutes, {}, {} right, {}.",
        counted(report.days.len(), "day"),
        report.days.iter().map(|d| d.minutes).sum::<f64>(),
        week.map_or(0.0, |w| w.minutes),
        counted(week.map_or(0, |w| w.answers as usize), "answer"),
        percent(week.map_or(0.0, |w| w.right)),
        counted(week.map_or(0, |w| w.new_cards), "new card")
    );
    let upper = below(&text, theme, area, buffer);
    plot(datasets, x, y, upper, buffer);
}

/// What is kept in the coming weeks, with practice and without.
pub(super) fn ahead(report: &Report, theme: Theme, area: Rect, buffer: &mut Buffer) {
    let kept = &report.kept;
    if kept.asked == 0 {
        return section(report, &[About::Kept, About::Weeks], theme, area, buffer);
    }
    let start = || std::iter::once((0.0, kept.now));
    let without = kept
        .ahead
        .iter()
        .map(|a| (a.days as f64, a.without_practice));
    let without: Vec<(f64, f64)> = start().chain(without).collect();
    let with = kept
        .ahead
        .iter()
        .filter_map(|a| Some((a.days as f64, a.with_practice?)));
    let with: Vec<(f64, f64)> = start().chain(with).collect();
    let last = kept.ahead.last().map_or(1.0, |a| a.days as f64);
    let most = with.iter().chain(&without).map(|p| p.1).fold(1.0, f64::max);
    let line = GraphType::Line;
    let mut datasets = vec![dataset(&without, Marker::Dot, line, theme, Role::Clave)];
    if with.len() > 1 {
        datasets.push(dataset(&with, Marker::Braille, line, theme, Role::Band));
    }
    let (x_labels, y_labels) = (
        [0.0, last / 2.0, last].map(|d| match d {
            0.0 => "now".to_string(),
            d => format!("{d:.0} days"),
        }),
        [0.0, most / 2.0, most].map(|n| format!("{n:.0}")),
    );
    let x = axis("", (0.0, last), theme, x_labels);
    let y = axis("questions kept", (0.0, most), theme, y_labels);
    let then = kept.ahead.last().map_or_else(String::new, |a| {
        let with = a.with_practice.map_or_else(String::new, |with| {
            format!(
                "{with:.0} with {:.0} minutes a day ({}), ",
                kept.minutes,
                counted(a.new_cards, "new card")
            )
        });
        format!(
            "In {}: {with}{:.0} without practice.",
            counted(a.days, "day"),
            a.without_practice
        )
    });
    let text = format!(
        "Line: with practice; dots: without. You would now recall {:.0} of {} questions asked so far ({:.0} to {:.0}). \
         {then}",
        kept.now, kept.asked, kept.between.0, kept.between.1
    );
    let upper = below(&text, theme, area, buffer);
    plot(datasets, x, y, upper, buffer);
}

fn dataset<'a>(
    points: &'a [(f64, f64)],
    marker: Marker,
    graph: GraphType,
    theme: Theme,
    role: Role,
) -> Dataset<'a> {
    let set = Dataset::default().marker(marker).graph_type(graph);
    set.style(theme.style(role)).data(points)
}

fn axis<'a>(title: &'a str, bounds: (f64, f64), theme: Theme, labels: [String; 3]) -> Axis<'a> {
    Axis::default()
        .title(title)
        .style(theme.style(Role::Quiet))
        .bounds([bounds.0, bounds.1])
        .labels(labels.map(Line::from))
}

fn shares(title: &str, theme: Theme) -> Axis<'_> {
    axis(
        title,
        (0.0, 1.0),
        theme,
        ["0 %", "50 %", "100 %"].map(String::from),
    )
}

fn plot(datasets: Vec<Dataset<'_>>, x: Axis<'_>, y: Axis<'_>, area: Rect, buffer: &mut Buffer) {
    // What is what is said below; a legend would stand on the data.
    Chart::new(datasets)
        .legend_position(None)
        .x_axis(x)
        .y_axis(y)
        .render(area, buffer);
}

/// Writes at the bottom of `area`, and gives what is left above for a plot.
pub(super) fn below(text: &str, theme: Theme, area: Rect, buffer: &mut Buffer) -> Rect {
    let lines = textwrap::wrap(text, usize::from(area.width));
    let height = (lines.len() as u16).min(area.height / 2);
    let from = area.bottom() - height;
    for (y, line) in (from..area.bottom()).zip(&lines) {
        buffer.set_string(area.x, y, line, theme.style(Role::Plain));
    }
    Rect {
        height: from - area.y - 1,
        ..area
    }
}
