//! Frozen: the questions of all shipped decks, what is told with them, and how answers to them are graded.

use crate::shown::{right_in_words, shown};
use crate::{TextSums, chance, rounded};
use std::fmt::Write;
use whichside::deck::shipped;
use whichside::hands::{Handed, Level, Player};
use whichside::question::{
    Answer, Form, Item, KINDS, Question, Sense, Setup, about, ask, card, grade, items,
};
use whichside::rhythm::notation::write_block;
use whichside::rhythm::{Hand, Tempo};
use whichside::taps::Tap;
use whichside::time::Seconds;

fn setup(tempo: (Tempo, Tempo), n: u64) -> Setup {
    let (slowest, fastest) = (tempo.0.bpm(), tempo.1.bpm());
    Setup {
        tempo: Tempo::new(slowest + (fastest - slowest) * (n % 5) as f64 / 4.0).round(),
        player: Player {
            level: Level::ALL[n as usize % 3],
            handed: [Handed::Right, Handed::Left][usize::from(n % 4 == 1)],
        },
        as_written: n.is_multiple_of(17),
        weighed: false,
        unseen: n.is_multiple_of(13),
    }
}

fn told(question: &Question) -> String {
    let (shown, reveal) = (shown(question), &question.reveal);
    let take = &question.prompt.take;
    let mut text = format!(
        "{} at {}\n{}\n",
        question.item,
        take.tempo.bpm(),
        shown.text
    );
    let mut line = |what: &str, value: String| writeln!(text, "{what}: {value}").unwrap();
    line("mark", format!("{:?}", shown.mark));
    line("drawn", shown.drawn.clone());
    line("heard", shown.heard.clone());
    line(
        "played",
        format!("{} {} {:?}", take.feel, take.vamp, take.count_in),
    );
    line("cycles", format!("{} seed {}", take.cycles, take.seed));
    let choices = shown.choices.iter().map(|(k, l)| format!("[{k}] {l}"));
    line("offered", choices.collect::<Vec<_>>().join("  "));
    line("keys", shown.length.to_string());
    line("right", format!("{:?}", right_in_words(question)));
    line("in the log", format!("{:?}", question.form.right_texts()));
    line(
        "right at",
        format!(
            "{:?}",
            question.form.right_at(&question.form.right()[0].clone())
        ),
    );
    line(
        "seconds",
        rounded(&format!(
            "limit {:?}, heard {:?}, least {:?}; guess {:?}, partly from {:?}",
            question.limit(),
            question.listening_seconds(),
            question.least_seconds(),
            question.form.guess(),
            question.partly_from()
        )),
    );
    line("concepts", question.concepts.join(", "));
    line("told", reveal.answer.clone());
    line("clave", format!("{:?} {:?}", reveal.clave, reveal.meets));
    let hand = |h: &Option<Hand>| h.map_or('.', Hand::letter);
    line("hands", reveal.hands.iter().map(hand).collect());
    line("answer", write_block(&reveal.take.score));
    for reason in &reveal.reasons {
        line("because", format!("{} {:?}", reason.text, reason.pulses));
    }
    text
}

