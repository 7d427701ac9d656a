//! Questions drawn at random over all shipped decks, printed with key and reasons for a teacher to read:
//!
//!     READ=200 FROM=1 cargo test --test read_through -- --ignored --nocapture
//!
//! `READ` says how many, `FROM` from which seed; every item is equally likely.

mod shown;

use shown::{right_in_words, shown};
use whichside::deck::shipped;
use whichside::hands::{Handed, Level, Player};
use whichside::question::{Draw, Sense, Setup, ask, card, is_turned, items};
use whichside::rhythm::notation::write_block;

fn number(name: &str, usual: u64) -> u64 {
    let set = std::env::var(name).ok();
    set.and_then(|text| text.parse().ok()).unwrap_or(usual)
}

#[test]
#[ignore = "prints questions to be read by a person"]
fn read_through() {
    let decks = shipped();
    let items = items(&decks);
    let mut draw = Draw::new(number("FROM", 1));
    for nth in 1..=number("READ", 200) {
        let item = &items[draw.below(items.len())];
        let card = card(&decks, &item.key.card).unwrap();
        let (low, high) = card.tempo;
        let setup = Setup {
            tempo: low.toward(high, draw.unit()).round(),
            player: Player {
                level: Level::ALL[draw.below(3)],
                handed: [Handed::Right, Handed::Left][usize::from(draw.chance(0.1))],
            },
            as_written: false,
            weighed: false,
            unseen: false,
        };
        let question = ask(card, &item.key, draw.seed(), &setup).expect("an item can be asked");
        let shown = shown(&question);
        println!(
            "#{nth}  {}  at {} ({:?})",
            item.key, setup.tempo, setup.player
        );
        println!("{}", shown.text);
        println!("mark {:?}", shown.mark);
        match item.key.sense {
            Sense::Read => println!("{}", shown.drawn),
            Sense::Hear => println!("(by ear)\n{}", write_block(&question.prompt.take.score)),
        }
        let offered: Vec<String> = shown
            .choices
            .iter()
            .map(|(k, l)| format!("[{k}] {l}"))
            .collect();
        println!("offered: {}", offered.join("  "));
        println!("right: {:?}", right_in_words(&question));
        println!("told: {}", question.reveal.answer);
        if let Some(clave) = question.reveal.clave {
            println!("clave: {} {}", clave.family.name(), clave.direction.name());
        }
        for reason in &question.reveal.reasons {
            println!("  - {} {:?}", reason.text, reason.pulses);
        }
        if is_turned(card, &question) {
            println!(
                "note: it began on a different bar from the card, so its bars have other numbers"
            );
        }
        println!("card: {}\n", card.title);
    }
}
