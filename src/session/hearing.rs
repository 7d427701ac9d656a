//! Listening: play, again, slower, and when the time to answer begins.

use super::stage::{Notice, NowPlaying, Stage};
use super::{Effect, Session};
use crate::clave;
use crate::question::{Form, Question, Sense};
use crate::sound::{CountIn, JoinPoint, Take};
use crate::time::{Moment, Seconds};

/// Each step of *slower* plays at this share of the tempo before.
const SLOWER: f64 = 0.8;
/// It gets no slower than this share of the question's tempo.
const SLOWEST: f64 = 0.4;

/// `take` of this question, as it plays from `now` on.
pub(super) fn now_playing(question: &Question, take: Take, now: Moment) -> NowPlaying {
    let ends = question.form.has_turns() && take == question.prompt.take;
    NowPlaying {
        looped: !ends
            && clave::goes_round(question.reveal.clave, question.prompt.take.score.bars()),
        take,
        since: now,
    }
}

/// Lets it be heard: on from what plays, or anew.
pub(super) fn sound(
    playing: NowPlaying,
    joins: Option<JoinPoint>,
    effects: &mut Vec<Effect>,
) -> NowPlaying {
    effects.push(Effect::Play {
        take: playing.take.clone(),
        looped: playing.looped,
        joins,
    });
    playing
}

/// Where `new` takes over from `old`: at once, or with another tempo at the next pulse. `None` where they do not go round
/// together.
fn join(old: &NowPlaying, new: &NowPlaying) -> Option<JoinPoint> {
    let (was, is) = (&old.take, &new.take);
    let together = was.score.grid == is.score.grid && was.score.pulses() == is.score.pulses();
    (old.looped && new.looped && together).then(|| JoinPoint {
        line: usize::from(was.tempo != is.tempo),
        ..JoinPoint::default()
    })
}

/// Where the band of a new question takes over from the one that plays: at the next bar line, with its first bar. `None`
/// where they do not go on together: one does not go round, or grid or tempo differ.
///
/// Which bar of the clave it comes after is left to the moment, and which bar it begins with to the question's seed, so
/// that the clave before it does not tell the side.
pub(super) fn join_at_bar(old: &NowPlaying, new: &NowPlaying) -> Option<JoinPoint> {
    let (was, is) = (&old.take, &new.take);
    let together = was.score.grid == is.score.grid && was.tempo == is.tempo;
    (old.looped && new.looped && together).then(|| JoinPoint {
        line: is.score.grid.pulses_per_bar(),
        pulse: Some(0),
        phase: 0,
    })
}

/// The answer was given: the band goes on as it is shown now, with the clave, or stops.
pub(super) fn reveal(
    question: &Question,
    before: Option<&NowPlaying>,
    now: Moment,
    effects: &mut Vec<Effect>,
) -> Option<NowPlaying> {
    let before = before?;
    let new = now_playing(question, question.reveal.take.clone(), now);
    match join(before, &new) {
        None => {
            effects.push(Effect::Hush);
            None
        }
        joins => Some(sound(new, joins, effects)),
    }
}

/// How something is to be heard again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Listen {
    /// At its own tempo.
    Again,
    /// A step slower than before.
    Slower,
    /// What the player wrote, where that is known.
    Own,
}

/// `take` at its own tempo, or a step slower than what played last.
fn again(take: &Take, how: Listen, last: Option<&NowPlaying>) -> Take {
    let before = last.map_or(take.tempo, |p| p.take.tempo);
    let tempo = match how {
        Listen::Slower => (before * SLOWER).max(take.tempo * SLOWEST),
        Listen::Again | Listen::Own => take.tempo,
    };
    Take {
        tempo,
        ..take.clone()
    }
}

