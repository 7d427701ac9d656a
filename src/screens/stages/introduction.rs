//! The page of a card that is met for the first time.

use super::{AudioStatus, reasons, revealed, tempo_in_words};
use crate::screens::page::{Keys, Page, Paragraph};
use crate::screens::theme::Role;
use crate::session::Introduction;

/// A card met for the first time.
pub fn page(meeting: &Introduction, audio: AudioStatus) -> Page<'_> {
    let question = &meeting.question;
    let take = &question.reveal.take;
    let mut head = vec![
        Paragraph::strong(&meeting.title),
        Paragraph::plain(&meeting.about),
    ];
    let known = format!("[{}] I know this: ask me at once.", audio.keys.ask_me);
    let remark = match question.has_music() {
        true => format!("{}. {known}", tempo_in_words(take.score.grid, take.tempo)),
        false => known,
    };
    head.push(Paragraph::quiet(remark));
    let mut body = vec![Paragraph::led(
        format!("{} ", question.prompt.text),
        Role::Strong,
        &question.reveal.answer,
    )];
    body.extend(reasons(question));
    let sound = audio.volume.is_some() && question.has_music();
    Page {
        place: "something new".into(),
        head,
        chart: question.has_music().then(|| revealed(question, audio)),
        body,
        keys: Keys::hearing("ask me", sound),
        ..Page::default()
    }
}
