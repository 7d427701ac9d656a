//! A page as lines of text, for the drill line by line.

use super::chart::GridLayout;
use super::page::{Page, Paragraph};
use std::fmt::Write;
use unicode_width::UnicodeWidthStr;

/// Columns of the lines of text.
const MEASURE: usize = 79;

/// A page as lines of text, made to be read aloud: first what is said, then the bar grid, then the answers.
pub fn page(page: &Page) -> String {
    let mut text = String::new();
    if let Some(notice) = &page.notice {
        let _ = writeln!(text, "Note: {notice}");
    }
    text += &content(page);
    let choices = page.choices.iter();
    let choices: Vec<_> = choices.map(|c| format!("{} {}", c.key, c.label)).collect();
    let line = format!("Answers: {}.", choices.join(", "));
    // In a row with commas nobody could tell an answer with a comma from two.
    let row = line.width() <= MEASURE && page.choices.iter().all(|c| !c.label.contains(','));
    match choices.len() {
        0 => {}
        _ if row => text += &(line + "\n"),
        _ => text += &format!("Answers:\n{}\n", choices.join("\n")),
    }
    text
}

/// What a page says and shows, without what can be answered.
pub fn content(page: &Page) -> String {
    let mut text = String::new();
    paragraphs(&mut text, &page.head);
    if let Some(chart) = &page.chart {
        text += &GridLayout::of(chart).to_text();
    }
    paragraphs(&mut text, &page.body);
    text
}

/// The bar grid of a page in words; nothing where there is none.
pub fn chart_in_words(page: &Page) -> String {
    let chart = page.chart.as_ref();
    chart.map_or(String::new(), |chart| GridLayout::of(chart).to_words())
}

/// Running text in lines.
pub fn wrapped(text: &str) -> String {
    textwrap::fill(text, MEASURE)
}

fn paragraphs(text: &mut String, paragraphs: &[Paragraph]) {
    for paragraph in paragraphs {
        let options = textwrap::Options::new(MEASURE).initial_indent(&paragraph.lead);
        text.push_str(&textwrap::fill(&paragraph.text, options));
        text.push('\n');
    }
}
