//! The report in words: seven sections, in the order in which they are read.

use super::section::{on_concept, on_kind, row, table};
use super::words::{interval, percent};
use super::{
    Block, Confusion, Focus, ForecastFit, HeldTempo, Kept, PracticeWeek, Report, Section, Spot,
    Standing, TableCell, TempoLimit,
};
use crate::rhythm::counted;

/// The share from which a concept is in good shape (chosen).
const GOOD: f64 = 0.9;
/// Answers after which a weakness would most likely have been found, if there were one (`cargo bench --bench report`
/// looks at players after as many).
const ENOUGH: usize = 200;
/// Concepts that are named where no weak spot stands out.
const MOST_GAIN: usize = 3;
/// The most variations whose tempo is shown.
const HELD: usize = 10;
/// Patterns, and other confusions, that are named.
const CONFUSIONS: (usize, usize) = (6, 3);
/// Concepts that are named as fading, and points of a hundred that a week takes from each at least.
const FADING: (usize, f64) = (5, 0.05);

/// The report in words, in the order in which it is read.
pub fn sections(report: &Report) -> Vec<Section> {
    let section = |name, heading, blocks: Vec<Block>, later: &str| Section {
        name,
        heading,
        blocks: match blocks.is_empty() {
            true => vec![Block::Text(later.into())],
            false => blocks,
        },
    };
    vec![
        section(
            "Weak",
            "What is worth working on",
            weak(report),
            "After your first answers, this shows what is worth working on.",
        ),
        section(
            "Figures",
            "How well each concept is known",
            figures(report),
            "After your first answers, this shows the figures.",
        ),
        section(
            "Mixed up",
            "What you mix up",
            mixed_up(&report.confusions),
            "After your first wrong answers, this shows what you take for what.",
        ),
        section(
            "Tempo",
            "At which tempo it breaks down",
            tempo(&report.tempos, &report.held),
            "After sixteen answers to a concept at different tempos, this shows up to which tempo you answer in time.",
        ),
        section(
            "Kept",
            "What you keep, and what fades",
            kept(&report.kept, &report.concepts),
            "After your first answers, this shows what you keep and what the coming weeks bring.",
        ),
        section(
            "Practice",
            "Days and minutes",
            practice(&report.weeks),
            "After your first session, this shows your practice week by week.",
        ),
        forecasts(report.forecasts.as_ref()),
    ]
}

/// The section about how well the forecasts fit.
pub fn forecasts(fit: Option<&ForecastFit>) -> Section {
    let blocks = match fit {
        None => vec![Block::Text(
            "After your first answers, this shows how well they were forecast.".into(),
        )],
        Some(fit) => {
            let rows = fit.groups.iter().map(|g| {
                let cells = [
                    percent(g.forecast),
                    percent(g.right.mean),
                    interval(&g.right),
                    g.answers.to_string(),
                ];
                row(cells, None)
            });
            vec![
                Block::Text(format!(
                    "Over {}, the forecast chance of a right answer and the share that was right are {} points in 100 \
                     apart on average.",
                    counted(fit.answers, "answer"),
                    (100.0 * fit.error).round()
                )),
                table(["forecast", "right", "90 % interval", "answers"], rows),
            ]
        }
    };
    Section {
        name: "Forecasts",
        heading: "How well the forecasts fit",
        blocks,
    }
}

/// The weak spots in plain words; if there are none, what a player would gain most from.
fn weak(report: &Report) -> Vec<Block> {
    if report.reviews == 0 {
        return Vec::new();
    }
    let finding =
        |(n, (title, grounds, drill)): (usize, (String, String, Option<Focus>))| Block::Finding {
            title: format!("{}. {title}", n + 1),
            grounds,
            drill,
        };
    let spots = report.spots.iter();
    let spots = spots.map(|s| (s.title(), s.in_plain_words(), Some(s.drill.clone())));
    let found: Vec<Block> = spots.enumerate().map(finding).collect();
    if !found.is_empty() {
        return found;
    }
    let no_spot = match report.reviews < ENOUGH {
        true => "No clear weak spot yet; more answers are needed.",
        false => "No clear weak spot: nothing is further below the rest than chance may put it.",
    };
    let below = report
        .concepts
        .iter()
        .filter(|c| c.share() < GOOD)
        .take(MOST_GAIN);
    let below = below.map(|c| (c.name.clone(), c.in_plain_words(), on_concept(&c.name)));
    let below: Vec<Block> = below.enumerate().map(finding).collect();
    let then = match below.is_empty() {
        true => "Every concept is in good shape; the daily drill keeps it that way.",
        false => "You would gain most from these:",
    };
    let mut blocks = vec![Block::Text(no_spot.into()), Block::Text(then.into())];
    blocks.extend(below);
    blocks
}

