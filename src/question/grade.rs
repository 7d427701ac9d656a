//! Grading: what of an answer is right, in how much time, and how much of it is chance.

use super::{Answer, Form, Question, Verdict};

/// Seconds allowed for each key of a row after the first: a key of random letters in the keystroke-level model
/// (Card, Moran & Newell 1980, *Communications of the ACM* 23:396-410; the value 0.50 s from memory).
const KEY_SECONDS: f64 = 0.5;
/// Words read silently in a minute (Brysbaert 2019, *Journal of Memory and Language* 109:104047; the value for
/// non-fiction from memory).
const WORDS_A_MINUTE: f64 = 238.0;
/// Tempo whose clave cycle is allowed for a question in words, beats a minute: our choice.
const WORDS_BPM: f64 = 120.0;

impl Question {
    /// Length of one clave cycle at the question's tempo, in seconds.
    pub fn cycle_seconds(&self) -> f64 {
        let take = &self.prompt.take;
        take.score.grid.cycle_seconds(take.bpm)
    }

    /// Is there a part to be drawn or played? A question in words has none.
    pub fn has_music(&self) -> bool {
        !self.prompt.take.score.is_empty()
    }

    /// Seconds within which an answer is in time: one clave cycle, and for a row half a second for each further
    /// key. Where the words are new each time, the time to read them and the answers is added; where there is nothing
    /// but words, the cycle is that of a middling tempo.
    pub fn limit(&self) -> f64 {
        let cycle = match self.has_music() {
            true => self.cycle_seconds(),
            false => self.prompt.take.score.grid.cycle_seconds(WORDS_BPM),
        };
        let keys = KEY_SECONDS * (self.length().max(1) - 1) as f64;
        cycle + keys + self.reading_seconds()
    }

    /// Seconds to read the question and its answers, where they are new each time.
    fn reading_seconds(&self) -> f64 {
        if !self.prompt.worded {
            return 0.0;
        }
        let labels = self.choices().iter().map(|c| c.label.as_str());
        let texts = labels.chain([self.prompt.text.as_str()]);
        let words: usize = texts.map(|t| t.split_whitespace().count()).sum();
        words as f64 * 60.0 / WORDS_A_MINUTE
    }

    /// Seconds from the start of the sound until the loop has gone round once; nobody can know a heard part
    /// earlier, and its clock starts there.
    pub fn listening_seconds(&self) -> f64 {
        let take = &self.prompt.take;
        let once = take.score.grid.pulse_seconds(take.bpm) * take.score.pulses() as f64;
        let count_in = if take.count_in {
            self.cycle_seconds()
        } else {
            0.0
        };
        count_in + once
    }

    /// How many keys the answer has.
    pub fn length(&self) -> usize {
        match &self.form {
            Form::One(_) => 1,
            Form::Row { length, .. } => *length,
        }
    }

    /// The right row of keys that shares most with these; of equals the one that stands first.
    pub fn nearest(&self, keys: &str) -> &str {
        let first = self.right.first().map_or("", String::as_str);
        self.right.iter().fold(first, |best, row| {
            match hits(row, keys) > hits(best, keys) {
                true => row,
                false => best,
            }
        })
    }

    /// The share of a row from which an answer that is not right is partly right: at least half of what guessing
    /// leaves over, (1 + g) / 2, where g is the chance of one key. That is half of the row once the hits of chance
    /// are taken out by the usual correction for guessing, (share - g) / (1 - g); half is our choice. `None` for
    /// an answer of one key, which is right or missed.
    pub fn partly_from(&self) -> Option<f64> {
        let length = self.length();
        let one_key = self.guess.powf(1.0 / length.max(1) as f64);
        (length > 1).then_some((1.0 + one_key) / 2.0)
    }

    /// For each key of a right row the keys that are right there while the others stay as they are.
    pub fn right_at(&self, row: &str) -> Vec<String> {
        let row: Vec<char> = row.chars().collect();
        let at = |i: usize| {
            let choices = self.choices().iter().map(|c| c.key);
            let with = |key: char| -> String {
                let changed = row.iter().enumerate();
                changed
                    .map(|(j, k)| if i == j { key } else { *k })
                    .collect()
            };
            choices.filter(|k| self.right.contains(&with(*k))).collect()
        };
        (0..row.len()).map(at).collect()
    }

    /// The choices of the answer.
    pub fn choices(&self) -> &[super::Choice] {
        match &self.form {
            Form::One(choices) | Form::Row { choices, .. } => choices,
        }
    }

    /// The label of a key.
    pub fn label(&self, key: char) -> Option<&str> {
        let choice = self.choices().iter().find(|c| c.key == key)?;
        Some(&choice.label)
    }

