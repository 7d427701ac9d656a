//! What a player sees and hears of a question before answering it, and nothing else.

use whichside::question::{Mark, Question, Sense};
use whichside::rhythm::notation::write_block;
use whichside::rhythm::{Pattern, Score};

/// What is seen and heard before the answer. Two questions that are equal here must have the same right answers: it is
/// all that a player can go by.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Shown {
    /// The question in words.
    pub text: String,
    /// Keys and labels of the answers that are offered.
    pub choices: Vec<(char, String)>,
    /// How many keys the answer has.
    pub length: usize,
    /// Beats a minute as they are shown, rounded to whole ones.
    pub bpm: u32,
    /// Pulses in a bar, and bars: drawn even where the strokes are not.
    pub bars: (usize, usize),
    /// The rows of the grid as text, `?` for a stroke that is asked, hands only where their row is drawn. Empty by ear.
    pub drawn: String,
    /// What is played, as rows without hands: by ear, and by eye where it may be listened to. Empty where it is silent.
    pub heard: String,
    /// The part of the grid that is marked.
    pub mark: Mark,
}

/// What of this question is seen and heard before the answer.
pub fn shown(question: &Question) -> Shown {
    let prompt = &question.prompt;
    let score = &prompt.take.score;
    let drawn = match question.item.sense {
        Sense::Read => drawn(score, &prompt.hidden, prompt.show_hands),
        Sense::Hear => String::new(),
    };
    let heard = match prompt.audible {
        true => write_block(&without_hands(score)),
        false => String::new(),
    };
    let choices = question.form.choices().iter();
    Shown {
        text: prompt.text.clone(),
        choices: choices.map(|c| (c.key, c.label.clone())).collect(),
        length: question.form.length(),
        bpm: prompt.take.tempo.bpm().round() as u32,
        bars: (score.grid.pulses_per_bar(), score.bars()),
        drawn,
        heard,
        mark: prompt.mark,
    }
}

/// The right answers in words, sorted: labels, or rows of letters.
pub fn right_in_words(question: &Question) -> Vec<String> {
    let mut right: Vec<String> = question
        .form
        .right()
        .iter()
        .map(|row| question.form.words(row))
        .collect();
    right.sort();
    right
}

/// The rows of the grid, and below them where strokes are hidden. A hidden stroke leaves no trace of its tone, hand
/// or weight.
fn drawn(score: &Score, hidden: &[usize], show_hands: bool) -> String {
    let mut score = match show_hands {
        true => score.clone(),
        false => without_hands(score),
    };
    let mut asked: Vec<String> = Vec::new();
    if let Some(drums) = &score.drums
        && !hidden.is_empty()
    {
        for drum in drums.drums() {
            let on = |p: usize| {
                // A rest that is hidden is on every row, as on the screen.
                let here = drums.at(p).is_none_or(|s| s.drum == drum);
                if here && hidden.contains(&p) {
                    '?'
                } else {
                    '.'
                }
            };
            let row: String = (0..drums.pulses()).map(on).collect();
            asked.push(format!("{} {row}", drum.name()));
        }
        let cells = drums.cells().iter().enumerate();
        let cells = cells.map(|(p, c)| c.filter(|_| !hidden.contains(&p)));
        score.drums = Pattern::new(drums.grid(), cells.collect()).ok();
    }
    write_block(&score) + &asked.join("\n")
}

fn without_hands(score: &Score) -> Score {
    let mut score = score.clone();
    if let Some(drums) = &score.drums {
        let none = vec![None; drums.strokes().count()];
        score.drums = Some(drums.with_hands(&none));
    }
    score
}