/// What the weak spots rest on, and each concept and kind of question in figures.
fn figures(report: &Report) -> Vec<Block> {
    if report.reviews == 0 {
        return Vec::new();
    }
    let spot = |spot: &Spot| Block::Text(format!("{}: {}", spot.title(), spot.grounds()));
    let mut blocks: Vec<Block> = report.spots.iter().map(spot).collect();
    blocks.push(standings("concept", &report.concepts, on_concept));
    blocks.push(standings("kind of question", &report.kinds, on_kind));
    blocks.push(Block::Note(
        "now: about how much you would recall today, as forecast. when asked: the share of your answers that you knew, \
         corrected for guessing, with 90 % intervals. by eye, by ear: the same for each sense. in time: the share of \
         your answers that were right and in time. trend: the last four weeks against the four before."
            .into(),
    ));
    blocks
}

fn standings(what: &str, list: &[Standing], drill: fn(&str) -> Option<Focus>) -> Block {
    let share = |s: Option<f64>| s.map_or_else(|| "-".into(), percent);
    let rows = list.iter().map(|s| {
        let cells = [
            s.name.clone(),
            share(s.now),
            interval(&s.known),
            share(s.by_eye.map(|e| e.mean)),
            share(s.by_ear.map(|e| e.mean)),
            percent(s.in_time),
            s.going().to_string(),
        ];
        row(cells, drill(&s.name))
    });
    let heads = [
        what,
        "now",
        "when asked",
        "by eye",
        "by ear",
        "in time",
        "trend",
    ];
    table(heads, rows)
}

fn mixed_up(confusions: &[Confusion]) -> Vec<Block> {
    let (patterns, rest): (Vec<&Confusion>, Vec<&Confusion>) =
        confusions.iter().partition(|c| c.pattern);
    let mut blocks: Vec<Block> = patterns
        .iter()
        .take(CONFUSIONS.0)
        .map(|c| Block::Finding {
            title: c.title(),
            grounds: c.grounds(),
            drill: None,
        })
        .collect();
    let others: usize = rest.iter().map(|c| c.count).sum();
    if others > 0 {
        let few = rest.iter().take(CONFUSIONS.1);
        let few = few.map(|c| format!("{} ({})", c.title(), c.count));
        let also = if patterns.is_empty() { "" } else { " more" };
        blocks.push(Block::Text(format!(
            "{}{also}, without a pattern: spread no more unevenly than chance would spread them. Each key of a row \
             counts by \
             itself. Most \
             often: {}.",
            counted(others, "confusion"),
            few.collect::<Vec<_>>().join("; ")
        )));
    }
    blocks
}

fn tempo(tempos: &[TempoLimit], held: &[HeldTempo]) -> Vec<Block> {
    let rows = held.iter().take(HELD).map(|h| {
        let [held, tops] = [h.held, h.tops].map(|tempo| format!("{tempo:.0}"));
        row([h.title.clone(), held, tops], None)
    });
    let mut blocks = match held.is_empty() {
        true => Vec::new(),
        false => vec![table(["variation", "held at", "tops at"], rows)],
    };
    if tempos.is_empty() {
        return blocks;
    }
    let rows = tempos.iter().map(|t| {
        let (slowest, fastest) = t.asked;
        let limit = match t.open_ended {
            true if t.low >= fastest => "all asked".to_string(),
            true if t.low > slowest => format!("at least {:.0}", t.low),
            true => "not found".into(),
            false => format!("{:.0} ({:.0} to {:.0})", t.limit, t.low, t.high),
        };
        let words = t.measured.iter();
        let words = words.map(|m| format!("{:.0}: {}", m.0, percent(m.1)));
        let texts = [
            t.concept.clone(),
            limit,
            format!("{slowest:.0} to {fastest:.0}"),
            format!("{:.0}", t.next),
        ];
        let mut row = row(texts, on_concept(&t.concept));
        row.cells.push(TableCell::Bars {
            bars: t.measured.iter().map(|m| m.1).collect(),
            words: words.collect::<Vec<_>>().join(", "),
        });
        row
    });
    let heads = ["concept", "in time up to", "asked", "try next", "by tempo"];
    blocks.extend([
        table(heads, rows),
        Block::Note(
            "Tempos are quarter notes a minute, in 6/8 dotted quarter notes; in brackets the 90 % interval. by tempo: share \
             right and in time, from the slowest tempo asked to the fastest."
                .into(),
        ),
    ]);
    blocks
}

