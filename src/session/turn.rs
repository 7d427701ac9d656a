//! What comes next: a card to be introduced, or a question.

use super::hearing::{now_playing, sound};
use super::stage::{Asking, Introduction, Stage};
use super::{Effect, Session, Step};
use crate::deck::Card;
use crate::question::{self, ItemKey, Question, Sense, Setup, tempo};
use crate::rhythm::Tempo;
use crate::time::Seconds;
use std::collections::BTreeSet;

/// Least time allowed for the question that follows a meeting.
const FIRST_QUESTION: Seconds = Seconds::new(5.0);
/// Time that must be left for another plan to be worth asking for.
const WORTH_PLANNING: Seconds = Seconds::new(15.0);
/// Seeds tried until a question looks different from the last one of its item.
const TRIES: usize = 8;

impl Session {
    pub(super) fn next(&mut self) {
        self.notice = None;
        self.slip = None;
        match &self.stage {
            Stage::Introduction(_) => self.met(),
            Stage::Asking(_) => {
                self.written();
                self.tapped();
            }
            Stage::Feedback(_) => self.go_on_when_saved(),
            Stage::Done(_) => self.leave(),
            Stage::Paused(_) => self.resume(),
            _ => {}
        }
    }

    /// The next question; if none is left, another plan; if there is no time for one, the end.
    pub(super) fn go_on(&mut self) {
        let shown: BTreeSet<String> = self.met.union(&self.unseen).cloned().collect();
        while let Some(step) = self.next_step(self.seconds_left(self.now), &shown) {
            if self.start(step) {
                return;
            }
        }
        let left = self.seconds_left(self.now);
        if left >= WORTH_PLANNING && self.plan_used {
            self.ask_for_plan(left.minutes());
        } else {
            self.summary.early = left >= WORTH_PLANNING;
            self.summary.silent = !self.sound;
            self.wind_up();
        }
    }

    fn next_step(&mut self, seconds: Seconds, shown: &BTreeSet<String>) -> Option<Step> {
        let mut queue = std::mem::take(&mut self.queue);
        let step = queue.next(seconds, shown, |step| self.goes_on(step).is_some());
        self.queue = queue;
        step
    }

    /// The tempo of the band that plays, where it can go on to a question about this step.
    fn goes_on(&self, step: &Step) -> Option<Tempo> {
        let band = self.playing.as_ref().filter(|band| band.looped)?;
        let card = question::card(&self.decks, &step.item.card)?;
        let tempo = band.take.tempo;
        (step.item.sense == Sense::Hear
            && band.take.score.grid == card.grid
            && tempo::is_near(card.tempo, self.stand(step, card), tempo))
        .then_some(tempo)
    }

    /// The tempo at which the player stands with the item of a step; one never asked begins by what is held of its like.
    fn stand(&self, step: &Step, card: &Card) -> Tempo {
        let today = self.answers.get(&step.item).copied();
        let (kind, sense) = (&step.item.kind, step.item.sense);
        match today.or(step.last) {
            None => tempo::begin(card.tempo, self.held.tempo(kind, sense, card.grid)),
            last => tempo::stand(card.tempo, last),
        }
    }

    /// Puts a step on the screen. False where it cannot be asked, now or at all.
    fn start(&mut self, step: Step) -> bool {
        let decks = self.decks.clone();
        let Some(card) = question::card(&decks, &step.item.card) else {
            return false;
        };
        let Some(step) = self.askable(step, card) else {
            return false;
        };
        if self.met.contains(&card.id) || self.unseen.contains(&card.id) {
            self.ask(step, card)
        } else {
            self.meet(step, card)
        }
    }

    /// The step itself, or without sound the same card by eye.
    fn askable(&self, step: Step, card: &Card) -> Option<Step> {
        let kind = question::kind(&step.item.kind)?;
        let sense = match (step.item.sense, self.sound) {
            (Sense::Hear, false) => Sense::Read,
            (sense, _) => sense,
        };
        let item = ItemKey {
            sense,
            ..step.item.clone()
        };
        let replaced = item != step.item;
        if !question::allows(card, kind, sense) || (replaced && self.queue.holds(&item)) {
            return None;
        }
        let last = step.last.filter(|_| !replaced);
        Some(Step { item, last, ..step })
    }

