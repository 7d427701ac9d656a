//! Grading: how much of an answer is right, how long it took, and how much of it may be chance.

use super::{Answer, Form, Mark, Question, Sense, Verdict, tapped};
use crate::rhythm::Tempo;
use crate::time::Seconds;

/// Time allowed for each key of a row after the first: a key of random letters in the keystroke-level model
/// (Card, Moran & Newell 1980, *Communications of the ACM* 23:396-410; the value 0.50 s from memory).
pub(super) const KEY_SECONDS: Seconds = Seconds::new(0.5);
/// Thought for each bar that is written: the mental act of the same model (1.35 s, from memory).
const THOUGHT_SECONDS: Seconds = Seconds::new(1.35);
/// Words read silently in a minute (Brysbaert 2019, *Journal of Memory and Language* 109:104047; the value for
/// non-fiction from memory).
const WORDS_A_MINUTE: f64 = 238.0;
/// Tempo whose clave cycle is allowed for a question in words: our choice.
const WORDS_TEMPO: Tempo = Tempo::new(120.0);

impl Question {
    /// Length of one clave cycle at the question's tempo.
    pub fn cycle_seconds(&self) -> Seconds {
        let take = &self.prompt.take;
        take.tempo.cycle(take.score.grid)
    }

    /// Is there a part to be drawn or played? A question in words has none.
    pub fn has_music(&self) -> bool {
        !self.prompt.take.score.is_empty()
    }

    /// Time within which an answer counts as in time: one clave cycle, and for a row half a second for each further
    /// key. Where the words are new each time, the time to read them and the answers is added; where there is nothing
    /// but words, the cycle is that of a middling tempo.
    pub fn limit(&self) -> Seconds {
        if let Form::Taps { task, cycles, .. } = &self.form {
            // To find the place once through what is heard (one round where turns are set), then those that are tapped.
            let heard = self.prompt.take.score.pulses();
            let through = match task.turns() {
                None => heard.div_ceil(task.part().pulses()).max(1),
                Some(_) => 1,
            };
            return (task.rounds(*cycles) + through) as f64 * task.cycle_seconds();
        }
        let cycle = match self.has_music() {
            true => self.cycle_seconds(),
            false => WORDS_TEMPO.cycle(self.prompt.take.score.grid),
        };
        let keys = KEY_SECONDS * (self.form.length().max(1) - 1) as f64;
        // To bring to mind the bars that are to be written, and for the key that finishes them.
        let thought = match &self.form {
            Form::Written { .. } => {
                let per = self.prompt.take.score.grid.pulses_per_bar();
                THOUGHT_SECONDS * (self.form.length() / per) as f64 + KEY_SECONDS
            }
            Form::Key { .. } | Form::Row { .. } | Form::Taps { .. } => Seconds::ZERO,
        };
        cycle + keys + thought + self.reading_seconds()
    }

    /// Time to read the question and its answers, where they are new each time.
    fn reading_seconds(&self) -> Seconds {
        if !self.prompt.worded {
            return Seconds::ZERO;
        }
        let labels = self.form.choices().iter().map(|c| c.label.as_str());
        let texts = labels.chain([self.prompt.text.as_str()]);
        let words: usize = texts.map(|t| t.split_whitespace().count()).sum();
        Seconds::new(words as f64 * 60.0 / WORDS_A_MINUTE)
    }

    /// Time from the start of the sound until what decides has been heard: the pulse or the bar that is asked about,
    /// or all of it; of what is tapped, once round. Nobody can know a heard part earlier, and its clock starts there.
    pub fn listening_seconds(&self) -> Seconds {
        let take = &self.prompt.take;
        let grid = take.score.grid;
        let all = match &self.form {
            Form::Taps { task, .. } => task.part().pulses(),
            Form::Key { .. } | Form::Row { .. } | Form::Written { .. } => take.score.pulses(),
        };
        let bar = grid.pulses_per_bar();
        let decides = match self.prompt.mark {
            Mark::Whole => all,
            Mark::Bar(bar_asked) | Mark::Bars(_, bar_asked) => (bar_asked + 1) * bar,
            Mark::Pulse(pulse) => pulse + 1,
        };
        let pulses = take.count_in_pulses() + decides.min(all);
        take.tempo.pulse(grid) * pulses as f64
    }

