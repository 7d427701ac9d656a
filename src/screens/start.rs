//! The start page: today, this week's lesson, how far the threads are, what is weak. Each page is one key away.

use super::page::{Keys, Page, Paragraph};
use super::theme::Role;
use crate::question::{Choice, Thread};
use crate::rhythm::counted;
use crossterm::event::{KeyCode, KeyEvent};

/// What the start page says.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Overview {
    /// Minutes of practice a day.
    pub minutes: f64,
    /// Questions of today's plan about cards that were met.
    pub again: usize,
    /// Is the player still being sounded out?
    pub sounded_out: bool,
    /// Cards that today brings.
    pub new: Vec<String>,
    /// Titles of what fades, the most urgent first.
    pub fading: Vec<String>,
    /// The cards of the lesson: how many there are, how many are held.
    pub lesson: (usize, usize),
    /// Titles of those that are not held.
    pub not_held: Vec<String>,
    /// How far each thread is.
    pub threads: Vec<ThreadProgress>,
    /// What is worth working on, in a few words.
    pub weak: Option<String>,
}

/// How far a thread of the course is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ThreadProgress {
    /// Which.
    pub thread: Thread,
    /// Its cards.
    pub cards: usize,
    /// Those that were met, or are known without.
    pub met: usize,
    /// Those that are held.
    pub held: usize,
}

/// What a key of the start page opens.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StartAction {
    /// Today's drill.
    Drill,
    /// The cards of the lesson.
    Lesson,
    /// All decks and cards.
    Cards,
    /// The practice room.
    Play,
    /// The weak concepts.
    Weak,
    /// The settings.
    Settings,
    /// Keys and words.
    Help,
    /// The end.
    Leave,
}

/// The keys of the page with what they open; Enter and Esc besides.
const KEYS: [(char, &str, StartAction); 5] = [
    ('l', "lesson", StartAction::Lesson),
    ('c', "cards", StartAction::Cards),
    ('p', "play", StartAction::Play),
    ('w', "weak", StartAction::Weak),
    ('s', "settings", StartAction::Settings),
];

/// What each key does, for the help page.
pub const HELP: &[(&str, &str)] = &[
    ("Enter", "today's drill"),
    (
        "l",
        "this week's lesson: its cards, and how well they are held",
    ),
    (
        "c",
        "all decks and cards: look, search, hear, put into the lesson",
    ),
    ("p", "the practice room: play with the band"),
    ("w", "what is weak, and a drill on it"),
    ("s", "settings"),
    ("Esc", "ends the program"),
];

/// What a key opens; `None` if it is not a key of the page.
pub fn action(key: KeyEvent) -> Option<StartAction> {
    match key.code {
        KeyCode::Enter => Some(StartAction::Drill),
        KeyCode::Esc => Some(StartAction::Leave),
        KeyCode::Char('?') => Some(StartAction::Help),
        KeyCode::Char(letter) => {
            let mut keys = KEYS.iter();
            keys.find(|k| k.0 == letter.to_ascii_lowercase())
                .map(|k| k.2)
        }
        _ => None,
    }
}

/// Titles that are named; more are counted.
const NAMED: usize = 3;
/// Columns of the bar that shows how far a thread is.
const BAR: usize = 20;

