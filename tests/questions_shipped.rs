//! Every shipped card is asked in every way that it allows, by right- and left-handed players: the question is whole,
//! knows its own answer, does not show it, and gives its reasons.

use whichside::deck::shipped;
use whichside::hands::{Handed, Player};
use whichside::question::{Form, Question, Setup, ask, card, grade, items};
use whichside::rhythm::Instrument;
use whichside::time::Seconds;

const SEEDS: u64 = 12;

fn each(mut see: impl FnMut(&whichside::deck::Card, &Question)) {
    let decks = shipped();
    for item in items(&decks) {
        let card = card(&decks, &item.key.card).expect("an item has its card");
        for seed in 0..SEEDS {
            let share = seed as f64 / (SEEDS - 1) as f64;
            let setup = Setup {
                tempo: card.tempo.0.toward(card.tempo.1, share),
                player: Player {
                    handed: [Handed::Right, Handed::Left][seed as usize % 2],
                    ..Player::default()
                },
                as_written: seed == 0,
                weighed: false,
                unseen: false,
            };
            let question = ask(card, &item.key, 31 * seed + 7, &setup);
            see(
                card,
                &question.unwrap_or_else(|| panic!("{} cannot be asked", item.key)),
            );
        }
    }
}

#[test]
fn every_shipped_item_can_be_asked_answered_and_explained() {
    let mut asked = 0;
    each(|card, q| {
        asked += 1;
        let keys = q.form.right()[0].text();
        let verdict = grade(q, &q.form.answer(&keys).unwrap(), Seconds::new(0.5));
        assert!(verdict.right && verdict.correct == 1.0, "{}", q.item);
        assert!(
            q.form.guess() > 0.0 && q.form.guess() < 1.0,
            "{}: {}",
            q.item,
            q.form.guess()
        );
        assert!(
            !q.reveal.reasons.is_empty() && !q.concepts.is_empty(),
            "{}",
            q.item
        );
        let pulses = q.reveal.take.score.pulses();
        for reason in &q.reveal.reasons {
            assert!(reason.pulses.iter().all(|p| *p < pulses), "{}", q.item);
            assert!(
                reason.text.ends_with(['.', '!', '?']),
                "{}: {}",
                q.item,
                reason.text
            );
        }
        assert!(q.reveal.meets.is_empty() || q.reveal.meets.len() == pulses);
        if let Form::Row { right, .. } = &q.form {
            assert!(
                right
                    .iter()
                    .all(|row| row.chars().count() == q.form.length())
            );
        }
        if q.item.kind == "side" {
            let heard = q.prompt.take.score.line(Instrument::Clave);
            assert!(
                heard.is_none() || card.score.line(Instrument::Clave).is_some(),
                "{}",
                q.item
            );
        }
    });
    // Fifteen decks of cards in several kinds and senses.
    assert!(asked > 1000, "{asked}");
}

#[test]
fn the_side_that_is_right_is_that_of_the_clave_shown_with_the_answer() {
    use whichside::deck::States;
    use whichside::question::Mark;
    each(|card, q| {
        if q.item.kind != "side" {
            return;
        }
        let clave = q.reveal.clave.expect("a side question has a clave");
        let bar = match q.prompt.mark {
            Mark::Bar(bar) => bar,
            _ => 0,
        };
        let stopped = q.prompt.text.contains("stops");
        let bar = match q.prompt.take.score.line(Instrument::Bell) {
            // Where the clave has stopped, the bar of the bell is asked for.
            Some(bell) if stopped => {
                let struck = (0..bell.pulses()).find(|p| bell.at(*p).is_some());
                struck.unwrap() / bell.grid().pulses_per_bar()
            }
            _ => bar,
        };
        let expected = match (card.states, clave.direction.side(bar)) {
            (States::Neither, _) if q.prompt.mark == Mark::Whole => 'b',
            (States::Neither, _) => 'c',
            (_, whichside::clave::Side::Two) => '2',
            (_, whichside::clave::Side::Three) => '3',
        };
        assert_eq!(q.form.right_texts(), [expected.to_string()], "{}", q.item);
        // A bar that belongs to a side is marked where it lies, whatever is put around it.
        if let (States::Bar(side), Mark::Bar(bar), false) = (card.states, q.prompt.mark, stopped) {
            assert_eq!(clave.direction.side(bar), side, "{}", q.item);
        }
    });
}
