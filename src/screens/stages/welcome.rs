//! The first page of the first run.

use crate::question::{Choice, Stands};
use crate::screens::page::{Keys, Page, Paragraph};
use crate::screens::theme::Role;
use crate::session::Profile;

/// What to heed before the first drill, for ears and hands.
pub const CAUTION: &str = "Keep the sound at a level at which you could still talk over it. If a hand, a wrist or an ear \
hurts, stop and rest; if it goes on, see a doctor.";

/// The first screen of the first run.
pub fn page(profile: &Profile) -> Page<'static> {
    let row =
        |name: &str, value: String| Paragraph::led(format!("{name:<17}"), Role::Strong, value);
    Page {
        place: "the first time".into(),
        head: vec![
            Paragraph::plain(
                "A few minutes a day of eye, ear and hand work on clave and conga: which side a bar belongs to, \
                 which stroke comes, which hand plays it. You answer with a key; what you know fades from the plan \
                 and what slips comes back. New things are shown and explained before they are asked. If you play \
                 already, you are asked before you are taught.",
            ),
            Paragraph::plain(""),
            row("You", profile.stands.spoken().into()),
            row("You play", profile.drums().into()),
            row("Stronger hand", profile.hand().into()),
            row("Minutes a day", format!("{:.0}", profile.minutes)),
        ],
        body: vec![
            Paragraph::quiet("Later, whichside settings shows and changes these."),
            Paragraph::plain(""),
            Paragraph::quiet(CAUTION),
        ],
        choices: vec![
            Choice::new('n', Stands::New.spoken()),
            Choice::new('t', Stands::Tumbao.spoken()),
            Choice::new('b', Stands::Bands.spoken()),
            Choice::new('1', "one drum"),
            Choice::new('2', "two drums"),
            Choice::new('r', "right hand"),
            Choice::new('l', "left hand"),
            Choice::new('<', "shorter"),
            Choice::new('>', "longer"),
        ],
        keys: Keys::ends("begin", "stop"),
        ..Page::default()
    }
}

/// The profile after a key of the first screen; `None` where the key means nothing there.
pub fn chosen(profile: Profile, key: char) -> Option<Profile> {
    let mut changed = profile;
    match key.to_ascii_lowercase() {
        '1' | '2' => changed.two_drums = key == '2',
        'n' => changed.stands = Stands::New,
        't' => changed.stands = Stands::Tumbao,
        'b' => changed.stands = Stands::Bands,
        'r' | 'l' => changed.left_handed = key.eq_ignore_ascii_case(&'l'),
        '<' | ',' => changed.minutes -= 1.0,
        '>' | '.' => changed.minutes += 1.0,
        _ => return None,
    }
    let minutes = changed.minutes.max(1.0);
    Some(Profile { minutes, ..changed }.sane())
}