    /// Least time from its start to its answer: for taps, the pick-up and every round; for anything else that is
    /// heard, the time until what decides was heard; 0 by eye.
    pub fn least_seconds(&self) -> Seconds {
        let take = &self.prompt.take;
        match &self.form {
            Form::Taps { task, cycles, .. } => {
                let pick_up = take.count_in_pulses() as f64;
                pick_up * take.tempo.pulse(take.score.grid)
                    + task.rounds(*cycles) as f64 * task.cycle_seconds()
            }
            _ if self.item.sense == Sense::Hear => self.listening_seconds(),
            Form::Key { .. } | Form::Row { .. } | Form::Written { .. } => Seconds::ZERO,
        }
    }

    /// The right answer that shares most with this one; among equals, the first.
    pub fn nearest(&self, answer: &Answer) -> Option<Answer> {
        let mut right = self.form.right().into_iter();
        let first = right.next()?;
        Some(right.fold(first, |best, row| {
            match row.hits(answer) > best.hits(answer) {
                true => row,
                false => best,
            }
        }))
    }

    /// The share of a row from which an answer that is not right is partly right: at least half of what guessing
    /// leaves, (1 + g) / 2, where g is the chance of one key. That is half of the row once the hits of chance are taken
    /// out by the usual correction for guessing, (share - g) / (1 - g); half is our choice. `None` for an answer of one
    /// key, which is right or missed.
    pub fn partly_from(&self) -> Option<f64> {
        match &self.form {
            Form::Key { .. } | Form::Taps { .. } => None,
            Form::Row { .. } | Form::Written { .. } => {
                let one_key = self
                    .form
                    .guess()
                    .powf(1.0 / self.form.length().max(1) as f64);
                Some((1.0 + one_key) / 2.0)
            }
        }
    }
}

