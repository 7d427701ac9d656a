//! What happens to a session, and what it asks to be done.

use super::{Profile, Review};
use crate::question::ItemKey;
use crate::question::tempo::Past;
use crate::sound::{JoinPoint, Take};
use crate::taps::Tap;
use crate::time::{Moment, Seconds};
use std::collections::BTreeSet;

/// What happens to a session. Events are meanings; which key means what is the screen's affair.
#[derive(Clone, Debug, PartialEq)]
pub enum Event {
    /// The player changed something on the first screen.
    Choose(Profile),
    /// Start: from the first screen, or at once where the player is known.
    Begin,
    /// The plan that [`Effect::Plan`] asked for. Nothing in it ends the session.
    Planned(Vec<Step>),
    /// From now on these cards are asked without having been shown in full, and no others: see [`Event::Planned`].
    Unseen(BTreeSet<String>),
    /// "I know this: ask me": the card on the screen, which is met for the first time, is asked at once and counts as met
    /// where the answer is right and in time.
    AskMe,
    /// What comes tomorrow, as [`Effect::Outlook`] asked.
    Tomorrow(Tomorrow),
    /// A key of the answer. One that is none of the choices is said to be so.
    Key(char),
    /// The player does not know.
    Unknown,
    /// The answer on the screen was a slip of the finger: it does not count, and the same is asked afresh later.
    TakeBack,
    /// Stop the clock and the sound until the player goes on.
    Pause,
    /// Time goes by and nothing happens.
    Tick,
    /// A stroke that the microphone heard: a tap, and nobody knows of which hand.
    Stroke,
    /// All taps of an answer at once.
    Taps(Vec<Tap>),
    /// Go this many places on (negative: back) in a written row.
    Move(isize),
    /// Takes back the last key of an answer that is not complete yet.
    Erase,
    /// Play it again from the start.
    HearAgain,
    /// Play what the player wrote, instead of what is right.
    HearOwn,
    /// Play it again slower; each time a little more.
    Slower,
    /// Go on.
    Next,
    /// The first frame of what was last played can be heard now. Without it the sound counts as heard from the
    /// moment of [`Effect::Play`].
    Sounding,
    /// The review with this ticket is on disk.
    Saved(u64),
    /// It is not, and why.
    NotSaved(u64, String),
    /// No sound from now on, and why.
    Silent(String),
    /// Sound works again.
    SoundBack,
    /// The program was stopped for so long and goes on now, or the clock was set by as much.
    Away(Seconds),
    /// Enough for today. What was answered stays answered.
    Quit,
}

impl Event {
    /// Does it come from the player's own fingers, and not from the program or the clock?
    pub(super) fn is_players(&self) -> bool {
        !matches!(
            self,
            Event::Planned(_)
                | Event::Unseen(_)
                | Event::Tomorrow(_)
                | Event::Tick
                | Event::Sounding
                | Event::Saved(_)
                | Event::NotSaved(..)
                | Event::Silent(_)
                | Event::SoundBack
                | Event::Away(_)
        )
    }
}

/// What a session wants done, in this order.
#[derive(Clone, Debug, PartialEq)]
pub enum Effect {
    /// Keep the player's profile.
    Keep(Profile),
    /// Plan this many minutes and send [`Event::Planned`]. `asked` was asked already in this session, in this order, an
    /// item as often as it was.
    Plan {
        /// Who plays.
        profile: Profile,
        /// How long there is.
        minutes: f64,
        /// Items to leave out.
        asked: Vec<ItemKey>,
    },
    /// Say what comes tomorrow with [`Event::Tomorrow`].
    Outlook,
    /// Play it, round and round where `looped`. Whatever plays stops, or it goes on from there.
    Play {
        /// What is to be heard.
        take: Take,
        /// Round and round, or once.
        looped: bool,
        /// Where it takes over from what plays, without its count-in; otherwise it starts anew.
        joins: Option<JoinPoint>,
    },
    /// Stop the sound.
    Hush,
    /// The card was shown in full for the first time, until `at`, for this long.
    Met {
        /// The card, `deck/name`.
        card: String,
        /// When it was left.
        at: Moment,
        /// How long it was on the screen.
        seconds: Seconds,
    },
    /// Put the review on disk and answer with [`Event::Saved`] or [`Event::NotSaved`]. A ticket that comes again is
    /// the same review tried again.
    Record {
        /// Names the review in the answer to this.
        ticket: u64,
        /// What to keep.
        review: Box<Review>,
    },
    /// The answer that was recorded last does not count: the player took it back.
    Withdraw,
    /// The session is over.
    Finish,
}

/// One item of the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// What to ask.
    pub item: ItemKey,
    /// Why it comes today, as the player reads it.
    pub why: String,
    /// How long it is expected to take: answering, looking at the answer, and where the card is new, meeting it.
    pub seconds: Seconds,
    /// Its latest answer before this session; it decides the tempo.
    pub last: Option<Past>,
}

/// What the next day brings at the same minutes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tomorrow {
    /// Questions about cards met before.
    pub again: usize,
    /// Cards met for the first time.
    pub new_cards: usize,
    /// Titles of some of the cards that come, the first ones first.
    pub titles: Vec<String>,
}
