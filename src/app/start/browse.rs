//! All decks and cards: the list, and the page of a card with its sound.

use crate::app::command_context::CommandContext;
use crate::app::events::Events;
use crate::app::full_screen::{FullScreen, Pressed};
use crate::app::lesson;
use crate::app::sounding::{News, Sounding};
use crate::app::tempos;
use crate::deck::Card;
use crate::memory::Hold;
use crate::question;
use crate::screens::card::{self, CardAction};
use crate::screens::cards::{self, CardEntry, CardList, CardListAction};
use crate::screens::help;
use crate::screens::playback::Playback;
use crate::screens::stages::AudioStatus;
use crossterm::event::KeyCode;
use std::collections::BTreeMap;

/// All cards, or those of the lesson alone.
///
/// # Errors
/// Those of the log.
pub fn card_list(context: &CommandContext, only_lesson: bool) -> anyhow::Result<CardList> {
    Ok(CardList::new(
        entries(context, &lesson::holds(&context.record, &context.library))?,
        only_lesson,
    ))
}

/// Shows a list of cards until the player goes back.
///
/// # Errors
/// Where the log cannot be read or written, or the terminal cannot be drawn on.
pub fn browse(
    screen: &mut FullScreen,
    context: &mut CommandContext,
    mut list: CardList,
    events: &Events,
) -> anyhow::Result<()> {
    let holds = lesson::holds(&context.record, &context.library);
    loop {
        screen.show(&list.page())?;
        let action = match screen.next(None)? {
            Pressed::Key { key, .. } => list.key(key),
            Pressed::Row(row) => list.click(row),
            Pressed::End => return Ok(()),
            _ => CardListAction::Nothing,
        };
        match action {
            CardListAction::Nothing => {}
            CardListAction::Help => screen.help(cards::HELP)?,
            CardListAction::Leave => return Ok(()),
            CardListAction::Lesson(id) => change_lesson(context, &mut list, &id)?,
            CardListAction::Look(_) => look(screen, context, &mut list, &holds, events)?,
        }
    }
}

/// All cards as the list has them.
fn entries(
    context: &CommandContext,
    holds: &BTreeMap<String, Hold>,
) -> anyhow::Result<Vec<CardEntry>> {
    let lesson = context.lesson()?;
    let (met, _) = context.record.met()?;
    let decks = context.library.decks.iter();
    let all = decks.flat_map(|deck| deck.cards.iter().map(move |card| (deck, card)));
    let entry = |(deck, card): (&crate::deck::Deck, &Card)| CardEntry {
        id: card.id.clone(),
        title: card.title.clone(),
        deck: deck.title.clone(),
        words: format!("{} {}", card.about, card.concepts.join(" ")),
        lesson: lesson.contains(&card.id),
        met: met.contains(&card.id),
        held: holds.get(&card.id).is_some_and(|h| h.held),
    };
    Ok(all.map(entry).collect())
}

/// Puts a card into the lesson, or takes it out.
fn change_lesson(
    context: &mut CommandContext,
    list: &mut CardList,
    id: &str,
) -> anyhow::Result<()> {
    let Some(entry) = list.entries.iter_mut().find(|e| e.id == id) else {
        return Ok(());
    };
    lesson::put(&mut context.record, id, !entry.lesson)?;
    entry.lesson ^= true;
    list.notice = Some(match entry.lesson {
        true => format!(
            "{} leads the drill from now on, until it is held.",
            entry.title
        ),
        false => format!("{} waits for its turn in the course.", entry.title),
    });
    Ok(())
}

