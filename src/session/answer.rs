//! An answer: its keys, its grade, what it counts for, and when the item comes again.

use super::hearing::reveal;
use super::slip::Slip;
use super::stage::{Feedback, Missed, Notice, Stage};
use super::{Review, Session};
use crate::question::tempo::Past;
use crate::question::{self, Answer, Form, ItemKey, Verdict};
use crate::time::Seconds;

/// Questions asked in between before a missed item comes again.
pub(super) const AFTER_MISS: usize = 2;
/// Questions asked in between before an item that was met today and answered right comes a second time.
const AFTER_MEETING: usize = 3;

impl Session {
    pub(super) fn key(&mut self, key: char) {
        let Stage::Asking(asking) = &mut self.stage else {
            return;
        };
        let key = key.to_ascii_lowercase();
        let form = &asking.question.form;
        if form.label(key).is_none() {
            let keys = form.choices().iter().map(|c| c.key).collect();
            self.notice = Some(Notice::NoAnswer(key, keys));
            return;
        }
        self.notice.take_if(|notice| notice.is_about_the_answer());
        if matches!(form, Form::Written { .. }) {
            asking.put(key);
            return;
        }
        if matches!(form, Form::Taps { .. }) {
            let hand = form.hand(key);
            return self.tap(hand);
        }
        asking.typed.push(key);
        if let Some(answer) = form.answer(&asking.typed) {
            self.answered(answer);
        }
    }

    /// The player does not know.
    pub(super) fn unknown(&mut self) {
        if matches!(self.stage, Stage::Asking(_)) {
            self.answered(Answer::Unknown);
        }
    }

    pub(super) fn answered(&mut self, answer: Answer) {
        let Stage::Asking(asking) = std::mem::replace(&mut self.stage, Stage::Waiting) else {
            return;
        };
        let Some(mut step) = self.current.take() else {
            return;
        };
        let (asking, now) = (*asking, self.now);
        self.playing = reveal(
            &asking.question,
            self.playing.as_ref(),
            now,
            &mut self.effects,
        );
        let seconds = (now - asking.clock).max(Seconds::ZERO);
        let verdict = question::grade(&asking.question, &answer, seconds);
        let review = Review {
            at: now,
            question: asking.question,
            answer,
            verdict,
            seconds,
            replays: asking.replays,
            slowed: asking.slowed,
        };
        let (question, verdict) = (&review.question, &review.verdict);
        let decks = self.decks.clone();
        let card = question::card(&decks, &step.item.card);
        let title = card.map_or(String::new(), |c| c.title.clone());
        let first = self.fresh.remove(&step.item);
        let again_after_slip = self.taken_back.remove(&step.item);
        let counts = !(again_after_slip && verdict.right);
        let before = self.answers.get(&step.item).copied().or(step.last);
        let tempo = question.prompt.take.tempo;
        let in_time = verdict.in_time && !review.slowed;
        let past = Past::after(before, tempo, verdict.right, in_time);
        self.slip = None;
        if counts {
            self.slip = Some(Slip {
                step: step.clone(),
                summary: self.summary.clone(),
                lead: self.lead,
                held: self.held.clone(),
                past: self.answers.insert(step.item.clone(), past),
                fresh: first,
            });
            self.lead = question.lead_after(self.lead, &review.answer);
            let cycle = question.cycle_seconds();
            self.held.observe(&step.item, cycle, verdict.right, in_time);
            self.saving.record(review.clone(), &mut self.effects);
            self.count(&step.item, &title, verdict);
        }
        self.queue.note_asked(&step);
        let unseen = self.was_unseen(&step.item.card, verdict);
        let again_today = match (verdict.right, first) {
            // What a player was not taught and does not know is taught when its turn comes.
            (false, _) if unseen => false,
            (false, _) => {
                step.why = match verdict.partly {
                    true => "Partly right earlier today.".into(),
                    false => "Missed earlier today.".into(),
                };
                self.queue.bring_back(step, AFTER_MISS)
            }
            (true, true) if counts => {
                step.why = "Met today: once more.".into();
                self.queue.bring_back(step, AFTER_MEETING)
            }
            (true, _) => false,
        };
        self.stage = Stage::Feedback(Box::new(Feedback {
            title,
            starts_on_other_bar: card.is_some_and(|c| question::is_turned(c, &review.question)),
            review,
            again_today,
            counts,
            own: false,
        }));
    }

    fn count(&mut self, item: &ItemKey, title: &str, verdict: &Verdict) {
        let summary = &mut self.summary;
        let right = verdict.right;
        summary.asked += 1;
        summary.in_time += usize::from(verdict.in_time);
        summary.late += usize::from(right && !verdict.in_time);
        summary.partly += usize::from(verdict.partly);
        let before = summary.missed.iter_mut().find(|m| m.item == *item);
        match before {
            Some(missed) => {
                missed.mended = right;
                missed.times += usize::from(!right);
                missed.partly &= right || verdict.partly;
            }
            None if !right => summary.missed.push(Missed {
                item: item.clone(),
                title: title.to_string(),
                times: 1,
                partly: verdict.partly,
                mended: false,
            }),
            None => {}
        }
    }
}