/// Grades an answer that came `seconds` after the clock of the question started.
///
/// The share right is counted against the right answer that comes nearest, over the keys that are wanted; keys beyond
/// them, like missing ones, make the answer wrong.
pub fn grade(question: &Question, answer: &Answer, seconds: Seconds) -> Verdict {
    if let (Form::Taps { task, .. }, Answer::Taps(taps)) = (&question.form, answer) {
        return tapped::graded(question, task, taps, seconds);
    }
    let nearest = question.nearest(answer).unwrap_or_else(|| answer.clone());
    let right = question.form.is_right(answer);
    let keys = answer.text().chars().count();
    let found = question.form.compared(answer).filter(|_| !right);
    let (hits, of, correct) = match &found {
        Some((_, found)) => (found.hits(), found.counted(), found.share()),
        None => {
            let (hits, of) = (nearest.hits(answer), question.form.length());
            (hits, of, hits as f64 / of.max(keys).max(1) as f64)
        }
    };
    Verdict {
        correct,
        hits,
        of,
        right,
        partly: !right && question.partly_from().is_some_and(|from| correct >= from),
        in_time: right && seconds <= question.limit(),
        given: question.form.words(answer),
        nearest,
        why: match &found {
            Some((right, found)) => question.mistakes(right, found),
            None => question.refusal(answer),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::question::{Choice, Setup, fixture, kind};
    use crate::sound::CountIn;

    /// A question of one key or a row, with as many choices as letters in `keys`.
    fn question(keys: &str, right: &[&str]) -> Question {
        let deck = fixture::deck();
        let setup = Setup {
            tempo: Tempo::new(120.0),
            player: Default::default(),
            as_written: false,
            weighed: false,
            unseen: false,
        };
        let strokes = kind("strokes").unwrap();
        let made = strokes.ask(&deck.cards[0], Sense::Read, 1, &setup);
        let choices: Vec<Choice> = keys
            .chars()
            .map(|k| Choice::new(k, k.to_string()))
            .collect();
        let right: Vec<String> = right.iter().map(|row| row.to_string()).collect();
        Question {
            form: Form::at_pulses(choices, right),
            ..made.unwrap()
        }
    }

    fn graded(question: &Question, keys: &str) -> Verdict {
        grade(
            question,
            &question.form.answer(keys).unwrap(),
            Seconds::new(1.0),
        )
    }

    /// Reckoned by hand: two bars of four beats at 120 are 4 s; seven further keys at half a second 3.5 s; 119 words
    /// at 238 a minute 30 s.
    #[test]
    fn an_answer_is_in_time_up_to_the_limit_and_late_after_it() {
        let mut one = question("htso", &["h"]);
        let row = question("htso", &["htsthtoo"]);
        let tempo = 120.0;
        assert_eq!(one.prompt.take.tempo, Tempo::new(tempo));
        let close = |a: f64, b: f64| (a - b).abs() < 1e-9;
        assert!(close(one.limit().seconds(), 4.0), "{}", one.limit());
        assert!(close(row.limit().seconds(), 7.5), "{}", row.limit());
        let at = |question: &Question, keys: &str, seconds: f64| {
            grade(
                question,
                &question.form.answer(keys).unwrap(),
                Seconds::new(seconds),
            )
            .in_time
        };
        assert!(at(&one, "h", 3.99) && !at(&one, "h", 4.01) && !at(&one, "t", 1.0));
        assert!(at(&row, "htsthtoo", 7.49) && !at(&row, "htsthtoo", 7.51));
        // 115 words of the question and the four answers.
        one.prompt.worded = true;
        one.prompt.text = ["word"; 115].join(" ");
        assert!(close(one.limit().seconds(), 34.0), "{}", one.limit());
    }

    /// Reckoned by hand: at 120 a beat lasts half a second and a bar of eight eighths two. Before it come two beats; at 59
    /// two beats last longer than two seconds, so one does.
    #[test]
    fn the_clock_of_a_heard_question_starts_where_what_decides_was_heard() {
        let mut heard = question("htso", &["h"]);
        heard.prompt.take.count_in = CountIn::PickUp;
        let bars = heard.prompt.take.score.bars();
        assert_eq!(bars, 1);
        for (tempo, mark, seconds) in [
            (120.0, Mark::Whole, 3.0),
            (120.0, Mark::Bar(0), 3.0),
            (120.0, Mark::Pulse(0), 1.25),
            (120.0, Mark::Pulse(5), 2.5),
            (60.0, Mark::Whole, 6.0),
            (59.0, Mark::Whole, 300.0 / 59.0),
        ] {
            heard.prompt.take.tempo = Tempo::new(tempo);
            heard.prompt.mark = mark;
            let found = heard.listening_seconds();
            assert!(
                (found - Seconds::new(seconds)).abs() < Seconds::new(1e-9),
                "{tempo} {mark:?}: {found}"
            );
        }
    }

    /// Counted by hand. Of four strokes one key in four is hit by chance: (1 + 1/4) / 2 is 5 of 8. Of two hands one
    /// in two: (1 + 1/2) / 2 is 6 of 8.
    #[test]
    fn a_row_is_partly_right_where_half_is_known_beyond_guessing() {
        let strokes = question("htso", &["htsthtoo"]);
        for (keys, hits, partly) in [
            ("htsthtos", 7, true),
            ("ttsthtos", 6, true),
            ("ttsthsos", 5, true),
            ("ttsshsos", 4, false),
            ("oooooooo", 2, false),
            ("htsthtoo", 8, false),
        ] {
            let verdict = graded(&strokes, keys);
            assert_eq!((verdict.hits, verdict.partly), (hits, partly), "{keys}");
            assert_eq!(verdict.correct, hits as f64 / 8.0);
            assert_eq!(verdict.right, hits == 8);
        }
        let hands = question("lr", &["llrlllrr"]);
        for (keys, hits, partly) in [
            ("llrlllrl", 7, true),
            ("llrlllll", 6, true),
            ("llrllrll", 5, false),
            ("llllllll", 5, false),
        ] {
            let verdict = graded(&hands, keys);
            assert_eq!((verdict.hits, verdict.partly), (hits, partly), "{keys}");
        }
    }

    #[test]
    fn the_more_rows_are_right_the_more_is_asked_of_one_that_is_partly_right() {
        // Sixteen of the 256 rows of two hands: (1/16)^(1/8) is 1/sqrt 2, so that 85 of 100 are wanted, 7 of 8.
        let right: Vec<String> = (0..16u8)
            .map(|n| {
                let free = (0..4).map(|bit| if n >> bit & 1 == 0 { 'l' } else { 'r' });
                "lrlr".chars().chain(free).collect()
            })
            .collect();
        let right: Vec<&str> = right.iter().map(String::as_str).collect();
        let hands = question("lr", &right);
        assert!(graded(&hands, "lrllllll").partly);
        assert!(!graded(&hands, "lrrlllll").partly);
        let verdict = graded(&hands, "lrllrlrl");
        assert_eq!(verdict.nearest, Answer::Row("lrlrrlrl".into()));
    }

    #[test]
    fn one_key_is_right_or_missed() {
        let side = question("23n", &["2", "n"]);
        assert!(graded(&side, "n").right);
        let missed = graded(&side, "3");
        assert!(!missed.right && !missed.partly && missed.correct == 0.0);
        assert_eq!(side.partly_from(), None);
    }
}
