//! The table of named parts.

use super::parts::of;
use super::{NamedPart, Timeline};
use crate::rhythm::Grid::{Eighths, SixEight, Triplets};
use crate::rhythm::Instrument::{Bass, Bell, Clave, Click, Piano, Shaker, Shell};

const BOOK: &str = "Toussaint, The Geometry of Musical Rhythm, 2013, ch. 7";
const EUCLID: &str =
    "Toussaint, The Euclidean Algorithm Generates Traditional Musical Rhythms, 2005";
const BEAT: &str = "definition of the beat";
const PRACTICE: &str = "common practice, no source";
const MONTUNO: &str =
    "shape from published articles on playing in clave; exact form common practice, no source";
const CONGA: &str = "Wikipedia, Conga and Tumbao";

/// The names of the two claves in 4/4.
pub const SON_CLAVE: &str = "son clave";
/// See [`SON_CLAVE`].
pub const RUMBA_CLAVE: &str = "rumba clave";

/// Every named part, a row each: its name, who plays it, its grid, its form from the three side on, its source. Among the
/// parts of one instrument on one grid the first is the usual one.
#[rustfmt::skip]
pub const PARTS: &[NamedPart] = &[
    of(SON_CLAVE, Some(Clave), Eighths, "x..x..x...x.x...", BOOK),
    of(RUMBA_CLAVE, Some(Clave), Eighths, "x..x...x..x.x...", BOOK),
    of("bossa timeline", None, Eighths, "x..x..x...x..x..", BOOK),
    of("shiko", None, Eighths, "x...x.x...x.x...", BOOK),
    of("soukous", None, Eighths, "x..x..x...xx....", BOOK),
    of("gahu", None, Eighths, "x..x..x...x...x.", BOOK),
    of("bongo bell, one bar", Some(Bell), Eighths, "X.xxX.xx", PRACTICE).also(&["campana", "cencerro"]),
    of("bongo bell, two bars", Some(Bell), Eighths, "X.xxX.xxX.x.X.xx", PRACTICE).also(&["campana in two bars"]),
    of("mambo bell", Some(Bell), Eighths, ".xxxx.xxX.X.xxxx", PRACTICE).also(&["timbales bell"]),
    of("cáscara", Some(Shell), Eighths, "X.xX.X.xX.X.xX.x", PRACTICE).also(&["guagua", "palitos"]),
    of("cáscara accents", None, Eighths, "x..x.x..x.x..x..", PRACTICE),
    // The fifth on the bombo, then the root. Degrees, here and below: common practice, no source.
    of("bass tumbao", Some(Bass), Eighths, "...x..x.", "Wikipedia, Tumbao").on(&[5, 8]),
    of("bass with the clave", Some(Bass), Eighths, "x..x..x.x...x...", PRACTICE).on(&[1, 5, 8, 1, 5]),
    // A broken chord, the octave on the downbeat of the two side.
    of("piano montuno", Some(Piano), Eighths, ".x.x.x.xx.xx.x.x", MONTUNO).on(&[3, 5, 8, 5, 8, 3, 5, 8, 5]),
    of("piano montuno, one bar", Some(Piano), Eighths, "x.xx.x.x", PRACTICE).on(&[8, 3, 5, 8, 5]),
    of("shaker in eighths", Some(Shaker), Eighths, "XxxxXxxx", PRACTICE),
    // On the bongos, the low drum on 4.
    of("martillo", None, Eighths, "XxxxXxXx", PRACTICE),
    of("quarter notes", Some(Click), Eighths, "X.x.x.x.", BEAT),
    of("tumbao, open tones in clave", None, Eighths, "......x.......xx", "Wikipedia, Conga"),
    of("tumbao, open tones", None, Eighths, "......xx", CONGA),
    of("tumbao, slap and open tones", None, Eighths, "..x...xx", CONGA),
    // The cinquillo on the three side, four even strokes on the two side.
    of("baqueteo", None, Eighths, "x.xx.xx.x.x.x.x.", PRACTICE),
    of("tresillo", None, Eighths, "x..x..x.", EUCLID),
    of("cinquillo", None, Eighths, "x.xx.xx.", EUCLID),
    of("6/8 clave, son form", Some(Clave), SixEight, "x.x.x..x.x..", "Wikipedia, Clave (rhythm)"),
    of("6/8 clave, rumba form", Some(Clave), SixEight, "x.x..x.x.x..", PRACTICE),
    of("standard bell", Some(Bell), SixEight, "x.x.xx.x.x.x", "Wikipedia, Bell pattern; Toussaint 2013"),
    of("6/8 bass", Some(Bass), SixEight, "..x.x.", PRACTICE).on(&[5, 8]),
    of("6/8 shaker", Some(Shaker), SixEight, "XxxXxx", PRACTICE),
    of("dotted quarter notes", Some(Click), SixEight, "X..x..", BEAT),
    of("shaker in triplets", Some(Shaker), Triplets, "XxxxxxXxxxxx", PRACTICE),
    of("quarter notes over triplets", Some(Click), Triplets, "X..x..x..x..", BEAT),
];

