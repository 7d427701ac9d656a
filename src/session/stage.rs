//! The stages of a session: what is on the screen.

use super::{Profile, Review, Tomorrow};
use crate::question::{ItemKey, Question};
use crate::sound::Take;
use crate::time::Moment;

/// What is on the screen.
#[derive(Clone, Debug, PartialEq)]
pub enum Stage {
    /// The first screen of the first run: what do you play, and how long have you a day?
    Welcome(Profile),
    /// Waiting for a plan; a moment.
    Waiting,
    /// A card is met for the first time: its part, its answer, the reasons.
    Introduction(Box<Introduction>),
    /// A question waits for its answer.
    Asking(Box<Asking>),
    /// The answer with its reasons.
    Feedback(Box<Feedback>),
    /// The clock stands still until the player goes on.
    Paused(Box<Paused>),
    /// The end.
    Done(Summary),
}

/// A card met for the first time. The question in it is answered already; a fresh one comes next.
#[derive(Clone, Debug, PartialEq)]
pub struct Introduction {
    /// Name of the card.
    pub title: String,
    /// What the card says of itself.
    pub about: String,
    /// A question of the card with its answer, to be looked at.
    pub question: Question,
    /// Since when it is on the screen.
    pub since: Moment,
}

/// A question on the screen.
#[derive(Clone, Debug, PartialEq)]
pub struct Asking {
    /// What is asked.
    pub question: Question,
    /// Why it comes today.
    pub why: String,
    /// Keys typed so far; of a written row all of it, with its rests; of taps, the taps as text.
    pub typed: String,
    /// The place of a written row where the next key goes; its length at the end.
    pub cursor: usize,
    /// Start of the clock. For a heard question it lies where what decides has been heard.
    pub clock: Moment,
    /// How often it was listened to again.
    pub replays: u32,
    /// Was it listened to slower?
    pub slowed: bool,
}

/// The answer, with its reasons.
#[derive(Clone, Debug, PartialEq)]
pub struct Feedback {
    /// Name of the card.
    pub title: String,
    /// What was asked and answered, and what came of it.
    pub review: Review,
    /// It was missed, partly right or met today, and comes again today.
    pub again_today: bool,
    /// It counts: it goes into the log, and from there into the plan. What is asked again after a slip and known then does not.
    pub counts: bool,
    /// What plays is the player's own row.
    pub own: bool,
    /// The direction was asked for, and the loop began on the other bar than the card as it is written.
    pub starts_on_other_bar: bool,
}

/// A stage that waits for the player to come back.
#[derive(Clone, Debug, PartialEq)]
pub struct Paused {
    /// What was on the screen.
    pub stage: Stage,
    /// From when on the time does not count.
    pub since: Moment,
    /// The player left it alone for long, and did not ask for a pause.
    pub left_alone: bool,
}

/// What sounds now.
#[derive(Clone, Debug, PartialEq)]
pub struct NowPlaying {
    /// What is to be heard.
    pub take: Take,
    /// Round and round, or once.
    pub looped: bool,
    /// Seconds UTC at which its first frame was heard.
    pub since: Moment,
}

/// The end of the session.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Summary {
    /// Questions answered.
    pub asked: usize,
    /// Right answers that came in time.
    pub in_time: usize,
    /// Right, but later than one clave cycle.
    pub late: usize,
    /// Rows that were partly right.
    pub partly: usize,
    /// Titles of cards met for the first time.
    pub met: Vec<String>,
    /// What was missed or partly right at least once.
    pub missed: Vec<Missed>,
    /// Minutes from the first question to the end.
    pub minutes: f64,
    /// It ended before its minutes, because nothing more was worth asking.
    pub early: bool,
    /// There was no sound in the end, so that nothing could be asked by ear.
    pub silent: bool,
    /// The player ended it before its minutes were over.
    pub stopped: bool,
    /// Answers that are not on disk.
    pub unsaved: usize,
    /// `None` until known.
    pub tomorrow: Option<Tomorrow>,
}

/// An item that was not right today.
#[derive(Clone, Debug, PartialEq)]
pub struct Missed {
    /// What was not right.
    pub item: ItemKey,
    /// Name of its card.
    pub title: String,
    /// How often it was not right.
    pub times: usize,
    /// It was partly right each of these times.
    pub partly: bool,
    /// It was right at the last try.
    pub mended: bool,
}

/// Something that the player should know, shown once at the foot of the screen.
#[derive(Clone, Debug, PartialEq)]
pub enum Notice {
    /// There is no sound, with the reason.
    NoSound(String),
    /// The sound is there again.
    SoundBack,
    /// The question was put away while the player was.
    Away,
    /// The key is none of these answers.
    NoAnswer(char, Vec<char>),
    /// Nothing was written yet that could be an answer.
    NothingWritten,
    /// Nothing was tapped where taps are the answer.
    NothingTapped,
    /// Fewer taps than these are no answer.
    TooFewTaps(usize),
    /// The answer was taken back, and the same comes again.
    TakenBack,
    /// Leaving now ends the session before its minutes are over; leaving again does it.
    LeavesEarly,
    /// This many answers are not on disk, and why.
    NotSaved(usize, String),
    /// Leaving now loses this many answers; leaving again does it.
    LeavesUnsaved(usize),
}

impl Notice {
    /// Was what the player gave no answer?
    pub(super) fn is_about_the_answer(&self) -> bool {
        use Notice::{NoAnswer, NothingTapped, NothingWritten, TooFewTaps};
        matches!(
            self,
            NoAnswer(..) | NothingWritten | NothingTapped | TooFewTaps(_)
        )
    }
}

impl std::fmt::Display for Notice {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let answers = |n: &usize| match n {
            1 => "1 answer is".to_string(),
            n => format!("{n} answers are"),
        };
        match self {
            Notice::NoSound(why) => write!(f, "No sound, so questions come by eye only: {why}."),
            Notice::SoundBack => f.write_str("The sound is back."),
            Notice::Away => f.write_str("You were away: this is a fresh question, timed from now."),
            Notice::NoAnswer(key, keys) => {
                let keys: Vec<String> = keys.iter().map(char::to_string).collect();
                write!(
                    f,
                    "`{key}` is not one of the answers: they are {}.",
                    keys.join(", ")
                )
            }
            Notice::NothingWritten => {
                f.write_str("Nothing is written yet. x says that you do not know.")
            }
            Notice::NothingTapped => f.write_str(
                "Nothing was tapped: hear it again and join in. x says that you do not know.",
            ),
            Notice::TooFewTaps(least) => write!(
                f,
                "Too few: at least {least} strokes, from the start. x says that you do not know."
            ),
            Notice::TakenBack => {
                f.write_str("Taken back: it does not count, and will be asked again.")
            }
            Notice::LeavesEarly => {
                f.write_str("Press Esc again to end this session; any other key goes on.")
            }
            Notice::NotSaved(n, why) => {
                write!(f, "{} not saved yet ({why}); trying again.", answers(n))
            }
            Notice::LeavesUnsaved(n) => {
                write!(
                    f,
                    "{} not saved. Leave again to go without saving.",
                    answers(n)
                )
            }
        }
    }
}
