//! Tests of the playback.

use super::practice::NO_METRONOME;
use super::*;
use crate::clave::Family;
use crate::clave::Side;
use crate::deck;
use crate::rhythm::{Grid, Tempo};
use crate::screens::draw;
use crate::screens::screen_settings::ExtraKeys;
use crate::screens::theme::{Depth, Theme};
use crossterm::event::{KeyCode, KeyEvent};
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
    assert_eq!(press(&mut playback, "1"), [Ask::Changed(0)]);
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
    assert_eq!(playback.tempo, Tempo::new(180.0));
    press(&mut playback, "--+");
    assert_eq!(playback.tempo, Tempo::new(175.0));
    press(&mut playback, &"-".repeat(100));
    assert_eq!(playback.take(1).tempo, Take::SLOWEST);
    press(&mut playback, &"+".repeat(100));
    assert_eq!(playback.take(1).tempo, Take::FASTEST);
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
    assert_eq!(
        press(&mut playback, "ek"),
        [Ask::Changed(1), Ask::Changed(8)]
    );
    let take = playback.take(1);
    assert_eq!(take.feel, Feel::Swing(1.5));
    assert_eq!(take.vamp.to_string(), "Fm");
    press(&mut playback, "eee");
    assert_eq!(playback.take(1).feel, Feel::Straight);
}

/// The pulses of a bar on which the click falls.
fn clicks(playback: &Playback) -> Vec<usize> {
    let score = playback.score();
    let click = score.line(Instrument::Click).unwrap();
    (0..click.pulses())
        .filter(|p| click.at(*p).is_some())
        .collect()
}

#[test]
fn the_metronome_clicks_where_it_is_wanted() {
    let mut playback = playback("answer");
    // Beat n of a bar of eighths is pulse 2n - 2; strokes of the son clave in 2-3: 2, 3 | 1, 2&, 4.
    let cases: [(&str, &[usize]); 5] = [
        ("beats", &[0, 2, 4, 6]),
        ("2,4", &[2, 6]),
        ("3", &[4]),
        ("off", &[1, 3, 5, 7]),
        ("clave", &[2, 4, 8, 11, 14]),
    ];
    for (word, expected) in cases {
        let metronome: Metronome = word.parse().unwrap();
        assert_eq!(metronome.to_string(), word);
        playback.set_metronome(metronome).unwrap();
        assert_eq!(clicks(&playback), expected, "{word}");
    }
    for bad in ["", "5", "0", "2,", "two", "2;4"] {
        assert_eq!(bad.parse::<Metronome>(), Err(NO_METRONOME), "{bad}");
    }
    let mut playback = self::playback("answer");
    assert_eq!(press(&mut playback, "m"), [Ask::Changed(0)]);
    assert_eq!(clicks(&playback), [0, 2, 4, 6]);
    let mut seen = Vec::new();
    for _ in 0..8 {
        press(&mut playback, "m");
        seen.push(clicks(&playback));
    }
    assert_eq!(seen.last().unwrap(), &[0, 2, 4, 6], "all the way round");
    seen.sort();
    seen.dedup();
    assert_eq!(seen.len(), 8);
    // Two beats in a bar of 6/8, and nothing half-way between them.
    for metronome in [Metronome::Beats(0b100), Metronome::OffBeats] {
        assert_eq!(metronome.line(Grid::SixEight, None), None);
    }
    assert_eq!(Metronome::Clave.line(Grid::Eighths, None), None);
}

#[test]
fn the_clave_goes_away_for_as_many_cycles_as_it_plays() {
    let mut playback = playback("answer");
    playback.set_clave_gap(2);
    playback.begin();
    let mut silent = Vec::new();
    for cycle in 0..8 {
        let before = playback.take(1).score.line(Instrument::Clave).is_none();
        let changed = playback.go_on(cycle);
        let now = playback.take(1).score.line(Instrument::Clave).is_none();
        assert_eq!(changed, before != now);
        silent.push(now);
    }
    assert_eq!(silent, [false, false, true, true, false, false, true, true]);
    // On the screen the clave stays.
    assert!(playback.score().line(Instrument::Clave).is_some());
}

