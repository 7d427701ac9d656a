//! The start page and what it opens: lesson, cards, practice room, weak concepts, settings, the drill.

mod browse;
mod overview;

use super::cli::DataArgs;
use super::command_context::CommandContext;
use super::drill;
use super::events::Events;
use super::full_screen::{FullScreen, Pressed};
use super::record::Record;
use super::{Exit, weak};
use crate::question::Stands;
use crate::screens::cards::CardList;
use crate::screens::help;
use crate::screens::screen_settings::ScreenSettings;
use crate::screens::settings::{self, SettingsAction, SettingsPage};
use crate::screens::start::{self, StartAction};
use std::io::Write;

/// The card that is played where the lesson has none.
const PLAYED: &str = "tumbao/one-bar";

/// The cards in which all of these words are found.
///
/// # Errors
/// Where the log or a deck cannot be read.
pub fn card_list(data: &DataArgs, words: &str) -> anyhow::Result<CardList> {
    let context = CommandContext::open(data, false)?;
    Ok(browse::card_list(&context, false)?.narrowed(words))
}

/// Lists the cards in which all of these words are found, until the player leaves.
///
/// # Errors
/// Where the log cannot be read or written, or the terminal cannot be drawn on.
pub fn cards(words: &str, silent: bool, data: &DataArgs, events: &Events) -> anyhow::Result<Exit> {
    let mut context = CommandContext::open(data, true)?.with(silent, false);
    let mut screen = FullScreen::open(events, &context.record.screen()?)?;
    let list = browse::card_list(&context, false)?.narrowed(words);
    browse::browse(&mut screen, &mut context, list, events)?;
    Ok(Exit::Clean)
}

/// Shows the start page until the player leaves it. `args` are those of the drill that it starts.
///
/// # Errors
/// Where the log or a deck cannot be read, or the terminal cannot be drawn on.
pub fn run(args: &drill::Args, out: &mut dyn Write) -> anyhow::Result<Exit> {
    let clock = args.data.clock();
    let record = Record::for_command(&args.data.folder()?, clock, true)?;
    let args = &drill::with_confirmed_clock(args, &record, out)?;
    let events = Events::listen(clock)?;
    let mut screen = FullScreen::open(&events, &record.screen()?)?;
    let mut record = Some(record);
    let mut worst = Exit::Clean;
    let mut notice = None;
    loop {
        // Anew after each page: what was done there, and what somebody changed in the decks meanwhile.
        let context = match record.take() {
            Some(record) => CommandContext::of(record, &args.data)?,
            None => CommandContext::open(&args.data, true)?,
        };
        let mut context = context.with(args.silent, args.still);
        let overview = overview::overview(&context, clock.moment())?;
        let mut page = start::page(&overview);
        page.notice = notice.take().or(context.library.remarks.first().cloned());
        let action = loop {
            screen.show(&page)?;
            match screen.next(None)? {
                Pressed::Key { key, .. } => match start::action(key) {
                    Some(action) => break action,
                    None => page.notice = Some(help::not_a_key(key.code)),
                },
                Pressed::End => return Ok(worst),
                _ => {}
            }
        };
        let done = match action {
            StartAction::Leave => return Ok(worst),
            StartAction::Help => screen.help(start::HELP),
            StartAction::Settings => set(&mut screen, &mut context),
            StartAction::Lesson | StartAction::Cards => {
                let list = browse::card_list(&context, action == StartAction::Lesson)?;
                browse::browse(&mut screen, &mut context, list, &events)
            }
            StartAction::Play => {
                let lesson = context.lesson()?;
                let card = lesson.first().cloned().unwrap_or_else(|| PLAYED.into());
                screen.lend(|| browse::play(&mut context, &card, &events))?
            }
            StartAction::Weak | StartAction::Drill => {
                drop(context);
                let exit = screen.lend(|| match action {
                    StartAction::Weak => weak::in_view(&args.data, &events, out),
                    _ => drill::start(args, Some(&events), out),
                })?;
                exit.map(|exit| worst = worst.max(exit))
            }
        };
        notice = done.err().map(|error| format!("{error:#}"));
        if events.ended() {
            return Ok(worst);
        }
    }
}

/// The settings page; each change is kept at once.
fn set(screen: &mut FullScreen, context: &mut CommandContext) -> anyhow::Result<()> {
    let profile = context.profile()?;
    let mut page = SettingsPage::new(profile, context.record.screen()?);
    let mut kept: (Stands, ScreenSettings) = (page.profile.stands, page.screen);
    loop {
        screen.show(&page.page())?;
        let action = match screen.next(None)? {
            Pressed::Key { key, .. } => page.key(key),
            Pressed::Row(row) => page.click(row),
            Pressed::End => SettingsAction::Leave,
            _ => SettingsAction::Nothing,
        };
        match action {
            SettingsAction::Nothing => {}
            SettingsAction::Help => screen.help(settings::HELP)?,
            SettingsAction::Leave => return Ok(()),
            SettingsAction::Keep => {
                context.record.keep_profile(&page.profile)?;
                context.record.keep_screen(&page.screen)?;
                screen.set(&page.screen)?;
                if page.profile.stands != kept.0 && page.profile.stands != Stands::New {
                    context.record.sound_out()?;
                }
                kept = (page.profile.stands, page.screen);
            }
        }
    }
}
