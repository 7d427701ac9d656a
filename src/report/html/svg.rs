//! The plots of the page. Each has its contents in words as its description.

use super::escaped;
use crate::report::phrases::{counted, interval, percent};
use crate::report::text::shortened;
use crate::report::{Calibration, Concept, Day, Kept, TempoLimit};

const WIDTH: f64 = 640.0;
/// Room beside a plot for its labels, at the size that they have on a phone.
const LEFT: f64 = 70.0;
const RIGHT: f64 = 44.0;
/// Concepts that are drawn.
const DRAWN: usize = 16;
/// Characters of a name that have room.
const NAMED: usize = 22;
/// Weeks of days that are drawn.
const DAYS: i64 = 56;

fn figure(height: f64, title: &str, words: &str, inside: &str) -> String {
    format!(
        "<figure>\n<svg viewBox=\"0 0 {WIDTH} {height}\" role=\"img\" aria-label=\"{t}: {w}\">\n<title>{t}</title>\n\
         <desc>{w}</desc>\n{inside}</svg>\n<figcaption>{t}</figcaption>\n</figure>\n",
        t = escaped(title),
        w = escaped(words),
    )
}

fn text(x: f64, y: f64, anchor: &str, class: &str, words: &str) -> String {
    format!(
        "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\" class=\"{class}\">{}</text>\n",
        escaped(words)
    )
}

fn line(from: (f64, f64), to: (f64, f64), class: &str) -> String {
    format!(
        "<line x1=\"{:.1}\" y1=\"{:.1}\" x2=\"{:.1}\" y2=\"{:.1}\" class=\"{class}\"/>\n",
        from.0, from.1, to.0, to.1
    )
}

fn dot(at: (f64, f64), radius: f64) -> String {
    format!(
        "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"{radius:.1}\" class=\"two\"/>\n",
        at.0, at.1
    )
}

fn path(points: impl Iterator<Item = (f64, f64)>, class: &str) -> String {
    let points: Vec<String> = points.map(|p| format!("{:.1},{:.1}", p.0, p.1)).collect();
    format!(
        "<polyline points=\"{}\" class=\"{class}\"/>\n",
        points.join(" ")
    )
}

/// What is known of each concept now, with its interval.
pub(super) fn concepts(concepts: &[Concept]) -> String {
    const NAMES: f64 = 215.0;
    const ROW: f64 = 24.0;
    let shown = &concepts[..concepts.len().min(DRAWN)];
    let height = ROW * (shown.len() as f64 + 1.5);
    let x = |share: f64| NAMES + share * (WIDTH - NAMES - RIGHT);
    let mut inside = String::new();
    for share in [0.0, 0.25, 0.5, 0.75, 1.0] {
        inside += &line((x(share), 0.0), (x(share), height - ROW), "line");
        inside += &text(x(share), height - 6.0, "middle", "quiet", &percent(share));
    }
    for (n, c) in shown.iter().enumerate() {
        let y = ROW * (n as f64 + 0.75);
        let name = shortened(&c.title(), NAMED);
        inside += &text(NAMES - 10.0, y + 4.0, "end", "", &name);
        let shown = c.now.as_ref().unwrap_or(&c.known);
        inside += &line((x(shown.low), y), (x(shown.high), y), "span");
        inside += &dot((x(shown.mean), y), 5.0);
    }
    let words: Vec<String> = shown
        .iter()
        .map(|c| {
            let shown = c.now.as_ref().unwrap_or(&c.known);
            format!(
                "{} {} ({})",
                c.title(),
                percent(shown.mean),
                interval(shown)
            )
        })
        .collect();
    let title = "How much of each concept would be recalled today; the bar holds the true share nine times in ten";
    figure(height, title, &words.join("; "), &inside)
}

/// A frame for shares (0 to 1 upwards), with labels; gives the frame and the place of a point.
fn frame(height: f64, x_labels: &[(f64, String)]) -> (String, impl Fn(f64, f64) -> (f64, f64)) {
    let place = move |x: f64, y: f64| {
        (
            LEFT + x * (WIDTH - LEFT - RIGHT),
            10.0 + (1.0 - y) * (height - 45.0),
        )
    };
    let mut inside = String::new();
    for share in [0.0, 0.5, 1.0] {
        inside += &line(place(0.0, share), place(1.0, share), "line");
        let (x, y) = place(0.0, share);
        inside += &text(x - 6.0, y + 4.0, "end", "quiet", &percent(share));
    }
    for (at, label) in x_labels {
        inside += &text(place(*at, 0.0).0, height - 12.0, "middle", "quiet", label);
    }
    (inside, place)
}

/// The limit of a concept in tempo.
pub(super) fn tempo(limit: &TempoLimit) -> String {
    const HEIGHT: f64 = 200.0;
    let (low, high) = limit.asked;
    let across = |tempo: f64| (tempo - low) / (high - low);
    let labels = [0.0, 0.5, 1.0].map(|at| (at, format!("{:.0}", low + at * (high - low))));
    let (mut inside, place) = frame(HEIGHT, &labels);
    inside += &path(
        limit
            .curve
            .iter()
            .map(|(tempo, share)| place(across(*tempo), *share)),
        "one",
    );
    for (tempo, share, answers) in &limit.measured {
        let radius = 2.0 + (*answers as f64).sqrt().min(6.0);
        inside += &dot(place(across(*tempo), *share), radius);
    }
    let title = format!(
        "{}: right and in time by tempo, quarter notes a minute",
        limit.concept
    );
    figure(HEIGHT, &title, &limit.sentence(), &inside)
}