#[test]
fn the_tempo_goes_from_one_to_another_in_equal_steps() {
    let mut playback = playback("answer");
    playback.set_tempo(Tempo::new(80.0));
    playback.set_trainer(Tempo::new(140.0), 4);
    playback.begin();
    let tempos = [0, 1, 2, 3, 4, 5].map(|cycle| {
        playback.go_on(cycle);
        playback.take(1).tempo
    });
    assert_eq!(
        tempos.map(Tempo::bpm),
        [80.0, 95.0, 110.0, 125.0, 140.0, 140.0]
    );
    assert!(!playback.has_plan());
    // Down as well, and a tempo set by hand ends it.
    playback.set_trainer(Tempo::new(100.0), 2);
    playback.go_on(6);
    assert_eq!(playback.take(1).tempo, Tempo::new(120.0));
    assert_eq!(press(&mut playback, "+"), [Ask::Changed(1)]);
    playback.go_on(7);
    assert_eq!(playback.take(1).tempo, Tempo::new(125.0));
}

#[test]
fn the_next_cycle_is_made_shortly_before_it_begins() {
    let mut playback = playback("answer");
    playback.set_tempo(Tempo::new(120.0));
    playback.set_trainer(Tempo::new(160.0), 8);
    playback.begin();
    // A pulse lasts a quarter of a second: less than a second is left after pulse 12 of 16.
    assert!(!playback.look_ahead(0) && !playback.look_ahead(12));
    assert!(playback.look_ahead(13));
    assert!(!playback.look_ahead(14), "made once");
    assert_eq!(playback.take(1).tempo, Tempo::new(125.0));
    assert!(!playback.look_ahead(16));
    assert!(playback.look_ahead(31));
    assert_eq!(playback.take(1).tempo, Tempo::new(130.0));
}

#[test]
fn one_bar_goes_round_alone_and_the_phrase_comes_back() {
    let mut playback = playback("answer");
    let whole = playback.score();
    assert_eq!(press(&mut playback, "l"), [Ask::Changed(8)]);
    let score = playback.score();
    assert_eq!(score.bars(), 1);
    assert_eq!(letters(&score, 0), "S.SS.SOO");
    assert_eq!(side(&score, 0), Side::Two);
    press(&mut playback, "l");
    assert_eq!(playback.score(), whole);
    assert!(playback.set_loop_bar(9).is_err() && playback.set_loop_bar(0).is_err());
    playback.set_loop_bar(2).unwrap();
    assert_eq!(letters(&playback.score(), 0), "HTSTHTOO");
    assert_eq!(side(&playback.score(), 0), Side::Three);
    press(&mut playback, "b");
    assert_eq!(playback.score().bars(), 8);
}

#[test]
fn another_clave_goes_under_the_same_part_and_comes_round() {
    let mut playback = playback("answer");
    let first = playback.score();
    assert_eq!(press(&mut playback, "c"), [Ask::Changed(8)]);
    // The last stroke of the three side is on 4 in son, on 4& in rumba.
    let strokes = |p: &Playback, pulse| p.score().line(Instrument::Clave).unwrap().at(pulse);
    assert!(strokes(&playback, 14).is_none() && strokes(&playback, 15).is_some());
    press(&mut playback, "c");
    assert_eq!(side(&playback.score(), 6), Side::Three);
    press(&mut playback, "cc");
    assert_eq!(playback.score(), first);
}

#[test]
fn a_card_that_is_a_clave_stays_the_one_that_it_is() {
    let bell = "bell  | x . x . x . x x | . x . x x . x . |";
    let clave = "clave | x . . x . . x . | . . x . x . . . |";
    let (deck, found) = deck::read("street.toml", &DECK.replace(bell, clave));
    let card = deck.cards.iter().find(|c| c.id == "street/bell");
    let mut playback = Playback::new(card.unwrap_or_else(|| panic!("{found:?}")));
    let score = playback.score();
    assert_eq!(press(&mut playback, "?c"), [Ask::Nothing; 2]);
    assert_eq!(playback.score(), score);
    assert!(playback.choices().iter().all(|c| c.key != 'c'));
    let rumba = Clave {
        family: Family::Rumba,
        ..card.and_then(|c| c.clave).unwrap()
    };
    assert!(playback.set_clave(rumba).is_err());
}