impl Session {
    pub(super) fn hear(&mut self, how: Listen) {
        let music = match &self.stage {
            Stage::Asking(asking) => asking.question.has_music(),
            Stage::Introduction(meeting) => meeting.question.has_music(),
            Stage::Feedback(told) => told.review.question.has_music(),
            _ => false,
        };
        if !self.sound || !music {
            return;
        }
        let (question, take) = match &mut self.stage {
            // What is tapped goes with the band at its tempo, from its start.
            Stage::Asking(asking)
                if how == Listen::Slower && matches!(asking.question.form, Form::Taps { .. }) =>
            {
                return;
            }
            Stage::Asking(asking) if asking.question.prompt.audible && how != Listen::Own => {
                if matches!(asking.question.form, Form::Taps { .. }) {
                    asking.typed.clear();
                }
                let heard = asking.question.item.sense == Sense::Hear || self.playing.is_some();
                asking.replays += u32::from(heard);
                asking.slowed |= how == Listen::Slower;
                let take = asking.question.prompt.take.clone();
                (&asking.question, take)
            }
            Stage::Introduction(meeting) => {
                let take = meeting.question.reveal.take.clone();
                (&meeting.question, take)
            }
            Stage::Feedback(told) => {
                let own = match how {
                    Listen::Again => None,
                    Listen::Own => told.review.question.own_take(&told.review.answer),
                    Listen::Slower => told
                        .review
                        .question
                        .own_take(&told.review.answer)
                        .filter(|_| told.own),
                };
                told.own = own.is_some();
                let take = own.unwrap_or_else(|| told.review.question.reveal.take.clone());
                (&told.review.question, take)
            }
            _ => return,
        };
        let take = again(&take, how, self.playing.as_ref());
        let new = now_playing(question, take, self.now);
        // What is heard again is heard from its start.
        let before = self.playing.as_ref().filter(|_| how == Listen::Slower);
        let joins = before.and_then(|before| join(before, &new));
        self.playing = Some(sound(new, joins, &mut self.effects));
    }

    /// Lets a question be heard: on from the band that plays, without a pick-up, or anew. Gives the time until it
    /// begins at the latest; [`super::Event::Sounding`] tells when it does.
    pub(super) fn strike_up(&mut self, question: &mut Question) -> Seconds {
        let mut new = now_playing(question, question.prompt.take.clone(), self.now);
        let joins = self
            .playing
            .take()
            .and_then(|band| join_at_bar(&band, &new));
        let mut wait = Seconds::ZERO;
        if let Some(joins) = joins {
            new.take.count_in = CountIn::None;
            question.prompt.take.count_in = CountIn::None;
            wait = joins.line as f64 * new.take.playable_tempo().pulse(new.take.score.grid);
        }
        self.playing = Some(sound(new, joins, &mut self.effects));
        wait
    }

    /// What plays began to be heard. A device that keeps no time may say so of a moment before it was asked to
    /// play: then it is that moment.
    pub(super) fn sounding(&mut self) {
        let now = self.now;
        let Some(playing) = &mut self.playing else {
            return;
        };
        playing.since = playing.since.max(now);
        let now = playing.since;
        if let Stage::Asking(asking) = &mut self.stage
            && asking.question.item.sense == Sense::Hear
            && asking.replays == 0
        {
            asking.clock = now + asking.question.listening_seconds();
            // Taps before the band came in were none to it.
            if matches!(asking.question.form, Form::Taps { .. }) {
                asking.typed.clear();
            }
        }
    }

    /// Stops what plays.
    pub(super) fn quieten(&mut self) {
        if self.playing.take().is_some() {
            self.effects.push(Effect::Hush);
        }
    }

    pub(super) fn silent(&mut self, why: String) {
        if !self.sound {
            return;
        }
        self.sound = false;
        self.notice = Some(Notice::NoSound(why));
        self.quieten();
        if let Stage::Asking(asking) = &self.stage
            && asking.question.item.sense == Sense::Hear
        {
            self.ask_afresh();
        }
    }

    pub(super) fn sound_back(&mut self) {
        if !self.sound {
            self.sound = true;
            self.notice = Some(Notice::SoundBack);
        }
    }
}
