//! Laws and cases of block notation.

use super::*;
use crate::rhythm::{
    Drum, Grid, Hand, Hit, Instrument, Line, Pattern, Score, Stroke, Tone, Weight,
};
use proptest::prelude::*;

fn any_weight() -> impl Strategy<Value = Weight> {
    prop_oneof![
        Just(Weight::Ghost),
        Just(Weight::Plain),
        Just(Weight::Accent)
    ]
}

fn any_stroke() -> impl Strategy<Value = Option<Stroke>> {
    let hand = proptest::option::of(prop_oneof![Just(Hand::Left), Just(Hand::Right)]);
    proptest::option::of((0..3usize, 0..7usize, any_weight(), hand).prop_map(
        |(d, t, weight, hand)| Stroke {
            weight,
            hand,
            ..Stroke::new(Drum::ALL[d], Tone::ALL[t])
        },
    ))
}

fn any_hit() -> impl Strategy<Value = Option<Hit>> {
    proptest::option::of(
        (any_weight(), proptest::option::of(1..=8u8))
            .prop_map(|(weight, degree)| Hit { weight, degree }),
    )
}

fn any_score() -> impl Strategy<Value = Score> {
    let strokes = proptest::collection::vec(any_stroke(), 64);
    let lines = proptest::collection::vec(
        proptest::option::of((1..6usize, proptest::collection::vec(any_hit(), 64))),
        7,
    );
    (
        0..4usize,
        proptest::option::of((1..12usize, strokes)),
        lines,
    )
        .prop_map(|(grid, drums, lines)| {
            let grid = Grid::ALL[grid];
            let mut score = Score::empty(grid);
            let pulses = |bars: usize| 0..bars * grid.pulses_per_bar();
            score.drums = drums.map(|(bars, cells)| {
                Pattern::new(grid, pulses(bars).map(|p| cells[p % 64]).collect()).unwrap()
            });
            for (instrument, line) in Instrument::ALL.into_iter().zip(lines) {
                let Some((bars, cells)) = line else { continue };
                let pitched = matches!(instrument, Instrument::Bass | Instrument::Piano);
                let cell = |p: usize| {
                    cells[p % 64].map(|h| Hit {
                        degree: h.degree.filter(|_| pitched),
                        ..h
                    })
                };
                score.set_line(
                    Line::new(instrument, grid, pulses(bars).map(cell).collect()).unwrap(),
                );
            }
            score
        })
        .prop_filter("something plays", |s| {
            s.drums.is_some() || !s.lines.is_empty()
        })
}

proptest! {
    #[test]
    fn a_written_block_reads_back_the_same(score in any_score()) {
        let text = write_block(&score);
        let (read, problems) = read_block(&text);
        prop_assert_eq!(problems, vec![], "{}", text);
        prop_assert_eq!(read, Some(score));
    }

    #[test]
    fn any_text_reads_or_is_refused_with_spans_inside_it(text in "(count|conga|hand|mark|bass|x| |\\||\n|.){0,60}") {
        let (score, problems) = read_block(&text);
        prop_assert_eq!(score.is_none(), !problems.is_empty());
        for p in problems {
            prop_assert!(p.span.start <= p.span.end && p.span.end <= text.len() + 1, "{:?}", p);
        }
    }

    #[test]
    fn a_written_block_with_one_letter_changed_never_panics(score in any_score(), at in 0..2000usize, c in any::<char>()) {
        let mut letters: Vec<char> = write_block(&score).chars().collect();
        let n = letters.len();
        letters[at % n] = c;
        let _ = read_block(&letters.into_iter().collect::<String>());
    }
}