#[test]
fn in_a_narrow_window_the_grid_keeps_its_place_beside_all_keys() {
    let mut playback = playback("answer");
    for leaf in ["", "?"] {
        press(&mut playback, leaf);
        let score = playback.score();
        let page = playback.page(&score, AudioStatus::default());
        let area = Rect::new(0, 0, 50, 18);
        let mut buffer = Buffer::empty(area);
        draw::page(&page, Theme::new(Depth::None), area, &mut buffer);
        let text: String = buffer.content().iter().map(|cell| cell.symbol()).collect();
        assert!(text.contains("conga │"), "{text}");
        for choice in &page.choices {
            let key = format!("[{}] {}", choice.key, choice.label);
            assert!(text.contains(&key), "{key} in {text}");
        }
    }
}

#[test]
fn the_keys_for_practising_take_the_place_of_those_of_the_band() {
    let mut playback = playback("answer");
    let words = |p: &Playback| {
        let score = p.score();
        let page = p.page(&score, AudioStatus::default());
        let keys: String = page.choices.iter().map(|c| c.key).collect();
        (page.body[0].text.clone(), keys)
    };
    let card = words(&playback);
    assert_eq!(press(&mut playback, "?"), [Ask::Nothing]);
    assert_eq!(words(&playback).1, "lmcgtj");
    press(&mut playback, "?");
    assert_eq!(words(&playback), card);
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
        ..AudioStatus::default()
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

/// The bell of the deck at 180: eighths of 1/6 s, sixteen a round; struck on 0 2 4 6 7 9 11 12 14.
#[test]
fn what_is_tapped_along_is_told_after_each_round_and_shown() {
    let mut playback = playback("bell");
    let strokes = [0.0, 2.0, 4.0, 6.0, 7.0, 9.0, 11.0, 12.0, 14.0];
    playback.heard(0.1);
    // The first 60 ms ahead (.36 of a pulse), before the first pulse; the rest as far, the last left out.
    for at in &strokes[..8] {
        playback.tap(at - 0.36, Some(Hand::Right));
    }
    let score = playback.score();
    let shown = playback.tapped(&score);
    let places: Vec<usize> = shown.iter().map(|tap| tap.0).collect();
    assert_eq!(places, [0, 2, 4, 6, 7, 9, 11, 12]);
    // A tap may come late by .15 s, .9 of a pulse: so long it is waited for.
    playback.heard(16.8);
    assert_eq!(playback.along.said, None);
    // One of the next round is not among those of this one.
    playback.tap(16.1, None);
    playback.heard(17.0);
    let said = playback.along.said.clone().unwrap();
    assert!(
        said.starts_with("Round 1: 8 of 9 strokes, 1 left out;") && said.contains("60 ms ahead"),
        "{said}"
    );
    assert_eq!(playback.tapped(&score), [(0, None)]);
    // A round in which nothing is tapped says nothing new.
    playback.along.taps.clear();
    playback.heard(33.5);
    assert_eq!(playback.along.said.as_ref(), Some(&said));
}

#[test]
fn a_round_that_is_heard_from_its_middle_on_is_not_told() {
    let mut playback = playback("bell");
    playback.forget_taps();
    playback.heard(5.0);
    for at in [6.0, 7.0, 9.0] {
        playback.tap(at, None);
    }
    playback.heard(17.0);
    assert_eq!(playback.along.said, None);
    for at in [16.0, 18.0, 20.0, 22.0, 23.0, 25.0, 27.0, 28.0, 30.0] {
        playback.tap(at, None);
    }
    playback.heard(33.0);
    let said = playback.along.said.unwrap();
    assert!(said.starts_with("Round 2: 9 of 9 strokes;"), "{said}");
}

#[test]
fn two_keys_tap_and_the_drums_of_the_phrase_are_what_is_tapped() {
    let mut playback = playback("answer");
    assert_eq!(
        press(&mut playback, "fj"),
        [Ask::Tap(Hand::Left), Ask::Tap(Hand::Right)]
    );
    // In a phrase of 8 bars, of 16, and alone, one bar under a clave of two.
    for bars in [8, 16, 2] {
        let task = playback.to_tap().unwrap();
        assert_eq!(task.part().pulses(), 8 * bars);
        assert_eq!(playback.score().pulses(), 8 * bars);
        assert!(task.is_on_drums());
        press(&mut playback, "p");
    }
}
