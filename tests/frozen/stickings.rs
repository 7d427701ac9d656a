//! Frozen: which hands are found for rows of strokes, and what is said of hands that are written.

use crate::{TextSums, chance, rounded};
use std::fmt::Write;
use whichside::hands::{Handed, Level, Player, all_right, either, fastest, judge, said_all, stick};
use whichside::rhythm::notation::read_line;
use whichside::rhythm::{Drum, Grid, Hand, Pattern, Stroke, Tempo, Tone};

fn part(grid: Grid, bars: usize, state: &mut u64) -> Pattern {
    let drums = 1 + chance(state, 3) as usize;
    let (hands, dense) = (chance(state, 3), 2 + chance(state, 3));
    let cells = (0..grid.pulses_per_bar() * bars).map(|_| {
        (chance(state, 4) < dense).then(|| {
            let mut stroke = Stroke::new(
                Drum::ALL[chance(state, drums as u64) as usize],
                Tone::ALL[chance(state, Tone::ALL.len() as u64) as usize],
            );
            stroke.hand = match (hands, chance(state, 2)) {
                (0, n) => Some(Hand::ALL[n as usize]),
                (1, 1) => Some(Hand::ALL[chance(state, 2) as usize]),
                _ => None,
            };
            stroke
        })
    });
    Pattern::new(grid, cells.collect()).unwrap()
}

#[test]
fn hands_are_found_and_judged_as_they_were() {
    let (mut sums, mut read) = (TextSums::default(), String::new());
    let mut state = 521_288_629_987_654_321;
    let mut parts: Vec<Pattern> = (0..400)
        .map(|n| {
            part(
                Grid::ALL[n % Grid::ALL.len()],
                1 + n % 3 % 2 + n % 7 / 6,
                &mut state,
            )
        })
        .collect();
    // The tumbao, on one drum and on two, and rolls (Wikipedia, Conga and Drum rudiment).
    for row in [
        "HTSTHTOO",
        "HTS tO tO T OO",
        "OOOOOOOO",
        "S.OOS.OO",
        "HTHTHTHT",
        "OSOSOSOS",
        "HTSTHTOO | HTS tO HTOO",
    ] {
        parts.push(read_line(row, Grid::Eighths).unwrap());
    }
    for (n, part) in parts.iter().enumerate() {
        let bpm = [70.0, 120.0, 165.0, 210.0, 280.0][n % 5];
        let tempo = Tempo::new(bpm);
        let player = Player {
            level: Level::ALL[n % 3],
            handed: [Handed::Right, Handed::Left][n / 2 % 2],
        };
        let found = stick(part, tempo, &player);
        let hands = part.with_each_hand(|p, _| found.hands[p]);
        let mut text = format!("{part:?} {bpm} {player:?}\n{found:#?}\n");
        writeln!(text, "fastest {:?}", fastest(part, &player)).unwrap();
        writeln!(text, "found {:?}", judge(&hands, tempo, &player)).unwrap();
        writeln!(text, "either {:?}", either(&hands, tempo, &player)).unwrap();
        let turned = hands.with_each_hand(|p, s| match p % 3 {
            1 => s.hand.map(Hand::other),
            _ => s.hand,
        });
        writeln!(text, "turned {:?}", judge(&turned, tempo, &player)).unwrap();
        let one = hands.with_each_hand(|_, _| Some(Hand::Right));
        writeln!(text, "one hand {:?}", judge(&one, tempo, &player)).unwrap();
        if part.strokes().count() <= 9 {
            let rows = all_right(part, tempo, &player);
            writeln!(text, "all right {rows:?}").unwrap();
        }
        let pulses: Vec<usize> = part.strokes().map(|s| s.0).collect();
        writeln!(text, "{}", said_all(part, &pulses)).unwrap();
        let text = rounded(&text);
        sums.add(format!("{:?} {bpm}", part.grid()), &text);
        if n % 50 == 4 || n >= 404 {
            writeln!(read, "{text}").unwrap();
        }
    }
    insta::assert_snapshot!("stickings_sums", sums.told());
    insta::assert_snapshot!("stickings", read);
}
