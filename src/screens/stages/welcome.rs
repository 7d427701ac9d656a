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
    let drums = match profile.two_drums {
        false => "one drum",
        true => "two drums",
    };
    let hand = match profile.left_handed {
        false => "right",
        true => "left",
    };
    Page {
        place: "the first time".into(),
        head: vec![
            Paragraph::new(
                Role::Plain,
                "A few minutes a day of eye, ear and hand work on clave and conga: which side a bar belongs to, \
                 which stroke comes, which hand plays it. You answer with a key; what you know fades from the plan \
                 and what slips comes back. New things are shown and explained before they are asked. If you play \
                 already, you are asked before you are taught.",
            ),
            Paragraph::new(Role::Plain, ""),
            row("You", profile.stands.spoken().into()),
            row("You play", drums.into()),
            row("Stronger hand", hand.into()),
            row("Minutes a day", format!("{:.0}", profile.minutes)),
        ],
        body: vec![
            Paragraph::new(
                Role::Quiet,
                "Later, whichside settings shows and changes these.",
            ),
            Paragraph::new(Role::Plain, ""),
            Paragraph::new(Role::Quiet, CAUTION),
        ],
        choices: vec![
            choice('n', Stands::New.spoken()),
            choice('t', Stands::Tumbao.spoken()),
            choice('b', Stands::Bands.spoken()),
            choice('1', "one drum"),
            choice('2', "two drums"),
            choice('r', "right hand"),
            choice('l', "left hand"),
            choice('<', "shorter"),
            choice('>', "longer"),
        ],
        keys: Keys {
            enter: Some("begin"),
            escape: Some("stop"),
            ..Keys::default()
        },
        ..Page::default()
    }
}

fn choice(key: char, label: &str) -> Choice {
    Choice {
        key,
        label: label.into(),
    }
}

fn stands(profile: Profile, stands: Stands) -> Profile {
    Profile { stands, ..profile }
}

/// The profile after a key of the first screen; `None` where the key means nothing there.
pub fn chosen(profile: Profile, key: char) -> Option<Profile> {
    let changed = match key.to_ascii_lowercase() {
        '1' => Profile {
            two_drums: false,
            ..profile
        },
        '2' => Profile {
            two_drums: true,
            ..profile
        },
        'n' => stands(profile, Stands::New),
        't' => stands(profile, Stands::Tumbao),
        'b' => stands(profile, Stands::Bands),
        'r' => Profile {
            left_handed: false,
            ..profile
        },
        'l' => Profile {
            left_handed: true,
            ..profile
        },
        '<' | ',' => Profile {
            minutes: profile.minutes - 1.0,
            ..profile
        },
        '>' | '.' => Profile {
            minutes: profile.minutes + 1.0,
            ..profile
        },
        _ => return None,
    };
    let minutes = changed.minutes.max(1.0);
    Some(Profile { minutes, ..changed }.sane())
}