/// Timelines that are not built on the clave, in whichever phase.
pub const TIMELINES: &[Timeline] = &[Timeline {
    name: "samba timeline (teleco-teco)",
    grid: Eighths,
    onsets: "x.xx.x.x.xx.x.x.",
    source: "Toussaint 2005, E(9,16); its names: from memory",
}];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clave::{Clave, Direction, Family, part};
    use crate::rhythm::{Grid, Weight};

    fn text(part: &NamedPart, direction: Direction) -> String {
        let onsets = part.onsets(direction).into_iter();
        onsets.map(|on| if on { 'x' } else { '.' }).collect()
    }

    /// Printed forms, 3-2 and 2-3: Toussaint 2013 ch. 7; Wikipedia, Conga, Tumbao, Clave
    /// (rhythm), Bell pattern; elsewhere common practice, no source.
    const PRINTED: &[(&str, &str, &str)] = &[
        ("son clave", "x..x..x...x.x...", "..x.x...x..x..x."),
        ("rumba clave", "x..x...x..x.x...", "..x.x...x..x...x"),
        ("bossa timeline", "x..x..x...x..x..", "..x..x..x..x..x."),
        ("shiko", "x...x.x...x.x...", "..x.x...x...x.x."),
        ("soukous", "x..x..x...xx....", "..xx....x..x..x."),
        ("gahu", "x..x..x...x...x.", "..x...x.x..x..x."),
        ("baqueteo", "x.xx.xx.x.x.x.x.", "x.x.x.x.x.xx.xx."),
        ("cáscara", "x.xx.x.xx.x.xx.x", "x.x.xx.xx.xx.x.x"),
        ("cáscara accents", "x..x.x..x.x..x..", "x.x..x..x..x.x.."),
        ("mambo bell", ".xxxx.xxx.x.xxxx", "x.x.xxxx.xxxx.xx"),
        (
            "bongo bell, two bars",
            "x.xxx.xxx.x.x.xx",
            "x.x.x.xxx.xxx.xx",
        ),
        (
            "tumbao, open tones in clave",
            "......x.......xx",
            "......xx......x.",
        ),
        ("piano montuno", ".x.x.x.xx.xx.x.x", "x.xx.x.x.x.x.x.x"),
        ("6/8 clave, rumba form", "x.x..x.x.x..", ".x.x..x.x..x"),
        ("6/8 clave, son form", "x.x.x..x.x..", ".x.x..x.x.x."),
        ("standard bell", "x.x.xx.x.x.x", ".x.x.xx.x.xx"),
    ];

    #[test]
    fn parts_are_the_printed_strings_in_both_directions() {
        for (name, three_two, two_three) in PRINTED {
            let part = part(name).unwrap_or_else(|| panic!("{name} is in the table"));
            assert_eq!(text(part, Direction::ThreeTwo), *three_two, "{name}");
            assert_eq!(text(part, Direction::TwoThree), *two_three, "{name}");
            assert!(part.states_side, "{name}");
        }
    }

    #[test]
    fn one_bar_parts_are_the_printed_strings() {
        // Toussaint 2005 (E(3,8), E(5,8)); Tumbao; common practice for the bell
        for (name, bar) in [
            ("tresillo", "x..x..x."),
            ("cinquillo", "x.xx.xx."),
            ("bass tumbao", "...x..x."),
            ("bongo bell, one bar", "x.xxx.xx"),
        ] {
            let part = part(name).unwrap();
            assert_eq!(text(part, Direction::ThreeTwo), bar, "{name}");
            assert_eq!(text(part, Direction::TwoThree), bar, "{name}");
        }
    }

    #[test]
    fn every_part_is_whole_and_says_where_it_comes_from() {
        for p in PARTS {
            let per = p.grid.pulses_per_bar();
            assert!(
                p.three_two.len() == per || p.three_two.len() == 2 * per,
                "{}",
                p.name
            );
            assert!(
                p.three_two.bytes().all(|c| b"xX.".contains(&c)),
                "{}",
                p.name
            );
            let strokes = p.three_two.bytes().filter(|c| *c != b'.').count();
            assert!(
                p.degrees.is_empty() || p.degrees.len() == strokes,
                "{}",
                p.name
            );
            assert!(p.degrees.iter().all(|d| (1..=8).contains(d)), "{}", p.name);
            assert!(!p.source.is_empty());
            // one bar alone cannot tell a direction, and what states a side differs between its bars
            let turned = p.onsets(Direction::ThreeTwo) != p.onsets(Direction::TwoThree);
            assert_eq!(p.states_side, turned, "{}", p.name);
            assert_eq!(
                PARTS.iter().filter(|q| q.name == p.name).count(),
                1,
                "{}",
                p.name
            );
        }
    }

    #[test]
    fn accents_of_the_cascara_are_strokes_of_it() {
        let accents: String = part("cáscara")
            .unwrap()
            .cells(Direction::TwoThree)
            .iter()
            .map(|c| match c {
                Some(h) if h.weight == Weight::Accent => 'x',
                _ => '.',
            })
            .collect();
        assert_eq!(accents, "x.x..x..x..x.x..");
    }

    #[test]
    fn the_claves_of_the_table_are_those_of_the_clave_type() {
        for (name, grid, family) in [
            (SON_CLAVE, Eighths, Family::Son),
            (RUMBA_CLAVE, Eighths, Family::Rumba),
            ("6/8 clave, son form", SixEight, Family::Son),
            ("6/8 clave, rumba form", SixEight, Family::Rumba),
        ] {
            for direction in Direction::ALL {
                let clave = Clave { family, direction };
                assert_eq!(part(name).unwrap().onsets(direction), clave.onsets(grid));
            }
        }
    }

    #[test]
    fn eighths_stretch_to_sixteenths_and_to_nothing_else() {
        let bell = part("bongo bell, one bar").unwrap();
        let line = bell.line(Grid::Sixteenths, Direction::ThreeTwo).unwrap();
        assert_eq!(line.pulses(), 16);
        let struck: Vec<_> = (0..16).filter(|p| line.at(*p).is_some()).collect();
        assert_eq!(struck, [0, 4, 6, 8, 12, 14]);
        assert_eq!(bell.line(Grid::SixEight, Direction::ThreeTwo), None);
        assert_eq!(bell.line(Grid::Triplets, Direction::ThreeTwo), None);
    }
}