const ON_PAPER: &str = "\
count | 1 & 2 & 3 & 4 & | 1 & 2 & 3 & 4 & |
conga | H T S T H T O O | H T S T H T O . |
tumba | . . . . . . . . | . . . . . . . O |
hand  | L L R L L L R R | L L R L L L R ? |
mark  | . . > . . . . . | . ( . . . . . . |
clave | . . x . x . . . | x . . X . . o . |
bass  | . . . 1 . . >5 . | . . . (1) . . 8 . |
";

#[test]
fn a_block_as_on_paper() {
    let (score, problems) = read_block(ON_PAPER);
    assert_eq!(problems, []);
    let score = score.unwrap();
    let drums = score.drums.as_ref().unwrap();
    assert_eq!((score.grid, drums.bars()), (Grid::Eighths, 2));
    let slap = drums.at(2).unwrap();
    assert_eq!(
        (slap.tone, slap.weight, slap.hand),
        (Tone::Slap, Weight::Accent, Some(Hand::Right))
    );
    let low = drums.at(15).unwrap();
    assert_eq!(
        (low.drum, low.tone, low.hand),
        (Drum::Tumbadora, Tone::Open, None)
    );
    assert_eq!(drums.at(9).unwrap().weight, Weight::Ghost);
    let clave = score.line(Instrument::Clave).unwrap();
    assert_eq!(clave.at(11).unwrap().weight, Weight::Accent);
    let bass = score.line(Instrument::Bass).unwrap();
    assert_eq!(
        bass.at(6),
        Some(Hit {
            weight: Weight::Accent,
            degree: Some(5)
        })
    );
    assert_eq!(
        bass.at(11),
        Some(Hit {
            weight: Weight::Ghost,
            degree: Some(1)
        })
    );
}

#[test]
fn a_long_phrase_goes_on_below() {
    let text = "count | 1 & 2 & 3 & 4 & |\nconga | O . . . . . . . |\n\ncount | 1 & 2 & 3 & 4 & |\ntumba | O . . . . . . . |\n";
    let (score, problems) = read_block(text);
    assert_eq!(problems, []);
    let drums = score.unwrap().drums.unwrap();
    assert_eq!(drums.bars(), 2);
    assert_eq!(drums.at(8).unwrap().drum, Drum::Tumbadora);
}

#[test]
fn grids_are_told_by_their_count() {
    for grid in Grid::ALL {
        let count: String = (0..grid.pulses_per_bar()).map(|p| grid.count(p)).collect();
        let rests = ".".repeat(grid.pulses_per_bar());
        let (score, _) = read_block(&format!("count|{count}|\nconga|{rests}|"));
        assert_eq!(score.unwrap().grid, grid);
    }
}

/// The fault, the text it points at, and part of the mend.
fn first(text: &str) -> (NotationFault, String, String) {
    let (score, problems) = read_block(text);
    assert_eq!(score, None);
    let p = &problems[0];
    (
        p.fault,
        text[p.span.clone()].to_string(),
        format!("{}; {}", p.message, p.mend),
    )
}

#[test]
fn mistakes_point_at_their_place() {
    let c = "count | 1 & 2 & 3 & 4 & |\n";
    let cases: &[(&str, NotationFault, &str, &str)] = &[
        (
            "conga | H T S T H T O |",
            NotationFault::Bar,
            "H T S T H T O",
            "7 pulses, but a bar of eighths has 8; 1 missing",
        ),
        (
            "conga | H T S T H T O O O |",
            NotationFault::Bar,
            "H T S T H T O O O",
            "1 too many",
        ),
        (
            "conga | H T S T H T O X |",
            NotationFault::Letter,
            "X",
            "strokes are O open tone",
        ),
        (
            "conga | H T S T H T O o |",
            NotationFault::Letter,
            "o",
            "capital letters: `O`",
        ),
        (
            "conga | H T S T H T O - |",
            NotationFault::Letter,
            "-",
            "a rest is `.`",
        ),
        (
            "comga | H T S T H T O O |",
            NotationFault::Row,
            "comga",
            "did you mean `conga`?",
        ),
        (
            "zither | H T S T H T O O |",
            NotationFault::Row,
            "zither",
            "rows are count, quinto",
        ),
        (
            "conga H T S T H T O O",
            NotationFault::Row,
            "conga H T S T H T O O",
            "not a row",
        ),
        (
            "conga | H T S T H T O O |\nconga | . . . . . . . . |",
            NotationFault::Row,
            "conga | . . . . . . . . |",
            "twice",
        ),
        (
            "conga | H T S T H T O O |\ntumba | . . . O . . . . |",
            NotationFault::Clash,
            "O",
            "`conga` and `tumba`",
        ),
        (
            "conga | H T S T H T O . |\nhand  | L L R L L L R R |",
            NotationFault::Hand,
            "R",
            "stands under a rest",
        ),
        (
            "conga | H T S T H T O O |\nhand  | L L R L L L R . |",
            NotationFault::Hand,
            ".",
            "the open tone on the conga here has no hand",
        ),
        (
            "conga | H . S T H T O O |\nmark  | . > . . . . . . |",
            NotationFault::Mark,
            ">",
            "stands under a rest",
        ),
        (
            "conga | H T S T H T O (O |",
            NotationFault::Mark,
            "(O",
            "not closed",
        ),
        (
            "conga | H T S T H T O O |\nhand  | L L R L L L R R | L L R L L L R R |",
            NotationFault::Length,
            "hand  | L L R L L L R R | L L R L L L R R |",
            "`hand` has 2 bars and `conga` has 1 bar",
        ),
        (
            "bell | x . 5 . x . x . |",
            NotationFault::Letter,
            "5",
            "`>x` for an accent",
        ),
        ("", NotationFault::Empty, &c[..c.len() - 1], "nothing plays"),
    ];
    for (rows, fault, at, words) in cases {
        let (found, place, message) = first(&format!("{c}{rows}"));
        assert_eq!((found, place.as_str()), (*fault, *at), "{rows}");
        assert!(message.contains(words), "{rows}: {message}");
    }
    assert_eq!(first("conga | H T S T H T O O |").0, NotationFault::Count);
    assert_eq!(
        first("count | 1 & 2 & 3 & 4 e |\nconga | H T S T H T O O |").1,
        "e"
    );
    assert!(
        first("count | 1 2 3 |\nconga | H T S |")
            .2
            .contains("no bar that is known here is counted like this")
    );
}

#[test]
fn all_mistakes_are_found_at_once() {
    let (_, problems) = read_block(
        "count | 1 & 2 & 3 & 4 & |\nconga | H T S T H T O Z |\nhandd | L |\nbell | x . |",
    );
    assert_eq!(problems.len(), 3);
}
