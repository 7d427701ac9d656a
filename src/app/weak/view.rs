//! The report on the full screen, and the drills that are started from it.

use super::gather;
use crate::app::Exit;
use crate::app::cli::DataArgs;
use crate::app::drill;
use crate::app::events::{Events, OuterEvent, stop_process};
use crate::report::Report;
use crate::screens::screen::{self, Screen};
use crate::screens::theme::{Depth, Theme};
use crate::screens::weak::{ViewAction, WeakView};
use anyhow::Context;
use std::io::Write;

/// Shows the report on the full screen until the player leaves it. A drill started from it comes back to it, with the
/// answers just given counted in.
pub fn run(mut report: Report, data: &DataArgs, out: &mut dyn Write) -> anyhow::Result<Exit> {
    screen::restore_on_panic();
    let events = Events::listen(data.clock()).context("signals cannot be listened to")?;
    let theme = Theme::new(Depth::from_environment(|name| std::env::var(name).ok()));
    let mut screen = Screen::open().context("the terminal cannot be drawn on")?;
    let mut view = WeakView::default();
    loop {
        let mut size = (0, 0);
        screen.draw(|frame| {
            size = (frame.area().width, frame.area().height);
            view.draw(&report, theme, frame.area(), frame.buffer_mut());
        })?;
        match events.next(None) {
            Some(OuterEvent::Key { key, .. }) => match view.key(&report, key, size) {
                ViewAction::Nothing => {}
                ViewAction::Drill(focus) => {
                    screen.close();
                    match drill::on_focus(&focus, data, &events, out) {
                        Ok(_) => report = gather::report(data)?,
                        Err(error) => view.notice = Some(error.to_string()),
                    }
                    screen.reopen()?;
                }
                ViewAction::Suspend => stop(&mut screen)?,
                ViewAction::Leave => return Ok(Exit::Clean),
            },
            Some(OuterEvent::End) => return Ok(Exit::Clean),
            Some(OuterEvent::Suspend) => stop(&mut screen)?,
            Some(OuterEvent::Resume) => screen.reopen()?,
            Some(OuterEvent::Resized) | None => {}
        }
    }
}

/// Gives the terminal back, stops, and takes it again when the player comes back.
fn stop(screen: &mut Screen) -> std::io::Result<()> {
    screen.close();
    stop_process();
    screen.reopen()
}
