//! Screens as SVG pictures: each run of cells of one style is one `<text>`, so that the words can be searched and copied.

use ratatui::buffer::Buffer;
use ratatui::style::{Color, Modifier, Style};
use std::fmt::Write;

/// A colour by red, green and blue.
pub type Rgb = (u8, u8, u8);

/// The colours of a page that is not drawn on yet.
#[derive(Clone, Copy, Debug)]
pub struct Ground {
    /// Part of the file name.
    pub name: &'static str,
    /// Behind the letters.
    pub back: Rgb,
    /// Letters that have no colour of their own.
    pub plain: Rgb,
    /// Letters that stand back.
    pub dim: Rgb,
}

/// A dark letter on white and a light letter on near black. The greys are ours; `every_letter_can_be_read` holds them
/// to their contrast.
pub const GROUNDS: [Ground; 2] = [
    Ground {
        name: "light",
        back: (255, 255, 255),
        plain: (28, 28, 28),
        dim: (105, 105, 105),
    },
    Ground {
        name: "dark",
        back: (12, 12, 12),
        plain: (225, 225, 225),
        dim: (150, 150, 150),
    },
];

/// One cell of a screen.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    pub text: String,
    pub style: Style,
}

/// Cells in lines.
#[derive(Clone, Debug, PartialEq)]
pub struct Screen(Vec<Vec<Cell>>);

impl Screen {
    pub fn of_buffer(buffer: &Buffer) -> Screen {
        let rows = buffer.content().chunks(buffer.area.width.into());
        let cell = |cell: &ratatui::buffer::Cell| Cell {
            text: cell.symbol().to_string(),
            style: cell.style(),
        };
        Screen(rows.map(|row| row.iter().map(cell).collect()).collect())
    }

    pub fn of_terminal(screen: &vt100::Screen) -> Screen {
        let (lines, columns) = screen.size();
        let cell = |y, x| screen.cell(y, x).map(of_vt100).expect("a cell");
        let row = |y| (0..columns.get()).map(|x| cell(y, x)).collect();
        Screen((0..lines.get()).map(row).collect())
    }

    /// Lines of text without any style.
    pub fn of_text(text: &str) -> Screen {
        let cell = |c: char| Cell {
            text: c.to_string(),
            style: Style::default(),
        };
        Screen(
            text.lines()
                .map(|l| l.chars().map(cell).collect())
                .collect(),
        )
    }

    /// What can be read.
    pub fn text(&self) -> String {
        let line = |row: &Vec<Cell>| row.iter().map(|c| c.text.as_str()).collect::<String>();
        let lines = self.0.iter().map(|row| line(row).trim_end().to_string());
        lines.collect::<Vec<_>>().join("\n")
    }

    /// The colours of its letters on a ground.
    pub fn colours(&self, ground: Ground) -> Vec<Rgb> {
        let cells = self.0.iter().flatten();
        let seen = cells.filter(|cell| !cell.text.trim().is_empty());
        seen.map(|cell| fill(cell.style, ground)).collect()
    }
}

fn of_vt100(cell: &vt100::Cell) -> Cell {
    let fg = match cell.fgcolor() {
        vt100::Color::Rgb(r, g, b) => Some(Color::Rgb(r, g, b)),
        vt100::Color::Idx(n) => Some(Color::Indexed(n)),
        vt100::Color::Default => None,
    };
    let mut style = Style {
        fg,
        ..Style::default()
    };
    for (on, modifier) in [
        (cell.bold(), Modifier::BOLD),
        (cell.dim(), Modifier::DIM),
        (cell.inverse(), Modifier::REVERSED),
        (cell.underline(), Modifier::UNDERLINED),
    ] {
        if on {
            style = style.add_modifier(modifier);
        }
    }
    Cell {
        text: cell.contents().to_string(),
        style,
    }
}

/// Colour of a letter. Another colour than those of the full theme, or a ground of its own, would be a style that
/// these pictures do not know, and they say so.
fn fill(style: Style, ground: Ground) -> Rgb {
    let unknown = Modifier::REVERSED | Modifier::UNDERLINED | Modifier::ITALIC;
    assert!(
        !style.add_modifier.intersects(unknown),
        "no way to draw {style:?}"
    );
    match style.fg {
        Some(Color::Rgb(r, g, b)) => (r, g, b),
        None | Some(Color::Reset) if style.add_modifier.contains(Modifier::DIM) => ground.dim,
        None | Some(Color::Reset) => ground.plain,
        Some(other) => panic!("no way to draw {other:?}"),
    }
}

fn is_bold(style: Style) -> bool {
    style.add_modifier.contains(Modifier::BOLD)
}

/// Contrast of two colours, 1 to 21 (WCAG 2.1, *relative luminance* and *contrast ratio*).
pub fn contrast(a: Rgb, b: Rgb) -> f64 {
    let part = |c: u8| match f64::from(c) / 255.0 {
        c if c <= 0.03928 => c / 12.92,
        c => ((c + 0.055) / 1.055).powf(2.4),
    };
    let luminance = |(r, g, b)| 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b);
    let (a, b): (f64, f64) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// Size of a cell and free space around the screen, in units of the picture.