    /// Keys as they are told: the label of the one key, or the letters of a row as players write them, `H T S T`. A
    /// key that is no choice stands as itself.
    pub fn words(&self, keys: &str) -> String {
        if matches!(&self.form, Form::Row { length, .. } if *length > 1) {
            return letters(keys.chars().map(|key| key.to_uppercase()));
        }
        let words = keys
            .chars()
            .map(|k| self.label(k).map_or_else(|| k.to_string(), str::to_string));
        words.collect::<Vec<_>>().join(", ")
    }
}

/// Grades an answer that came `seconds` after the clock of the question started.
///
/// The share right is counted against the right row that comes nearest, over the keys that are wanted; keys beyond
/// them, like missing ones, make the answer wrong.
pub fn grade(question: &Question, answer: &Answer, seconds: f64) -> Verdict {
    let nearest = question.nearest(&answer.keys).to_string();
    let right = question.right.contains(&answer.keys);
    let keys = answer.keys.chars().count();
    let hits = hits(&nearest, &answer.keys);
    let correct = hits as f64 / question.length().max(keys).max(1) as f64;
    Verdict {
        correct,
        hits,
        right,
        partly: !right && question.partly_from().is_some_and(|from| correct >= from),
        in_time: right && seconds <= question.limit(),
        given: question.words(&answer.keys),
        nearest,
        why: question.refusal(&answer.keys),
    }
}

/// At how many places two rows of keys are equal.
fn hits(row: &str, keys: &str) -> usize {
    row.chars()
        .zip(keys.chars())
        .filter(|(a, b)| a == b)
        .count()
}

/// Chance that random keys are all right: each key of the row drawn evenly from `choices`.
pub(super) fn guess_chance(right: &[String], choices: usize) -> f64 {
    let length = right.first().map_or(0, |row| row.chars().count());
    right.len() as f64 / (choices.max(1) as f64).powi(length as i32)
}
/// The letters of a row with spaces between them.
pub(super) fn letters(row: impl Iterator<Item = impl ToString>) -> String {
    row.map(|letter| letter.to_string())
        .collect::<Vec<_>>()
        .join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::question::{Choice, Sense, Setup, fixture, kind};

    /// A question of one key or a row, with as many choices as letters in `keys`.
    fn question(keys: &str, right: &[&str]) -> Question {
        let deck = fixture::deck();
        let setup = Setup {
            bpm: 120.0,
            player: Default::default(),
            as_written: false,
        };
        let strokes = kind("strokes").unwrap();
        let made = strokes.ask(&deck.cards[0], Sense::Read, 1, &setup);
        let choices: Vec<Choice> = keys
            .chars()
            .map(|k| Choice::new(k, k.to_string()))
            .collect();
        let right: Vec<String> = right.iter().map(|row| row.to_string()).collect();
        let length = right[0].len();
        Question {
            guess: guess_chance(&right, choices.len()),
            form: match length {
                1 => Form::One(choices),
                _ => Form::Row { choices, length },
            },
            right,
            ..made.unwrap()
        }
    }

    fn graded(question: &Question, keys: &str) -> Verdict {
        let keys = keys.to_string();
        grade(question, &Answer { keys }, 1.0)
    }

    /// Reckoned by hand: two bars of four beats at 120 are 4 s; seven further keys at half a second 3.5 s; 119 words
    /// at 238 a minute 30 s.
    #[test]
    fn an_answer_is_in_time_up_to_the_limit_and_late_after_it() {
        let mut one = question("htso", &["h"]);
        let row = question("htso", &["htsthtoo"]);
        let bpm = 120.0;
        assert_eq!(one.prompt.take.bpm, bpm);
        let close = |a: f64, b: f64| (a - b).abs() < 1e-9;
        assert!(close(one.limit(), 4.0), "{}", one.limit());
        assert!(close(row.limit(), 7.5), "{}", row.limit());
        let at = |question: &Question, keys: &str, seconds: f64| {
            let keys = keys.to_string();
            grade(question, &Answer { keys }, seconds).in_time
        };
        assert!(at(&one, "h", 3.99) && !at(&one, "h", 4.01) && !at(&one, "t", 1.0));
        assert!(at(&row, "htsthtoo", 7.49) && !at(&row, "htsthtoo", 7.51));
        // 115 words of the question and the four answers.
        one.prompt.worded = true;
        one.prompt.text = ["word"; 115].join(" ");
        assert!(close(one.limit(), 34.0), "{}", one.limit());
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
        assert_eq!(verdict.nearest, "lrlrrlrl");
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