fn kept(kept: &Kept, concepts: &[Standing]) -> Vec<Block> {
    if kept.asked == 0 {
        return Vec::new();
    }
    let rows = kept.ahead.iter().map(|a| {
        let when = match a.days {
            1 => "tomorrow".to_string(),
            d if d % 7 == 0 => format!("in {}", counted(d / 7, "week")),
            d => format!("in {}", counted(d, "day")),
        };
        let with = a.with_practice;
        let cells = [
            when,
            with.map_or_else(|| "-".into(), |w| format!("{w:.0}")),
            format!("{:.0}", a.without_practice),
            with.map_or_else(|| "-".into(), |_| a.new_cards.to_string()),
        ];
        row(cells, None)
    });
    let with = format!("with {:.0} min a day", kept.minutes);
    let heads = [
        "questions kept",
        &with,
        "without practice",
        "new cards by then",
    ];
    let mut blocks = vec![
        Block::Text(format!(
            "You would now recall about {:.0} of the {} that you have been asked so far. Your decks have {}.",
            kept.now,
            counted(kept.asked, "question"),
            kept.items
        )),
        table(heads, rows),
        Block::Note(
            "A forecast, if you practise every day and answer as the chances say: one possible course."
                .into(),
        ),
    ];
    let loss = |s: &Standing| s.now.zip(s.in_a_week).map_or(0.0, |(now, then)| now - then);
    let mut fading: Vec<&Standing> = concepts.iter().filter(|s| loss(s) >= FADING.1).collect();
    fading.sort_by(|a, b| loss(b).total_cmp(&loss(a)));
    if !fading.is_empty() {
        let share = |s: Option<f64>| percent(s.unwrap_or_default());
        let rows = fading.iter().take(FADING.0).map(|s| {
            let cells = [s.name.clone(), share(s.now), share(s.in_a_week)];
            row(cells, on_concept(&s.name))
        });
        let heads = ["fading fastest", "now", "in a week without practice"];
        blocks.push(table(heads, rows));
    }
    blocks
}

fn practice(weeks: &[PracticeWeek]) -> Vec<Block> {
    if weeks.is_empty() {
        return Vec::new();
    }
    let most = weeks.iter().flat_map(|w| w.minutes).fold(1.0, f64::max);
    let rows = weeks.iter().map(|w| {
        let each = w.minutes.map(|m| format!("{m:.1}"));
        let texts = [
            w.until.format("%-d %b").to_string(),
            w.days.to_string(),
            format!("{:.1}", w.minutes.iter().sum::<f64>()),
            w.answers.to_string(),
            percent(w.right),
            percent(w.in_time),
            w.new_cards.to_string(),
        ];
        let mut row = row(texts, None);
        row.cells.push(TableCell::Bars {
            bars: w.minutes.map(|m| m / most).to_vec(),
            words: format!("minutes day by day: {}", each.join(", ")),
        });
        row
    });
    let heads = [
        "week until",
        "days",
        "minutes",
        "answers",
        "right",
        "in time",
        "new cards",
        "by day",
    ];
    vec![
        table(heads, rows),
        Block::Note(
            "Minutes run from the first question of a session to its last answer, including the reasons you read and \
             the cards you met; a pause counts two minutes at most."
                .into(),
        ),
    ]
}