/// Answers that are right, nearly right, and not.
fn answers(question: &Question, state: &mut u64) -> Vec<Answer> {
    let right = question.form.right().remove(0);
    let mut answers = vec![right.clone(), Answer::Unknown];
    match (&question.form, right) {
        (Form::Taps { task, .. }, Answer::Taps(taps)) => {
            let pulse = task.pulse_seconds();
            let uneven = taps.iter().map(|tap| Tap {
                seconds: tap.seconds
                    + Seconds::new(0.03)
                    + pulse * chance(state, 100) as f64 / 700.0,
                hand: tap.hand,
            });
            let uneven: Vec<Tap> = uneven.collect();
            let left_out = uneven.iter().copied().filter(|_| chance(state, 8) > 0);
            answers.push(Answer::Taps(left_out.collect()));
            let late = taps.iter().map(|tap| Tap {
                seconds: tap.seconds + pulse * (1 + 7 * chance(state, 2)) as f64,
                hand: tap.hand.map(Hand::other),
            });
            answers.push(Answer::Taps(late.collect()));
            answers.push(Answer::Taps(uneven));
        }
        (form, Answer::Row(row)) => {
            let keys: Vec<char> = form.choices().iter().map(|c| c.key).collect();
            for changes in [1, 3] {
                let mut other: Vec<char> = row.chars().collect();
                for _ in 0..changes {
                    let at = chance(state, other.len() as u64) as usize;
                    other[at] = keys[chance(state, keys.len() as u64) as usize];
                }
                answers.push(Answer::Row(other.into_iter().collect()));
            }
            let mut shifted: Vec<char> = row.chars().collect();
            shifted.rotate_right(1);
            answers.push(Answer::Row(shifted.into_iter().collect()));
            answers.push(Answer::Row(row.chars().skip(1).collect()));
        }
        (form, _) => answers.extend(form.choices().iter().map(|c| Answer::Key(c.key))),
    }
    answers
}

fn graded(question: &Question, state: &mut u64) -> String {
    let mut text = String::new();
    for answer in answers(question, state) {
        let seconds = question.limit() * [0.5, 1.1][chance(state, 2) as usize];
        let verdict = grade(question, &answer, seconds);
        let flags = [verdict.right, verdict.partly, verdict.in_time];
        writeln!(
            text,
            "{} -> {:?}, {} of {}, {flags:?}, nearest {}: {:?}",
            verdict.given,
            verdict.correct,
            verdict.hits,
            verdict.of,
            question.form.words(&verdict.nearest),
            verdict.why.map(|why| (why.text, why.pulses))
        )
        .unwrap();
    }
    rounded(&text)
}

/// The questions of each kind and sense: by their sums, and some to be read.
#[test]
fn the_same_seeds_give_the_same_questions_and_grades() {
    let decks = shipped();
    let (mut sums, mut read) = (TextSums::default(), String::new());
    let mut state = 88_172_645_463_325_252;
    let all: Vec<Item> = items(&decks);
    for kind in KINDS {
        for sense in Sense::ALL {
            let ours: Vec<&Item> = all
                .iter()
                .filter(|item| item.key.kind == kind.name && item.key.sense == sense)
                .collect();
            // Some items of each, so that it does not take long.
            let every = if kind.is_tapped() { 13 } else { 7 };
            for (n, item) in ours.iter().enumerate().skip(1).step_by(every) {
                let card = card(&decks, &item.key.card).unwrap();
                let setup = setup(card.tempo, n as u64);
                let seed = 9_400_000 + n as u64;
                let question = ask(card, &item.key, seed, &setup).expect("it can be asked");
                let (asked, verdicts) = (told(&question), graded(&question, &mut state));
                let deck = item.key.card.split('/').next().unwrap_or_default();
                sums.add(format!("{} {sense:?} {deck}", kind.name), &asked);
                sums.add(format!("{} {sense:?} graded", kind.name), &verdicts);
                if n == 1 || n * 2 / ours.len() != (n - every) * 2 / ours.len() {
                    writeln!(read, "{asked}{verdicts}").unwrap();
                }
            }
        }
    }
    insta::assert_snapshot!("questions_sums", sums.told());
    insta::assert_snapshot!("questions", read);
}

#[test]
fn cards_say_of_themselves_what_they_said() {
    let decks = shipped();
    let mut sums = TextSums::default();
    for deck in &decks {
        for card in &deck.cards {
            for handed in [Handed::Right, Handed::Left] {
                let player = Player {
                    handed,
                    ..Player::default()
                };
                sums.add(&*deck.id, &about(card, player));
            }
        }
    }
    insta::assert_snapshot!(sums.told());
}
