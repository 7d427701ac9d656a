//! Findings in words: numbers with their nouns, shares, and the sentences about a weak spot or a confusion.

use super::{Confusion, Report, Spot, Standing, Strength, Weakness};
use crate::rhythm::counted;
use crate::store::Sense;

/// The answers that a report is made from, and those that it leaves out, with `whose` before them: "your" or "the".
pub(super) fn basis(report: &Report, whose: &str) -> String {
    let latest = counted(report.reviews, "answer");
    match (report.reviews, report.sounded) {
        (0, 0) => format!("before {whose} first answer"),
        (_, 0) => format!("from {whose} latest {latest}"),
        (_, n) => format!("from {whose} latest {latest} ({n} more showed where you stand)"),
    }
}

/// A share as whole hundredths: `45 %`, with a blank at which no line is broken.
pub(super) fn percent(share: f64) -> String {
    format!("{:.0}\u{a0}%", 100.0 * share)
}

/// The interval of a strength: `30 to 61 %`.
pub(super) fn interval(s: &Strength) -> String {
    format!("{:.0} to {:.0}\u{a0}%", 100.0 * s.low, 100.0 * s.high)
}

fn with_sense(text: String, sense: Option<Sense>) -> String {
    match sense {
        Some(sense) => format!("{text}, {}", sense.spoken()),
        None => text,
    }
}

/// A share in tenths, easy to say aloud.
fn tenths(share: f64) -> String {
    match (10.0 * share).round() as u32 {
        0 => "hardly any".into(),
        10.. => "nearly all".into(),
        tenths => format!("{tenths} of 10"),
    }
}

/// How often chance alone would show as much.
fn by_chance(doubt: f64) -> String {
    let often = match doubt {
        d if d < 0.001 => "less than once in 1000 times".to_string(),
        d => format!("at most {:.0} times in 1000", (1000.0 * d).ceil()),
    };
    format!("Chance alone would show this {often}.")
}

impl Spot {
    /// What is weak, in a few words.
    pub fn title(&self) -> String {
        let sense = self.sense;
        let text = match &self.what {
            Weakness::Sense => {
                return format!("Questions {}", sense.unwrap_or_default().spoken());
            }
            Weakness::Kind { kind } => format!("Questions of the kind {kind}"),
            Weakness::Concept { concept } => concept.clone(),
            Weakness::MixUp { one, other } => format!("{one} and {other} taken for each other"),
            Weakness::Taken { truth, given } => format!("{truth} taken for {given}"),
            Weakness::Habit { answers } => {
                format!("“{}” answered where it is wrong", answers.join("” or “"))
            }
            Weakness::Fast { kind, from } => {
                format!("Questions of the kind {kind} from {from:.0} quarter notes a minute up")
            }
        };
        with_sense(text, sense)
    }

    /// How far it is behind, and how sure that is, without figures that need explaining.
    pub(super) fn in_plain_words(&self) -> String {
        let sure = match self.doubt {
            d if d < 0.001 => "That is all but certain.",
            d if d < 0.01 => "That is very likely no accident.",
            _ => "That is probably no accident.",
        };
        format!(
            "You know {} of these and {} of the rest, going by {}. {sure}",
            tenths(self.here.mean),
            tenths(self.elsewhere.mean),
            counted(self.answers, "answer"),
        )
    }

    /// What would be gained and what it rests on, in a few sentences.
    pub fn grounds(&self) -> String {
        let named = match self.named {
            Some(n) => format!(", {n} of them in just this way"),
            None => String::new(),
        };
        format!(
            "You know {} of these ({}) and {} of the rest. Known as well as the rest, they would gain you {:.0} more in \
             100 questions. {}, {} wrong{named}. {}",
            percent(self.here.mean),
            interval(&self.here),
            percent(self.elsewhere.mean),
            self.to_gain(),
            counted(self.answers, "answer"),
            self.wrong,
            by_chance(self.doubt),
        )
    }
}

impl Standing {
    /// How well it is known, and how sure that is, without figures that need explaining.
    pub(super) fn in_plain_words(&self) -> String {
        // The width of the 90 % interval (chosen).
        let sure = match self.known.high - self.known.low {
            width if width < 0.2 => "that is well measured",
            width if width < 0.4 => "a rough measure",
            _ => "too few to be sure",
        };
        let answers = counted(self.answers, "answer");
        format!(
            "When asked you knew {}; from {answers}, {sure}.",
            tenths(self.known.mean)
        )
    }

    /// Where it is going, in one word; empty where too little is known.
    pub(super) fn going(&self) -> &'static str {
        match self.trend {
            Some(t) if t.rose > 0.9 => "rising",
            Some(t) if t.rose < 0.1 => "falling",
            Some(_) => "level",
            None => "",
        }
    }
}

impl Confusion {
    /// What was taken for what.
    pub fn title(&self) -> String {
        let what = format!("{} taken for {}", self.truth, self.given);
        with_sense(what, Some(self.sense))
    }

    /// How often, where, and how sure it is that this is not chance.
    pub fn grounds(&self) -> String {
        let situations = match self.situations.is_empty() {
            true => String::new(),
            false => format!(", mostly with {}", self.situations.join(", ")),
        };
        format!(
            "{} of the {} you missed {}{situations}. {}",
            self.count,
            counted(self.wrong, "time"),
            self.truth,
            by_chance(self.doubt)
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::Focus;

    fn strength(mean: f64) -> Strength {
        Strength {
            mean,
            low: mean - 0.1,
            high: mean + 0.1,
            worth: 20.0,
        }
    }

    fn spot(doubt: f64) -> Spot {
        Spot {
            what: Weakness::Concept {
                concept: "bombo".into(),
            },
            sense: None,
            here: strength(0.4),
            elsewhere: strength(0.9),
            answers: 30,
            wrong: 18,
            named: None,
            doubt,
            touches: 0.2,
            drill: Focus::default(),
        }
    }

    /// The bounds of the sentences are those of the page: one in a thousand, one in a hundred.
    #[test]
    fn how_sure_a_weak_spot_is_goes_by_what_chance_shows() {
        for (doubt, sure) in [
            (0.0005, "That is all but certain."),
            (0.005, "That is very likely no accident."),
            (0.05, "That is probably no accident."),
        ] {
            let said = spot(doubt).in_plain_words();
            let known = "You know 4 of 10 of these and 9 of 10 of the rest, going by 30 answers.";
            assert_eq!(said, format!("{known} {sure}"));
        }
    }

    /// By hand: a fifth of all questions, and half of them more: 10 in 100.
    #[test]
    fn the_grounds_of_a_weak_spot_are_its_figures() {
        let said = spot(0.004).grounds();
        for figure in [
            "40\u{a0}%",
            "30 to 50\u{a0}%",
            "90\u{a0}%",
            "10 more in 100",
        ] {
            assert!(said.contains(figure), "{figure}: {said}");
        }
        assert!(said.contains("30 answers, 18 wrong. "), "{said}");
        assert!(said.ends_with("at most 4 times in 1000."), "{said}");
    }
}
