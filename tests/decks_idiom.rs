//! The stickings of the tumbao and of the variations are idiom and can be played over the whole range of tempos that the
//! card names. The judge that says so is tried on published and on reviewed stickings in `hands_table.rs`.

use whichside::deck::{Card, shipped};
use whichside::hands::{Handed, Player, judge};
use whichside::rhythm::{Hand, Tone};

const DECKS: [&str; 5] = [
    "tumbao/",
    "variations/",
    "variations-two-bars/",
    "low-drum-three/",
    "low-drum-two/",
];

fn each(mut see: impl FnMut(&Card)) {
    let decks = shipped();
    let cards = decks.iter().flat_map(|d| &d.cards);
    let of = |c: &&Card| DECKS.iter().any(|d| c.id.starts_with(d)) && c.score.drums.is_some();
    cards.filter(of).for_each(&mut see);
}

#[test]
fn a_player_would_use_the_hands_that_are_written() {
    let mut refused = Vec::new();
    let mut judged = 0;
    each(|card| {
        let drums = card.score.drums.as_ref().unwrap();
        let (low, high) = card.tempo;
        for bpm in [low, low.toward(high, 0.5), high] {
            judged += 1;
            let player = Player {
                handed: Handed::Right,
                ..Player::default()
            };
            if let Err(why) = judge(drums, bpm, &player) {
                refused.push(format!("{} at {bpm}: {}", card.id, why.text));
            }
        }
    });
    assert!(judged > 200, "{judged}");
    assert!(refused.is_empty(), "{}", refused.join("\n"));
}

#[test]
fn the_hand_that_keeps_time_rocks() {
    // Counted on the rows of the card: on neighbouring pulses one hand never plays tip after tip or heel after heel.
    let mut again = Vec::new();
    each(|card| {
        let drums = card.score.drums.as_ref().unwrap();
        let n = drums.pulses();
        for pulse in 0..n {
            let (Some(a), Some(b)) = (drums.at(pulse), drums.at((pulse + 1) % n)) else {
                continue;
            };
            let light = matches!(a.tone, Tone::Heel | Tone::Tip);
            if light && a.tone == b.tone && a.hand.is_some() && a.hand == b.hand {
                again.push(format!("{} at pulse {pulse}", card.id));
            }
        }
    });
    assert!(again.is_empty(), "{}", again.join("\n"));
}

#[test]
fn the_low_drum_is_in_the_hand_that_stands_beside_it() {
    use whichside::rhythm::Drum;
    each(|card| {
        let drums = card.score.drums.as_ref().unwrap();
        for (pulse, stroke) in drums.strokes().filter(|(_, s)| s.drum == Drum::Tumbadora) {
            assert_eq!(stroke.hand, Some(Hand::Right), "{} at {pulse}", card.id);
        }
    });
}
