//! Laws that hold whatever happens in whatever order.

use super::{NOON, all_steps, start};
use crate::session::{Effect, Event, Profile, Session, Stage, Start, Tomorrow};
use crate::taps::Tap;
use crate::time::Seconds;
use proptest::prelude::*;
use std::collections::BTreeSet;

fn any_event() -> impl Strategy<Value = Event> {
    prop_oneof![
        6 => prop::sample::select("23nlrboscmhtxj.é\u{0}".chars().collect::<Vec<_>>()).prop_map(Event::Key),
        6 => Just(Event::Next),
        1 => Just(Event::Erase),
        1 => (-3isize..4).prop_map(Event::Move),
        1 => Just(Event::HearOwn),
        1 => prop::collection::vec(-1.0..30.0f64, 0..40)
            .prop_map(|taps| Event::Taps(taps.into_iter().map(|t| Tap::at(Seconds::new(t))).collect())),
        1 => Just(Event::Unknown),
        1 => Just(Event::TakeBack),
        1 => Just(Event::Pause),
        1 => Just(Event::Tick),
        1 => Just(Event::HearAgain),
        1 => Just(Event::Slower),
        1 => Just(Event::Sounding),
        1 => Just(Event::Begin),
        1 => (0u64..8).prop_map(Event::Saved),
        1 => (0u64..8).prop_map(|t| Event::NotSaved(t, "full".into())),
        1 => Just(Event::Silent("none".into())),
        1 => Just(Event::SoundBack),
        1 => prop_oneof![Just(-1.0), Just(f64::NAN), Just(30.0)].prop_map(|s| Event::Away(Seconds::new(s))),
        1 => Just(Event::Tomorrow(Tomorrow::default())),
        1 => Just(Event::Choose(Profile { minutes: f64::INFINITY, ..Profile::default() })),
        2 => Just(Event::Planned(all_steps())),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]

    #[test]
    fn any_events_keep_the_laws(
        events in prop::collection::vec((any_event(), 0.0..20.0f64), 0..160),
        met in any::<bool>(),
        sound in any::<bool>(),
        first in any::<bool>(),
        seed in any::<u64>(),
    ) {
        let mut from = start(met, sound);
        from.seed = seed;
        if first {
            from.profile = None;
        }
        let mut session = Session::new(from);
        let mut now = NOON;
        let mut answered = 0;
        let mut tickets = BTreeSet::new();
        let mut refused = BTreeSet::new();
        let mut playing = false;
        let quits = [Event::Quit, Event::Quit, Event::Quit, Event::Quit].map(|e| (e, 0.1));
        let mut finishes = 0;
        for (event, wait) in events.into_iter().chain(quits) {
            now += Seconds::new(wait);
            let was_asking = matches!(session.stage(), Stage::Asking(_));
            let paused_question = matches!(session.stage(), Stage::Paused(p) if matches!(p.stage, Stage::Asking(_)));
            let seed_before = asked_seed(&session);
            // These put another question instead of the one on the screen, which may always be finished.
            let replaces = matches!(event, Event::Away(_) | Event::Silent(_));
            if let Event::NotSaved(t, _) = &event {
                refused.insert(*t);
            }
            let effects = session.update(event, now);
            let counts = matches!(session.stage(), Stage::Feedback(told) if told.counts);
            answered += usize::from(was_asking && counts);
            for effect in &effects {
                prop_assert_eq!(finishes, 0, "nothing after the end");
                match effect {
                    Effect::Record { ticket, .. } => {
                        let again = !tickets.insert(*ticket);
                        prop_assert!(!again || refused.remove(ticket), "ticket {} twice", ticket);
                    }
                    Effect::Finish => finishes += 1,
                    Effect::Play { .. } => playing = true,
                    Effect::Hush => playing = false,
                    _ => {}
                }
            }
            prop_assert_eq!(tickets.len(), answered, "one record an answer");
            let asked = asked_seed(&session);
            if asked.is_some() && asked != seed_before && !(replaces && was_asking || paused_question) {
                // 12 s are planned for each; the question after a meeting needs at least five of them.
                let left = session.seconds_left(now);
                prop_assert!(left >= Seconds::new(5.0), "{} s left", left);
            }
            prop_assert_eq!(session.playing.is_some(), playing, "what plays is what the session says");
            let heard = matches!(
                session.stage(),
                Stage::Asking(_) | Stage::Introduction(_) | Stage::Feedback(_)
            );
            prop_assert!(heard || !playing);
            prop_assert!(session.sound() || !playing);
        }
        prop_assert_eq!(finishes, 1);
        prop_assert!(session.finished());
        prop_assert!(session.update(Event::Next, now).is_empty());
    }

    #[test]
    fn the_same_seed_and_answers_give_the_same_session(
        keys in prop::collection::vec(any_event(), 0..40),
        seed in any::<u64>(),
    ) {
        let play = || {
            let mut session = Session::new(Start { seed, ..start(false, true) });
            let mut out = Vec::new();
            out.extend(session.update(Event::Begin, NOON));
            out.extend(session.update(Event::Planned(all_steps()), NOON));
            for (i, event) in keys.iter().enumerate() {
                out.extend(session.update(event.clone(), NOON + Seconds::new(i as f64)));
            }
            format!("{out:?}")
        };
        prop_assert_eq!(play(), play());
    }
}

fn asked_seed(session: &Session) -> Option<u64> {
    match session.stage() {
        Stage::Asking(asking) => Some(asking.question.seed),
        _ => None,
    }
}