/// Forecasts and what came of them.
pub(super) fn forecasts(bins: &[Calibration]) -> String {
    const HEIGHT: f64 = 260.0;
    if bins.is_empty() {
        return String::new();
    }
    let labels = [0.0, 0.5, 1.0].map(|at| (at, percent(at)));
    let (mut inside, place) = frame(HEIGHT, &labels);
    inside += &line(place(0.0, 0.0), place(1.0, 1.0), "line");
    for b in bins {
        inside += &line(
            place(b.forecast, b.right.low),
            place(b.forecast, b.right.high),
            "one",
        );
        inside += &dot(place(b.forecast, b.right.mean), 5.0);
    }
    let words: Vec<String> = bins
        .iter()
        .map(|b| {
            format!(
                "forecast {}, right {}",
                percent(b.forecast),
                percent(b.right.mean)
            )
        })
        .collect();
    let title = "Chance of a right answer as forecast (across) and share that was right (up); on the slanted line both agree";
    figure(HEIGHT, title, &words.join("; "), &inside)
}

/// Minutes of the last days.
pub(super) fn days(days: &[Day]) -> String {
    const HEIGHT: f64 = 150.0;
    let Some(last) = days.last() else {
        return String::new();
    };
    let ago = |d: &Day| (last.date - d.date).num_days();
    let shown: Vec<&Day> = days.iter().filter(|d| ago(d) < DAYS).collect();
    let most = shown.iter().map(|d| d.minutes).fold(1.0, f64::max);
    let step = (WIDTH - LEFT - RIGHT) / DAYS as f64;
    let mut inside = line(
        (LEFT, HEIGHT - 30.0),
        (WIDTH - RIGHT, HEIGHT - 30.0),
        "line",
    );
    inside += &text(LEFT - 6.0, 20.0, "end", "quiet", &format!("{most:.0} min"));
    for day in &shown {
        let height = (HEIGHT - 45.0) * day.minutes / most;
        inside += &format!(
            "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{height:.1}\" class=\"bar\"/>\n",
            LEFT + step * (DAYS - 1 - ago(day)) as f64,
            HEIGHT - 30.0 - height,
            step * 0.8,
        );
    }
    let first = last.date - chrono::Duration::days(DAYS - 1);
    inside += &text(
        LEFT,
        HEIGHT - 10.0,
        "start",
        "quiet",
        &first.format("%-d %b").to_string(),
    );
    inside += &text(
        WIDTH - RIGHT,
        HEIGHT - 10.0,
        "end",
        "quiet",
        &last.date.format("%-d %b").to_string(),
    );
    let minutes: f64 = shown.iter().map(|d| d.minutes).sum();
    let words = format!(
        "{} with practice, {minutes:.0} minutes in all",
        counted(shown.len(), "day")
    );
    figure(
        HEIGHT,
        "Minutes of practice a day, the last eight weeks",
        &words,
        &inside,
    )
}

/// What is kept in the coming weeks, with practice and without.
pub(super) fn kept(kept: &Kept) -> String {
    const HEIGHT: f64 = 220.0;
    let last = kept.ahead.last().map_or(1.0, |a| a.days as f64);
    let with = |a: &crate::report::Ahead| a.with_practice;
    let most = kept
        .ahead
        .iter()
        .flat_map(|a| [Some(a.without_practice), with(a)]);
    let most = most.flatten().fold(kept.now, f64::max).max(1.0);
    let labels = [0.0, 7.0, 14.0, 21.0, 28.0]
        .into_iter()
        .filter(|d| *d <= last)
        .map(|d| {
            (
                d / last,
                if d == 0.0 {
                    "now".into()
                } else {
                    format!("{d:.0} days")
                },
            )
        });
    let place = |days: f64, items: f64| {
        (
            LEFT + days / last * (WIDTH - LEFT - RIGHT),
            10.0 + (1.0 - items / most) * (HEIGHT - 45.0),
        )
    };
    let mut inside = String::new();
    for items in [0.0, most / 2.0, most] {
        inside += &line(place(0.0, items), place(last, items), "line");
        let (x, y) = place(0.0, items);
        inside += &text(x - 6.0, y + 4.0, "end", "quiet", &format!("{items:.0}"));
    }
    for (at, label) in labels {
        inside += &text(
            place(at * last, 0.0).0,
            HEIGHT - 12.0,
            "middle",
            "quiet",
            &label,
        );
    }
    let start = || std::iter::once((0.0, kept.now));
    let without = kept
        .ahead
        .iter()
        .map(|a| (a.days as f64, a.without_practice));
    inside += &path(start().chain(without).map(|p| place(p.0, p.1)), "dashed");
    let practised = kept
        .ahead
        .iter()
        .filter_map(|a| Some((a.days as f64, a.with_practice?)));
    inside += &path(start().chain(practised).map(|p| place(p.0, p.1)), "one");
    let words: Vec<String> = kept
        .ahead
        .iter()
        .map(|a| {
            let with = a
                .with_practice
                .map_or_else(String::new, |w| format!("{w:.0} with practice, "));
            let days = counted(a.days, "day");
            format!("in {days} {with}{:.0} without", a.without_practice)
        })
        .collect();
    let title = "Questions that would be recalled: solid with practice, dashed without";
    figure(HEIGHT, title, &words.join("; "), &inside)
}