    fn meet(&mut self, step: Step, card: &Card) -> bool {
        let setup = self.setup(&step, card, true);
        let seed = self.draw.seed();
        let Some(question) = question::ask(card, &step.item, seed, &setup) else {
            return false;
        };
        self.quieten();
        if self.sound && question.has_music() {
            let new = now_playing(&question, question.reveal.take.clone(), self.now);
            self.playing = Some(sound(new, None, &mut self.effects));
        }
        self.stage = Stage::Introduction(Box::new(Introduction {
            title: card.title.clone(),
            about: question::about(card, setup.player),
            question,
            since: self.now,
        }));
        self.current = Some(step);
        self.plan_used = true;
        true
    }

    /// Ends a meeting and asks about the card, if there is time.
    fn met(&mut self) {
        let Stage::Introduction(meeting) = &self.stage else {
            return;
        };
        let seconds = (self.now - meeting.since).max(Seconds::ZERO);
        let Some(mut step) = self.current.take() else {
            return;
        };
        let id = step.item.card.clone();
        let decks = self.decks.clone();
        if let Some(card) = question::card(&decks, &id) {
            self.summary.met.push(card.title.clone());
            self.met.insert(id.clone());
            self.effects.push(Effect::Met {
                card: id,
                at: self.now,
                seconds,
            });
            step.seconds = (step.seconds - seconds).max(FIRST_QUESTION);
            self.fresh.insert(step.item.clone());
            if step.seconds <= self.seconds_left(self.now) && self.ask(step, card) {
                return;
            }
        }
        self.go_on();
    }

    /// Puts a question about a step on the screen. False where none can be made, or its least length does not fit into the
    /// time that is left.
    pub(super) fn ask(&mut self, step: Step, card: &Card) -> bool {
        let Some(mut question) = self.make(&step, card) else {
            return false;
        };
        if question.least_seconds() > self.seconds_left(self.now) {
            return false;
        }
        let clock = match step.item.sense {
            Sense::Read => {
                self.quieten();
                self.now
            }
            Sense::Hear => {
                let wait = self.strike_up(&mut question);
                self.now + wait + question.listening_seconds()
            }
        };
        self.stage = Stage::Asking(Box::new(Asking {
            why: step.why.clone(),
            typed: question.form.blank(),
            question,
            cursor: 0,
            clock,
            replays: 0,
            slowed: false,
        }));
        self.current = Some(step);
        self.plan_used = true;
        true
    }

    /// Puts another question of the same step in place of the one on the screen, which counts as never asked.
    pub(super) fn ask_afresh(&mut self) {
        self.quieten();
        let Some(step) = self.current.take() else {
            return;
        };
        if !self.start(step) {
            self.go_on();
        }
    }

    /// What a question about this step starts from: the tempo where the player stands with it.
    fn setup(&mut self, step: &Step, card: &Card, as_written: bool) -> Setup {
        let drawn = tempo::near(card.tempo, self.stand(step, card), &mut self.draw);
        let going = self.goes_on(step).filter(|_| !as_written);
        Setup {
            tempo: going.unwrap_or(drawn),
            player: self.profile.player(),
            as_written,
            weighed: true,
            unseen: self.unseen.contains(&card.id),
        }
    }

    /// A fresh question, at the tempo where the player stands with it, that looks different from the last one.
    fn make(&mut self, step: &Step, card: &Card) -> Option<Question> {
        let setup = self.setup(step, card, false);
        let mut made = None;
        for _ in 0..TRIES {
            let question = question::ask(card, &step.item, self.draw.seed(), &setup)?;
            let picture = (question.prompt.take.score.clone(), question.prompt.mark);
            let fresh = self.shown.get(&step.item) != Some(&picture);
            made = Some((question, picture));
            if fresh {
                break;
            }
        }
        let (question, picture) = made?;
        self.shown.insert(step.item.clone(), picture);
        Some(question.with_lead(self.lead))
    }
}
