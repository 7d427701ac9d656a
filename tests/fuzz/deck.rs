//! Any bytes as a deck: reading, checking and drawing what is wrong end without a panic, and what is read holds together.
//!
//! `cargo +nightly fuzz run --fuzz-dir tests/fuzz deck tests/fuzz/corpus/deck decks -- -max_total_time=600 -max_len=3000`

#![no_main]
#![allow(dead_code, unused_imports)]

#[path = "../../src/clave/mod.rs"]
mod clave;
#[path = "../../src/deck/mod.rs"]
mod deck;
#[path = "../../src/hands/mod.rs"]
mod hands;
#[path = "../../src/rhythm/mod.rs"]
mod rhythm;
#[path = "../../src/time.rs"]
mod time;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    let (read, found) = deck::read("deck.toml", text);
    for card in &read.cards {
        assert!(card.choice.is_some() || card.score.pulses() % card.grid.pulses_per_bar() == 0);
        assert!(card.tempo.0 <= card.tempo.1);
        if let Some(drums) = &card.score.drums {
            let score = rhythm::Score {
                drums: Some(drums.clone()),
                ..rhythm::Score::empty(card.grid)
            };
            let (again, problems) = rhythm::notation::read_block(&rhythm::notation::write_block(&score));
            assert_eq!((again, problems.len()), (Some(score), 0));
        }
    }
    for d in &found {
        assert!(text.get(d.span.clone()).is_some());
    }
    let _ = deck::render(&found, text, 80);
});
