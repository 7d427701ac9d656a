//! What is asked for is neither drawn, played nor said with the question, whatever its kind.

use super::laws::each;
use super::{Form, Mark, Sense, plain_tumbao};
use crate::rhythm::{Instrument, Pattern};

#[test]
fn the_prompt_does_not_show_the_key() {
    each(|card, q| {
        let text = q.prompt.text.to_lowercase();
        let score = &q.prompt.take.score;
        match q.item.kind.as_str() {
            "side" => {
                assert!(!q.prompt.show_hands);
                for told in [
                    "two side",
                    "three side",
                    "2-3",
                    "3-2",
                    "neutral",
                    "both",
                    "tell",
                ] {
                    assert!(!text.contains(told), "{text}");
                }
                let own_clave = card.score.line(Instrument::Clave).is_some();
                assert!(own_clave || score.line(Instrument::Clave).is_none());
            }
            "strokes" => {
                let drums = score.drums.as_ref().unwrap();
                let per = score.grid.pulses_per_bar();
                let within = |p: &usize| match q.prompt.mark {
                    Mark::Pulse(pulse) => *p == pulse,
                    Mark::Bar(bar) => p / per == bar,
                    _ => panic!("strokes are asked of a pulse or a bar"),
                };
                assert_eq!(q.prompt.hidden.len(), q.form.length());
                assert!(q.prompt.hidden.iter().all(within));
                let told = |p: &usize| text.contains(drums.at(*p).unwrap().tone.name());
                assert!(!q.prompt.hidden.iter().any(told), "{text}");
            }
            "hand" => {
                let drums = score.drums.as_ref().unwrap();
                let sticking = q.reveal.sticking.as_ref().unwrap();
                assert_eq!(sticking.asked.len(), q.form.length());
                let blank = |p: usize| drums.at(p).unwrap().hand.is_none();
                assert!(sticking.asked.iter().all(|p| blank(*p)));
                if let Mark::Pulse(p) = q.prompt.mark {
                    assert_eq!(sticking.asked, [p]);
                }
                // Of a named sticking the words say which hand leads, and the grid shows it.
                let named = sticking.rudiment.is_some();
                assert!(named || !text.contains("left") && !text.contains("right"));
                let open = drums.strokes().filter(|(_, s)| s.hand.is_none());
                assert!(named || open.count() == q.form.length());
            }
            "place" => {
                // What lies in the phrase is marked, all of it: the bars that are not the tumbao, or stand beside one.
                if q.item.sense == Sense::Read && q.form.label('y').is_some() {
                    let own = card.score.bars();
                    let drums = score.drums.as_ref().unwrap();
                    let (first, last) = match q.prompt.mark {
                        Mark::Bar(bar) => (bar, bar),
                        Mark::Bars(first, last) => (first, last),
                        mark => panic!("{mark:?}"),
                    };
                    assert_eq!(last + 1 - first, own);
                    let plain = plain_tumbao(score.grid).unwrap();
                    for bar in 0..drums.bars() {
                        let within = (first..=last).contains(&bar);
                        assert!(within || drums.bar(bar) == plain.bar(0));
                    }
                }
                // The direction is given, in words or by the clave; the place is asked.
                assert!(!text.contains(&q.reveal.answer.to_lowercase()), "{text}");
                let clave = score.line(Instrument::Clave).is_some();
                assert_eq!(clave, q.item.sense == Sense::Hear && score.bars() > 2);
                assert_eq!(text.contains("2-3") || text.contains("3-2"), !clave);
            }
            "thin" => {
                assert_eq!(score.drums, card.score.drums);
                assert!(!text.contains(&q.reveal.answer), "{text}");
            }
            "choice" => assert!(!text.contains(&q.reveal.answer.to_lowercase())),
            "write" => {
                let pulses = q.form.length();
                assert_eq!(q.prompt.hidden, (0..pulses).collect::<Vec<_>>());
                assert_eq!(q.prompt.audible, q.item.sense == Sense::Hear);
                assert!(!q.prompt.show_hands);
                let answer = q.reveal.answer.to_lowercase();
                assert!(!text.contains(&answer) && !text.contains(&answer.replace(' ', "")));
            }
            "play" => {
                assert!(score.drums.is_none() && !text.contains(&q.reveal.answer.to_lowercase()));
            }
            "call" => {
                // The call is heard, and what is asked is silent.
                let (drums, answer) = (
                    score.drums.as_ref().unwrap(),
                    q.reveal.answer.to_lowercase(),
                );
                let half = score.pulses() / 2;
                assert!(drums.strokes().all(|(p, _)| p < half) && !text.contains(&answer));
                let Form::Taps { task, .. } = &q.form else {
                    panic!("not tapped");
                };
                let struck = |p: &Pattern| -> Vec<usize> { p.strokes().map(|(p, _)| p).collect() };
                assert_eq!(struck(drums), struck(task.part()));
            }
            "hold" => {
                // It sounds at the start and at the end: direction and strokes are to be heard, not read.
                let cycle = score.grid.pulses_per_cycle();
                let clave = score.line(Instrument::Clave).unwrap();
                let sounds =
                    |mut pulses: std::ops::Range<usize>| pulses.any(|p| clave.at(p).is_some());
                assert!(
                    sounds(0..cycle)
                        && !sounds(5 * cycle..6 * cycle)
                        && sounds(7 * cycle..8 * cycle)
                );
                assert!(!text.contains("2-3") && !text.contains("3-2"));
            }
            "clap" => {
                assert!(score.line(Instrument::Clave).is_none());
                assert!(!text.contains("2-3") && !text.contains("3-2"));
            }
            other => panic!("no law for {other}"),
        }
    });
}
