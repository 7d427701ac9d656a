//! Colours and styles for each role of text, by what the terminal can show.

use ratatui::style::{Color, Modifier, Style};

/// How many colours the terminal can show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    /// None wanted (`NO_COLOR`, <https://no-color.org>), none there, or only the sixteen of the terminal's own palette:
    /// what those look like is set by its owner, and none of them can be read on every common ground.
    None,
    /// The 256 of the usual table.
    TwoHundredFiftySix,
    /// Any, by red, green and blue.
    Full,
}

impl Depth {
    /// What the environment variables `NO_COLOR`, `TERM` and `COLORTERM` say.
    pub fn from_environment(variable: impl Fn(&str) -> Option<String>) -> Depth {
        let term = variable("TERM").unwrap_or_default();
        if variable("NO_COLOR").is_some_and(|v| !v.is_empty()) || term == "dumb" {
            return Depth::None;
        }
        match variable("COLORTERM").as_deref() {
            Some("truecolor" | "24bit") => Depth::Full,
            _ if term.contains("256color") => Depth::TwoHundredFiftySix,
            _ => Depth::None,
        }
    }
}

/// What a piece of text on the screen stands for. Every role also has a shape, a letter or a place of its own: colour
/// only helps the eye along.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Running text.
    Plain,
    /// Names of rows, rules, rests: there, but in the back.
    Quiet,
    /// Titles, and what must be seen first.
    Strong,
    /// A key that can be pressed.
    Key,
    /// What the player's hands do.
    Stroke,
    /// What the rest of the band plays.
    Band,
    /// The clave and everything said about it.
    Clave,
    /// A stroke that falls together with the clave.
    Lock,
    /// A stroke that rubs against the clave.
    Cross,
    /// The bar or stroke that is asked about.
    Mark,
    /// The pulse that is heard now.
    Playhead,
}

/// Styles for all roles.
#[derive(Clone, Copy, Debug)]
pub struct Theme {
    depth: Depth,
}

/// Four colours of Okabe & Ito, *Color Universal Design*, 2008: those of the eight whose contrast is at least 3 to 1
/// on a white as well as on a black ground (WCAG 2.1, 1.4.11), since the ground of a terminal is not known.
/// Each with its nearest colour of the 256.
mod okabe_ito {
    use super::Color;

    pub type Shades = (Color, Color);
    pub const BLUE: Shades = (Color::Rgb(0, 114, 178), Color::Indexed(25));
    pub const GREEN: Shades = (Color::Rgb(0, 158, 115), Color::Indexed(36));
    pub const VERMILLION: Shades = (Color::Rgb(213, 94, 0), Color::Indexed(166));
    pub const PURPLE: Shades = (Color::Rgb(204, 121, 167), Color::Indexed(175));
}

impl Theme {
    /// The theme for what the terminal can show.
    pub const fn new(depth: Depth) -> Theme {
        Theme { depth }
    }

    /// The style of a role.
    pub fn style(self, role: Role) -> Style {
        use okabe_ito::{BLUE, GREEN, PURPLE, VERMILLION};
        let plain = Style::default();
        let bold = plain.add_modifier(Modifier::BOLD);
        match role {
            Role::Plain => plain,
            Role::Quiet if self.depth == Depth::None => plain,
            Role::Quiet => plain.add_modifier(Modifier::DIM),
            Role::Strong | Role::Key | Role::Stroke | Role::Playhead => bold,
            Role::Band => self.coloured(plain, BLUE),
            Role::Clave => self.coloured(bold, VERMILLION),
            Role::Lock => self.coloured(bold, GREEN),
            Role::Cross => self.coloured(bold, PURPLE),
            Role::Mark => self.coloured(bold, PURPLE),
        }
    }

    fn coloured(self, style: Style, shades: okabe_ito::Shades) -> Style {
        match self.depth {
            Depth::None => style,
            Depth::TwoHundredFiftySix => style.fg(shades.1),
            Depth::Full => style.fg(shades.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Contrast of two colours, WCAG 2.1, definitions of *relative luminance* and *contrast ratio*.
    fn contrast(a: (u8, u8, u8), b: (u8, u8, u8)) -> f64 {
        let luminance = |(r, g, b): (u8, u8, u8)| {
            let part = |c: u8| {
                let c = f64::from(c) / 255.0;
                if c <= 0.03928 {
                    c / 12.92
                } else {
                    ((c + 0.055) / 1.055).powf(2.4)
                }
            };
            0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b)
        };
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn every_colour_can_be_read_on_black_and_on_white() {
        for shades in [
            okabe_ito::BLUE,
            okabe_ito::GREEN,
            okabe_ito::VERMILLION,
            okabe_ito::PURPLE,
        ] {
            let Color::Rgb(r, g, b) = shades.0 else {
                panic!("{shades:?}")
            };
            for ground in [(0, 0, 0), (255, 255, 255)] {
                let ratio = contrast((r, g, b), ground);
                assert!(ratio >= 3.0, "{shades:?} on {ground:?}: {ratio:.2}");
            }
        }
    }

    #[test]
    fn the_environment_decides_how_many_colours_there_are() {
        let depth = |pairs: &[(&str, &str)]| {
            Depth::from_environment(|name| {
                pairs
                    .iter()
                    .find(|(n, _)| *n == name)
                    .map(|(_, v)| v.to_string())
            })
        };
        assert_eq!(depth(&[("TERM", "xterm")]), Depth::None);
        assert_eq!(
            depth(&[("TERM", "xterm-256color")]),
            Depth::TwoHundredFiftySix
        );
        assert_eq!(
            depth(&[("TERM", "x"), ("COLORTERM", "truecolor")]),
            Depth::Full
        );
        // An empty NO_COLOR does not count (no-color.org).
        assert_eq!(
            depth(&[("NO_COLOR", ""), ("COLORTERM", "24bit")]),
            Depth::Full
        );
        assert_eq!(
            depth(&[("NO_COLOR", "1"), ("COLORTERM", "24bit")]),
            Depth::None
        );
        assert_eq!(depth(&[("TERM", "dumb")]), Depth::None);
    }

    #[test]
    fn without_colours_no_role_has_one() {
        let theme = Theme::new(Depth::None);
        for role in [Role::Band, Role::Clave, Role::Lock, Role::Cross, Role::Mark] {
            assert_eq!(theme.style(role).fg, None);
        }
    }
}