/// The start page.
pub fn page(overview: &Overview) -> Page<'static> {
    let row = |name: &str, text: String| Paragraph::led(format!("{name:<14}"), Role::Plain, text);
    let empty = || Paragraph::plain("");
    let today = match (overview.again, overview.new.len()) {
        _ if overview.sounded_out => {
            "you are asked before you are taught, to find out what you know".into()
        }
        (0, 0) => "nothing has to come back yet; a free day".to_string(),
        (0, new) => counted(new, "new card"),
        (again, 0) => format!("{} on what you have met", counted(again, "question")),
        (again, new) => {
            let (again, new) = (counted(again, "question"), counted(new, "new card"));
            format!("{again} on what you have met, {new}")
        }
    };
    let mut body = vec![row(&format!("Today, {:.0} min", overview.minutes), today)];
    for (name, titles) in [("  new", &overview.new), ("  fading", &overview.fading)] {
        if !titles.is_empty() {
            body.push(row(name, named(titles)));
        }
    }
    body.push(empty());
    let (cards, held) = overview.lesson;
    body.push(row(
        "Lesson",
        match cards {
            0 => "empty; in [c] cards, [l] puts a card into it".into(),
            _ => format!("{held} of {cards} cards held"),
        },
    ));
    if !overview.not_held.is_empty() {
        body.push(row("  not held", named(&overview.not_held)));
    }
    body.push(empty());
    body.extend(overview.threads.iter().map(|t| {
        let text = format!(
            "{} {} of {} met, {} held",
            bar(t.met, t.cards),
            t.met,
            t.cards,
            t.held
        );
        row(t.thread.spoken(), text)
    }));
    let weak = overview.weak.clone();
    body.push(row(
        "Weak",
        weak.unwrap_or_else(|| "nothing stands out".into()),
    ));
    Page {
        place: "start".into(),
        body,
        choices: KEYS.map(|(key, label, _)| Choice::new(key, label)).to_vec(),
        keys: Keys {
            enter: Some("drill"),
            pause: Some("help"),
            escape: Some("leave"),
            ..Keys::default()
        },
        ..Page::default()
    }
}

fn named(titles: &[String]) -> String {
    let more = match titles.len().saturating_sub(NAMED) {
        0 => String::new(),
        more => format!("; and {more} more"),
    };
    titles[..titles.len().min(NAMED)].join("; ") + &more
}

/// A line whose heavy part is the share.
fn bar(part: usize, whole: usize) -> String {
    let heavy = (BAR * part).checked_div(whole).unwrap_or(0).min(BAR);
    "━".repeat(heavy) + &"─".repeat(BAR - heavy)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screens::draw;
    use crate::screens::theme::{Depth, Theme};
    use ratatui::buffer::Buffer;
    use ratatui::layout::Rect;

    fn overview() -> Overview {
        let titles = |titles: &[&str]| titles.iter().map(ToString::to_string).collect();
        Overview {
            minutes: 5.0,
            again: 14,
            sounded_out: false,
            new: titles(&["Corner open", "Two and two"]),
            fading: titles(&[
                "Slap on 4",
                "Son clave, two side first",
                "Bell",
                "Bass",
                "Heel",
            ]),
            lesson: (3, 1),
            not_held: titles(&["The plain bar", "The answer"]),
            threads: Thread::ALL
                .into_iter()
                .zip([(80, 23, 15), (74, 12, 7), (91, 0, 0)])
                .map(|(thread, (cards, met, held))| ThreadProgress {
                    thread,
                    cards,
                    met,
                    held,
                })
                .collect(),
            weak: Some("bombo by ear".into()),
        }
    }

    #[test]
    fn the_start_page_at_its_sizes() {
        let mut pictures = String::new();
        for (width, height) in [(50, 18), (80, 24), (120, 40)] {
            let area = Rect::new(0, 0, width, height);
            let mut buffer = Buffer::empty(area);
            draw::page(
                &page(&overview()),
                Theme::new(Depth::None),
                area,
                &mut buffer,
            );
            for y in 0..height {
                let line: String = (0..width).map(|x| buffer[(x, y)].symbol()).collect();
                pictures += &format!("{}\n", line.trim_end());
            }
        }
        insta::assert_snapshot!(pictures);
    }

    #[test]
    fn each_key_on_the_page_opens_what_it_says() {
        for (key, _, opens) in KEYS {
            assert_eq!(action(KeyCode::Char(key).into()), Some(opens));
            assert_eq!(
                action(KeyCode::Char(key.to_ascii_uppercase()).into()),
                Some(opens)
            );
        }
        assert_eq!(action(KeyCode::Enter.into()), Some(StartAction::Drill));
        assert_eq!(action(KeyCode::Char('j').into()), None);
        let shown = page(&Overview::default());
        assert_eq!(shown.choices.len(), KEYS.len());
    }

    #[test]
    fn a_bar_is_as_heavy_as_the_share() {
        // Counted by hand: a quarter of twenty columns.
        assert_eq!(bar(20, 80), "━━━━━───────────────");
        assert_eq!((bar(0, 0), bar(3, 3)), ("─".repeat(20), "━".repeat(20)));
    }
}
