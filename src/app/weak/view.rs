//! The report on the full screen, and the drills that are started from it.

use super::gather;
use crate::app::Exit;
use crate::app::cli::DataArgs;
use crate::app::drill;
use crate::app::events::Events;
use crate::app::full_screen::{FullScreen, Pressed};
use crate::report::Report;
use crate::screens::screen_settings::ScreenSettings;
use crate::screens::weak::{self, ViewAction, WeakView};
use std::io::Write;

/// Shows the report on the full screen until the player leaves it. A drill started from it comes back to it, with the
/// answers just given counted in. The exit is that of a drill that lost answers, if one did.
pub fn run(
    mut report: Report,
    settings: &ScreenSettings,
    data: &DataArgs,
    events: &Events,
    out: &mut dyn Write,
) -> anyhow::Result<Exit> {
    let mut screen = FullScreen::open(events, settings)?;
    let mut view = WeakView::default();
    let mut worst = Exit::Clean;
    loop {
        screen.draw(|theme, frame| view.draw(&report, theme, frame.area(), frame.buffer_mut()))?;
        let action = match screen.next(None)? {
            Pressed::Key { key, .. } => view.key(&report, key, screen.size),
            Pressed::Row(row) => view.click(&report, row, screen.size),
            Pressed::End => return Ok(worst),
            _ => ViewAction::Nothing,
        };
        match action {
            ViewAction::Nothing => {}
            ViewAction::Help => screen.help(weak::HELP)?,
            ViewAction::Leave => return Ok(worst),
            ViewAction::Drill(focus) => {
                match screen.lend(|| drill::on_focus(&focus, data, events, out))? {
                    Ok(exit) => worst = worst.max(exit),
                    Err(error) => view.notice = Some(error.to_string()),
                }
                if events.ended() {
                    return Ok(worst);
                }
                (report, _) = gather::report(data)?;
            }
        }
    }
}
