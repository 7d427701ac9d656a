//! Tests of the playback.

use super::*;
use crate::screens::screen_settings::ExtraKeys;
use crate::clave::Side;
use crate::deck;
use crate::screens::draw;
use crate::screens::theme::{Depth, Theme};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

const DECK: &str = r#"
id = "street"
title = "Street"
about = "Two cards."

[[card]]
id = "answer"
title = "An answer with slaps"
about = "Slaps answer the singer, and the last pulse is left free."
clave = "son 2-3"
states = "two side"
tempo = [160, 200]
place = "bar 7 of 8"
concepts = ["slap against open"]
source = "common practice, no source"
grid = """
count | 1 & 2 & 3 & 4 & |
conga | S . S S . S O O |
hand  | R . R L . R R R |
"""

[[card]]
id = "bell"
title = "A bell"
about = "A bell by itself."
clave = "son 3-2"
states = "direction"
tempo = [160, 200]
concepts = ["slap against open"]
source = "common practice, no source"
grid = """
count | 1 & 2 & 3 & 4 & | 1 & 2 & 3 & 4 & |
bell  | x . x . x . x x | . x . x x . x . |
"""
"#;

fn playback(card: &str) -> Playback {
    let (deck, found) = deck::read("street.toml", DECK);
    assert!(found.iter().all(|d| !d.is_mistake()), "{found:?}");
    let id = format!("street/{card}");
    Playback::new(deck.cards.iter().find(|c| c.id == id).unwrap())
}

fn press(playback: &mut Playback, keys: &str) -> Vec<Ask> {
    let keys = keys.chars().map(|k| KeyEvent::from(KeyCode::Char(k)));
    keys.map(|key| playback.key(key)).collect()
}

fn letters(score: &Score, bar: usize) -> String {
    let cells = score.drums.as_ref().unwrap().bar(bar).iter();
    cells.map(|c| c.map_or('.', |s| s.tone.letter())).collect()
}

/// The side of the clave that lies under a bar, by the number of its strokes.
fn side(score: &Score, bar: usize) -> Side {
    let clave = score.line(Instrument::Clave).unwrap();
    let strokes = (0..8).filter(|p| clave.at(bar * 8 + p).is_some()).count();
    match strokes {
        2 => Side::Two,
        _ => Side::Three,
    }
}

#[test]
fn a_variation_comes_at_its_bar_over_the_plain_tumbao() {
    let score = playback("answer").score();
    assert_eq!(score.bars(), 8);
    for bar in 0..8 {
        let expected = if bar == 6 { "S.SS.SOO" } else { "HTSTHTOO" };
        assert_eq!(letters(&score, bar), expected, "bar {}", bar + 1);
    }
    assert_eq!(side(&score, 6), Side::Two);
}

#[test]
fn wherever_it_comes_in_a_phrase_it_stays_on_its_side() {
    let mut playback = playback("answer");
    let mut lengths = Vec::new();
    for keys in ["", "b", "b", "p", "b", "p", "p", "b", "p", "p"] {
        press(&mut playback, keys);
        let score = playback.score();
        assert_eq!(score.bars() % 2, 0, "the clave comes round");
        let bar = (0..score.bars()).find(|b| letters(&score, *b).starts_with("S.S"));
        assert_eq!(side(&score, bar.unwrap()), Side::Two, "{keys}");
        lengths.push(playback.phrase);
    }
    assert!(lengths.contains(&16) && lengths.contains(&0) && lengths.contains(&2));
}

#[test]
fn instruments_are_turned_on_and_off() {
    let mut playback = playback("answer");
    assert!(playback.score().line(Instrument::Clave).is_some());
    assert_eq!(press(&mut playback, "1"), [Ask::Changed]);
    assert!(playback.score().line(Instrument::Clave).is_none());
    assert_eq!(press(&mut playback, "9x"), [Ask::Nothing, Ask::Nothing]);
    assert_eq!(
        playback.set_band(&[Instrument::Bass, Instrument::Click]),
        []
    );
    let score = playback.score();
    let there: Vec<_> = score.lines.iter().map(Line::instrument).collect();
    assert_eq!(there, [Instrument::Bass, Instrument::Click]);
    let click = score.line(Instrument::Click).unwrap();
    let beats: Vec<_> = (0..8).filter(|p| click.at(*p).is_some()).collect();
    assert_eq!(beats, [0, 2, 4, 6]);
}

#[test]
fn a_part_of_the_band_plays_alone_and_keeps_its_own_line() {
    let mut playback = playback("bell");
    assert_eq!(press(&mut playback, "pb"), [Ask::Nothing, Ask::Nothing]);
    assert!(playback.band.iter().all(|(i, _)| *i != Instrument::Bell));
    assert_eq!(playback.set_band(&[Instrument::Bell]), []);
    assert_eq!(playback.score().bars(), 2);
}

#[test]
fn the_tempo_stays_within_what_can_be_played() {
    let mut playback = playback("answer");
    assert_eq!(playback.bpm, 180.0);
    press(&mut playback, "--+");
    assert_eq!(playback.bpm, 175.0);
    press(&mut playback, &"-".repeat(100));
    assert_eq!(playback.take(1).bpm, Take::SLOWEST);
    press(&mut playback, &"+".repeat(100));
    assert_eq!(playback.take(1).bpm, Take::FASTEST);
}

#[test]
fn feel_and_key_go_round_and_reach_the_take() {
    let mut playback = playback("answer");
    assert_eq!(
        press(&mut playback, "k"),
        [Ask::Nothing],
        "no bass, no piano"
    );
    playback.set_band(&[Instrument::Bass]);
    assert_eq!(press(&mut playback, "fk"), [Ask::Changed, Ask::Changed]);
    let take = playback.take(1);
    assert_eq!(take.feel, Feel::Swing(1.5));
    assert_eq!(take.vamp.to_string(), "Fm");
    press(&mut playback, "fff");
    assert_eq!(playback.take(1).feel, Feel::Straight);
}

#[test]
fn the_screen() {
    let mut playback = playback("answer");
    playback.set_band(&[Instrument::Clave, Instrument::Bass]);
    playback.playing = true;
    let score = playback.score();
    let audio = AudioStatus {
        playhead: Some(64 + 50),
        volume: Some(50),
    keys: ExtraKeys::USUAL,
    };
    let page = playback.page(&score, audio);
    let mut buffer = Buffer::empty(Rect::new(0, 0, 80, 24));
    draw::page(&page, Theme::new(Depth::None), buffer.area, &mut buffer);
    let rows = buffer.content().chunks(80).map(|row| {
        let line: String = row.iter().map(|cell| cell.symbol()).collect();
        line.trim_end().to_string() + "\n"
    });
    insta::assert_snapshot!(rows.collect::<String>());
}