const CELL: (f64, f64) = (8.4, 18.0);
const FREE: f64 = 12.0;
const FONT: &str = "ui-monospace,'DejaVu Sans Mono',Menlo,Consolas,monospace";

/// What a picture says to those who do not see it.
#[derive(Clone, Copy, Debug)]
pub struct Words<'a> {
    pub title: &'a str,
    pub description: &'a str,
}

/// One screen as a picture.
pub fn still(screen: &Screen, words: Words, ground: Ground) -> String {
    let mut body = String::new();
    draw(&mut body, screen, ground);
    picture(&[screen], "", &body, words, ground)
}

/// How often the frames are gone through before the last one stays.
const ROUNDS: usize = 3;

/// Screens that follow each other, each for so many seconds. The last one stays; it is also what is shown where
/// nothing should move or nothing can.
pub fn moving(frames: &[(Screen, f64)], words: Words, ground: Ground) -> String {
    let whole: f64 = frames.iter().map(|(_, seconds)| seconds).sum();
    let mut css = String::from("@media (prefers-reduced-motion:no-preference){");
    let mut body = String::new();
    let mut from = 0.0;
    for (n, (screen, seconds)) in frames.iter().enumerate() {
        let share = |at: f64| format!("{:.2}%", 100.0 * at / whole);
        let to = from + seconds;
        let _ = write!(
            css,
            ".f{n}{{animation:k{n} {whole}s step-end {ROUNDS}}}@keyframes k{n}{{0%{{visibility:{}}}",
            if n == 0 { "visible" } else { "hidden" }
        );
        if n > 0 {
            let _ = write!(css, "{}{{visibility:visible}}", share(from));
        }
        if n + 1 < frames.len() {
            let _ = write!(css, "{}{{visibility:hidden}}", share(to));
        }
        css += "}";
        let still = if n + 1 < frames.len() {
            "hidden"
        } else {
            "visible"
        };
        let _ = writeln!(body, r#"<g class="f{n}" visibility="{still}">"#);
        draw(&mut body, screen, ground);
        body += "</g>\n";
        from = to;
    }
    css += "}";
    let screens: Vec<&Screen> = frames.iter().map(|(screen, _)| screen).collect();
    picture(&screens, &css, &body, words, ground)
}

fn picture(screens: &[&Screen], css: &str, body: &str, words: Words, ground: Ground) -> String {
    let lines = screens.iter().map(|s| s.0.len()).max().unwrap_or(0);
    let rows = screens.iter().flat_map(|s| &s.0);
    let columns = rows.map(Vec::len).max().unwrap_or(0);
    let width = (columns as f64 * CELL.0 + 2.0 * FREE).ceil();
    let height = (lines as f64 * CELL.1 + 2.0 * FREE).ceil();
    let back = hex(ground.back);
    let (title, description) = (escaped(words.title), escaped(words.description));
    format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" role="img" aria-labelledby="t d">
<title id="t">{title}</title>
<desc id="d">{description}</desc>
<style>text{{font:14px {FONT};white-space:pre}}.b{{font-weight:700}}{css}</style>
<rect x="0.5" y="0.5" width="{}" height="{}" rx="6" fill="{back}" stroke="{}"/>
{body}</svg>
"##,
        width - 1.0,
        height - 1.0,
        hex(ground.dim),
    )
}

fn draw(body: &mut String, screen: &Screen, ground: Ground) {
    for (y, row) in screen.0.iter().enumerate() {
        for run in runs(row, ground) {
            let x = FREE + CELL.0 * run.column as f64;
            let base = FREE + CELL.1 * y as f64 + 13.5;
            let length = CELL.0 * run.text.chars().count() as f64;
            let class = if run.bold { r#" class="b""# } else { "" };
            let _ = writeln!(
                body,
                r#"<text x="{x:.1}" y="{base:.1}" textLength="{length:.1}"{class} fill="{}">{}</text>"#,
                hex(run.fill),
                escaped(&run.text)
            );
        }
    }
}

/// Letters of one style that stand together.
struct Run {
    column: usize,
    text: String,
    fill: Rgb,
    bold: bool,
}

/// The runs of a line. Two blanks end one: where letters stand must not depend on how wide a blank is.
fn runs(row: &[Cell], ground: Ground) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    let mut blanks = 2;
    for (column, cell) in row.iter().enumerate() {
        if cell.text.trim().is_empty() {
            blanks += 1;
            continue;
        }
        let (fill, bold) = (fill(cell.style, ground), is_bold(cell.style));
        match runs.last_mut() {
            Some(run) if blanks < 2 && run.fill == fill && run.bold == bold => {
                run.text += &" ".repeat(blanks);
                run.text += &cell.text;
            }
            _ => runs.push(Run {
                column,
                text: cell.text.clone(),
                fill,
                bold,
            }),
        }
        blanks = 0;
    }
    runs
}

fn hex((r, g, b): Rgb) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// Text that XML takes as it is.
pub fn escaped(text: &str) -> String {
    let mut safe = String::new();
    for c in text.chars() {
        match c {
            '&' => safe += "&amp;",
            '<' => safe += "&lt;",
            '>' => safe += "&gt;",
            '"' => safe += "&quot;",
            c => safe.push(c),
        }
    }
    safe
}