/// The pages of cards from the chosen one on, until the player goes back to the list.
fn look(
    screen: &mut FullScreen,
    context: &mut CommandContext,
    list: &mut CardList,
    holds: &BTreeMap<String, Hold>,
    events: &Events,
) -> anyhow::Result<()> {
    let mut sound = CardSound::new(context)?;
    let mut playing: Option<Playback> = None;
    let tempos = tempos::held(&context.record, &context.library)?;
    while let Some(entry) = list.chosen().cloned() {
        let library = context.library.clone();
        let Some(card) = question::card(&library.decks, &entry.id) else {
            return Ok(());
        };
        let usual = Playback::new(card);
        let heard = playing.get_or_insert(usual);
        let hold = holds.get(&card.id).copied().unwrap_or_default();
        let motion = context.motion;
        let held = tempos.get(&card.id);
        let mut page = card::page(
            card,
            heard.tempo(),
            entry.lesson,
            hold,
            held,
            sound.status(motion),
        );
        page.notice = list.notice.clone().or(sound.trouble.clone());
        screen.show(&page)?;
        let action = match screen.next(sound.patience(motion))? {
            Pressed::Key { key, .. } => match card::action(key) {
                Some(action) => action,
                None => {
                    list.notice = Some(help::not_a_key(key.code));
                    continue;
                }
            },
            Pressed::End => return Ok(()),
            _ => continue,
        };
        list.notice = None;
        match action {
            CardAction::Leave => return Ok(()),
            CardAction::Help => screen.help(card::HELP)?,
            CardAction::Lesson => change_lesson(context, list, &entry.id)?,
            CardAction::Volume(steps) => sound.turn(steps, context)?,
            CardAction::Hear if card.choice.is_none() => {
                heard.playing ^= true;
                sound.play(heard);
            }
            CardAction::Slower if card.choice.is_none() => {
                heard.key(KeyCode::Char('-').into());
                heard.playing = true;
                sound.play(heard);
            }
            CardAction::Turn(by) => {
                sound.hush();
                playing = None;
                list.key(if by > 0 { KeyCode::Down } else { KeyCode::Up }.into());
            }
            CardAction::Play if card.choice.is_none() => {
                // The practice room opens the device for itself.
                drop(sound);
                playing = None;
                if let Err(error) = screen.lend(|| play(context, &entry.id, events))? {
                    list.notice = Some(format!("{error:#}"));
                }
                sound = CardSound::new(context)?;
            }
            CardAction::Hear | CardAction::Slower | CardAction::Play => {
                list.notice = Some("This card is a question in words; it has no sound.".into());
            }
        }
        if events.ended() {
            return Ok(());
        }
    }
    Ok(())
}

/// The practice room with a card.
///
/// # Errors
/// Where there is no such card, or no sound.
pub fn play(context: &mut CommandContext, card: &str, events: &Events) -> anyhow::Result<()> {
    anyhow::ensure!(
        !context.silent,
        "the practice room needs sound; start without --silent"
    );
    crate::app::play::on_card(
        &context.library,
        &mut context.record,
        card,
        &context.folder,
        events,
    )
}

/// The sound of a card's page, where there is any.
struct CardSound {
    sounding: Option<Sounding>,
    /// Why there is none.
    trouble: Option<String>,
}

impl CardSound {
    fn new(context: &CommandContext) -> anyhow::Result<CardSound> {
        let (volume, taps) = (context.record.volume()?, context.record.tap_offset()?);
        let opened = (!context.silent).then(|| Sounding::open(volume, taps.as_ref()));
        let (sounding, trouble) = match opened.transpose() {
            Ok(sounding) => (sounding, None),
            Err(error) => (None, Some(format!("No sound: {error}."))),
        };
        Ok(CardSound { sounding, trouble })
    }

    /// What the page shows of it; what the device has to say is heard on the way.
    fn status(&mut self, motion: bool) -> AudioStatus {
        if let Some(News::Lost(why)) = self.sounding.as_mut().and_then(Sounding::poll) {
            self.trouble = Some(format!("No sound: {why}."));
        }
        let sounding = self.sounding.as_ref();
        AudioStatus {
            playhead: sounding.filter(|_| motion).and_then(Sounding::pulse),
            volume: sounding.map(Sounding::percent),
            ..AudioStatus::default()
        }
    }

    /// How long the page stays true by itself; for good where nothing sounds.
    fn patience(&self, motion: bool) -> Option<std::time::Duration> {
        let sounding = self.sounding.as_ref().filter(|s| s.is_busy());
        sounding.map(|s| s.patience(!motion))
    }

    /// Plays it, or goes on with it as it is now; stops where it does not play any more.
    fn play(&mut self, playback: &Playback) {
        if let Some(sounding) = &mut self.sounding {
            match playback.playing {
                true => {
                    let take = playback.take(playback.rounds());
                    sounding.take_over(&take, playback.entry(1));
                }
                false => sounding.hush(),
            }
        }
    }

    fn hush(&mut self) {
        if let Some(sounding) = &mut self.sounding {
            sounding.hush();
        }
    }

    fn turn(&mut self, steps: i8, context: &mut CommandContext) -> anyhow::Result<()> {
        if let Some(sounding) = &mut self.sounding {
            sounding.turn(steps);
            context.record.keep_volume(sounding.volume())?;
        }
        Ok(())
    }
}
