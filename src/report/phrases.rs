//! The report's sentences, the same on every face.

use super::{Concept, Confusion, Kept, Part, Spot, Strength, TempoLimit, What};

/// `by eye` or `by ear`.
pub fn by(sense: &str) -> &'static str {
    match sense {
        "hear" => "by ear",
        _ => "by eye",
    }
}

/// A number with its noun: `1 day`, `3 days`.
pub fn counted(n: usize, what: &str) -> String {
    match n {
        1 => format!("1 {what}"),
        n => format!("{n} {what}s"),
    }
}

fn with_sense(text: String, sense: Option<&str>) -> String {
    match sense {
        Some(sense) => format!("{text}, {}", by(sense)),
        None => text,
    }
}

/// A share as whole hundredths: `45 %`.
pub fn percent(share: f64) -> String {
    format!("{:.0} %", 100.0 * share)
}

/// The interval of a strength: `30 to 61 %`.
pub fn interval(s: &Strength) -> String {
    format!("{:.0} to {:.0} %", 100.0 * s.low, 100.0 * s.high)
}

/// How often chance alone would show as much.
fn by_chance(doubt: f64) -> String {
    let often = match doubt {
        d if d < 0.001 => "less than 1 time in 1000".to_string(),
        d => format!("at most {:.0} times in 1000", (1000.0 * d).ceil()),
    };
    format!("Chance alone would show as much {often}.")
}

impl Spot {
    /// What is weak, in a few words.
    pub fn title(&self) -> String {
        let text = match &self.what {
            What::Sense => {
                return format!(
                    "Questions {}",
                    by(self.sense.as_deref().unwrap_or_default())
                );
            }
            What::Kind { kind } => format!("Questions of the kind {kind}"),
            What::Concept { concept } => concept.clone(),
            What::MixUp { one, other } => format!("{one} and {other} taken for each other"),
            What::Taken { truth, given } => format!("{truth} taken for {given}"),
            What::Habit { answers } => {
                format!("“{}” answered where it is not", answers.join("” or “"))
            }
            What::Fast { kind, from } => {
                format!("Questions of the kind {kind} from {from:.0} quarter notes a minute on")
            }
        };
        with_sense(text, self.sense.as_deref())
    }

    /// What it rests on, in two or three sentences.
    pub fn grounds(&self) -> String {
        let named = match self.named {
            Some(n) => format!(", {n} of them in just this way"),
            None => String::new(),
        };
        format!(
            "You know {} here ({}), {} of the rest. {}, {} wrong{named}. {}",
            percent(self.here.mean),
            interval(&self.here),
            percent(self.elsewhere.mean),
            counted(self.answers, "answer"),
            self.wrong,
            by_chance(self.doubt),
        )
    }
}

impl Concept {
    /// The concept with its sense, where it has one.
    pub fn title(&self) -> String {
        with_sense(self.concept.clone(), self.sense.as_deref())
    }

    /// Where it is going, in one word; empty where too little is known.
    pub fn going(&self) -> &'static str {
        match self.trend {
            Some(t) if t.rose > 0.9 => "rising",
            Some(t) if t.rose < 0.1 => "falling",
            Some(_) => "level",
            None => "",
        }
    }

    /// When it was last asked.
    pub fn last_asked(&self) -> String {
        match self.days_ago {
            d if d < 1.0 => "today".into(),
            d if d < 2.0 => "1 day ago".into(),
            d => format!("{d:.0} days ago"),
        }
    }

    /// Share that is known: now where there is a forecast, else when it was asked.
    pub fn share(&self) -> f64 {
        self.now.as_ref().unwrap_or(&self.known).mean
    }

    /// How fast right answers come; empty where there are none.
    pub fn speed(&self) -> String {
        match self.pace {
            Some(p) => format!("right answers take {} of the time for in time", percent(p)),
            None => String::new(),
        }
    }
}

impl Part {
    /// How often it misled, and whether that is more than the others.
    pub fn sentence(&self) -> String {
        let beside = match self.elsewhere {
            Some(rest) if self.stands_out => {
                format!("; other parts {}: more than chance", percent(rest))
            }
            Some(rest) => format!("; other parts {}", percent(rest)),
            None => String::new(),
        };
        format!(
            "{}: wrong in {} of {} ({}){beside}",
            self.part,
            self.wrong,
            counted(self.answers, "question"),
            interval(&self.misled)
        )
    }
}

impl Kept {
    /// What is kept now.
    pub fn sentence(&self) -> String {
        format!(
            "You would now recall some {:.0} of the {} questions that you were asked so far (nine in ten: {:.0} to \
             {:.0}). Your decks have {}.",
            self.now, self.asked, self.between.0, self.between.1, self.items
        )
    }
}

impl Confusion {
    /// What was taken for what and how often, in a few words.
    pub fn counted(&self) -> String {
        let what = format!("{} taken for {}", self.truth, self.given);
        format!("{} ({})", with_sense(what, Some(&self.sense)), self.count)
    }

    /// What was taken for what, how often, where, and how sure it is that this is no accident.
    pub fn sentence(&self) -> String {
        let what = with_sense(
            format!("{} taken for {}", self.truth, self.given),
            Some(&self.sense),
        );
        let often = match self.count {
            1 => "once".to_string(),
            2 => "twice".into(),
            n => format!("{n} times"),
        };
        let situations = match self.situations.is_empty() {
            true => String::new(),
            false => format!("; most with {}", self.situations.join(", ")),
        };
        format!(
            "{what}: {often}; {} was right {} and missed {}{situations}. {}",
            self.truth,
            counted(self.asked, "time"),
            counted(self.wrong, "time"),
            by_chance(self.doubt)
        )
    }
}

impl TempoLimit {
    /// Up to which tempo, how sure, and what to try next.
    pub fn sentence(&self) -> String {
        let next = format!("Next: {:.0}", self.next);
        let (slowest, fastest) = self.asked;
        match self.open_ended {
            true if self.low >= fastest => format!(
                "{}: in time at every tempo that was asked, up to {fastest:.0}. {next}",
                self.concept
            ),
            true if self.low > slowest => format!(
                "{}: in time up to {:.0} at least, no limit found up to {fastest:.0}, the fastest asked. {next}",
                self.concept, self.low
            ),
            true => format!(
                "{}: no limit found from {slowest:.0} to {fastest:.0}, what was asked. {next}",
                self.concept
            ),
            false => format!(
                "{}: in time up to about {:.0} (nine in ten: {:.0} to {:.0}). {next}",
                self.concept, self.limit, self.low, self.high
            ),
        }
    }
}
